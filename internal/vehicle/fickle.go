package vehicle

import (
	"math"
	"time"
)

// fickle is the electrical side of a fault: what the input reads of a sender.
type fickle struct {
	state Kind // of a loose contact: Sound, Broken or Shorted
	stuck bool // the float
}

// float lets the float follow the surface, unless it is stuck.
func (in *inside) float(h float64) {
	if !in.sender.stuck {
		in.probe.follow(h)
	}
}

// ohms gives what the input reads at a time, a temperature and with the faults
// there are, and the one of them that tells.
func (in *inside) ohms(elapsed time.Duration, warmth float64) (float64, Kind) {
	stuck := false
	var worst Fault
	var spiking bool
	added := 0.0
	for _, f := range in.faults {
		if !f.at(elapsed) {
			continue
		}
		switch f.Kind {
		case Stuck:
			stuck = true
		case Added:
			added += f.By
		case Spikes:
			spiking = true
		case Broken, Shorted, Flicker:
			if worst.Kind == Sound || f.Kind < worst.Kind {
				worst = f
			}
		}
	}
	in.sender.stuck = stuck
	tells := Sound
	if stuck {
		tells = Stuck
	}
	if added != 0 {
		tells = Added
	}
	ohm := in.probe.resistance(warmth) + added + float64(in.probe.Noise)*in.draw.NormFloat64()
	if worst.Kind == Flicker {
		in.sender.flick(in.draw.Float64(), in.draw.Float64())
		switch in.sender.state {
		case Broken:
			return float64(in.probe.Open), Flicker
		case Shorted:
			return in.probe.read(math.Abs(in.draw.NormFloat64()) * 0.2), Flicker
		}
		return in.probe.read(ohm), Flicker
	}
	switch {
	case worst.Kind == Broken && worst.By == 0:
		return float64(in.probe.Open), Broken
	case worst.Kind == Broken:
		return worst.By, Broken
	case worst.Kind == Shorted:
		// The wire that is left, with its noise.
		return in.probe.read(0.1 + math.Abs(in.draw.NormFloat64())*0.1), Shorted
	case spiking && in.draw.Float64() < 0.05:
		high := math.Max(float64(in.probe.Empty), float64(in.probe.Full))
		return in.probe.read(high * 1.5 * in.draw.Float64()), Spikes
	}
	return in.probe.read(ohm), tells
}

// flick draws the next state of a loose contact: it changes at a third of the
// readings, and is open more often than shorted. Common practice, no source.
func (f *fickle) flick(change, to float64) {
	if change > 1.0/3 {
		return
	}
	switch {
	case to < 0.5:
		f.state = Sound
	case to < 0.85:
		f.state = Broken
	default:
		f.state = Shorted
	}
}
