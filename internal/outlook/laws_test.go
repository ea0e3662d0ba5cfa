package outlook

import (
	"bytes"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/peer"
)

var vienna = func() *time.Location {
	l, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		panic(err)
	}
	return l
}()

// stretches draws a history: stretches of minutes to days, with pauses, unused spells
// and doubt.
func stretches(t *rapid.T) []Drawn {
	n := rapid.IntRange(1, 120).Draw(t, "stretches")
	// Over both changes of the clock, for some.
	at := time.Date(2026, 3, 1, 0, 0, 0, 0, vienna).Add(time.Duration(rapid.IntRange(0, 300*24*60).Draw(t, "begin")) * time.Minute)
	u := rapid.SampledFrom([]float64{0, 0.001, 0.01, 0.05}).Draw(t, "u")
	out := make([]Drawn, n)
	for i := range out {
		long := time.Duration(rapid.SampledFrom([]int{1, 10, 60, 60, 240, 1500, 6000}).Draw(t, "minutes")) * time.Minute
		if rapid.IntRange(0, 9).Draw(t, "pause") == 0 {
			at = at.Add(time.Duration(rapid.IntRange(1, 3000).Draw(t, "pause minutes")) * time.Minute)
		}
		amount := rapid.SampledFrom([]float64{0, 0, 0.001, 0.01, 0.05, 0.2, -0.004}).Draw(t, "amount") * rapid.Float64Range(0.5, 1.5).Draw(t, "times")
		out[i] = Drawn{From: at, To: at.Add(long), Amount: amount, U: u}
		at = at.Add(long)
	}
	return out
}

func modelOf(d []Drawn, c Config) *Model {
	m := New(c)
	for _, x := range d {
		m.Add(x)
	}
	return m
}

func orderly(r Rate) bool {
	return r.Low >= 0 && r.Low <= r.Mid && r.Mid <= r.High && !math.IsInf(r.High, 0)
}

// Whatever comes, figures are in order, and not below nothing.
func TestOrderly(t *testing.T) {
	peer.Draws(t, 60)
	rapid.Check(t, func(t *rapid.T) {
		d := stretches(t)
		m := modelOf(d, Config{Zone: vienna})
		s := Standing{
			Now:   d[len(d)-1].To.Add(time.Duration(rapid.IntRange(0, 50).Draw(t, "later")) * time.Hour),
			Level: rapid.Float64Range(-0.1, 1.1).Draw(t, "level"), U: rapid.Float64Range(0, 0.1).Draw(t, "u of level"), Shown: true,
		}
		o := m.Ahead(s)
		l := o.Left
		if !orderly(o.Rate) || !orderly(m.Rate()) {
			t.Fatalf("rates %+v, %+v", o.Rate, m.Rate())
		}
		if l.Low < 0 || l.Low > l.Mid || l.Mid > l.High || l.High > Farthest {
			t.Fatalf("left %+v", l)
		}
		if o.Left.Known != (o.Why == "") || o.Sentence(vienna) == "" {
			t.Fatalf("known %v, why %q, %q", o.Left.Known, o.Why, o.Sentence(vienna))
		}
		if !o.FillBy.IsZero() && (o.FillBy.Before(beginning(civil(s.Now.In(vienna)), vienna)) || o.FillBy.After(s.Now.Add(l.High))) {
			t.Fatalf("fill by %v from %v with %+v", o.FillBy, s.Now, l)
		}
		sum := 0.0
		for _, p := range m.ByHour() {
			if p < 0 {
				t.Fatal("an hour has less than nothing")
			}
			sum += p
		}
		if sum != 0 && math.Abs(sum-1) > 1e-9 {
			t.Fatalf("the hours of a day make %v", sum)
		}
	})
}

// More in the tank never lasts shorter, nor does one that can be drawn lower.
func TestMoreLastsLonger(t *testing.T) {
	peer.Draws(t, 40)
	rapid.Check(t, func(t *rapid.T) {
		d := stretches(t)
		m := modelOf(d, Config{Zone: vienna})
		s := Standing{Now: d[len(d)-1].To, Level: rapid.Float64Range(0, 1).Draw(t, "level"), U: 0.02, To: 0.05, Shown: true}
		o := m.Ahead(s)
		more := s
		more.Level += rapid.Float64Range(0, 0.3).Draw(t, "more")
		lower := s
		lower.To = 0
		for _, x := range []Standing{more, lower} {
			p := m.Ahead(x)
			if p.Left.Low < o.Left.Low || p.Left.Mid < o.Left.Mid || p.Left.High < o.Left.High {
				t.Fatalf("%+v lasts %+v, but %+v lasts %+v", s, o.Left, x, p.Left)
			}
		}
	})
}

// Twice the use out of twice as much is the same tank in another unit.
func TestUnitDoesNotMatter(t *testing.T) {
	peer.Draws(t, 40)
	rapid.Check(t, func(t *rapid.T) {
		d := stretches(t)
		m := modelOf(d, Config{Zone: vienna})
		twice := New(Config{Zone: vienna})
		for _, x := range d {
			x.Amount, x.U = 2*x.Amount, 2*x.U
			twice.Add(x)
		}
		s := Standing{Now: d[len(d)-1].To, Level: 0.3, U: 0.01, Shown: true}
		o := m.Ahead(s)
		s.Level, s.U = 0.6, 0.02
		p := twice.Ahead(s)
		if o.Left.Known != p.Left.Known || apart(o.Left.Low, p.Left.Low) || apart(o.Left.Mid, p.Left.Mid) || apart(o.Left.High, p.Left.High) || o.FillBy != p.FillBy {
			t.Fatalf("%+v and, twice as much, %+v", o, p)
		}
		if a, b := m.Rate(), twice.Rate(); math.Abs(2*a.Mid-b.Mid) > 1e-9 || math.Abs(2*a.High-b.High) > 1e-9*max(1, b.High) {
			t.Fatalf("rates %+v and %+v", a, b)
		}
	})
}

func apart(a, b time.Duration) bool { return (a - b).Abs() > time.Minute }

// A stretch that comes in two halves is the same stretch: the amounts of days agree,
// and the time left nearly so (its doubt is told apart a little better).
func TestHalves(t *testing.T) {
	peer.Draws(t, 40)
	rapid.Check(t, func(t *rapid.T) {
		d := stretches(t)
		for i := range d {
			d[i].U = 0
		}
		m := modelOf(d, Config{Zone: vienna})
		h := New(Config{Zone: vienna})
		for _, x := range d {
			mid := x.From.Add(x.To.Sub(x.From) / 2)
			h.Add(Drawn{From: x.From, To: mid, Amount: x.Amount / 2})
			h.Add(Drawn{From: mid, To: x.To, Amount: x.Amount / 2})
		}
		a, b := m.Rate(), h.Rate()
		if math.Abs(a.Mid-b.Mid) > 1e-9*max(1, a.Mid) {
			t.Fatalf("mean %v, in halves %v", a.Mid, b.Mid)
		}
		x, y := m.Days(400), h.Days(400)
		if len(x) != len(y) {
			t.Fatalf("%d days, in halves %d", len(x), len(y))
		}
		var dx, dy float64
		for i := range x {
			dx += m.days[i].amount
			dy += h.days[i].amount
			if !x[i].Day.Equal(y[i].Day) {
				t.Fatalf("day %v, in halves %v", x[i].Day, y[i].Day)
			}
		}
		if math.Abs(dx-dy) > 1e-9 || math.Abs(dx-m.total) > 1e-9 {
			t.Fatalf("days make %v, in halves %v, of %v", dx, dy, m.total)
		}
	})
}

// A model that was kept and taken back goes on as one that wasn't, to the last bit.
func TestResume(t *testing.T) {
	peer.Draws(t, 60)
	rapid.Check(t, func(t *rapid.T) {
		d := stretches(t)
		cut := rapid.IntRange(0, len(d)).Draw(t, "cut")
		c := Config{Zone: vienna}
		whole := modelOf(d, c)
		half := modelOf(d[:cut], c)
		if rapid.Bool().Draw(t, "asked") {
			half.Ahead(Standing{Now: d[0].From, Level: 1, Shown: true})
		}
		b, err := half.MarshalBinary()
		if err != nil {
			t.Fatal(err)
		}
		again := New(c)
		if err := again.UnmarshalBinary(b); err != nil {
			t.Fatal(err)
		}
		for _, x := range d[cut:] {
			again.Add(x)
		}
		one, _ := whole.MarshalBinary()
		two, _ := again.MarshalBinary()
		if !bytes.Equal(one, two) {
			t.Fatal("what was kept goes on otherwise")
		}
		s := Standing{Now: d[len(d)-1].To, Level: 0.5, U: 0.01, Shown: true}
		if p, q := whole.Ahead(s), again.Ahead(s); p != q {
			t.Fatalf("%+v, and %+v", p, q)
		}
	})
}
