package api

import (
	"context"
	"net/http"
	"time"

	"gaugewright/internal/history"
)

// HistoryAsked is what of a tank's levels is asked for.
type HistoryAsked struct {
	TankPath
	Stretch
	Parts
}

// ReadingsAsked is what of a tank's readings is asked for.
type ReadingsAsked struct {
	TankPath
	Source string `query:"source" required:"true" maxLength:"128" doc:"By which way they came, as /lines has it." example:"mqtt"`
	Signal string `query:"signal" enum:"ohm,volt,count,level_pct" default:"ohm" doc:"What they are, as /lines has it." example:"ohm"`
	Stretch
	Parts
}

// EventsAsked is which events are asked for.
type EventsAsked struct {
	Tank string `query:"tank" maxLength:"64" doc:"To which tank; to all and the watch itself unless given." example:"fresh"`
	Stretch
	Most int `query:"most" minimum:"1" maximum:"1000" default:"100" doc:"How many, at the most." example:"100"`
}

// RunList is the runs of readings that there are of a tank.
type RunList struct {
	Lines []RunOfReadings `json:"lines" nullable:"false" doc:"The runs of readings, each from one source and of one signal."`
}

// EventList is events.
type EventList struct {
	Events []Event `json:"events" nullable:"false" doc:"The latest first."`
}

func (a *API) pastOperations() {
	get(a, look, "get-history", "/tanks/{tank}/history", "history", "The levels of one tank over time",
		"The levels rolled up into parts of equal length. The minute, hour and day are kept rolled up, so years take no longer than an hour.", a.history)
	get(a, look, "get-readings", "/tanks/{tank}/readings", "history", "The raw readings of one tank over time",
		"What the sender gave, before anything was made of it, rolled up.", a.readings)
	get(a, look, "list-lines", "/tanks/{tank}/lines", "history", "The runs of readings that there are of one tank",
		"Which sources have sent what for the tank.",
		func(ctx context.Context, in *TankPath) (RunList, error) {
			out := RunList{Lines: []RunOfReadings{}}
			if _, err := a.tankNo(ctx, in.Tank); err != nil {
				return out, err
			}
			p, err := a.past()
			if err != nil {
				return out, err
			}
			lines, err := p.Lines(ctx, in.Tank)
			for _, l := range lines {
				out.Lines = append(out.Lines, RunOfReadings{Source: l.Source, Signal: signalName(l.Signal)})
			}
			return out, err
		})
	get(a, look, "list-events", "/events", "history", "What happened",
		"Faults of the tanks that began and were mended, and what befell the watch itself.", a.events)
}

// stretchOf gives a stretch that can be asked for.
func stretchOf(from, to time.Time, buckets int) (history.Stretch, error) {
	s := history.Stretch{From: from, To: to, Buckets: buckets}
	if err := s.Check(); err != nil {
		return s, &Refusal{Status: http.StatusUnprocessableEntity, Detail: "The stretch can't be told: " + err.Error() + "."}
	}
	return s, nil
}

func (a *API) history(ctx context.Context, in *HistoryAsked) (History, error) {
	out := History{Tank: in.Tank, Buckets: []LevelsBucket{}}
	if _, err := a.tankNo(ctx, in.Tank); err != nil {
		return out, err
	}
	p, err := a.past()
	if err != nil {
		return out, err
	}
	if out.From, out.To, err = in.asked(a.o.Now()); err != nil {
		return out, err
	}
	stretch, err := stretchOf(out.From, out.To, in.Buckets)
	if err != nil {
		return out, err
	}
	out.BucketS = max(stretch.Grid().Width, 60) // levels are rolled up by the minute
	buckets, err := p.Levels(ctx, in.Tank, stretch)
	for _, b := range buckets {
		out.Buckets = append(out.Buckets, levelsBucket(b))
	}
	return out, err
}

func (a *API) readings(ctx context.Context, in *ReadingsAsked) (Readings, error) {
	out := Readings{Tank: in.Tank, Source: in.Source, Signal: in.Signal, Buckets: []ReadingsBucket{}}
	if _, err := a.tankNo(ctx, in.Tank); err != nil {
		return out, err
	}
	p, err := a.past()
	if err != nil {
		return out, err
	}
	if out.From, out.To, err = in.asked(a.o.Now()); err != nil {
		return out, err
	}
	line := history.Line{Tank: in.Tank, Source: in.Source, Signal: signalNamed(in.Signal)}
	stretch, err := stretchOf(out.From, out.To, in.Buckets)
	if err != nil {
		return out, err
	}
	out.BucketS = stretch.Grid().Width
	buckets, err := p.Readings(ctx, line, stretch)
	for _, b := range buckets {
		out.Buckets = append(out.Buckets, readingsBucket(b))
	}
	return out, err
}

func (a *API) events(ctx context.Context, in *EventsAsked) (EventList, error) {
	out := EventList{Events: []Event{}}
	if in.Tank != "" {
		if _, err := a.tankNo(ctx, in.Tank); err != nil {
			return out, err
		}
	}
	p, err := a.past()
	if err != nil {
		return out, err
	}
	from, to, err := in.asked(a.o.Now())
	if err != nil {
		return out, err
	}
	who := whose(ctx)
	// Whoever sees some of the tanks alone gets the latest of those.
	most := in.Most
	if in.Tank == "" && who.Tanks != nil {
		most = mostEvents
	}
	events, err := p.Events(ctx, in.Tank, from, to, most)
	for _, e := range events {
		if sees(who, e) && len(out.Events) < in.Most {
			out.Events = append(out.Events, eventOf(e, a.o.Zone))
		}
	}
	return out, err
}
