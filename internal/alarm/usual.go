package alarm

import (
	"slices"
	"time"
)

// About is what is known of a tank for its usual alarms.
type About struct {
	Tank  string
	Fills bool // it is a tank of waste water: full is what is bad
	Gas   bool // it holds liquefied gas
	// Permitted is where the permitted fill stands on the scale; 0, or 1: it can't be
	// seen that it is exceeded.
	Permitted float64
}

// The usual setpoints, on the scale.
const (
	usualLow      = 0.15
	usualHigh     = 0.85
	usualDeadband = 0.03
)

// PermittedFill is the setting of an alarm about more than the permitted fill.
const PermittedFill = "the permitted fill"

// GasLeaks is what to do where gas may leak (common practice, no source).
const GasLeaks = "Shut the valve at the tank. No flame, no spark, no switch. Let air in, get everybody out, and call someone licensed."

// overfilled is what to do where there is more than the permitted fill (common practice,
// no source).
const overfilled = "Don't put in any more. Have someone who is licensed let it down to the permitted fill, in open air."

// Who did something about an alarm, where they have no name of their own.
const (
	ByOwner  = "The owner"
	ByFitter = "The fitter"
)

// Own gives the words of an alarm that a person wrote, so that they are the same in every
// language: who did something about it, and what to do where that was set up.
func (s Standing) Own() []string { return own(s.By, s.Rule.Says) }

// Own gives the words of a move that a person wrote.
func (m Move) Own() []string { return own(m.By) }

func own(words ...string) []string {
	return slices.DeleteFunc(words, func(w string) bool {
		return w == "" || w == GasLeaks || w == overfilled || w == ByOwner || w == ByFitter
	})
}

// Usual gives the alarms of a tank for which none is set up (our choice, no source).
func Usual(a About) []Rule {
	leak := Default(a.Tank, Leak)
	if a.Gas {
		leak.Says = GasLeaks
	}
	list := []Rule{leak, Default(a.Tank, Fault), Default(a.Tank, Stale)}
	switch {
	case a.Fills:
		list = append(list, Default(a.Tank, High))
	default:
		list = append(list, Default(a.Tank, Low))
	}
	if !a.Fills && a.Permitted > 0 && a.Permitted < 1 {
		r := Default(a.Tank, High)
		r.Setpoint, r.Setting, r.Priority = a.Permitted, PermittedFill, PriorityHigh
		r.Says = overfilled
		list = append(list, r)
	}
	return list
}

// Default gives an alarm of a kind with what is usual for all of it. There is no usual
// setpoint for Rate.
func Default(tank string, k Kind) Rule {
	r := Rule{ID: tank + "/" + string(k), Tank: tank, Kind: k, Priority: PriorityMedium}
	switch k {
	case Low:
		r.Setpoint, r.Deadband, r.Setting = usualLow, usualDeadband, "15 %"
		r.On, r.Off = 2*time.Minute, 10*time.Minute
	case High:
		r.Setpoint, r.Deadband, r.Setting = usualHigh, usualDeadband, "85 %"
		r.On, r.Off = 2*time.Minute, 10*time.Minute
	case Leak:
		r.Priority = PriorityCritical
	case Fault:
		r.On, r.Off = 2*time.Minute, 5*time.Minute
	case Stale:
		r.Priority, r.On = PriorityLow, 24*time.Hour
	case Rate:
		r.On, r.Off = 15*time.Minute, 10*time.Minute
	}
	return r
}
