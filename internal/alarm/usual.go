package alarm

import "time"

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
const GasLeaks = "Shut the valve at the tank, let air in, and light nothing and switch nothing until someone licensed has looked."

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
		r.Says = "Don't put in any more. Have someone who is licensed let it down to the permitted fill, in open air."
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
