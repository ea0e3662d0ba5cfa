package outlook

import (
	"math"
	"testing"
	"time"
)

// story is a model and where its time stands.
type story struct {
	m   *Model
	now time.Time
}

// go goes on by hours; use gives what is drawn in each.
func (s *story) hours(n int, u float64, use func(t time.Time) float64) {
	for range n {
		next := s.now.Add(time.Hour)
		s.m.Add(Drawn{From: s.now, To: next, Amount: use(s.now), U: u})
		s.now = next
	}
}

func (s *story) ahead(level float64) Outlook {
	return s.m.Ahead(Standing{Now: s.now, Level: level, U: 0.005, Shown: true})
}

func begun(zone *time.Location, y int, mo time.Month, d int) *story {
	return &story{New(Config{Zone: zone}), time.Date(y, mo, d, 0, 0, 0, 0, zone)}
}

// stall is a stall that draws a tenth of the tank on each of so many evenings.
func stall(days int, times float64) *story {
	s := begun(vienna, 2026, 11, 1)
	s.hours(days*24, 0.002, func(t time.Time) float64 {
		if h := t.In(vienna).Hour(); h >= 18 && h < 22 {
			return 0.025 * times
		}
		return 0
	})
	return s
}

// An evening user counts evenings, and runs out in one.
func TestEvenings(t *testing.T) {
	s := stall(28, 1)
	o := s.ahead(0.55)
	if o.Meals != "evenings" || o.Least < 4 || o.Most > 7 || o.Least > 5 || o.Most < 6 {
		t.Errorf("%d to %d %s, want about 5 to 6 evenings", o.Least, o.Most, o.Meals)
	}
	for _, d := range []time.Duration{o.Left.Low, o.Left.Mid, o.Left.High} {
		if h := s.now.Add(d).In(vienna).Hour(); h < 17 || h > 23 {
			t.Errorf("runs out at %d o'clock", h)
		}
	}
	if h := s.m.ByHour(); h[18]+h[19]+h[20]+h[21] < 0.9 {
		t.Errorf("the evening has %v of the day", h)
	}
	if r := s.m.Rate(); math.Abs(r.Mid-0.1) > 1e-9 {
		t.Errorf("mean %+v, want 0.1 a day", r)
	}
}

// A steady user counts days, and has a narrow interval.
func TestSteady(t *testing.T) {
	s := begun(time.UTC, 2026, 11, 1)
	s.hours(20*24, 0.0005, func(time.Time) float64 { return 0.05 / 24 })
	o := s.ahead(0.5)
	if o.Meals != "" || o.Left.Low < 9*24*time.Hour || o.Left.High > 11*24*time.Hour {
		t.Errorf("%+v, want about 10 days", o)
	}
	if want := time.Date(2026, 11, 29, 0, 0, 0, 0, time.UTC); o.FillBy.Sub(want).Abs() > 24*time.Hour {
		t.Errorf("fill by %v, want about %v", o.FillBy, want)
	}
}

// A tank that wasn't used for a month isn't said to be empty soon, nor to last for
// ever: as soon as it is used again, it is as before.
func TestLaidUp(t *testing.T) {
	s := stall(30, 1)
	before := s.ahead(0.6)
	s.hours(30*24, 0.002, func(time.Time) float64 { return 0 })
	o := s.ahead(0.6)
	if !o.Idle || !o.Left.Known {
		t.Fatalf("%+v, want idle", o)
	}
	if o.Left.Mid < 2*before.Left.Mid || o.Left.High < 5*o.Left.Low {
		t.Errorf("left %v to %v after a month unused, %v to %v before", o.Left.Low, o.Left.High, before.Left.Low, before.Left.High)
	}
	if o.Rate.Low > before.Rate.Low/2 {
		t.Errorf("rate %+v after a month unused, %+v before", o.Rate, before.Rate)
	}
	s.hours(3*24, 0.002, func(t time.Time) float64 {
		if h := t.In(vienna).Hour(); h >= 18 && h < 22 {
			return 0.025
		}
		return 0
	})
	again := s.ahead(0.6)
	if again.Idle || again.Left.Mid > 2*before.Left.Mid {
		t.Errorf("%+v three days after it is used again", again)
	}
}

// A rate that doubles is followed within two weeks.
func TestNewHabit(t *testing.T) {
	s := stall(60, 1)
	s.hours(14*24, 0.002, func(t time.Time) float64 {
		if h := t.In(vienna).Hour(); h >= 18 && h < 22 {
			return 0.05
		}
		return 0
	})
	if o := s.ahead(1); o.Left.Mid > 6*24*time.Hour {
		t.Errorf("%+v, want about 5 days", o.Left)
	}
}

// Nothing is known before something was seen, nor of a level that isn't believed, and
// the reason is said.
func TestNotKnown(t *testing.T) {
	nothing := begun(time.UTC, 2026, 11, 1)
	unused := begun(time.UTC, 2026, 11, 1)
	unused.hours(60, 0.01, func(time.Time) float64 { return 0 })
	faint := begun(time.UTC, 2026, 11, 1)
	faint.hours(24, 0.02, func(time.Time) float64 { return 0.001 })
	hidden := stall(10, 1)
	for _, v := range []struct {
		s     *story
		shown bool
		want  string
	}{{nothing, true, whyNothing}, {unused, true, whyUnused}, {faint, true, whyFaint}, {hidden, false, whyHidden}} {
		o := v.s.m.Ahead(Standing{Now: v.s.now, Level: 0.5, U: 0.01, Shown: v.shown})
		if o.Left.Known || o.Why != v.want || o.Left != (Left{}) || !o.FillBy.IsZero() {
			t.Errorf("%+v, want %q", o, v.want)
		}
	}
	if r := nothing.m.Rate(); r != (Rate{}) {
		t.Errorf("rate %+v of nothing", r)
	}
	if r := unused.m.Rate(); !r.Known || r.Mid != 0 || r.Low != 0 || r.High > 0.02 {
		t.Errorf("rate %+v of a tank that wasn't used", r)
	}
	if o := hidden.m.Ahead(Standing{Now: hidden.now}); !o.Rate.Known {
		t.Error("the rate isn't known because the level isn't")
	}
}

// What is expected beforehand is used until something was seen.
func TestPrior(t *testing.T) {
	m := New(Config{Prior: 0.1, PriorSpread: 0.3})
	o := m.Ahead(Standing{Now: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC), Level: 0.5, Shown: true})
	if !o.Left.Known || o.Left.Mid < 4*24*time.Hour || o.Left.Mid > 8*24*time.Hour || o.Left.High < o.Left.Low*3/2 {
		t.Errorf("%+v, want about 5 days, and not sure", o)
	}
}

// A tank of waste lasts until it is full.
func TestFills(t *testing.T) {
	s := stall(28, 1)
	o := s.m.Ahead(Standing{Now: s.now, Level: 0.75, To: 1, Shown: true})
	if !o.Fills || o.Left.Mid > 4*24*time.Hour {
		t.Errorf("%+v, want 2 to 3 days", o)
	}
	full := s.m.Ahead(Standing{Now: s.now, Level: 1.01, To: 1, Shown: true})
	if full.Left.High != 0 || full.Sentence(vienna) != "No room is left; empty it today." {
		t.Errorf("%+v, %q", full, full.Sentence(vienna))
	}
	c := New(Config{Fills: true})
	if o := c.Ahead(Standing{}); !o.Fills {
		t.Error("a tank that is said to fill up doesn't")
	}
}

// Days are the zone's: of 25 hours in October and 23 in March, none false, none missing.
func TestClockChange(t *testing.T) {
	for _, v := range []struct {
		from time.Time
		long float64 // of the third day, hours
	}{
		{time.Date(2026, 10, 23, 0, 0, 0, 0, vienna), 25},
		{time.Date(2026, 3, 27, 0, 0, 0, 0, vienna), 23},
	} {
		s := &story{New(Config{Zone: vienna}), v.from}
		s.hours(5*24+int(v.long)-24, 0, func(time.Time) float64 { return 0.001 })
		d := s.m.Days(10)
		if len(d) != 5 {
			t.Fatalf("%d days, want 5", len(d))
		}
		for i, x := range d {
			want := 0.024
			if i == 2 {
				want = v.long * 0.001
			}
			if !x.Whole || math.Abs(x.Amount-want) > 1e-9 || x.Day.Hour() != 0 {
				t.Errorf("%v: %.4f whole %v, want %.4f", x.Day, x.Amount, x.Whole, want)
			}
		}
	}
}

// A midnight that doesn't exist (the clock is put forward at it) begins its day at one.
func TestNoMidnight(t *testing.T) {
	zone, err := time.LoadLocation("America/Asuncion")
	if err != nil {
		t.Fatal(err)
	}
	n := civil(time.Date(2023, 10, 1, 12, 0, 0, 0, zone))
	if b := beginning(n, zone); civil(b) != n || b.Hour() != 1 {
		t.Errorf("begins at %v, want one o'clock on 1 October", b)
	}
}

// A gap of days is bridged: its use is spread over them, with more doubt, and the mean
// holds.
func TestGap(t *testing.T) {
	s := stall(10, 1)
	from := s.now
	s.now = s.now.Add(4 * 24 * time.Hour)
	s.m.Add(Drawn{From: from, To: s.now, Amount: 0.4, U: 0.002})
	s.hours(10*24, 0.002, func(t time.Time) float64 {
		if h := t.In(vienna).Hour(); h >= 18 && h < 22 {
			return 0.025
		}
		return 0
	})
	d := s.m.Days(30)
	if len(d) != 24 {
		t.Fatalf("%d days, want 24", len(d))
	}
	for _, x := range d[11:13] {
		if math.Abs(x.Amount-0.1) > 0.02 || x.U < 0.01 || !x.Whole {
			t.Errorf("%+v, want about 0.1 with doubt", x)
		}
	}
	if r := s.m.Rate(); math.Abs(r.Mid-0.1) > 1e-9 {
		t.Errorf("mean %+v", r)
	}
}

// What can't be is passed over.
func TestPassedOver(t *testing.T) {
	s := stall(3, 1)
	before, _ := s.m.MarshalBinary()
	nan := math.NaN()
	for _, d := range []Drawn{
		{From: s.now, To: s.now, Amount: 1},
		{From: s.now.Add(-time.Hour), To: s.now, Amount: 1},
		{From: s.now, To: s.now.Add(time.Hour), Amount: nan},
		{From: s.now, To: s.now.Add(time.Hour), Amount: math.Inf(1)},
		{From: s.now, To: s.now.Add(time.Hour), U: nan},
		{From: s.now, To: s.now.Add(time.Hour), U: -1},
		{From: time.Time{}, To: s.now.Add(time.Hour)},
	} {
		s.m.Add(d)
		if after, _ := s.m.MarshalBinary(); string(after) != string(before) {
			t.Fatalf("%+v changed something", d)
		}
	}
}

// Few hours tell little, and an evening alone doesn't tell of the night.
func TestFewHours(t *testing.T) {
	s := begun(vienna, 2026, 11, 1)
	s.now = s.now.Add(18 * time.Hour)
	s.hours(4, 0.002, func(time.Time) float64 { return 0.025 })
	r := s.m.Rate()
	if !r.Known || r.Low > 0.3 || r.High < 0.6 {
		t.Errorf("%+v after four hours of an evening, want from about 0.1 to 0.6 and more", r)
	}
	o := s.ahead(0.5)
	if o.Left.Low > 24*time.Hour || o.Left.High < 4*24*time.Hour {
		t.Errorf("left %v to %v, want from less than a day to 5 days at least", o.Left.Low, o.Left.High)
	}
}

// A leak empties a tank besides what is used, and one that isn't used at all.
func TestLeakCounts(t *testing.T) {
	s := stall(28, 1)
	st := Standing{Now: s.now, Level: 0.6, U: 0.005, Shown: true}
	dry := s.m.Ahead(st)
	st.Leak = 0.2 / 24
	wet := s.m.Ahead(st)
	if wet.Left.Mid > dry.Left.Mid/2 || wet.Left.High > dry.Left.Low {
		t.Errorf("%+v with a leak, %+v without", wet.Left, dry.Left)
	}
	unused := New(Config{})
	st = Standing{Now: s.now, Level: 0.5, Shown: true, Leak: 0.01}
	o := unused.Ahead(st)
	if !o.Left.Known || o.Why != "" || o.Rate.Known || (o.Left.Mid-50*time.Hour).Abs() > 15*time.Minute ||
		o.Left.Low > 45*time.Hour || o.Left.High < 55*time.Hour {
		t.Errorf("%+v, want 50 hours, and 41 to 61", o)
	}
	st.LeakU = 1e-6
	if o := unused.Ahead(st); (o.Left.Low-50*time.Hour).Abs() > time.Minute || (o.Left.High-50*time.Hour).Abs() > time.Minute {
		t.Errorf("%+v, want 50 hours", o)
	}
	// What was used, but not more than the doubt of levels, isn't added.
	faint := begun(vienna, 2026, 11, 1)
	faint.hours(30, 0.004, func(time.Time) float64 { return 0.0001 })
	st.Now, st.LeakU = faint.now, 0
	if o := faint.m.Ahead(st); !o.Left.Known || (o.Left.Mid-50*time.Hour).Abs() > 15*time.Minute {
		t.Errorf("%+v, want 50 hours", o)
	}
}

// A tank that is empty to within the doubt of its level has nothing left, whatever was
// used, and a full waste tank no room.
func TestSpent(t *testing.T) {
	s := stall(28, 1)
	for _, level := range []float64{-0.01, 0, 0.004} {
		if o := s.ahead(level); !o.Left.Known || o.Left.High != 0 || o.Sentence(vienna) != "Nothing is left; fill today." {
			t.Errorf("at %g: %+v, %s", level, o.Left, o.Sentence(vienna))
		}
	}
	if o := s.ahead(0.02); o.Left.High == 0 {
		t.Errorf("at 0.02: %+v", o.Left)
	}
	if o := New(Config{}).Ahead(Standing{Now: s.now, Level: 0.001, U: 0.005, Shown: true}); o.Left.High != 0 || o.Why != "" {
		t.Errorf("never used: %+v", o)
	}
	if o := s.m.Ahead(Standing{Now: s.now, Level: 0.998, U: 0.005, To: 1, Shown: true}); o.Left.High != 0 || o.Sentence(vienna) != "No room is left; empty it today." {
		t.Errorf("full: %+v", o)
	}
}

// weekender draws as much on a day of the weekend as on four others.
func weekender(t time.Time) float64 {
	if d := t.In(vienna).Weekday(); d == time.Saturday || d == time.Sunday {
		return 0.15 / 24
	}
	return 0.04 / 24
}
