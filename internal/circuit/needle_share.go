package circuit

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Analyse tells whether a sender can be read beside its gauge. Errors are looked
// for at 21 marks over the span and at the ends of what the supply, its
// measurement and the coil may be. What is told grows or falls throughout with
// each of them, so nothing between the ends is worse where the second input takes
// no current; with a pull-up that holds of all but the measured supply.
func (s Shared) Analyse() (Sharing, error) {
	if err := s.Check(); err != nil {
		return Sharing{}, err
	}
	a := Sharing{Divide: 1}
	driving, all := s.driving(), s.supply()
	a.Empty = Between{s.Volt(driving.Low, s.Span.Empty), s.Volt(driving.High, s.Span.Empty)}
	a.Full = Between{s.Volt(driving.Low, s.Span.Full), s.Volt(driving.High, s.Span.Full)}
	a.Top = s.OpenVolt(all.High)
	if a.Top > s.Stands {
		a.Divide = s.Stands / a.Top
	}
	measured := orUsual(s.Measured, usualMeasured)
	const marks = 20
	for i := range marks + 1 {
		ohm := s.Span.Ohm(100 * float64(i) / marks)
		for _, supply := range []float64{driving.Low, driving.High} {
			for _, coil := range []float64{s.coil().Low, s.coil().High} {
				a.Assumed = worstOf(a.Assumed, s.misread(supply, driving.Mid(), coil, ohm))
				for _, part := range []float64{1 - measured, 1 + measured} {
					a.Ratio = worstOf(a.Ratio, s.misread(supply, supply*part, coil, ohm))
				}
			}
			a.Needle = worstOf(a.Needle, s.needle(supply, ohm))
		}
		if below := ohm + s.LeadSender; below > 0 {
			a.Current = max(a.Current, s.volt(all.High, s.coil().Low, ohm)/below)
		} else {
			a.Current = max(a.Current, all.High/(s.coil().Low+s.LeadGauge)+s.PullupVolt*perOhm(s.Pullup))
		}
	}
	limit := orUsual(s.Limit, usualPoints)
	switch {
	case a.Ratio > limit || a.Needle > limit:
		a.Verdict = NotPossible
	case a.Assumed > limit || s.CrossCoil:
		// A crossed coil isn't modelled well enough to trust the supply's middle.
		a.Verdict = OnlyMeasured
	default:
		a.Verdict = Possible
	}
	a.Findings = s.sentences(a, limit)
	if a.Ratio > limit && !s.Steady {
		still := s
		still.Steady = true
		without, err := still.Analyse()
		if err != nil {
			return Sharing{}, err
		}
		if without.Ratio <= limit {
			a.Findings = append(a.Findings, finding.Finding{Kind: "share-coil-warmth", Weight: finding.Note, Text: fmt.Sprintf(
				"the warming of the gauge's coil by ±%s K is most of that: with a steady coil it would be %s points; measure the sender's current across a small known resistor instead of relying on the coil",
				quantity.Short(orUsual(s.Warmth, usualWarmth), 1), sharePoints(without.Ratio))})
		}
	}
	return a, nil
}

func (s Shared) sentences(a Sharing, limit float64) []finding.Finding {
	var list []finding.Finding
	add := func(weight finding.Weight, kind, format string, args ...any) {
		list = append(list, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
	}
	within := quantity.Short(limit, 2)
	driving := s.driving()
	switch a.Verdict {
	case Possible:
		add(finding.Note, "share-possible", "the sender can be shared: the second input is out by up to %s points with the supply taken for %s V, and the limit is %s", sharePoints(a.Assumed), quantity.Short(driving.Mid(), 2), within)
	case OnlyMeasured:
		add(finding.Doubt, "share-measured", "the sender can be shared only if the supply at the gauge is measured at the same moment: out by up to %s points with it, %s without it between %s and %s V, and the limit is %s", sharePoints(a.Ratio), sharePoints(a.Assumed), quantity.Short(driving.Low, 2), quantity.Short(driving.High, 2), within)
	case NotPossible:
		add(finding.Bad, "share-not-possible", "the sender can't be shared so: out by up to %s points even with the supply measured, the needle moved by up to %s, and the limit is %s; fit a sender of its own, or disconnect the gauge", sharePoints(a.Ratio), sharePoints(a.Needle), within)
	}
	if a.Divide < 1 {
		add(finding.Bad, "share-voltage", "up to %s V reach the second input when the sender's wire breaks, and it stands %s V: it needs a divider that lets through %s of it or less, and its own protection", quantity.Short(a.Top, 2), quantity.Short(s.Stands, 2), part(a.Divide))
	}
	add(finding.Note, "share-surge", "a vehicle's supply and the gauge's coil bring surges far above %s V, which aren't reckoned here: the input needs protection against them", quantity.Short(s.supply().High, 1))
	if a.Needle > limit && s.Pullup > 0 {
		add(finding.Bad, "share-pullup", "the second input's own current moves the needle by up to %s points; switch its pull-up off and only listen", sharePoints(a.Needle))
	}
	if s.CrossCoil {
		add(finding.Doubt, "share-crossed-coil", "a crossed-coil gauge isn't modelled well by one resistance: measure the voltage at the sender and at the supply at several marks before relying on this")
	}
	if s.Steady {
		add(finding.Note, "share-coil", "the coil is taken as steady; a copper coil changes by 0.39 %% per kelvin")
	}
	if !s.NotFlammable {
		add(finding.Note, "hazardous-place", "%s", CodeCaution)
		if s.Pullup > 0 && s.PullupVolt/s.Pullup > UsualCurrent {
			add(finding.Bad, "share-added-current", "the second input may add up to %s mA to a sender that may sit in fuel or gas, where no more than %s mA is usual; take a larger pull-up, or none", quantity.Short(s.PullupVolt/s.Pullup*1e3, 2), quantity.Short(UsualCurrent*1e3, 2))
		}
		if a.Current > UsualCurrent {
			add(finding.Note, "share-current", "the gauge itself sends up to %s mA through the sender; nothing that is added may make that more", quantity.Short(a.Current*1e3, 1))
		}
	}
	return list
}

// sharePoints prints an error in points, held to 100.
func sharePoints(v float64) string {
	if v >= sharedMost {
		return "100 or more"
	}
	return quantity.Short(v, 1)
}

// part prints a fraction in percent, cut down: a divider that lets through a
// little more than it says is what breaks an input.
func part(v float64) string { return quantity.Short(math.Floor(v*1000)/10, 1) + " %" }
