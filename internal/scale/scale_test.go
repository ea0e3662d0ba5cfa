package scale_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/scale"
)

func TestTarget(t *testing.T) {
	mark, err := scale.New(scale.Mark, 0, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	fill, err := scale.New(scale.Fill, 0.8, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	float, err := scale.New(scale.Fill, 0.9, 0.02, 0.32, false)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name       string
		s          scale.Scale
		mark, want float64
	}{
		{"the dial's own scale", mark, 0.8, 0.8},
		{"as full as may be", fill, 0.8, 1}, // common practice, no source: 80 % is full for LPG
		{"half of what may be filled", fill, 0.4, 0.5},
		{"beyond what may be filled shows no more", fill, 0.9, 1},
		{"below empty shows nothing", float, 0.01, 0},
		{"nine tenths of a float's travel", float, 0.02 + 0.27, 1},
	}
	for _, test := range tests {
		if got := float64(test.s.Target(test.mark)); math.Abs(got-test.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", test.name, got, test.want)
		}
		if back := test.s.Of(test.s.Target(test.mark)); test.want > 0 && test.want < 1 && math.Abs(back-test.mark) > 1e-12 {
			t.Errorf("%s: back to mark %v, want %v", test.name, back, test.mark)
		}
	}
	if got := fill.Sentence(); got != "100 % = as full as this tank may be filled (80 % on the dial)." {
		t.Errorf("says %q", got)
	}
	if got := mark.Sentence(); !strings.Contains(got, "the dial's own scale") {
		t.Errorf("says %q", got)
	}
}

func TestNewRefuses(t *testing.T) {
	for name, f := range map[string]func() (scale.Scale, error){
		"unknown kind":     func() (scale.Scale, error) { return scale.New("weight", 1, 0, 1, true) },
		"full below empty": func() (scale.Scale, error) { return scale.New(scale.Mark, 1, 1, 0, true) },
		"no fill":          func() (scale.Scale, error) { return scale.New(scale.Fill, 0, 0, 1, true) },
		"more than full":   func() (scale.Scale, error) { return scale.New(scale.Fill, 1.2, 0, 1, true) },
		"not a number":     func() (scale.Scale, error) { return scale.New(scale.Mark, 1, 0, math.NaN(), true) },
	} {
		if s, err := f(); err == nil {
			t.Errorf("%s: made %+v", name, s)
		}
	}
}
