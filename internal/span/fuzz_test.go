package span_test

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Whatever readings come, there is an error of a kind that says what to do, or
// a choice whose every figure is one.
func FuzzChoose(f *testing.F) {
	f.Add([]byte{}, false, uint8(10), uint8(3))
	f.Add([]byte{0, 0, 6, 0, 128, 0, 144, 1, 255, 0, 240, 3}, false, uint8(10), uint8(2))
	f.Add([]byte{0, 0, 255, 255, 50, 0, 0, 0, 50, 1, 1, 0, 255, 2, 9, 0}, true, uint8(0), uint8(7))
	f.Add([]byte{0, 0, 1, 0, 0, 0, 1, 0, 10, 0, 1, 0, 20, 0, 2, 0}, true, uint8(1), uint8(4))
	f.Fuzz(func(t *testing.T, raw []byte, onFill bool, tenths, points uint8) {
		var sheet curve.Sheet
		for ; len(raw) >= 4 && len(sheet.Readings) < 60; raw = raw[4:] {
			sheet.Readings = append(sheet.Readings, curve.Reading{
				Mark:  float64(raw[0]) / 255,
				Sweep: curve.Sweep(raw[1] % 3),
				Ohm:   quantity.Ohm(binary.LittleEndian.Uint16(raw[2:])) / 10,
			})
		}
		c, err := curve.Fit(sheet, curve.Options{})
		var bad *curve.SheetError
		var broken *curve.SenderError
		if err != nil {
			if !errors.As(err, &bad) && !errors.As(err, &broken) {
				t.Fatalf("error of type %T: %v", err, err)
			}
			return
		}
		kind := scale.Mark
		if onFill {
			kind = scale.Fill
		}
		s := onScale(t, kind, 0.8)
		step := quantity.Ohm(tenths%20) / 10
		check := func(choice span.Choice, err error) {
			var none *span.NoChoiceError
			if err != nil {
				if !errors.As(err, &none) && !errors.As(err, &broken) {
					t.Fatalf("error of type %T: %v", err, err)
				}
				return
			}
			if !(choice.Worst >= 0 && choice.Worst <= 1 && choice.LowerBound >= 0 && choice.LowerBound <= choice.Score) {
				t.Fatalf("worst %v, bound %v", choice.Worst, choice.LowerBound)
			}
			if choice.Objective == span.NearEmpty && !(choice.Score >= choice.Worst && choice.Score <= 4*choice.Worst) || !(choice.Gap >= 0 && choice.Gap <= choice.Score-choice.LowerBound+1e-9) {
				t.Fatalf("%s: score %v, worst %v, bound %v, gap %v", choice.Objective, choice.Score, choice.Worst, choice.LowerBound, choice.Gap)
			}
			for _, row := range choice.Rows {
				if !(row.Shown >= 0 && row.Shown <= 1 && row.Low <= row.Shown && row.High >= row.Shown && row.U >= 0) || math.Abs(float64(row.Error())) > float64(choice.Worst)+1e-9 {
					t.Fatalf("row %+v with a worst error of %v", row, choice.Worst)
				}
			}
		}
		check(span.BestEnds(c, s, span.Readout{Step: step}, span.UsualMargin()))
		check(span.BestTable(c, s, span.TableReadout{Readout: span.Readout{Step: step}, Points: int(points%12) + 1}, span.UsualMargin()))
		o := span.Objectives[points%4]
		limits := span.Readout{Step: step, Lowest: quantity.Ohm(points) / 4, Highest: quantity.Ohm(tenths) * 40}
		check(span.BestEndsFor(c, s, limits, span.AutoMargin(), o))
		table := span.TableReadout{Readout: limits, Points: int(points%5) + 2, ShareStep: quantity.Share(tenths%3) / 20}
		check(span.BestTableFor(c, s, table, span.AutoMargin(), o))
		check(span.BestEndsThenTable(c, s, table, span.AutoMargin(), o))
	})
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"0:90", "240:33", "0,5:9", ":", "1:1", "-1:5", "1e9:2", "1ohm", "2%", "0ohm", "usual", "200%"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if e, err := span.ParseEnds(text); err == nil && !(e.Lower >= 0 && e.Upper >= 0 && e.Lower != e.Upper && !math.IsInf(float64(e.Lower+e.Upper), 0)) {
			t.Fatalf("%q was read as %v", text, e)
		}
		if m, err := span.ParseMargin(text); err == nil && !(m.Ohm >= 0 && m.OfSpan >= 0 && m.OfSpan <= 1) {
			t.Fatalf("%q was read as %+v", text, m)
		}
	})
}
