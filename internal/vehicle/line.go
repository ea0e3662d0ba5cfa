package vehicle

import (
	"time"
)

// line is the way from the sender to whoever listens: readings that are held
// back.
type line struct {
	late []Sample // in the order in which they were taken
	due  []time.Duration
	pair *Sample // the first of two that come swapped
}

// send takes a reading and puts out what leaves the vehicle now.
func (in *inside) send(out []Sample, s Sample, elapsed time.Duration, warmth float64) []Sample {
	s.Ohm, s.Fault = in.ohms(elapsed, warmth)
	l := &in.line
	for len(l.late) > 0 && l.due[0] <= elapsed {
		out = append(out, l.late[0])
		l.late, l.due = l.late[1:], l.due[1:]
	}
	var gap, doubled, swapped bool
	var late, other float64
	var second bool
	for _, f := range in.faults {
		if !f.at(elapsed) {
			continue
		}
		switch f.Kind {
		case Gap:
			gap = true
		case Doubled:
			doubled = true
		case Swapped:
			swapped = true
		case Late:
			late = f.By
		case Disagree:
			second, other = true, f.By
		case Unset:
			s.Stamp = time.Unix(0, 0).UTC().Add(elapsed)
		case Ahead:
			s.Stamp = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC).Add(elapsed)
		case Stepped:
			s.Stamp = s.Stamp.Add(time.Duration(f.By * float64(time.Second)))
		default:
			continue
		}
		if s.Fault == Sound {
			s.Fault = f.Kind
		}
	}
	if !swapped && l.pair != nil {
		out, l.pair = append(out, *l.pair), nil
	}
	switch {
	case gap:
		return out
	case late > 0:
		l.late = append(l.late, s)
		l.due = append(l.due, elapsed+time.Duration(late*float64(time.Second)))
		return out
	case swapped && l.pair == nil:
		held := s
		l.pair = &held
		return out
	case swapped:
		out = append(out, s, *l.pair)
		l.pair = nil
	default:
		out = append(out, s)
	}
	if doubled {
		out = append(out, s)
	}
	if second {
		o := s
		o.Second, o.Ohm = true, in.probe.read(s.Ohm+other)
		out = append(out, o)
	}
	return out
}
