package web

import (
	"context"
	"math"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/job"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
)

// ahead is what is known of how the tanks go on, in the order of the labels; of each
// the zero value where nothing is.
type ahead struct {
	flows    Flows // nil: it isn't followed
	outlooks []outlook.Outlook
}

// aheadOf asks a watch how its tanks go on.
func aheadOf(w Watched, now time.Time) ahead {
	f := w.Flows()
	if f == nil {
		return ahead{}
	}
	return ahead{f, f.Outlooks(now)}
}

// outlook gives how the tank at a place goes on.
func (a ahead) outlook(i int) outlook.Outlook {
	if i < len(a.outlooks) {
		return a.outlooks[i]
	}
	return outlook.Outlook{}
}

// use gives what is known of the use of the tank at a place. It is asked for by those
// alone who show it: the owner's page is made anew each second.
func (a ahead) use(i int) Use {
	if a.flows == nil {
		return Use{}
	}
	if list := a.flows.Uses(); i < len(list) {
		return list[i]
	}
	return Use{}
}

// mostFlows is among how many of what goes on a leak is looked for.
const mostFlows = 200

// leakOf gives the leak that goes on; false where none does, or none is known of.
func (a ahead) leakOf(ctx context.Context, tank string, now time.Time) (flow.Event, bool) {
	if a.flows == nil {
		return flow.Event{}, false
	}
	// With an error there may be what is known without the disk, and the tank's own
	// page tells of the error.
	list, _ := a.flows.Flows(ctx, tank, now.Add(-time.Minute), now.Add(time.Second), mostFlows)
	for _, e := range list {
		if e.Kind == flow.Leak && e.Open() && worthTelling(e) {
			return e, true
		}
	}
	return flow.Event{}, false
}

// worthTelling says whether an event is to be told at all: more likely than not, with figures
// that can be.
func worthTelling(e flow.Event) bool {
	return e.P >= 0.5 && finite(e.Amount) && finite(e.Low) && finite(e.High) && finite(e.PerHour) && !e.Start.IsZero()
}

// measure turns parts of what the full scale of a tank holds into the unit in which
// its owner counts.
type measure struct {
	full float64 // what the full scale comes to in it
	unit string
}

// measureOf counts gas in kilograms where they are known, everything else in litres
// or gallons, and in percent where what the full scale holds isn't known.
func measureOf(l Label, u Use) measure {
	switch {
	case l.Contents == job.LPG && u.FullMass > 0 && finite(u.FullMass):
		full, unit := l.Units.MassIn(quantity.Kilogram(u.FullMass))
		return measure{full, unit}
	case u.Full > 0 && finite(float64(u.Full)):
		full, unit := l.Units.VolumeIn(u.Full)
		return measure{full, unit}
	}
	return measure{100, "%"}
}

// text writes an amount to the decimals that its doubt deserves: "31 L".
func (m measure) text(v, width float64) string {
	return m.figure(v, m.decimals(width)) + " " + m.unit
}

// around writes an amount with its interval: "31 L (29.5 to 32.5)". The ends of one in
// whole units have a decimal, and are rounded outwards.
func (m measure) around(v, low, high float64) string {
	if !(low < high) {
		return m.text(v, v/20)
	}
	n := m.decimals(high - low)
	ends := n
	if n == 0 && m.full*high < 100 && m.unit != "%" {
		ends++
	}
	step := math.Pow(10, float64(ends))
	from, to := math.Floor(max(0, low)*m.full*step+1e-6)/step, math.Ceil(high*m.full*step-1e-6)/step
	return m.text(v, high-low) + " (" + quantity.Digits(from, ends) + " to " + quantity.Digits(to, ends) + ")"
}

// pace writes how much it is in an hour or a day.
func (m measure) pace(v float64) string { return m.text(v, v/4) }

func (m measure) figure(v float64, decimals int) string {
	return quantity.Digits(max(0, v)*m.full, decimals)
}

// decimals is how many tell an amount that is known to such a width: the last is at
// the most as small as a twentieth of it.
func (m measure) decimals(width float64) int {
	switch w := width * m.full; {
	case w >= 2 || m.unit == "%" && w >= 1:
		return 0
	case w >= 0.2 || m.unit == "%":
		return 1
	}
	return 2
}
