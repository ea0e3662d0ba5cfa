package sitting

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// Reach gives the lowest and the highest mark to go to on a tank's bench, as
// they are inside: shares, m, m³ or kg. They are
//
//   - on a dial 0 and 100 %;
//   - for heights those that the float of the shape's sender follows, or the
//     inside of the shape, or the marks at 0 and 100 % of the setting;
//   - for litres and kilograms from nothing to the permitted fill, and for what
//     isn't LPG and doesn't tell it to the mark at 100 % of the setting;
//   - and where none of that is known, from the lowest to the highest mark read.
//
// What the bench states goes before all of these, but for litres and kilograms
// never beyond the permitted fill: those are poured in. Marks of a dial and of a
// float are set by hand, with the sender off the tank, and nothing is filled by
// them. For LPG poured or weighed without a permitted fill, or without what
// tells its litres or kilograms, there is an error, whatever the bench states.
func Reach(t job.Tank) (low, high float64, err error) {
	unit := t.Unit()
	most, fill := math.Inf(1), false
	if unit == curve.Volume || unit == curve.Mass {
		if most, fill, err = permitted(t, unit); err != nil {
			return 0, 0, err
		}
	}
	low, high = ownReach(t, unit)
	if fill {
		low, high = 0, most
	}
	if m := t.Bench.EmptyMark; m != nil {
		low = unit.FromShown(*m)
	}
	if m := t.Bench.FullMark; m != nil {
		high = unit.FromShown(*m)
	}
	if math.IsInf(low, 0) || math.IsInf(high, 0) {
		return 0, 0, fmt.Errorf("how far the marks go isn't known: state the bench's empty_mark and full_mark in %s%s", unit.Symbol(), orElse(unit))
	}
	if high > most {
		high = most
	}
	if !(high > low) {
		return 0, 0, fmt.Errorf("the highest mark to go to, %s, doesn't lie above the lowest, %s; correct the bench's empty_mark and full_mark", unit.Text(high), unit.Text(low))
	}
	return low, high, nil
}

func orElse(unit curve.MarkUnit) string {
	switch unit {
	case curve.Height:
		return ", or describe the tank"
	case curve.Volume:
		return ", or the tank's water_capacity_l and permitted_fill_pct"
	case curve.Mass:
		return ", or the tank's water_capacity_l, its permitted_fill_pct and what is in it"
	}
	return ""
}

// ownReach is Reach by the tank, its permitted fill apart; infinite where it
// isn't known.
func ownReach(t job.Tank, unit curve.MarkUnit) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	switch unit {
	case curve.Dial:
		return 0, 1
	case curve.Height:
		if built, sender, _, err := t.Built(); err == nil {
			if l, h, ok := heights(built, sender); ok {
				return l, h
			}
		}
	default:
		low = 0
	}
	if s := t.Setting; s != nil && s.EmptyMark != nil && s.FullMark != nil {
		return unit.FromShown(*s.EmptyMark), unit.FromShown(*s.FullMark)
	}
	// One mark alone has no way to go.
	least, greatest := math.Inf(1), math.Inf(-1)
	for _, r := range t.Bench.Readings {
		if m, own, ok := r.Mark(); ok && own == unit {
			least, greatest = min(least, unit.FromShown(m)), max(greatest, unit.FromShown(m))
		}
	}
	if greatest > least {
		low, high = min(low, least), greatest
	}
	return low, high
}

// heights gives the marks in metres between which a tank's float moves, or the
// tank's own bottom and top.
func heights(built *tank.Tank, sender tank.Sender) (low, high float64, ok bool) {
	if rod, is := sender.(tank.Rod); is {
		l, h := rod.Reach()
		low, _ = rod.Mark(l)
		high, _ = rod.Mark(h)
		return low, high, high > low
	}
	l, h := built.Upright().Reach()
	return float64(l), float64(h), h > l
}

// permitted gives the most that may be poured or weighed in, rounded down to
// three figures, and whether that is the permitted fill. Where none is stated
// and the contents are no gas, it is what the tank holds, or infinite.
func permitted(t job.Tank, unit curve.MarkUnit) (most float64, fill bool, err error) {
	share, err := t.Full()
	if err != nil {
		if t.Contents == job.LPG {
			return 0, false, fmt.Errorf("gas is poured or weighed in only up to the permitted fill: %w", err)
		}
		share = 1 // nothing more than that goes in
	}
	warm := t
	if c := quantity.Celsius(job.UsualCelsius); t.Contents == job.LPG && t.Kelvin() < c {
		// As heavy as it may be in frost, it would be too full when it is warm.
		usual := float64(job.UsualCelsius)
		warm.TemperatureC = &usual
	}
	a, cause := warm.Amount(job.Level{Share: share})
	if most = a.Volume.Mid; unit == curve.Mass {
		most = a.Mass.Mid
	} else {
		cause = nil
	}
	if most > 0 {
		return floored(most), err == nil, nil
	}
	if t.Contents == job.LPG {
		if cause == nil {
			cause = fmt.Errorf("the tank's water_capacity_l isn't stated")
		}
		return 0, false, fmt.Errorf("gas is poured or weighed in only up to the permitted fill, which isn't known in %s: %w", unit.Symbol(), cause)
	}
	return math.Inf(1), false, nil
}

// floored rounds down to three figures, which leaves off less than 1 %.
func floored(v float64) float64 {
	step := math.Pow(10, math.Floor(math.Log10(v))-2)
	return quantity.Round(math.Floor(v/step+1e-9)*step, 12)
}

// Ladder gives the marks of a first sweep in rising order, as they are inside:
// on a dial every tenth, elsewhere about eight even steps on round figures (1, 2
// or 5 times a power of ten), with both ends of Reach. The error is that of
// Reach.
func Ladder(t job.Tank) ([]float64, error) {
	low, high, err := Reach(t)
	if err != nil {
		return nil, err
	}
	return ladder(t.Unit(), low, high), nil
}

// wantedSteps is about how many steps a first sweep has where nothing is
// printed (common practice, no source: five to ten points up and down).
const wantedSteps = 8

// mostSteps is as many as anyone goes through twice.
const mostSteps = 12

func ladder(unit curve.MarkUnit, low, high float64) []float64 {
	from, to := unit.ToShown(low), unit.ToShown(high)
	step := roundStep(to - from)
	if unit == curve.Dial && to-from > 10 {
		step = 10
	}
	marks := []float64{low}
	for k := math.Floor(from/step) + 1; k*step < to-step/3; k++ {
		if k*step > from+step/3 {
			marks = append(marks, unit.FromShown(quantity.Round(k*step, 9)))
		}
	}
	return append(marks, high)
}

// roundStep gives the round figure that divides a way into nearest to
// wantedSteps, as a ratio.
func roundStep(way float64) float64 {
	best, off := way, math.Inf(1)
	ten := math.Pow(10, math.Floor(math.Log10(way/wantedSteps)))
	for _, step := range []float64{ten, 2 * ten, 5 * ten, 10 * ten} {
		if way/step > mostSteps*(1+1e-9) {
			continue
		}
		if d := math.Abs(math.Log(way / step / wantedSteps)); d < off {
			best, off = step, d
		}
	}
	return best
}
