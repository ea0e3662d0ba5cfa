package api

import (
	"context"
	"net/http"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
)

// Flows is what programs may ask of what came in and went out of the tanks.
type Flows interface {
	// Outlooks says of each tank how it goes on, in the order of Tanks.
	Outlooks(now time.Time) []outlook.Outlook
	// Uses says what is known of the use, in the order of Tanks.
	Uses() []Use
	// Flows gives what happened to a tank between two times, the latest first.
	// Of some kinds alone where those are named.
	Flows(ctx context.Context, tank string, from, to time.Time, most int, kinds ...flow.Kind) ([]flow.Event, error)
}

// Use is what is known of the use of a tank, in parts of what its full scale holds.
type Use struct {
	Days      []outlook.Day
	ByHour    [24]float64
	ByWeekday [7]float64
	// Full is what the full scale holds, m³ and kg; 0 where that isn't known.
	Full, FullMass float64
}

// FlowsAsked is which events of a tank are asked for.
type FlowsAsked struct {
	TankPath
	Stretch
	Kind []string `query:"kind" enum:"refill,drain,use,leak,drop,stuck" doc:"Of these kinds alone, with commas between; without it, of all. Spells of use may be many." example:"refill"`
	Most int      `query:"most" minimum:"1" maximum:"1000" default:"100" doc:"How many, at the most." example:"100"`
}

// FlowList is what came in and went out.
type FlowList struct {
	Flows []Flow `json:"flows" nullable:"false" doc:"The latest first. A sender's faults are among the events."`
}

// follows gives what answers for what came in and went out.
func (a *API) follows() (Flows, error) {
	if f := a.o.Watch.Flows(); f != nil {
		return f, nil
	}
	return nil, &Refusal{Status: http.StatusNotFound, Detail: "What came in and went out isn't followed here."}
}

func (a *API) flowOperations() {
	get(a, look, "list-flows", "/tanks/{tank}/flows", "use", "What came in and went out of one tank",
		"Refills, drains, leaks, sudden drops, and what looks like them. Each with its 90 % interval and how probable it is; what goes on has no end yet.", a.flows)
	get(a, look, "get-outlook", "/tanks/{tank}/outlook", "use", "How fast one tank is used, and how long it lasts",
		"The use a day and the time left, each with its 90 % interval, the use of each day, and in which hours and on which weekdays it falls.",
		func(ctx context.Context, in *TankPath) (OutlookWhole, error) {
			i, err := a.tankNo(ctx, in.Tank)
			if err != nil {
				return OutlookWhole{}, err
			}
			f, err := a.follows()
			if err != nil {
				return OutlookWhole{}, err
			}
			return outlookWhole(in.Tank, f.Outlooks(a.o.Now())[i], f.Uses()[i], a.o.Zone), nil
		})
}

func (a *API) flows(ctx context.Context, in *FlowsAsked) (FlowList, error) {
	out := FlowList{Flows: []Flow{}}
	i, err := a.tankNo(ctx, in.Tank)
	if err != nil {
		return out, err
	}
	f, err := a.follows()
	if err != nil {
		return out, err
	}
	from, to, err := in.asked(a.o.Now())
	if err != nil {
		return out, err
	}
	var kinds []flow.Kind
	for _, k := range in.Kind {
		kinds = append(kinds, flow.Kind(k))
	}
	use := f.Uses()[i]
	events, err := f.Flows(ctx, in.Tank, from, to, in.Most, kinds...)
	for _, e := range events {
		out.Flows = append(out.Flows, FlowOf(in.Tank, e, use.Full, use.FullMass))
	}
	return out, err
}
