package watch

import (
	"math"
	"time"

	"gaugewright/internal/quantity"
)

// level gives the level after the last reading taken.
func (w *Watch) level() Level {
	l := Level{Tank: w.config.Tank, Stale: w.config.Stale, Raw: math.NaN(), Ohm: quantity.Ohm(math.NaN()), Mark: math.NaN(), MarkPct: math.NaN()}
	t := w.shown
	if t == nil || len(t.ring) == 0 {
		l.Status, l.Fault = Check, Unsettled
		return l
	}
	w.describe(&l, &t.state, t.source)
	if s := &t.state; s.newest < s.clockAt && l.Shown && l.Status == Good {
		l.Status, l.Fault, l.Since = Maintenance, ClockOff, moment(s.clockAt-clockDoubted)
	}
	if s := &t.state; t.wrong.since <= s.newest && s.newest < t.wrong.until && l.Shown && l.Status == Good {
		l.Status, l.Fault, l.Since = Maintenance, ClockOff, moment(t.wrong.since)
	}
	if w.apart >= 3 && l.Shown && l.Status == Good {
		l.Status, l.Fault, l.Since = Maintenance, SourcesDisagree, moment(w.since)
	}
	return l
}

func moment(ns int64) time.Time { return time.Unix(0, ns).UTC() }

// describe fills a level in from a state.
func (w *Watch) describe(l *Level, s *state, source string) {
	in := w.config.Instrument
	l.Source, l.Time, l.Clock, l.Signal = source, moment(s.newest), s.entry.clock, s.entry.signal
	if s.entry.said == Measured {
		l.Raw = s.entry.value
	}
	if in.own == Ohm {
		l.Ohm = quantity.Ohm(s.own)
	}
	l.Status, l.Fault = s.status, s.fault
	if s.since != 0 {
		l.Since = moment(s.since)
	}
	l.Motion = Standing
	if s.moving {
		l.Motion = Moving
		l.Slosh = quantity.Share(math.Sqrt(s.noise.sloshVar) / 100)
	} else {
		l.Slosh = quantity.Share(s.noise.still / 100)
	}
	if s.last.known {
		good := &l.Last
		good.Time = moment(s.last.at)
		share, slope := in.share.both(s.last.points)
		u := w.instrumentDoubt(s, s.last.points, slope, s.last.u)
		good.Share, good.U = quantity.Share(share), quantity.Share(u)
		good.Volume, good.Mass = in.volume.at(share, u), in.mass.at(share, u)
	}
	l.Shown = !s.hides && s.begun
	if s.begun {
		l.MarkPct = s.damped
		l.Mark = in.low + s.damped/100*(in.high-in.low)
	} else {
		l.Motion = MotionUnknown
	}
	if !l.Shown {
		return
	}
	if s.last.at == s.newest {
		l.Share, l.U, l.Volume, l.Mass = l.Last.Share, l.Last.U, l.Last.Volume, l.Last.Mass
	} else {
		w.fill(l, s, s.last.points, max(s.last.u, s.wide))
	}
	l.Low, l.High = max(0, l.Share-2*l.U), min(1, l.Share+2*l.U)
}

// fill sets the share and what goes with it.
func (w *Watch) fill(l *Level, s *state, points, u float64) {
	in := w.config.Instrument
	share, slope := in.share.both(points)
	us := w.instrumentDoubt(s, points, slope, u)
	l.Share, l.U = quantity.Share(share), quantity.Share(us)
	l.Volume, l.Mass = in.volume.at(share, us), in.mass.at(share, us)
	l.Low, l.High = max(0, l.Share-2*l.U), min(1, l.Share+2*l.U)
}

// instrumentDoubt puts the filter's doubt in points and the instrument's own
// together, as a standard uncertainty of the share.
func (w *Watch) instrumentDoubt(s *state, points, slope, u float64) float64 {
	in := w.config.Instrument
	if slope <= 0 {
		// At the end of the scale: what the slope is a little way in.
		_, slope = in.share.both(min(98, max(2, points)))
		if slope <= 0 {
			slope = 0.01
		}
	}
	own := in.uPercent
	if s.entry.signal != Percent {
		own = in.uMark.at(points)
	}
	besides, corrected := float64(w.config.Doubt), 0.0
	if in.uShare != nil {
		corrected = in.uShare.at(points)
	}
	return math.Sqrt(slope*slope*(u*u+own*own) + besides*besides + corrected*corrected)
}

// At gives the level as it is at a moment, which is what tells how old it is: a
// level older than the stale age isn't shown.
func (w *Watch) At(now time.Time) Level {
	l := w.level()
	if l.Time.IsZero() {
		return l
	}
	s := &w.shown.state
	l.Age = max(0, now.Sub(l.Time))
	if l.Age > w.config.Stale {
		l.Shown = false
		l.Status, l.Fault, l.Since = Failure, NoReading, l.Time
		return l
	}
	if l.Shown {
		f := s.filter
		var st step
		if age := now.Sub(moment(s.at)).Seconds(); age > 0 {
			st.set(age)
			f.foretell(&st)
			f.mix()
		}
		grown := max(0, f.p-s.filter.p)
		w.fill(&l, s, s.last.points, math.Sqrt(max(s.last.u, s.wide)*max(s.last.u, s.wide)+grown))
	}
	return l
}
