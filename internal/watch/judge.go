package watch

import "math"

// entry is a reading as it is kept for a while.
type entry struct {
	at          int64 // ns since 1970
	value       float64
	pitch, roll float64
	signal      Signal
	said        Said
	clock       Clock
	tilted      bool // pitch and roll are known
}

// after says whether an entry comes after another: by time, and where that is
// the same by what it says, so that the order doesn't hang on who came first.
func (e *entry) after(o *entry) bool {
	switch {
	case e.at != o.at:
		return e.at > o.at
	case e.said != o.said:
		return e.said > o.said
	case e.signal != o.signal:
		return e.signal > o.signal
	}
	return e.value > o.value
}

// same says whether two entries are one reading, sent twice.
func (e *entry) same(o *entry) bool {
	return e.at == o.at && e.said == o.said && e.signal == o.signal && (e.value == o.value || e.said != Measured)
}

// verdict is what a reading is taken for before the level is asked.
type verdict struct {
	fault  Fault // NoFault, JustBeyond, TooTilted: there is a value; any other: there is none
	own    float64
	points float64 // of the marks' range
	slope  float64 // points per unit of the signal, without sign
}

// tooFar is the lean beyond which a level can't be told, rad: 30°.
const tooFar = 30 * math.Pi / 180

// judge says what a reading is by itself.
func (in *Instrument) judge(e *entry) verdict {
	v := verdict{own: math.NaN()}
	switch {
	case e.said == Unavailable:
		v.fault = NotAvailable
		return v
	case e.said != Measured:
		v.fault = SourceBroken
		return v
	}
	if math.IsInf(e.value, 1) {
		v.fault = BrokenWire
		return v
	}
	if e.signal == Percent {
		if !(e.value >= -5 && e.value <= 105) {
			v.fault = BeyondSpan
			return v
		}
		v.points, v.slope = in.points.both(e.value / 100)
		v.slope /= 100
		if e.value < -1 || e.value > 101 {
			v.fault = JustBeyond
		}
	} else {
		own, perSignal := e.value, 1.0
		if e.signal != in.own {
			t := in.into[e.signal&3]
			if t == nil || e.signal > Percent {
				v.fault = NotAvailable
				return v
			}
			own, perSignal = t.both(e.value)
		}
		v.own = own
		switch {
		case own >= in.open:
			v.fault = BrokenWire
			return v
		case own <= in.short:
			v.fault = ShortCircuit
			return v
		case own > in.most+in.margin || own < in.least-in.margin:
			v.fault = BeyondSpan
			return v
		}
		hair := 0.2 * in.margin
		if own > in.most+hair || own < in.least-hair {
			v.fault = JustBeyond
		}
		v.points, v.slope = in.mark.both(own)
		v.slope = math.Abs(v.slope * perSignal)
	}
	if e.tilted {
		if math.Abs(e.pitch) > tooFar || math.Abs(e.roll) > tooFar {
			v.fault = TooTilted
		} else if in.tilt != nil {
			v.level(in, e)
		}
	}
	return v
}

// level corrects a verdict for the tilt.
func (v *verdict) level(in *Instrument, e *entry) {
	mark := in.low + v.points/100*(in.high-in.low)
	m, ok := in.tilt(mark, e.lean())
	if !ok || math.IsNaN(m) || math.IsInf(m, 0) {
		v.fault = TooTilted
		return
	}
	v.points = 100 * (m - in.low) / (in.high - in.low)
}

func (e *entry) lean() Tilt { return Tilt{radian(e.pitch), radian(e.roll)} }
