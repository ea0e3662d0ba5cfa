package circuit

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
)

// UsualSupply is what a vehicle's 12 V supply may have, at rest and while it
// charges, without surges, V (common practice, no source).
var UsualSupply = Between{9, 16}

// UsualDriving is what it has most of the time, V (common practice, no source).
var UsualDriving = Between{11, 14.5}

const (
	usualWarmth   = 20    // ± K of the coil around its temperature at calibration (common practice, no source)
	usualMeasured = 0.01  // ± part of a supply voltage that is measured as well (common practice, no source)
	usualPoints   = 2.0   // points that sharing may bring either of the two
	sharedMost    = 100.0 // an error of more points says no more than this
)

// Shared is a sender that feeds a needle gauge and a second input at once:
//
//	supply ── coil ── wire ──┬── wire ── sender ── ground
//	                         └── second input (pull-up, or load to ground)
//
// The gauge's coil is taken as a resistance in series. A crossed-coil gauge,
// whose needle follows the ratio of two currents, and a gauge with electronics
// aren't modelled well by that.
type Shared struct {
	Span Span
	Coil float64 // of the gauge between supply and sender, Ω; above 0, to 1 MΩ
	// Warmth is how far the coil's temperature goes from that at calibration, ± K;
	// 0 stands for 20 K. Its copper changes by 0.393 % per K (IEC 60028). Steady
	// says that it doesn't change.
	Warmth     float64
	Steady     bool
	CrossCoil  bool
	Supply     Between // all that may come, V; the zero value stands for UsualSupply
	Driving    Between // what is usual, V; the zero value stands for UsualDriving
	Measured   float64 // ± part of the supply where it is measured too; 0 stands for 1 %
	LeadGauge  float64 // wire from gauge to the tapping point, Ω
	LeadSender float64 // wire from the tapping point to the sender and back, Ω
	// Pullup is the second input's resistor and PullupVolt what it is pulled up
	// to; 0 Ω stands for none.
	Pullup, PullupVolt float64
	Load               float64 // of the second input to ground, Ω; 0 stands for none
	Stands             float64 // the most voltage that the second input stands, V; above 0
	NotFlammable       bool    // the tank is known to hold water or waste
	Limit              float64 // points that are put up with; 0 stands for 2
}

// Check says what of it can't be.
func (s Shared) Check() error {
	if err := s.Span.Check(); err != nil {
		return err
	}
	if !(s.Coil > 0 && s.Coil <= 1e6) {
		return fmt.Errorf("a gauge coil of %g Ω; expected above 0, to 1000000 Ω", s.Coil)
	}
	if !(s.Stands > 0 && s.Stands <= 1000) {
		return fmt.Errorf("an input that stands %g V; expected above 0, to 1000 V", s.Stands)
	}
	for _, q := range []struct {
		what        string
		value, most float64
	}{
		{"a warmth in K", s.Warmth, 200}, {"a part by which the supply is measured", s.Measured, 0.5},
		{"a lead to the gauge in Ω", s.LeadGauge, 1e6}, {"a lead to the sender in Ω", s.LeadSender, 1e6},
		{"a pull-up in Ω", s.Pullup, 1e9}, {"a pull-up voltage in V", s.PullupVolt, 60},
		{"a load in Ω", s.Load, 1e12}, {"a limit in points", s.Limit, 100},
	} {
		if !(q.value >= 0 && q.value <= q.most) {
			return fmt.Errorf("%s of %g; expected 0 to %g", q.what, q.value, q.most)
		}
	}
	for _, v := range []Between{s.supply(), s.driving()} {
		if err := v.check("a supply", "V"); err != nil {
			return err
		}
		if v.Low == 0 || v.High > 60 {
			return fmt.Errorf("a supply between %g and %g V; expected above 0, to 60 V", v.Low, v.High)
		}
	}
	if d, all := s.driving(), s.supply(); d.Low < all.Low || d.High > all.High {
		return fmt.Errorf("a usual supply of %g to %g V outside all that may come, %g to %g V; expected it within", d.Low, d.High, all.Low, all.High)
	}
	return nil
}

func (s Shared) supply() Between  { return or(s.Supply, UsualSupply) }
func (s Shared) driving() Between { return or(s.Driving, UsualDriving) }

func or(b, usual Between) Between {
	if b == (Between{}) {
		return usual
	}
	return b
}

// orUsual gives a figure, or what its zero value stands for.
func orUsual(v, usual float64) float64 {
	if v == 0 {
		return usual
	}
	return v
}

// coil gives what the coil lies between, over its warmth.
func (s Shared) coil() Between {
	if s.Steady {
		return Exactly(s.Coil)
	}
	part := CopperTempco * orUsual(s.Warmth, usualWarmth)
	return Between{s.Coil * max(0.05, 1-part), s.Coil * (1 + part)}
}

// perOhm gives 1/ohm, and 0 for what isn't there.
func perOhm(ohm float64) float64 {
	if ohm == 0 {
		return 0
	}
	return 1 / ohm
}

// volt gives the voltage at the tapping point, by the sum of the currents there:
//
//	(Vs − V)/(R_g + lead) + (V_p − V)/R_p − V/R_in − V/(r + lead) = 0
//
// and so Vs·r/(R_g + r) where the second input takes no current. A sender of
// endless ohm is an open one.
func (s Shared) volt(supply, coil, ohm float64) float64 {
	below := ohm + s.LeadSender
	if below == 0 {
		return 0
	}
	gauge, pull := 1/(coil+s.LeadGauge), perOhm(s.Pullup)
	return (supply*gauge + s.PullupVolt*pull) / (gauge + pull + perOhm(s.Load) + 1/below)
}

// Volt gives what the second input sees, V, at a supply of so many V and a sender
// of so many ohm, with the coil as stated.
func (s Shared) Volt(supply, ohm float64) float64 { return s.volt(supply, s.Coil, ohm) }

// OpenVolt gives the same with the sender's wire broken.
func (s Shared) OpenVolt(supply float64) float64 { return s.volt(supply, s.Coil, math.Inf(1)) }

// Ohm tells the sender's ohms from the voltage at the tapping point and that of
// the supply, with the coil as stated; the inverse of Volt. It gives an error for
// a voltage that no sender brings about.
func (s Shared) Ohm(supply, volt float64) (float64, error) {
	ohm := s.told(supply, volt)
	// What rounding takes off a sender at 0 Ω behind a lead isn't an error.
	if !finite(ohm, volt) || volt < 0 || ohm < -1e-9*(s.LeadSender+1e-3) {
		return 0, fmt.Errorf("%g V at the sender and %g V at the supply; expected a voltage between that of a shorted sender, %.4g V, and that of an open one, %.4g V", volt, supply, s.Volt(supply, 0), s.OpenVolt(supply))
	}
	return max(0, ohm), nil
}

// told gives what Ohm does without a check: endless for a voltage as high as an
// open sender's or higher, negative for one lower than a shorted sender's.
func (s Shared) told(supply, volt float64) float64 {
	current := (supply-volt)/(s.Coil+s.LeadGauge) + (s.PullupVolt-volt)*perOhm(s.Pullup) - volt*perOhm(s.Load)
	if current <= 0 {
		return math.Inf(1)
	}
	return volt/current - s.LeadSender
}

// needle gives how far the second input moves the needle, in points: the needle
// follows the current in its coil, so what counts is which sender alone would
// draw the same.
func (s Shared) needle(supply, ohm float64) float64 {
	at := s.Volt(supply, ohm)
	current := (supply - at) / (s.Coil + s.LeadGauge)
	if current <= 0 {
		return sharedMost // the needle stands still or goes backwards
	}
	alone := at/current - s.LeadSender
	return hold((alone - ohm) * s.Span.PerOhm())
}

func hold(points float64) float64 { return max(-sharedMost, min(points, sharedMost)) }

// misread gives the error in points where the supply and the coil are taken for
// what they aren't.
func (s Shared) misread(supply, taken, coil, ohm float64) float64 {
	return hold((s.told(taken, s.volt(supply, coil, ohm)) - ohm) * s.Span.PerOhm())
}

// Verdict says whether a sender can be shared.
type Verdict string

// The verdicts.
const (
	Possible     Verdict = "possible"
	OnlyMeasured Verdict = "possible only with the supply measured"
	NotPossible  Verdict = "not possible"
)

// Sharing is what sharing would do.
type Sharing struct {
	Verdict Verdict
	// Empty and Full are what the second input sees over the usual supply, V.
	Empty, Full Between
	// Top is the most it sees, V: the sender's wire broken and the supply at its
	// highest. Surges come on top of it.
	Top float64
	// Divide is the part of the voltage that may reach the input, 1 where it stands
	// all of Top.
	Divide float64
	// Assumed is the worst error in points where the supply isn't measured and is
	// taken for the middle of the usual range; Ratio that where it is measured. An
	// error of 100 points or more is 100.
	Assumed, Ratio float64
	Needle         float64 // the worst shift of the needle by the second input, points
	Current        float64 // the most through the sender within its span, A
	Findings       []finding.Finding
}
