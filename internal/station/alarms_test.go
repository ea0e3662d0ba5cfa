package station

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/watch"
)

// ohms of a level of the small tank, in percent.
func reads(at time.Time, ohm float64) watch.Reading {
	return watch.Reading{Tank: "fresh", Source: "mqtt", Time: at, Arrived: at, Value: ohm}
}

func alarmNow(t *testing.T, s *Station, id string) alarm.Standing {
	t.Helper()
	list, err := s.Alarms().Alarms(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, st := range list {
		if st.Rule.ID == id {
			return st
		}
	}
	t.Fatalf("there is no alarm %s among %+v", id, list)
	return alarm.Standing{}
}

// fall brings in readings every ten seconds that stay at a level.
func fall(t *testing.T, s *Station, c *times, ohm float64, n int) {
	t.Helper()
	var list []watch.Reading
	for range n {
		c.pass(10 * time.Second)
		list = append(list, reads(c.now(), ohm))
	}
	s.taken1(t, list...)
	s.callOnce(t.Context(), true)
}

// An alarm outlasts a stop and a power cut: it isn't raised again, nor forgotten, nor told
// twice; and one that began while the watch was off is told with its own time.
func TestAlarmsOutlastAStop(t *testing.T) {
	path := write(t, alone)
	c := &times{wall: morning}
	s := still(t, path, c, nil)
	fall(t, s, c, 100, 30)
	if st := alarmNow(t, s, "fresh/low"); st.State != alarm.Normal {
		t.Fatalf("%+v", st)
	}
	began := c.now().Add(10 * time.Second)
	fall(t, s, c, 14, 60) // 2 %
	st := alarmNow(t, s, "fresh/low")
	if st.State != alarm.Unacknowledged || st.Raised.Sub(began).Abs() > 3*time.Minute || st.Sent != 1 {
		t.Fatalf("%+v; it began at %s", st, began)
	}
	waits, err := s.store.WaitingNotices(t.Context(), 10)
	if err != nil || len(waits) != 1 || waits[0].Notice.Title != "fresh: nearly empty" || !waits[0].Notice.Time.Equal(st.Raised.Round(time.Millisecond)) || waits[0].Notice.Priority != "medium" ||
		!strings.Contains(waits[0].Notice.Text, "below 15 %. That began on 3 November 2026") {
		t.Fatalf("%+v, %v", waits, err)
	}
	s.cut(t)
	s = still(t, path, c, nil)
	s.callOnce(t.Context(), true)
	again := alarmNow(t, s, "fresh/low")
	if again.State != st.State || !again.Raised.Equal(st.Raised) || again.Sent != 1 || again.What != st.What {
		t.Fatalf("after a cut: %+v; before: %+v", again, st)
	}
	fall(t, s, c, 14, 60)
	if moves, err := s.Alarms().Moves(t.Context(), "fresh/low", 10); err != nil || len(moves) != 1 {
		t.Fatalf("%+v, %v", moves, err)
	}
	if err := s.Alarms().Acknowledge(t.Context(), "fresh/low", "Robin"); err != nil {
		t.Fatal(err)
	}
	s.cut(t)

	// The watch is off for three hours. The tank is filled and runs low again
	// meanwhile, and the readings come late.
	s = still(t, path, c, nil)
	if st := alarmNow(t, s, "fresh/low"); st.State != alarm.Acknowledged || st.By != "Robin" {
		t.Fatalf("%+v", st)
	}
	var late []watch.Reading
	from := c.now()
	for i := range 1080 {
		ohm := 150.0
		if i > 540 {
			ohm = 14
		}
		late = append(late, reads(from.Add(time.Duration(i)*10*time.Second), ohm))
	}
	c.pass(3 * time.Hour)
	s.taken1(t, late...)
	s.callOnce(t.Context(), true)
	st = alarmNow(t, s, "fresh/low")
	if began := from.Add(5400 * time.Second); st.State != alarm.Unacknowledged || st.Raised.Sub(began).Abs() > 3*time.Minute || st.Sent != 1 {
		t.Fatalf("%+v; it began at %s", st, began)
	}
	moves, err := s.Alarms().Moves(t.Context(), "fresh/low", 10)
	if err != nil || len(moves) != 4 || moves[0].To != alarm.Unacknowledged || moves[1].To != alarm.Normal || moves[2].To != alarm.Acknowledged {
		t.Fatalf("%+v, %v", moves, err)
	}
	s.cut(t)
}

// What was told in the last hour counts on after a power cut: no more is told about a
// tank than may be in an hour, and what waited is told then.
func TestAlarmsToldCountOnAfterACut(t *testing.T) {
	path := write(t, alone)
	c := &times{wall: morning}
	s := still(t, path, c, nil)
	fall(t, s, c, 100, 30)
	fall(t, s, c, 14, 60)
	waits := func(want int) {
		t.Helper()
		if list, err := s.store.WaitingNotices(t.Context(), 10); err != nil || len(list) != want {
			t.Fatalf("%d notices, %v; expected %d", len(list), err, want)
		}
	}
	waits(1)
	told := c.now()
	s.cut(t)
	s = still(t, path, c, nil)
	s.caller.Most = 1
	fall(t, s, c, 99999, 60)
	if st := alarmNow(t, s, "fresh/fault"); st.State != alarm.Unacknowledged || st.Sent != 0 {
		t.Fatalf("%+v", st)
	}
	waits(1)
	c.pass(time.Hour - c.now().Sub(told) + time.Second)
	s.callOnce(t.Context(), true)
	waits(2)
	s.cut(t)
}

// A sender that breaks tells that itself; the low alarm of an empty tank stays as it is,
// and that of a full one waits.
func TestAlarmsAndABrokenSender(t *testing.T) {
	c := &times{wall: morning}
	s := still(t, write(t, alone), c, nil)
	defer s.cut(t)
	fall(t, s, c, 100, 30)
	fall(t, s, c, 99999, 60)
	if st := alarmNow(t, s, "fresh/fault"); st.State != alarm.Unacknowledged || !strings.Contains(st.What, "broken wire") {
		t.Fatalf("%+v", st)
	}
	if st := alarmNow(t, s, "fresh/low"); st.State != alarm.Suppressed {
		t.Fatalf("%+v", st)
	}
	fall(t, s, c, 14, 120)
	if st := alarmNow(t, s, "fresh/fault"); st.State != alarm.Returned {
		t.Fatalf("%+v", st)
	}
	if st := alarmNow(t, s, "fresh/low"); st.State != alarm.Unacknowledged {
		t.Fatalf("%+v", st)
	}
	fall(t, s, c, 99999, 60)
	c.pass(48 * time.Hour)
	s.callOnce(t.Context(), true)
	if st := alarmNow(t, s, "fresh/low"); st.State != alarm.Unacknowledged {
		t.Fatalf("a sender that was lost took it away: %+v", st)
	}
	if st := alarmNow(t, s, "fresh/stale"); st.State != alarm.Unacknowledged {
		t.Fatalf("nothing has come for two days: %+v", st)
	}
}

// Shelving ends by itself, over a restart too; what can't be asked for is refused.
func TestShelvedOverARestart(t *testing.T) {
	path := write(t, alone)
	c := &times{wall: morning}
	s := still(t, path, c, nil)
	fall(t, s, c, 14, 60)
	ctx := context.Background()
	if err := s.Alarms().Shelve(ctx, "fresh/low", "Robin", c.now().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if err := s.Alarms().Shelve(ctx, "fresh/low", "Robin", c.now().Add(8*24*time.Hour)); !errors.Is(err, alarm.ErrShelf) {
		t.Fatal(err)
	}
	if err := s.Alarms().Acknowledge(ctx, "fresh/none", "Robin"); !errors.Is(err, alarm.ErrNone) {
		t.Fatal(err)
	}
	until := c.now().Add(time.Hour)
	s.cut(t)
	c.pass(2 * time.Hour)
	s = still(t, path, c, nil)
	defer s.cut(t)
	s.callOnce(ctx, true)
	st := alarmNow(t, s, "fresh/low")
	moves, err := s.Alarms().Moves(ctx, "fresh/low", 1)
	if err != nil || st.State != alarm.Unacknowledged || !st.Since.Equal(until) || !moves[0].Time.Equal(until) || st.Sent != 1 {
		t.Fatalf("%+v, %+v, %v; expected %s", st, moves, err, until)
	}
}

// What an alarm of one's own may say, and what is refused, with a sentence for each.
func TestAlarmConfig(t *testing.T) {
	for _, x := range []struct{ text, want string }{
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"low\"\nsetpoint = \"20%\"\ndeadband = \"5%\"\non_delay = \"1m\"\npriority = \"high\"\nsays = \"Fill it.\"\n", ""},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"low\"\nsetpoint = \"24h\"\n", ""},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"rate\"\nsetpoint = \"5%/h\"\n", ""},
		{"[alarm.a]\ntank = \"gone\"\nkind = \"low\"\n", `no tank is called "gone"`},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"smell\"\n", `kind is "smell"; expected low, high`},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"low\"\nsetpoint = \"low\"\n", `setpoint is "low"; expected`},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"low\"\nsetpoint = \"100%\"\n", "beyond"},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"high\"\nsetpoint = \"24h\"\n", "setpoint is"},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"low\"\ndeadband = \"90%\"\n", "never come back"},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"leak\"\nsetpoint = \"5%\"\n", "has no setpoint"},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"rate\"\n", "setpoint is"},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"low\"\npriority = \"loud\"\n", `priority is "loud"`},
		{"[alarm.stale]\ntank = \"fresh\"\nkind = \"low\"\n", "has that name"},
		{"[alarm.a]\ntank = \"fresh\"\nkind = \"stale\"\non_delay = \"1s\"\n", "a minute or more"},
	} {
		c, err := Read(write(t, alone+x.text), nil, nil)
		if err == nil {
			err = c.Try()
		}
		if x.want == "" && err != nil || x.want != "" && (err == nil || !strings.Contains(err.Error(), x.want)) {
			t.Errorf("%s: %v; expected %q", x.text, err, x.want)
		}
	}
	c, err := Read(write(t, strings.Replace(alone, "[tank.fresh]\n", "[tank.fresh]\nalarms = \"none\"\n", 1)), nil, nil)
	if err != nil || c.Try() != nil {
		t.Fatal(err, c.Try())
	}
	if rules, err := c.rules("fresh", endsLabel("", 0)); err != nil || len(rules) != 0 {
		t.Errorf("%+v, %v", rules, err)
	}
}
