package alarm

import (
	"fmt"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// amount words a part of the scale.
func (t *Tank) amount(part float64) string {
	if t.c.Amount != nil {
		return t.c.Amount(part)
	}
	return Percent(part)
}

// Percent words a part of the scale in percent: "12 %".
func Percent(part float64) string { return quantity.Short(100*part, 0) + " %" }

func (t *Tank) speed(part float64) string {
	if t.c.Speed != nil {
		return t.c.Speed(part)
	}
	return quantity.Short(100*part, 1) + " % an hour"
}

// levelWords says what an alarm about the level is about.
func (t *Tank) levelWords(r Rule, l watch.Level) string {
	switch r.Kind {
	case High:
		return fmt.Sprintf("%s rose to %s, above %s.", t.c.Label, Percent(float64(l.Share)), r.Setting)
	case Rate:
		rate, _, _ := t.trail.fall(r.On)
		return fmt.Sprintf("%s fell by %s, faster than %s.", t.c.Label, t.speed(rate), r.Setting)
	}
	return fmt.Sprintf("%s fell to %s, below %s.", t.c.Label, Percent(float64(l.Share)), r.Setting)
}

func (t *Tank) leftWords(r Rule) string {
	return fmt.Sprintf("%s will last less than %s, nine times in ten.", t.c.Label, r.Setting)
}

func (t *Tank) faultWords(l watch.Level) string {
	if l.Status != watch.Failure {
		return fmt.Sprintf("The sender of %s can't be believed: the float doesn't move although the contents do.", t.c.Label)
	}
	return fmt.Sprintf("The sender of %s can't be believed: %s.", t.c.Label, l.Fault)
}

func (t *Tank) staleWords(l watch.Level) string {
	return fmt.Sprintf("Nothing has come in for %s since %s.", t.c.Label, Moment(l.Time, t.c.Zone))
}

func (t *Tank) leakWords(e flow.Event) string {
	switch {
	case e.Kind == flow.Leak && !e.Open() && e.Amount > 0:
		return fmt.Sprintf("%s leaked: it lost %s.", t.c.Label, t.amount(e.Amount))
	case e.Kind == flow.Leak && !e.Open():
		return fmt.Sprintf("%s leaked.", t.c.Label)
	case e.Kind == flow.Drop:
		return fmt.Sprintf("%s fell at once by %s.", t.c.Label, t.amount(e.Amount))
	case e.PerHour > 0:
		return fmt.Sprintf("%s leaks %s.", t.c.Label, t.speed(e.PerHour))
	}
	return fmt.Sprintf("%s leaks.", t.c.Label)
}

// Moment words a moment in a zone: "26 November 2026 at 02:10".
func Moment(at time.Time, zone *time.Location) string {
	if zone == nil {
		zone = time.UTC
	}
	return at.In(zone).Format("2 January 2006 at 15:04")
}

// Standings gives the alarms as they stand.
func (t *Tank) Standings() []Standing {
	list := make([]Standing, 0, len(t.alarms))
	for _, o := range t.alarms {
		list = append(list, StandingOf(t.c.Label, o.rule, o.point, t.c.Zone))
	}
	return list
}

// StandingOf is an alarm as people see it.
func StandingOf(label string, r Rule, p Point, zone *time.Location) Standing {
	s := Standing{Rule: r, Label: label, State: p.State, Since: p.Since, Raised: p.Raised, Cleared: p.Cleared, Active: p.Active, Until: p.Until, By: p.By, What: p.What, Sent: p.Sent}
	s.Sentence = s.sentence(zone)
	return s
}

// sentence says how it stands.
func (s Standing) sentence(zone *time.Location) string {
	at := func(t time.Time) string { return Moment(t, zone) }
	switch s.State {
	case Unacknowledged:
		return fmt.Sprintf("That began on %s. Nobody has acknowledged it.", at(s.Raised))
	case Acknowledged:
		return fmt.Sprintf("That began on %s. %s acknowledged it on %s.", at(s.Raised), s.who(), at(s.Since))
	case Returned:
		return fmt.Sprintf("That began on %s and was over on %s. Nobody has acknowledged it.", at(s.Raised), at(s.Cleared))
	case Shelved:
		return fmt.Sprintf("%s shelved it until %s.", s.who(), at(s.Until))
	case OutOfService:
		return fmt.Sprintf("%s took it out of service on %s.", s.who(), at(s.Since))
	case Suppressed:
		return "The level isn't known, which another alarm tells. This one waits for it."
	}
	return "Nothing is amiss."
}

func (s Standing) who() string {
	if s.By == "" {
		return "Somebody"
	}
	return s.By
}
