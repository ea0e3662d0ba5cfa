package alarm

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// What is critical is told again after 5, 10, 20, 30, 30 … minutes until somebody
// acknowledges it, quiet hours or not.
func TestCriticalIsToldAgain(t *testing.T) {
	tank := NewTank(Config{Label: "Gas", Rules: []Rule{Default("gas", Leak)}}, nil)
	c := Caller{Quiet: Quiet{From: 22 * time.Hour, To: 7 * time.Hour}}
	night := time.Date(2026, 11, 26, 1, 0, 0, 0, time.UTC)
	tank.Flows(night, leakFrom(night.Add(-time.Hour)))
	var at []int
	keys := map[string]bool{}
	for minute := range 130 {
		if minute == 120 {
			if _, err := tank.Acknowledge("gas/leak", "Robin", night.Add(2*time.Hour)); err != nil {
				t.Fatal(err)
			}
		}
		for _, call := range c.Due(night.Add(time.Duration(minute)*time.Minute), tank) {
			at = append(at, minute)
			if call.Again != len(at)-1 || keys[call.Key] || (call.Why == CallRaised) != (len(at) == 1) {
				t.Errorf("call %d: %+v", len(at), call)
			}
			keys[call.Key] = true
		}
	}
	if want := []int{0, 5, 15, 35, 65, 95}; !equal(at, want) {
		t.Errorf("told after %v minutes; expected %v", at, want)
	}
}

func equal(a, b []int) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// In quiet hours nothing is told that isn't critical; at their end it is, and that it
// came and went where it did. What somebody acknowledged meanwhile isn't.
func TestQuietHours(t *testing.T) {
	night := time.Date(2026, 11, 26, 1, 0, 0, 0, time.UTC)
	quiet := Quiet{From: 22 * time.Hour, To: 7 * time.Hour}
	for hour, want := range map[int]bool{21: false, 22: true, 0: true, 6: true, 7: false, 12: false} {
		if quiet.In(night.Add(time.Duration(hour-1)*time.Hour)) != want {
			t.Errorf("at %d: %v", hour, !want)
		}
	}
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("no time zones on this machine: ", err) // every machine that builds this has them
	}
	if q := (Quiet{From: 22 * time.Hour, To: 7 * time.Hour, Zone: berlin}); !q.In(time.Date(2026, 7, 1, 20, 30, 0, 0, time.UTC)) || q.In(time.Date(2026, 7, 1, 5, 30, 0, 0, time.UTC)) {
		t.Error("quiet hours aren't those of the zone")
	}
	for name, x := range map[string]struct {
		do   func(*Point)
		want Why
	}{
		"there":        {func(*Point) {}, CallRaised},
		"gone":         {func(p *Point) { p.Do(Event{Act: Return, Time: night.Add(time.Hour), Began: night}) }, CallGone},
		"acknowledged": {func(p *Point) { p.Do(Event{Act: Acknowledge, Time: night, By: "Robin"}) }, ""},
		"shelved":      {func(p *Point) { p.Do(Event{Act: Shelve, Time: night, Until: night.Add(24 * time.Hour)}) }, ""},
	} {
		tank := tankOf(Default("fresh", Low))
		p := &tank.alarms[0].point
		p.Do(Event{Act: Raise, Time: night, Began: night, What: "Fresh water fell to 12 %, below 15 %."})
		x.do(p)
		c := Caller{Quiet: quiet}
		for m := range 6 * 60 {
			if calls := c.Due(night.Add(time.Duration(m)*time.Minute), tank); len(calls) > 0 {
				t.Fatalf("%s: told in the night: %+v", name, calls)
			}
		}
		calls := c.Due(night.Add(6*time.Hour), tank)
		if x.want == "" && len(calls) > 0 || x.want != "" && (len(calls) != 1 || calls[0].Why != x.want) {
			t.Errorf("%s: %+v; expected %q", name, calls, x.want)
		}
		if x.want == CallGone && !strings.Contains(calls[0].Text(), "It came and went before this could be told.") {
			t.Error(calls[0].Text())
		}
	}
}

// Whatever happens to the alarms of a tank, no more is told in an hour than may be, the
// quiet hours are kept, and what was raised is told in the end unless somebody knew of it.
func TestCallsLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		critical := Default("gas", Leak)
		tank := tankOf(Default("gas", Low), Default("gas", Fault), Default("gas", High), critical)
		most := rapid.IntRange(1, 6).Draw(t, "most")
		c := Caller{Most: most, Quiet: Quiet{From: 22 * time.Hour, To: 7 * time.Hour}}
		at := noon
		var told []time.Time
		due := func() {
			for _, call := range c.Due(at, tank) {
				urgent := call.Standing.Rule.Priority == PriorityCritical && call.Why != CallOver && call.Why != CallSum
				if !urgent {
					told = append(told, at)
					if c.Quiet.In(at) {
						t.Fatalf("told at %s: %+v", at, call)
					}
				}
			}
			n := 0
			for _, each := range told {
				if at.Sub(each) < time.Hour {
					n++
				}
			}
			if n > most {
				t.Fatalf("%d calls within the hour before %s; expected %d at the most", n, at, most)
			}
		}
		for range rapid.IntRange(1, 80).Draw(t, "n") {
			at = at.Add(time.Duration(rapid.IntRange(1, 40).Draw(t, "min")) * time.Minute)
			o := tank.alarms[rapid.IntRange(0, 3).Draw(t, "which")]
			e := drawEvent(t, at)
			o.point.Do(e)
			for _, o := range tank.alarms {
				o.point.Pass(at)
			}
			due()
		}
		for range 48 * 60 { // two days in which nothing happens
			at = at.Add(time.Minute)
			for _, o := range tank.alarms {
				o.point.Pass(at)
			}
			due()
		}
		for _, o := range tank.alarms {
			if p := o.point; p.Owes != OwesNothing || p.State == Unacknowledged && p.Sent == 0 {
				t.Fatalf("never told: %+v", p)
			}
		}
	})
}

// What comes again and again is told with how often it came.
func TestFloodIsSummedUp(t *testing.T) {
	tank := tankOf(Default("fresh", Low), Default("fresh", Fault))
	c := Caller{Most: 3}
	raised, counted, sums := 0, 0, 0
	for minute := range 5 * 60 {
		at := noon.Add(time.Duration(minute) * time.Minute)
		if minute < 4*60 {
			for _, o := range tank.alarms {
				a := Return
				if minute%2 == 0 {
					a = Raise
					raised++
				}
				o.point.Do(Event{Act: a, Time: at, Began: at, What: "It is so."})
			}
		}
		for _, call := range c.Due(at, tank) {
			list := []Call{call}
			if call.Why == CallSum {
				list, sums = call.Sum, sums+1
				if !strings.Contains(call.Text(), "All of it is here.") {
					t.Error(call.Text())
				}
			}
			for _, each := range list {
				if each.Why != CallOver {
					counted += max(1, each.Times)
				}
			}
		}
	}
	if counted != raised || sums == 0 {
		t.Errorf("raised %d times and told of %d, %d times summed up", raised, counted, sums)
	}
}

// What couldn't be handed on is owed again, under the same name.
func TestUntold(t *testing.T) {
	tank := tankOf(Default("fresh", Low))
	tank.alarms[0].point.Do(Event{Act: Raise, Time: noon, Began: noon, What: "It is so."})
	c := Caller{}
	first := c.Due(noon, tank)
	if len(first) != 1 || len(c.Due(noon.Add(time.Minute), tank)) != 0 {
		t.Fatalf("%+v", first)
	}
	tank.Untold(first[0])
	again := c.Due(noon.Add(2*time.Minute), tank)
	if len(again) != 1 || again[0].Key != first[0].Key {
		t.Fatalf("%+v; before %+v", again, first)
	}
}

// What a call says in a line reads as somebody would say it, also when it is over.
func TestTitles(t *testing.T) {
	left, permitted := Default("gas", Low), Default("gas", High)
	left.Left, left.Setting, permitted.Setting = 24*time.Hour, "a day", PermittedFill
	for _, c := range []struct {
		rule         Rule
		raised, over string
	}{
		{Default("gas", Low), "Gas: nearly empty", "Gas: no longer nearly empty"},
		{left, "Gas: lasts less than a day", "Gas: lasts longer than a day again"},
		{Default("gas", High), "Gas: nearly full", "Gas: no longer nearly full"},
		{permitted, "Gas: above the permitted fill", "Gas: no longer above the permitted fill"},
		{Default("gas", Leak), "Gas: leak or sudden loss", "Gas: no longer seems to leak"},
		{Default("gas", Fault), "Gas: sender at fault", "Gas: sender can be believed again"},
		{Default("gas", Stale), "Gas: nothing comes in", "Gas: readings come in again"},
		{Default("gas", Rate), "Gas: falls fast", "Gas: no longer falls fast"},
	} {
		s := Standing{Rule: c.rule, Label: "Gas"}
		for why, want := range map[Why]string{CallRaised: c.raised, CallAgain: c.raised, CallOver: c.over, CallGone: c.over} {
			if got := (Call{Why: why, Standing: s}).Title(); got != want {
				t.Errorf("%s of %s: %q; expected %q", why, c.rule.Kind, got, want)
			}
		}
	}
	if got := (Call{Why: CallSum, Standing: Standing{Label: "Gas"}, Sum: make([]Call, 3)}).Title(); got != "Gas: 3 alarms" {
		t.Error(got)
	}
}

// The calls of before a restart are known again by their keys; what is critical was told
// besides, and so counts for nothing, but for that it is over.
func TestRecall(t *testing.T) {
	for key, counts := range map[string]bool{
		"fresh/low@1764123000000/raised/0": true, "fresh/a@b@1764123000000/over/1": true, "fresh/leak@1764123000000/over/1": true,
		"fresh/leak@1764123000000/raised/0+3": true, "fresh/leak@1764123000000/raised/0": false, "fresh/leak@1764123000000/again/4": false, "test/17": false, "lost/17": false, "": false,
	} {
		tank := tankOf(Default("fresh", Low))
		tank.alarms[0].point.Do(Event{Act: Raise, Time: noon, Began: noon, What: "Fresh water fell to 12 %, below 15 %."})
		c := Caller{Most: 1}
		p := PriorityMedium
		if strings.Contains(key, "leak") {
			p = PriorityCritical
		}
		c.Recall("fresh", key, p, noon.Add(-10*time.Minute))
		c.Recall("gas", "gas/low@1764123000000/raised/0", PriorityMedium, noon)
		if told := len(c.Due(noon.Add(time.Minute), tank)) > 0; told == counts {
			t.Errorf("%q: told: %v", key, told)
		}
		if counts && len(c.Due(noon.Add(51*time.Minute), tank)) != 1 {
			t.Errorf("%q: an hour later nothing is told", key)
		}
	}
}
