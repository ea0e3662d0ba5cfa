package span_test

import (
	"errors"
	"strings"
	"testing"

	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// What can't be kept is named, with the nearest that can; and that can.
func TestNoChoiceNamesTheNearest(t *testing.T) {
	falling := dial(t, 0, 240, 50, 130, 100, 33)
	rising := dial(t, 0, 0.6, 50, 50, 100, 99.6)
	bent := dial(t, 0, 240, 25, 165, 50, 130, 75, 120, 100, 33)
	s := onScale(t, scale.Mark, 1)
	one := span.Margin{Ohm: 1}
	type try struct {
		readout span.Readout
		margin  span.Margin
		o       span.Objective
	}
	tests := []struct {
		name string
		bad  try
		says string
		good *try
	}{
		{"margin below the highest", try{span.Readout{Step: 1, Highest: 100}, one, span.Worst},
			"a margin of 0.4 Ω is the most that fits", &try{span.Readout{Step: 1, Highest: 100}, span.Margin{Ohm: 0.4}, span.Worst}},
		{"no margin at all", try{span.Readout{Step: 1, Highest: 90}, one, span.Worst},
			"a highest value of 101 Ω would do", &try{span.Readout{Step: 1, Highest: 101}, one, span.Worst}},
		{"step too coarse for the margin", try{span.Readout{Step: 30, Highest: 119}, one, span.Worst},
			"or with this margin steps of 10 Ω", &try{span.Readout{Step: 10, Highest: 119}, one, span.Worst}},
		{"step too coarse", try{span.Readout{Step: 60, Highest: 120, Lowest: 61}, one, span.Worst},
			"steps of 20 Ω would do", &try{span.Readout{Step: 20, Highest: 120, Lowest: 61}, one, span.Worst}},
		{"lowest too high", try{span.Readout{Lowest: 200}, one, span.Worst},
			"a lowest value below 99.6 Ω would do", &try{span.Readout{Lowest: 99}, one, span.Worst}},
		{"unknown objective", try{span.Readout{}, one, "cheapest"}, `objective "cheapest" is not known`, nil},
	}
	for _, test := range tests {
		_, err := span.BestEndsFor(rising, s, test.bad.readout, test.bad.margin, test.bad.o)
		var none *span.NoChoiceError
		if !errors.As(err, &none) || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%s: %v, want %q in it", test.name, err, test.says)
		}
		if g := test.good; g != nil {
			if _, err := span.BestEndsFor(rising, s, g.readout, g.margin, g.o); err != nil {
				t.Errorf("%s: what would do doesn't: %v", test.name, err)
			}
		}
	}
	_, err := span.BestEndsFor(falling, s, span.Readout{Step: 1, Lowest: 100}, one, span.NeverHigh)
	if err == nil || !strings.Contains(err.Error(), "a lowest value of") {
		t.Fatalf("%v", err)
	}
	if _, err := span.BestEndsFor(bent, s, span.Readout{Step: 1}, one, span.NeverHigh); err == nil || !strings.Contains(err.Error(), "use a readout that takes a table") {
		t.Errorf("%v", err)
	}
	// A table keeps to the limits, and what lies beyond them is shown as the end.
	for _, step := range []quantity.Ohm{0, 1} {
		best, err := span.BestTable(rising, s, span.TableReadout{Points: 4, Readout: span.Readout{Step: step, Lowest: 20, Highest: 101}, ShareStep: quantity.Share(step) / 100}, one)
		if err != nil {
			t.Fatal(err)
		}
		table := best.Setting.(span.Table)
		if table[0].Ohm < 20 || table[len(table)-1].Ohm > 101 || best.Score-best.LowerBound > 0.01 {
			t.Errorf("%v", best)
		}
	}
}
