package alarm

import (
	"testing"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
)

func leakFrom(at time.Time) []flow.Event {
	return []flow.Event{{Kind: flow.Leak, Start: at, Found: at.Add(time.Hour), PerHour: 0.01, P: 0.97}}
}

// takes takes a level every ten seconds for a while, and gives what it did.
func takes(t *Tank, at *time.Time, share, u float64, while time.Duration) (moves []Move) {
	for end := at.Add(while); at.Before(end); {
		*at = at.Add(10 * time.Second)
		moves = append(moves, t.Take(levelAt(*at, share, u))...)
	}
	return moves
}

// The delays and the deadband of a low and a high: raised after the on-delay with the
// time at which it began, cleared after the off-delay beyond the deadband.
func TestDelaysAndDeadband(t *testing.T) {
	for _, x := range []struct {
		kind                 Kind
		well, there, between float64
	}{{Low, 0.5, 0.1, 0.165}, {High, 0.5, 0.9, 0.835}} {
		r := Default("fresh", x.kind)
		tank, at := tankOf(r), noon
		if m := takes(tank, &at, x.well, 0.005, time.Hour); len(m) > 0 {
			t.Errorf("%s: %+v", x.kind, m)
		}
		if m := takes(tank, &at, x.there, 0.005, r.On-10*time.Second); len(m) > 0 {
			t.Errorf("%s before the on-delay: %+v", x.kind, m)
		}
		if m := takes(tank, &at, x.well, 0.005, time.Minute); len(m) > 0 {
			t.Errorf("%s after a moment of it: %+v", x.kind, m)
		}
		began := at.Add(10 * time.Second)
		m := takes(tank, &at, x.there, 0.005, time.Hour)
		s := tank.Standings()[0]
		if len(m) != 1 || m[0].To != Unacknowledged || !m[0].Time.Equal(began.Add(r.On)) || !s.Raised.Equal(began) {
			t.Errorf("%s: %+v, %+v; expected at %s", x.kind, m, s, began)
		}
		if m := takes(tank, &at, x.between, 0.005, 5*time.Hour); len(m) > 0 {
			t.Errorf("%s within the deadband: %+v", x.kind, m)
		}
		if m := takes(tank, &at, x.well, 0.005, r.Off-10*time.Second); len(m) > 0 {
			t.Errorf("%s before the off-delay: %+v", x.kind, m)
		}
		over := at.Add(-r.Off + 20*time.Second)
		if m := takes(tank, &at, x.well, 0.005, time.Hour); len(m) != 1 || m[0].To != Returned || !tank.Standings()[0].Cleared.Equal(over) {
			t.Errorf("%s: %+v, cleared %s; expected %s", x.kind, m, tank.Standings()[0].Cleared, over)
		}
	}
}

// The probabilities are those of the normal distribution (a table of it, any textbook).
func TestOdds(t *testing.T) {
	low := Rule{Kind: Low, Setpoint: 0.15, Deadband: 0.05}
	for _, x := range []struct{ share, u, there, back float64 }{
		{0.15, 0.02, 0.5, 0.0062}, {0.13, 0.02, 0.8413, 0.0002}, {0.1108, 0.02, 0.975, 0}, {0.2, 0.02, 0.0062, 0.5}, {0.22, 0.02, 0.0002, 0.8413}, {0.1, 0, 1, 0}, {0.3, 0, 0, 1},
	} {
		o := levelOdds(low, levelAt(noon, x.share, x.u))
		if d := o.there - x.there; d > 1e-4 || d < -1e-4 {
			t.Errorf("%g ± %g: %g below; expected %g", x.share, x.u, o.there, x.there)
		}
		if d := o.back - x.back; d > 1e-4 || d < -1e-4 {
			t.Errorf("%g ± %g: %g back; expected %g", x.share, x.u, o.back, x.back)
		}
	}
	day := Rule{Kind: Low, Left: 24 * time.Hour, Deadband: 0.25}
	for _, x := range []struct {
		low, mid, high time.Duration
		there          float64
	}{{10 * time.Hour, 20 * time.Hour, 24 * time.Hour, 0.95}, {24 * time.Hour, 30 * time.Hour, 50 * time.Hour, 0.05}, {12 * time.Hour, 24 * time.Hour, 48 * time.Hour, 0.5}, {0, 0, 0, 1}} {
		o := leftOdds(day, outlook.Left{Known: true, Low: x.low, Mid: x.mid, High: x.high})
		if d := o.there - x.there; d > 1e-3 || d < -1e-3 {
			t.Errorf("%v: %g that it lasts less than a day", x, o.there)
		}
	}
}

// Each leak and each drop is told once, with its own time, also those of an outage; one
// that goes on stays, one that turned out to be none goes back.
func TestLeaks(t *testing.T) {
	r := Default("gas", Leak)
	tank := NewTank(Config{Label: "Gas", Rules: []Rule{r}}, nil)
	old := flow.Event{Kind: flow.Drop, Start: noon.Add(-48 * time.Hour), End: noon.Add(-48 * time.Hour), P: 0.9}
	if m := tank.Flows(noon, []flow.Event{old}); len(m) > 0 {
		t.Fatalf("what was before there were alarms: %+v", m)
	}
	drop := flow.Event{Kind: flow.Drop, Start: noon.Add(-3 * time.Hour), End: noon.Add(-3 * time.Hour), Found: noon.Add(-2 * time.Hour), Amount: 0.2, P: 0.9}
	leak := flow.Event{Kind: flow.Leak, Start: noon.Add(-2 * time.Hour), Found: noon.Add(-time.Hour), PerHour: 0.01, P: 0.9}
	doubtful := flow.Event{Kind: flow.Leak, Start: noon.Add(-4 * time.Hour), P: 0.4}
	list := []flow.Event{leak, old, doubtful, drop}
	m := tank.Flows(noon, list)
	s := tank.Standings()[0]
	if len(m) != 3 || m[0].To != Unacknowledged || !m[0].Time.Equal(drop.Found) || m[1].To != Returned || m[2].To != Unacknowledged || s.State != Unacknowledged || !s.Raised.Equal(leak.Start) || s.What != "Gas leaks 1 % an hour." {
		t.Fatalf("%+v, %+v", m, s)
	}
	kept := tank.Changed()
	tank = NewTank(Config{Label: "Gas", Rules: []Rule{r}}, kept)
	if m := tank.Flows(noon.Add(time.Minute), list); len(m) > 0 || tank.Standings()[0].State != Unacknowledged {
		t.Fatalf("after a restart: %+v", m)
	}
	leak.End, leak.Amount = noon, 0.02
	if m := tank.Flows(noon.Add(time.Hour), []flow.Event{old, drop, leak}); len(m) != 1 || m[0].To != Returned || !tank.Standings()[0].Cleared.Equal(noon) || tank.Standings()[0].What != "Gas leaked: it lost 2 %." {
		t.Fatalf("%+v %+v", m, tank.Standings()[0])
	}
	next := flow.Event{Kind: flow.Leak, Start: noon.Add(2 * time.Hour), P: 0.8}
	if m := tank.Flows(noon.Add(3*time.Hour), []flow.Event{leak, next}); len(m) != 1 || m[0].To != Unacknowledged {
		t.Fatalf("%+v", m)
	}
	if m := tank.Flows(noon.Add(4*time.Hour), []flow.Event{leak}); len(m) != 1 || m[0].To != Returned {
		t.Fatalf("it turned out to be none: %+v", m)
	}
	if m := tank.Flows(noon.Add(5*time.Hour), []flow.Event{leak}); len(m) > 0 {
		t.Fatalf("told again: %+v", m)
	}
}

// A rate is told over its on-delay, and not by noise or by a wide doubt.
func TestRate(t *testing.T) {
	r := Default("diesel", Rate)
	r.Setpoint, r.Deadband, r.Setting = 0.05, 0.01, "5 % an hour"
	run := func(perHour, u float64, while time.Duration) Standing {
		tank := tankOf(r)
		for s := time.Duration(0); s < while; s += 10 * time.Second {
			tank.Take(levelAt(noon.Add(s), 0.9-perHour*s.Hours(), u))
		}
		return tank.Standings()[0]
	}
	if s := run(0.1, 0.002, time.Hour); s.State != Unacknowledged || s.What != "Fresh water fell by 10 % an hour, faster than 5 % an hour." {
		t.Errorf("%+v", s)
	}
	if s := run(0.03, 0.002, 4*time.Hour); s.State != Normal {
		t.Errorf("%+v", s)
	}
	if s := run(-0.1, 0.002, time.Hour); s.State != Normal {
		t.Errorf("%+v", s)
	}
	if s := run(0.1, 0.05, 14*time.Minute); s.State != Normal {
		t.Errorf("raised by doubt alone: %+v", s)
	}
}

// Time left: raised when it lasts less than a day nine times in ten, and not before.
func TestTimeLeft(t *testing.T) {
	r := Default("gas", Low)
	r.Left, r.Setting, r.Deadband = 24*time.Hour, "a day", 0.25
	tank, at := tankOf(r), noon
	ahead := func(low, mid, high int) []Move {
		at = at.Add(time.Minute)
		tank.Take(levelAt(at, 0.4, 0.01))
		h := func(n int) time.Duration { return time.Duration(n) * time.Hour }
		return tank.Ahead(outlook.Outlook{At: at, Left: outlook.Left{Known: true, Low: h(low), Mid: h(mid), High: h(high)}})
	}
	for range 100 {
		if m := ahead(10, 20, 40); len(m) > 0 {
			t.Fatalf("likelier than not isn't nine times in ten: %+v", m)
		}
	}
	var m []Move
	for range 5 {
		m = append(m, ahead(8, 12, 20)...)
	}
	if len(m) != 1 || m[0].What != "Fresh water will last less than a day, nine times in ten." {
		t.Fatalf("%+v", m)
	}
	for range 100 {
		if m := ahead(20, 26, 35); len(m) > 0 {
			t.Fatalf("cleared within the deadband: %+v", m)
		}
	}
	m = nil
	for range 15 {
		m = append(m, ahead(100, 120, 150)...)
	}
	if len(m) != 1 || m[0].To != Returned {
		t.Fatalf("%+v", m)
	}
}

// Stale: raised when nothing came for so long, not right after the start, and cleared by
// readings that are fresh, not by old ones that come late.
func TestStale(t *testing.T) {
	r := Default("fresh", Stale)
	tank := tankOf(r)
	tank.Take(levelAt(noon, 0.5, 0.01))
	tick := func(at time.Time, last time.Time, listening time.Time) []Move {
		l := levelAt(last, 0.5, 0.01)
		l.Age = at.Sub(last)
		if l.Age > l.Stale {
			l.Shown, l.Status, l.Fault = false, watch.Failure, watch.NoReading
		}
		return tank.Tick(at, l, listening)
	}
	if m := tick(noon.Add(23*time.Hour), noon, noon); len(m) > 0 {
		t.Errorf("%+v", m)
	}
	if m := tick(noon.Add(30*time.Hour), noon, noon.Add(30*time.Hour)); len(m) > 0 {
		t.Errorf("told right after the start: %+v", m)
	}
	if m := tick(noon.Add(31*time.Hour), noon, noon.Add(30*time.Hour)); len(m) != 1 || !tank.Standings()[0].Raised.Equal(noon) {
		t.Errorf("%+v", m)
	}
	if m := tick(noon.Add(31*time.Hour), noon.Add(time.Hour), noon); len(m) > 0 {
		t.Errorf("an old reading: %+v", m)
	}
	if m := tick(noon.Add(32*time.Hour), noon.Add(32*time.Hour), noon); len(m) != 1 || m[0].To != Returned {
		t.Errorf("%+v", m)
	}
	if m := tankOf(r).Tick(noon.Add(100*time.Hour), watch.Level{}, noon); len(m) > 0 {
		t.Errorf("nothing ever came: %+v", m)
	}
}

// After the clock was set back, levels are judged by their new times at once.
func TestClockSetBack(t *testing.T) {
	tank, at := tankOf(Default("fresh", Low)), noon
	if m := takes(tank, &at, 0.1, 0.005, 5*time.Minute); len(m) != 1 {
		t.Fatalf("%+v", m)
	}
	at = noon.Add(-3 * time.Hour)
	tank.Anew(at)
	if m := takes(tank, &at, 0.5, 0.005, 15*time.Minute); len(m) != 1 || m[0].To != Returned {
		t.Fatalf("%+v", m)
	}
}

func BenchmarkTake(b *testing.B) {
	tank := NewTank(Config{Label: "Fresh water", Rules: append(Usual(About{Tank: "fresh"}), Rule{ID: "fresh/rate", Kind: Rate, Setpoint: 0.05, Deadband: 0.01, On: 15 * time.Minute})}, nil)
	at := noon
	b.ReportAllocs()
	for b.Loop() {
		at = at.Add(10 * time.Second)
		tank.Take(levelAt(at, 0.5, 0.01))
	}
}
