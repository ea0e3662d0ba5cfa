package fitted

import (
	"fmt"

	"gaugewright/internal/circuit"
	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Of makes the instrument of a tank:
//
//   - the curve of its bench readings, or what is known of the sender without
//     any, with its whole doubt (as [gauge.Gauge.At] has it) and dead travel;
//   - the scale of its setting, or the mark scale where nothing is set;
//   - litres and kilograms at the job's temperature, where they are known;
//   - the wire, where the readings were made without it: what it adds is taken
//     off the ohms;
//   - what a tilt does, where the tank's shape and the place of its sender are
//     known.
//
// A reading is in what the sender gives. Volts, milliamps and percents of the
// supply are [watch.Volt] to the watch. A sender of ohms behind a converter may
// also come in the converter's volts and counts.
//
// The error says what the job lacks for a level to be told. What it lacks for
// more than that is in [Lacks].
func Of(t *job.Tank, behind ...Converter) (*watch.Instrument, error) {
	p, err := parts(t)
	if err != nil {
		return nil, err
	}
	for _, c := range behind {
		if err := through(&p, c); err != nil {
			return nil, fmt.Errorf("tank %q: %w", t.Name, err)
		}
	}
	in, err := watch.NewInstrument(p)
	if err != nil {
		return nil, fmt.Errorf("tank %q: %w", t.Name, err)
	}
	return in, nil
}

// SignalOf gives the signal in which readings of a tank's sender come.
func SignalOf(t *job.Tank) watch.Signal {
	if t.Signal() == curve.Ohms {
		return watch.Ohm
	}
	return watch.Volt
}

func parts(t *job.Tank) (watch.Parts, error) {
	c, err := t.Curve()
	if err != nil {
		return watch.Parts{}, fmt.Errorf("tank %q: its sender can't be read: %w", t.Name, err)
	}
	if !c.Ordered() {
		return watch.Parts{}, fmt.Errorf("tank %q: its sender can't be read, as the %s keep no order over the marks: %s", t.Name, c.Signal().Figures(), c.Disorder())
	}
	s, err := t.Scale()
	if err != nil {
		return watch.Parts{}, err
	}
	added, err := wireOf(t, c)
	if err != nil {
		return watch.Parts{}, err
	}
	p := watch.Parts{Own: SignalOf(t), Share: s.Target}
	p.Low, p.High = s.Whole()
	least, most := c.Range()
	p.Least, p.Most = float64(least)+added.Ohm, float64(most)+added.Ohm
	p.Mark = marks(c, added)
	p.Volume, p.Mass = amounts(t)
	p.Tilt = levelled(t)
	return p, nil
}

// marks turns what is read into marks. Beyond an end at which the sender doesn't
// move the mark is that of the dead stretch.
func marks(c *curve.Curve, added circuit.Added) func(own float64) (mark, u float64, ok bool) {
	least, most := c.Range()
	uWire := doubt.Rectangular((added.High - added.Low) / 2)
	return func(own float64) (mark, u float64, ok bool) {
		ohm := quantity.Ohm(own - added.Ohm)
		a := c.Mark(ohm, curve.Continue)
		if !a.Known {
			a = c.Mark(min(most, max(least, ohm)), curve.Continue)
		}
		if u = a.UMark; uWire > 0 && a.Known {
			above, below := c.Mark(min(most, ohm+quantity.Ohm(uWire)), curve.Continue), c.Mark(max(least, ohm-quantity.Ohm(uWire)), curve.Continue)
			if above.Known && below.Known {
				u = doubt.Combine(u, (above.Mark-below.Mark)/2)
			}
		}
		return a.Mark, u, a.Known
	}
}

// wireOf gives what the wire adds to the ohms of the bench.
func wireOf(t *job.Tank, c *curve.Curve) (circuit.Added, error) {
	if t.Wire == nil || t.Wire.Through || c.Signal() != curve.Ohms {
		return circuit.Added{}, nil
	}
	run, err := t.Wire.Run()
	if err != nil {
		return circuit.Added{}, fmt.Errorf("tank %q: the wire: %w", t.Name, err)
	}
	added, err := run.Added()
	if err != nil {
		return circuit.Added{}, fmt.Errorf("tank %q: the wire: %w", t.Name, err)
	}
	return added, nil
}

// amounts gives what is in the tank at a level on its scale; nil where that isn't
// known.
func amounts(t *job.Tank) (volume, mass func(quantity.Share) gauge.Figure) {
	in, err := t.Inside()
	if err != nil {
		return nil, nil
	}
	// As full as it goes, for the capacity that is reckoned with.
	full, _ := t.Amount(job.Level{Share: 1}) // the error is that no mass is known
	capacity := quantity.CubicMetre(full.Volume.Mid)
	if !(capacity > 0) {
		return nil, nil
	}
	at := func(matter gauge.Matter, level quantity.Share) gauge.Amount {
		share, _ := in.OfLevel(level, 0)
		return matter.Amount(capacity, share, 0)
	}
	volume = func(level quantity.Share) gauge.Figure { return at(gauge.Matter{}, level).Volume }
	if !full.Weighs {
		return volume, nil
	}
	s, err := t.Substance()
	if err != nil {
		return volume, nil
	}
	matter, err := s.At(t.Kelvin())
	if err != nil {
		return volume, nil
	}
	return volume, func(level quantity.Share) gauge.Figure { return at(matter, level).Mass }
}

// Lacks says what of a tank isn't told for want of something in the job: litres,
// kilograms. Each is a sentence; there are none where all is known.
func Lacks(t *job.Tank) []string {
	var out []string
	if _, err := t.Inside(); err != nil {
		return append(out, fmt.Sprintf("No litres are told: %v.", err))
	}
	full, err := t.Amount(job.Level{Share: 1})
	switch {
	case !(full.Volume.Mid > 0):
		out = append(out, fmt.Sprintf("No litres are told: tank %q: its capacity isn't known; state water_capacity_l.", t.Name))
	case err != nil:
		out = append(out, fmt.Sprintf("No kilograms are told: tank %q: %v.", t.Name, err))
	}
	return out
}
