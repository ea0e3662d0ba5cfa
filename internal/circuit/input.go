package circuit

import (
	"fmt"
	"math"
)

// CodeCaution is to be said of every circuit at a fuel or gas tank.
const CodeCaution = "circuits at a fuel or gas tank follow the local code for hazardous places, and are for someone licensed for that work; a low current makes no circuit safe by itself"

const (
	// UsualCurrent is the most current through a sender unless another is stated,
	// A: 1 mA (common practice, no source).
	UsualCurrent = 1e-3
	// UsualPower is the most power in a sender unless another is stated, W: 50 mW
	// (common practice, no source).
	UsualPower = 0.05
)

// Input is a sender pulled up by a resistor to a reference voltage, and read by
// a converter across it:
//
//	reference ── R ──┬── converter
//	                 └── wire ── sender ── ground
type Input struct {
	Reference float64 // the voltage R is pulled up to, V; above 0, to 60
	// FullScale is the voltage at which the converter would give 2^Bits, V; 0
	// stands for Reference.
	FullScale float64
	// Ratiometric says that the converter measures against the same voltage that
	// feeds R. Its error then cancels, and FullScale is left 0.
	Ratiometric    bool
	ReferenceError float64 // part, ±, of the ratio of Reference to FullScale; 0 to 0.5
	Bits           int     // of the converter, 4 to 32
	Noise          float64 // standard deviation of one conversion, counts
	Nonlinearity   float64 // of the converter, ± counts
	Leakage        float64 // into or out of the converter's pin, ± A
	// Tolerance and Tempco are those of R: parts, ±, and parts per K, ±. After a
	// calibration in counts through this very input, Tolerance may be left 0.
	Tolerance, Tempco float64
	Warmth            float64 // how far R's temperature goes from that at calibration, ± K
	Lead              Between // wire there and back, Ω; its middle is reckoned with
	// NotFlammable says that the tank is known to hold water or waste. A tank of
	// which that isn't said is taken for one of fuel or gas.
	NotFlammable bool
	// Current is the most current through the sender, A; 0 stands for UsualCurrent.
	// At a fuel or gas tank a larger one is refused unless RaiseCurrent says that
	// it is meant, which is then written down.
	Current      float64
	RaiseCurrent bool
	Power        float64 // the most in the sender, W; 0 stands for UsualPower
}

// Check says what of an input can't be.
func (in Input) Check() error {
	switch {
	case !(in.Reference > 0 && in.Reference <= 60):
		return fmt.Errorf("a reference of %g V; expected above 0, to 60 V", in.Reference)
	case in.FullScale != 0 && !(in.FullScale > 0 && in.FullScale <= 60):
		return fmt.Errorf("a full scale of %g V; expected above 0, to 60 V", in.FullScale)
	case in.Ratiometric && in.FullScale != 0 && in.FullScale != in.Reference:
		return fmt.Errorf("a ratiometric input with a full scale of %g V and a reference of %g V; expected the same voltage, or an input that isn't ratiometric", in.FullScale, in.Reference)
	case in.Bits < 4 || in.Bits > 32:
		return fmt.Errorf("a converter of %d bits; expected 4 to 32", in.Bits)
	}
	for _, q := range []struct {
		what        string
		value, most float64
		unit        string
	}{
		{"a reference error", in.ReferenceError, 0.5, ""}, {"noise", in.Noise, in.whole(), " counts"},
		{"a nonlinearity", in.Nonlinearity, in.whole(), " counts"}, {"a leakage", in.Leakage, 1, " A"},
		{"a tolerance", in.Tolerance, 0.5, ""}, {"a temperature coefficient", in.Tempco, 0.01, " per K"},
		{"a change of temperature", in.Warmth, 200, " K"}, {"a current", in.Current, 1, " A"}, {"a power", in.Power, 10, " W"},
	} {
		if !(q.value >= 0 && q.value <= q.most) {
			return fmt.Errorf("%s of %g%s; expected 0 to %g%s", q.what, q.value, q.unit, q.most, q.unit)
		}
	}
	if in.Current > UsualCurrent && !in.NotFlammable && !in.RaiseCurrent {
		return fmt.Errorf("a current of %g mA through a sender that may sit in fuel or gas; expected %g mA or less, or a statement that the tank holds neither, or that the larger current is meant", in.Current*1e3, UsualCurrent*1e3)
	}
	return in.Lead.check("a lead", "Ω")
}

func (in Input) whole() float64 { return math.Ldexp(1, in.Bits) }

// ratio gives Reference over FullScale.
func (in Input) ratio() float64 {
	if in.FullScale == 0 || in.Ratiometric {
		return 1
	}
	return in.Reference / in.FullScale
}

// referenceError gives the part by which the ratio may be out.
func (in Input) referenceError() float64 {
	if in.Ratiometric {
		return 0
	}
	return in.ReferenceError
}

func (in Input) current() float64 {
	if in.Current == 0 {
		return UsualCurrent
	}
	return in.Current
}

func (in Input) power() float64 {
	if in.Power == 0 {
		return UsualPower
	}
	return in.Power
}

// exact gives the converter's value before rounding and holding, for a sender of
// so many ohm behind the lead.
func (in Input) exact(pullup, ohm float64) float64 {
	if math.IsInf(ohm, 1) {
		return in.whole() * in.ratio() // an open sender
	}
	total := ohm + in.Lead.Mid()
	return in.whole() * in.ratio() * total / (pullup + total)
}

// Counts gives what the converter shows for a sender of so many ohm, 0 or more,
// with a pull-up of so many ohm, above 0:
//
//	c = round(2^N · k · r/(R + r)), k = Reference/FullScale, r with the lead
//
// Full scale is 2^N counts, one more than the converter can show, so a count is
// FullScale/2^N volts and the count is held at 2^N − 1: an open sender shows
// that. Halves go up.
func (in Input) Counts(pullup, ohm float64) int {
	c := math.Floor(in.exact(pullup, ohm) + 0.5)
	return int(max(0, min(c, in.whole()-1)))
}

// Open gives what the converter shows for an open sender: the end of its scale,
// or less where the reference is below full scale.
func (in Input) Open() int { return in.Counts(1, math.Inf(1)) }

// Ohms gives the sender's resistance at the middle of a count: the inverse of
// Counts, less the lead. A count from which no resistance can be told gives an
// error: that of an open sender or more, and those below the lead alone.
func (in Input) Ohms(pullup float64, count int) (float64, error) {
	c := float64(count)
	if count < 0 || c >= in.whole() {
		return 0, fmt.Errorf("%d counts from a converter of %d bits; expected 0 to %.0f", count, in.Bits, in.whole()-1)
	}
	x := c / (in.whole() * in.ratio())
	if count >= in.Open() || x >= 1 {
		return 0, fmt.Errorf("%d counts, where an open sender gives %d; expected less: the sender is open, or has more ohms than this input can tell", count, in.Open())
	}
	ohm := pullup*x/(1-x) - in.Lead.Mid()
	// Half a count below the lead alone is still a sender at 0 Ω.
	if ohm < 0 && in.Counts(pullup, 0) > count {
		return 0, fmt.Errorf("%d counts is %s Ω less than the lead alone; expected more: the sender or its lead is shorted", count, ohms(-ohm))
	}
	return max(0, ohm), nil
}

// PerCount gives how many ohm one count stands for at a sender of so many ohm:
// (R + r)²/(2^N · k · R), r with the lead. It grows with r.
func (in Input) PerCount(pullup, ohm float64) float64 {
	sum := pullup + ohm + in.Lead.Mid()
	return sum * sum / (in.whole() * in.ratio() * pullup)
}

// Resolution gives what can be told apart at a sender of so many ohm over a span,
// in points: one count and one standard deviation of its noise.
func (in Input) Resolution(pullup, ohm float64, span Span) float64 {
	return (1 + in.Noise) * in.PerCount(pullup, ohm) * math.Abs(span.PerOhm())
}

// Shorted gives the most current that can flow, A: sender and lead shorted, the
// resistor at the low end of its tolerance and of its warmth, and the reference
// at the high end of its own.
func (in Input) Shorted(pullup float64) float64 {
	return in.Reference * (1 + in.ReferenceError) / (pullup * (1 - in.Tolerance) * (1 - in.Tempco*in.Warmth))
}

// Heating gives the power in a sender of so many ohm, W, without its lead.
func (in Input) Heating(pullup, ohm float64) float64 {
	current := in.Reference / (pullup + ohm)
	return current * current * ohm
}

// hottest gives the most power that any resistance within the span gets, W. It
// is largest where the sender is as large as the pull-up.
func (in Input) hottest(pullup float64, span Span) float64 {
	return in.Heating(pullup, max(span.Least(), min(span.Most(), pullup)))
}
