package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/doors"
)

// alarmsBody is the page of the alarms.
type alarmsBody struct {
	AsOf    string
	Summary string
	May     bool // who looks may do something about them
	Fitter  bool
	Needs   []alarmsOne // nobody acknowledged them
	Known   []alarmsOne // somebody did, and what they are about is there
	Silent  []alarmsOne // shelved, or out of service
	Well    []alarmsOne // the others
	Others  string      // how many those are, in words
	Moves   []alarmsMove

	Cautions []watchedCautions
}

// alarmsOne is one alarm on it.
type alarmsOne struct {
	ID    string // in the page
	Alarm string // its own
	Name  string // of the tank
	About string // "leak or sudden loss"
	State string // in the standard's words
	Class string
	What  string // what it is about; "" where nothing is amiss
	How   string // how it stands
	Says  string // what to do
	Gas   bool   // there are cautions
	May   bool

	Needs, Shelved, Out bool
	Priority            string
}

// alarmsMove is a line of what they did.
type alarmsMove struct {
	When, Name, About, Words string
}

// mostMoves is how many moves the page has.
const mostMoves = 40

// stateWords are the states in the standard's words.
var stateWords = map[alarm.State]string{
	alarm.Normal: "normal", alarm.Unacknowledged: "unacknowledged", alarm.Acknowledged: "acknowledged",
	alarm.Returned: "returned to normal, unacknowledged", alarm.Shelved: "shelved",
	alarm.Suppressed: "suppressed by design", alarm.OutOfService: "out of service",
}

// priorityWords are the priorities as people read them.
var priorityWords = map[alarm.Priority]string{
	alarm.PriorityCritical: "critical", alarm.PriorityHigh: "high priority", alarm.PriorityMedium: "medium priority", alarm.PriorityLow: "low priority",
}

func (s *Site) alarmsBody(r *http.Request) (alarmsBody, error) {
	now, who := s.o.Now(), s.who(r)
	b := alarmsBody{AsOf: now.Format("2 Jan, 15:04:05"), May: who.Role == doors.Fitter || who.Role == doors.Owner, Fitter: who.Role == doors.Fitter}
	list, err := s.alarmsSeen(r)
	if err != nil {
		return b, err
	}
	labels := map[string]Label{}
	for _, l := range s.o.Watch.Labels() {
		labels[l.Tank] = l
		if slices.ContainsFunc(list, func(a alarm.Standing) bool { return a.Rule.Tank == l.Tank && a.State != alarm.Normal }) {
			b.Cautions = cautioned(b.Cautions, orElse(l.Label, l.Tank), l.Cautions)
		}
	}
	for _, a := range list {
		one := alarmsOneOf(a, labels[a.Rule.Tank], b.May)
		ownIn(r.Context(), append(a.Own(), one.Name)...)
		switch a.State {
		case alarm.Unacknowledged, alarm.Returned:
			b.Needs = append(b.Needs, one)
		case alarm.Acknowledged:
			b.Known = append(b.Known, one)
		case alarm.Shelved, alarm.OutOfService:
			b.Silent = append(b.Silent, one)
		default:
			b.Well = append(b.Well, one)
		}
	}
	b.Summary, b.Others = alarmsSummary(len(list), len(b.Needs), len(b.Known)), alarmsOthers(len(b.Well))
	return b, s.alarmMoves(r, &b, list, now)
}

// alarmMoves fills in what the alarms did.
func (s *Site) alarmMoves(r *http.Request, b *alarmsBody, list []alarm.Standing, now time.Time) error {
	board := s.board()
	if board == nil {
		return nil
	}
	moves, err := board.Moves(r.Context(), "", 10*mostMoves)
	who := s.who(r)
	for _, m := range moves {
		if !who.Sees(alarm.TankOf(m.ID)) || len(b.Moves) == mostMoves {
			continue
		}
		line := alarmsMove{When: leftClock(m.Time.In(now.Location()), now), Name: m.ID, Words: m.Sentence()}
		for _, a := range list {
			if a.Rule.ID == m.ID {
				line.Name, line.About = a.Label, a.Rule.About()
			}
		}
		ownIn(r.Context(), append(m.Own(), line.Name)...)
		b.Moves = append(b.Moves, line)
	}
	return err
}

func alarmsOneOf(a alarm.Standing, l Label, may bool) alarmsOne {
	one := alarmsOne{
		ID: "alarm-" + strings.ReplaceAll(a.Rule.ID, "/", "-"), Alarm: a.Rule.ID, Name: orElse(a.Label, a.Rule.Tank), About: a.Rule.About(),
		State: stateWords[a.State], Class: string(a.State), How: a.Sentence, Gas: len(l.Cautions) > 0, May: may,
		Needs: a.Needs(), Shelved: a.State == alarm.Shelved, Out: a.State == alarm.OutOfService, Priority: priorityWords[a.Rule.Priority],
	}
	if a.Active || a.State == alarm.Returned {
		one.What, one.Says = a.What, a.Rule.Says
	}
	return one
}

// alarmsSummary says in a sentence whether anybody is needed.
func alarmsSummary(all, needs, known int) string {
	switch {
	case all == 0:
		return "No alarm is set up."
	case needs == 1:
		return "1 alarm waits for somebody."
	case needs > 1:
		return fmt.Sprintf("%d alarms wait for somebody.", needs)
	case known == 1:
		return "No alarm waits for somebody. 1 is known and goes on."
	case known > 1:
		return fmt.Sprintf("No alarm waits for somebody. %d are known and go on.", known)
	}
	return "No alarm waits for somebody."
}

func alarmsOthers(n int) string {
	if n == 1 {
		return "1 alarm with nothing amiss"
	}
	return fmt.Sprintf("%d alarms with nothing amiss", n)
}

// alarmsLine says on other pages that an alarm waits for somebody; "" where none does.
func (s *Site) alarmsLine(r *http.Request) string {
	list, err := s.alarmsSeen(r)
	if err != nil {
		s.o.Log.Error("the alarms can't be looked at", "error", err)
		return ""
	}
	list = slices.DeleteFunc(list, func(a alarm.Standing) bool { return !a.Needs() })
	switch len(list) {
	case 0:
		return ""
	case 1:
		ownIn(r.Context(), list[0].Label)
		return fmt.Sprintf("An alarm waits for somebody: %s, %s.", list[0].Label, list[0].Rule.About())
	}
	return fmt.Sprintf("%d alarms wait for somebody.", len(list))
}
