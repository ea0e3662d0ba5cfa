package api

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"gaugewright/internal/alarm"
)

// AlarmList is all alarms of the tanks that may be looked at.
type AlarmList struct {
	Alarms []alarm.Published `json:"alarms" nullable:"false" doc:"What needs somebody first, then by priority. None where the watch has no alarms."`
}

// AlarmMove is one change of an alarm's state.
type AlarmMove struct {
	Alarm string      `json:"alarm" doc:"The alarm's ID." example:"gas/leak"`
	Time  time.Time   `json:"time" doc:"When, UTC: the time of what it tells, which may be long before it was told." example:"2026-11-26T02:10:00Z"`
	From  alarm.State `json:"from" doc:"The state before." example:"normal"`
	To    alarm.State `json:"to" doc:"The state after." example:"unacknowledged"`
	By    *string     `json:"by" doc:"Who did it; null: the watch." example:"Robin"`
	What  *string     `json:"what" doc:"What it was about, in a sentence; null: nothing is said." example:"Gas leaks 0.2 kg an hour."`
}

// AlarmMoves is what alarms did.
type AlarmMoves struct {
	Moves []AlarmMove `json:"moves" nullable:"false" doc:"The latest first, in the order in which they were told."`
}

// AlarmPath names an alarm.
type AlarmPath struct {
	TankPath
	Name string `path:"name" maxLength:"64" doc:"The alarm's name: what follows the slash in its ID." example:"leak"`
}

// MovesAsked asks for what alarms did.
type MovesAsked struct {
	Alarm string `query:"alarm" maxLength:"140" doc:"The ID of one alarm; all of them unless given." example:"gas/leak"`
	Most  int    `query:"most" minimum:"1" maximum:"1000" default:"100" doc:"How many at the most." example:"100"`
}

// ShelveAsked asks to shelve an alarm.
type ShelveAsked struct {
	AlarmPath
	Body struct {
		Until *time.Time `json:"until" required:"true" nullable:"true" doc:"Until when it is silent, RFC 3339, a week ahead at the most; null takes it off the shelf." example:"2026-11-26T08:00:00Z"`
	}
}

// AlarmDone is the alarm after what was asked for.
type AlarmDone struct {
	Alarm alarm.Published `json:"alarm" doc:"As it stands now. It is on disk."`
}

func (a *API) alarmOperations() {
	get(a, look, "list-alarms", "/alarms", "alarms", "The alarms as they stand",
		"Each alarm of the tanks that the token is for, with its state in the diagram of IEC 62682 and ISA-18.2.",
		func(ctx context.Context, _ *struct{}) (AlarmList, error) {
			list := AlarmList{Alarms: []alarm.Published{}}
			all, err := a.alarms(ctx)
			for _, s := range all {
				list.Alarms = append(list.Alarms, s.Publish())
			}
			return list, err
		})
	get(a, look, "list-alarm-moves", "/alarms/moves", "alarms", "What the alarms did",
		"Each change of an alarm's state, with who brought it about.", a.alarmMoves)
	acts(a, "acknowledge-alarm", "/alarms/{tank}/{name}/acknowledge", "Say that somebody knows of an alarm",
		"It isn't told again then until it is raised anew. Of an alarm that needs nobody it changes nothing.",
		func(ctx context.Context, in *AlarmPath) (AlarmDone, error) {
			return a.answered(ctx, *in, func(b alarm.Board, id, by string) error { return b.Acknowledge(ctx, id, by) })
		})
	acts(a, "shelve-alarm", "/alarms/{tank}/{name}/shelve", "Make an alarm silent for a time",
		"It ends by itself. If what it is about is there then, it is raised as if it were new.",
		func(ctx context.Context, in *ShelveAsked) (AlarmDone, error) {
			var until time.Time
			if in.Body.Until != nil {
				until = *in.Body.Until
			}
			return a.answered(ctx, in.AlarmPath, func(b alarm.Board, id, by string) error { return b.Shelve(ctx, id, by, until) })
		})
}

// acts registers what is done about an alarm.
func acts[I any](a *API, id, path, summary, description string, h func(context.Context, *I) (AlarmDone, error)) {
	op := operation(http.MethodPost, act, id, path, "alarms", summary, description+" A token needs both rights, to look and to publish, for the tank.")
	op.MaxBodyBytes, op.BodyReadTimeout = 4<<10, sentWithin
	huma.Register(a.huma, op, func(ctx context.Context, in *I) (*Body[AlarmDone], error) {
		ctx, cancel := context.WithTimeout(ctx, answerWithin)
		defer cancel()
		out, err := h(ctx, in)
		if err != nil {
			return nil, a.refusal(err).asError()
		}
		return &Body[AlarmDone]{out}, nil
	})
}

// alarms gives those that may be looked at.
func (a *API) alarms(ctx context.Context) ([]alarm.Standing, error) {
	board := a.o.Watch.Alarms()
	if board == nil {
		return nil, nil
	}
	all, err := board.Alarms(ctx)
	var list []alarm.Standing
	for _, s := range all {
		if whose(ctx).Sees(s.Rule.Tank) {
			list = append(list, s)
		}
	}
	return list, err
}

func (a *API) alarmMoves(ctx context.Context, in *MovesAsked) (AlarmMoves, error) {
	out := AlarmMoves{Moves: []AlarmMove{}}
	board := a.o.Watch.Alarms()
	if board == nil {
		return out, nil
	}
	list, err := board.Moves(ctx, in.Alarm, in.Most)
	for _, m := range list {
		if whose(ctx).Sees(alarm.TankOf(m.ID)) {
			out.Moves = append(out.Moves, AlarmMove{Alarm: m.ID, Time: m.Time.UTC(), From: m.From, To: m.To, By: said(m.By), What: said(m.What)})
		}
	}
	return out, err
}

// answered does something about an alarm and gives it as it stands then.
func (a *API) answered(ctx context.Context, p AlarmPath, do func(b alarm.Board, id, by string) error) (AlarmDone, error) {
	who, id := whose(ctx), p.Tank+"/"+p.Name
	board := a.o.Watch.Alarms()
	none := &Refusal{Status: http.StatusNotFound, Detail: "No alarm is called " + id + ". " + Path + "/alarms lists those there are."}
	if board == nil || !who.Sees(p.Tank) || !who.answers(p.Tank) {
		return AlarmDone{}, none
	}
	by := who.Name
	if by == "" {
		by = string(who.Role)
	}
	switch err := do(board, id, by); {
	case errors.Is(err, alarm.ErrNone):
		return AlarmDone{}, none
	case errors.Is(err, alarm.ErrShelf):
		return AlarmDone{}, &Refusal{Status: http.StatusUnprocessableEntity, Detail: "The alarm can't be shelved until then. Expected a time from now to a week ahead."}
	case err != nil:
		return AlarmDone{}, err
	}
	all, err := board.Alarms(ctx)
	for _, s := range all {
		if s.Rule.ID == id {
			return AlarmDone{s.Publish()}, err
		}
	}
	return AlarmDone{}, errors.Join(err, none)
}
