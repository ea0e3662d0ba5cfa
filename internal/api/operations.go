package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"gaugewright/internal/doors"
	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// operations registers what may be asked.
func (a *API) operations() {
	a.tankOperations()
	a.pastOperations()
	a.flowOperations()
	a.watchOperations()
	a.alarmOperations()
	a.postOperation()
	a.streamOperation()
}

// Body is an answer with a body.
type Body[T any] struct {
	Body T
}

// get registers a question.
func get[I, O any](a *API, want right, id, path, tag, summary, description string, h func(context.Context, *I) (O, error)) {
	huma.Register(a.huma, operation(http.MethodGet, want, id, path, tag, summary, description), func(ctx context.Context, in *I) (*Body[O], error) {
		ctx, cancel := context.WithTimeout(ctx, answerWithin)
		defer cancel()
		out, err := h(ctx, in)
		if err != nil {
			return nil, a.refusal(err).asError()
		}
		return &Body[O]{out}, nil
	})
}

// operation is what all have in common.
func operation(method string, want right, id, path, tag, summary, description string) huma.Operation {
	return huma.Operation{
		Method: method, OperationID: id, Path: Path + path, Tags: []string{tag}, Summary: summary, Description: description,
		Security: []map[string][]string{{"bearer": {}}, {}},
		Errors:   []int{http.StatusUnauthorized, http.StatusForbidden, http.StatusNotFound, http.StatusUnprocessableEntity, http.StatusServiceUnavailable},
		Metadata: map[string]any{rightName: want},
	}
}

// TankPath names a tank.
type TankPath struct {
	Tank string `path:"tank" maxLength:"64" doc:"The tank's name in the watch." example:"fresh"`
}

// tankNo finds a tank that may be looked at.
func (a *API) tankNo(ctx context.Context, name string) (int, error) {
	return a.tankWhere(name, whose(ctx).Sees(name))
}

// tankWhere finds a tank. Whoever may have nothing to do with it isn't told either
// whether it is there.
func (a *API) tankWhere(name string, may bool) (int, error) {
	for i, t := range a.o.Watch.Tanks() {
		if may && t.Name == name {
			return i, nil
		}
	}
	return 0, &Refusal{Status: http.StatusNotFound, Detail: fmt.Sprintf("No tank is called %q. %s/tanks lists those there are.", name, Path)}
}

// past gives what answers for the past.
func (a *API) past() (history.Past, error) {
	if p := a.o.Watch.Past(); p != nil {
		return p, nil
	}
	return nil, &Refusal{Status: http.StatusNotFound, Detail: "Nothing of the past is kept here."}
}

// Stretch says which time is asked for.
type Stretch struct {
	From time.Time `query:"from" doc:"Where the stretch begins, RFC 3339; a day before its end unless given." example:"2026-11-23T14:00:00Z"`
	To   time.Time `query:"to" doc:"Where it ends, RFC 3339, itself not in it; now unless given." example:"2026-11-24T14:00:00Z"`
}

// asked gives the stretch with what wasn't said filled in.
func (s Stretch) asked(now time.Time) (from, to time.Time, err error) {
	if to = s.To; to.IsZero() {
		to = now
	}
	if from = s.From; from.IsZero() {
		from = to.Add(-usualAsked)
	}
	switch {
	case !from.Before(to):
		err = &Refusal{Status: http.StatusUnprocessableEntity, Detail: fmt.Sprintf("The stretch is from %s to %s. Expected from to be before to.", from.UTC().Format(time.RFC3339), to.UTC().Format(time.RFC3339))}
	case to.Sub(from) > longestAsked:
		err = &Refusal{Status: http.StatusUnprocessableEntity, Detail: fmt.Sprintf("The stretch is from %s to %s. Expected 50 years at the most.", from.UTC().Format(time.RFC3339), to.UTC().Format(time.RFC3339))}
	}
	return from.UTC(), to.UTC(), err
}

// Parts says into how many parts a stretch is to be rolled up.
type Parts struct {
	Buckets int `query:"buckets" minimum:"1" maximum:"10000" default:"300" doc:"Into how many parts of equal length, at the most. They are whole seconds long and begin at a multiple of their length in UTC." example:"300"`
}

// signals are the signals by the names that readings have for them.
var signals = []struct {
	signal watch.Signal
	name   string
}{{watch.Ohm, "ohm"}, {watch.Volt, "volt"}, {watch.Count, "count"}, {watch.Percent, "level_pct"}}

func signalName(s watch.Signal) string {
	for _, x := range signals {
		if x.signal == s {
			return x.name
		}
	}
	return "ohm"
}

func signalNamed(name string) watch.Signal {
	for _, x := range signals {
		if x.name == name {
			return x.signal
		}
	}
	return watch.Ohm
}

// sees says whether an event may be seen: one of the watch itself by those who may
// see that, or who may look at all tanks.
func sees(who Access, e history.Event) bool {
	if e.Tank == "" {
		return who.Inside || who.Tanks == nil && who.Role != doors.Nobody
	}
	return who.Sees(e.Tank)
}
