package alarm

import (
	"testing"
	"time"
)

// back stands in the table for where an alarm comes back to: shelved or suppressed where
// it is that besides, else unacknowledged where what it is about is there, else normal.
const back State = "back"

// diagram is the state diagram of IEC 62682 and ISA-18.2 as a table, from memory: what
// each act makes of each state. The standard's letters (from memory too): A normal, B
// unacknowledged, C acknowledged, D returned to normal and unacknowledged, G shelved, H
// suppressed by design, I out of service. E and F, the latched states, aren't used.
var diagram = map[State]map[Act]State{
	Normal: { // A
		Raise: Unacknowledged, Return: Normal, Acknowledge: Normal,
		Shelve: Shelved, Unshelve: Normal, Suppress: Suppressed, Release: Normal, Withdraw: OutOfService, Restore: Normal,
	},
	Unacknowledged: { // B
		Raise: Unacknowledged, Return: Returned, Acknowledge: Acknowledged,
		Shelve: Shelved, Unshelve: Unacknowledged, Suppress: Suppressed, Release: Unacknowledged, Withdraw: OutOfService, Restore: Unacknowledged,
	},
	Acknowledged: { // C
		Raise: Acknowledged, Return: Normal, Acknowledge: Acknowledged,
		Shelve: Shelved, Unshelve: Acknowledged, Suppress: Suppressed, Release: Acknowledged, Withdraw: OutOfService, Restore: Acknowledged,
	},
	Returned: { // D
		Raise: Unacknowledged, Return: Returned, Acknowledge: Normal,
		Shelve: Shelved, Unshelve: Returned, Suppress: Suppressed, Release: Returned, Withdraw: OutOfService, Restore: Returned,
	},
	Shelved: { // G
		Raise: Shelved, Return: Shelved, Acknowledge: Shelved,
		Shelve: Shelved, Unshelve: back, Suppress: Shelved, Release: Shelved, Withdraw: OutOfService, Restore: Shelved,
	},
	Suppressed: { // H
		Raise: Suppressed, Return: Suppressed, Acknowledge: Suppressed,
		Shelve: Shelved, Unshelve: Suppressed, Suppress: Suppressed, Release: back, Withdraw: OutOfService, Restore: Suppressed,
	},
	OutOfService: { // I
		Raise: OutOfService, Return: OutOfService, Acknowledge: OutOfService,
		Shelve: OutOfService, Unshelve: OutOfService, Suppress: OutOfService, Release: OutOfService, Withdraw: OutOfService, Restore: back,
	},
}

// form is what of a point its next state may depend on.
type form struct {
	state               State
	active, silent, out bool
	shelf               bool
}

func formOf(p Point) form {
	return form{state: p.State, active: p.Active, silent: p.Silent, out: p.Out, shelf: !p.Until.IsZero()}
}

// expected is what the table says.
func expected(p Point, a Act) State {
	to := diagram[p.State][a]
	if to != back {
		return to
	}
	active, silent, shelf := p.Active, p.Silent && a != Release, !p.Until.IsZero() && a != Unshelve
	switch {
	case shelf:
		return Shelved
	case silent:
		return Suppressed
	case active:
		return Unacknowledged
	}
	return Normal
}

// Every act is tried in every form that an alarm can get into, however it got there.
func TestStatesAreTheStandards(t *testing.T) {
	at := time.Date(2026, 11, 26, 2, 0, 0, 0, time.UTC)
	seen := map[form]bool{}
	states := map[State]bool{}
	list := []Point{NewPoint("x")}
	tried := 0
	for len(list) > 0 {
		p := list[0]
		list = list[1:]
		if seen[formOf(p)] {
			continue
		}
		seen[formOf(p)], states[p.State] = true, true
		if !p.Sound() {
			t.Errorf("%+v is called unsound", formOf(p))
		}
		for _, a := range Acts {
			q := p
			want := expected(p, a)
			m, moved := q.Do(Event{Act: a, Time: at, Began: at, Until: at.Add(time.Hour), By: "Robin", What: "It is so."})
			tried++
			if q.State != want {
				t.Errorf("%+v: act %d gives %s; the standard has %s", formOf(p), a, q.State, want)
			}
			if moved != (q.State != p.State) || moved && (m.From != p.State || m.To != q.State) {
				t.Errorf("%+v: act %d gives the move %+v", formOf(p), a, m)
			}
			list = append(list, q)
		}
	}
	for _, s := range States {
		if !states[s] {
			t.Errorf("no way leads to %s", s)
		}
		if len(diagram[s]) != len(Acts) {
			t.Errorf("the table has %d acts for %s; there are %d", len(diagram[s]), s, len(Acts))
		}
	}
	if len(seen) != 18 || tried != len(seen)*len(Acts) {
		t.Errorf("%d forms, %d tries", len(seen), tried)
	}
	t.Logf("%d forms, %d tries", len(seen), tried)
}
