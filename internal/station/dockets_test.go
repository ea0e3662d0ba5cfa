package station

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/flow"
	"gaugewright/internal/watch"
)

// shiftedTank is a gas tank whose sender shows six points too much, with some refills.
type shiftedTank struct {
	s       *Station
	clock   atomic.Int64
	dockets []docket.Docket
	last    float64 // level that is true
}

const gasTank = "[tank.gas]\nlower = 10\nupper = 180\ncapacity = \"54L\"\ncontents = \"lpg\"\n[mqtt]\nlisten = \"127.0.0.1:0\"\n"

func newShifted(t *testing.T, config string) *shiftedTank {
	t.Helper()
	c := &shiftedTank{}
	c.clock.Store(time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC).Unix())
	c.s = startedFrom(t, write(t, config), Options{Now: c.now})
	at := c.now().Add(-6 * 24 * time.Hour)
	var all []watch.Reading
	hold := func(level float64, d time.Duration) {
		for end := at.Add(d); at.Before(end); at = at.Add(10 * time.Second) {
			shown := level + 0.06 + 0.002*math.Sin(float64(len(all)))
			all = append(all, watch.Reading{Tank: "gas", Source: "test", Time: at, Signal: watch.Ohm, Value: 10 + 170*shown})
		}
		c.last = level
	}
	lows := []float64{0.30, 0.005, 0.15, 0.42, 0.22, 0.35}
	for i, low := range lows[:5] {
		hold(low, 40*time.Minute)
		if low < 0.01 {
			c.dockets = append(c.dockets, docket.Docket{ID: fmt.Sprint("out", i), Tank: "gas", Kind: docket.RanOut, Time: at})
		}
		at = at.Add(10 * time.Minute)
		d := docket.Docket{ID: fmt.Sprint("fill", i), Tank: "gas", Kind: docket.Receipt, Time: at, Litres: math.Round((0.78-low)*540) / 10, Stopped: true}
		c.dockets = append(c.dockets, d)
		hold(0.78, 40*time.Minute)
		for l := 0.77; l > lows[i+1]; l -= 0.05 {
			hold(l, 40*time.Minute)
		}
	}
	if err := c.s.Backfill(t.Context(), all); err != nil {
		t.Fatal(err)
	}
	c.clock.Store(at.Unix())
	for end := time.Now().Add(10 * time.Second); !c.level().Time.Equal(all[len(all)-1].Time); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the readings weren't watched within 10 s")
		}
	}
	return c
}

func (c *shiftedTank) now() time.Time { return time.Unix(c.clock.Load(), 0).UTC() }

// level gives the level of the one tank.
func (c *shiftedTank) level() watch.Level { return c.s.Levels(c.now())[0] }

func TestDocketsCorrectATank(t *testing.T) {
	c := newShifted(t, gasTank)
	book, ctx := c.s.Dockets(), t.Context()
	plain := c.level()
	refills, err := book.Refills(ctx, "gas")
	if err != nil || len(refills) != 5 {
		t.Fatalf("%d refills without a docket, %v; expected 5", len(refills), err)
	}
	events, err := c.s.Flows().Flows(ctx, "gas", time.Time{}, time.Time{}, 100)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range refills { // the page of the tank tells the same
		if !slices.ContainsFunc(events, func(e flow.Event) bool {
			return e.Kind == flow.Refill && e.Start.Equal(r.Start) && e.End.Equal(r.End) && math.Abs(54*e.Amount-r.Litres) < 0.1 && math.Abs(54*e.Low-r.Low) < 0.1 && math.Abs(54*e.High-r.High) < 0.1
		}) {
			t.Errorf("a refill of %.1f L (%.1f to %.1f) from %s to %s is told of as another", r.Litres, r.Low, r.High, r.Start, r.End)
		}
	}
	for _, d := range c.dockets {
		if err := book.Enter(ctx, d, nil); err != nil {
			t.Fatal(err)
		}
	}
	if refills, _ := book.Refills(ctx, "gas"); len(refills) != 0 {
		t.Errorf("%d refills without a docket once all have one", len(refills))
	}
	l, err := book.Learned(ctx, "gas")
	if err != nil || !l.Applied || l.N != len(c.dockets) {
		for _, v := range l.Verdicts {
			t.Logf("%s %v: before %.3f after %.3f refill %v: %s", v.Seen.Docket.ID, v.Counts, v.Seen.Before, v.Seen.After, v.Seen.Refill, v.Sentence)
		}
		t.Fatalf("%d dockets count, applied %v (better %.2f, %.3f to %.3f), %v", l.N, l.Applied, l.Better, l.Was, l.Is, err)
	}
	corrected := c.level()
	if was, is := math.Abs(float64(plain.Share)-c.last), math.Abs(float64(corrected.Share)-c.last); was < 0.05 || is > 0.025 {
		t.Errorf("the level is off by %.3f, and was by %.3f; expected within 0.025 from 0.06", is, was)
	}
	if corrected.U <= plain.U || corrected.Raw != plain.Raw {
		t.Errorf("doubt %v and %v ohms corrected, %v and %v plain; expected more doubt and the same ohms", corrected.U, corrected.Raw, plain.U, plain.Raw)
	}
	// A correction is no refill and no drop.
	tank := c.s.tanks["gas"]
	tank.mu.Lock()
	events = tank.follows.tracker.Events()
	tank.mu.Unlock()
	for _, e := range events {
		if (e.Kind == flow.Refill || e.Kind == flow.Drop || e.Kind == flow.Drain) && e.Start.After(c.now().Add(-2*time.Hour)) {
			t.Errorf("the correction is taken for a %s of %.2f at %s", e.Kind, e.Amount, e.Start)
		}
	}
	if !l.Propose || l.Lower <= 10 {
		t.Errorf("proposes %v, %g and %g: %s", l.Propose, l.Lower, l.Upper, l.Reason)
	}
	// Struck out, all is as it was.
	for _, d := range c.dockets {
		if err := book.Strike(ctx, "gas", d.ID, true); err != nil {
			t.Fatal(err)
		}
	}
	if again := c.level(); fmt.Sprintf("%+v", again) != fmt.Sprintf("%+v", plain) {
		t.Errorf("once all are struck out:\n%+v\nexpected\n%+v", again, plain)
	}
	for _, d := range c.dockets {
		if err := book.Strike(ctx, "gas", d.ID, false); err != nil {
			t.Fatal(err)
		}
	}
	if again := c.level(); fmt.Sprintf("%+v", again) != fmt.Sprintf("%+v", corrected) {
		t.Errorf("taken back in:\n%+v\nexpected\n%+v", again, corrected)
	}
}

func TestDocketsAreKept(t *testing.T) {
	c := newShifted(t, gasTank)
	book, ctx := c.s.Dockets(), t.Context()
	for _, d := range c.dockets {
		if err := book.Enter(ctx, d, nil); err != nil {
			t.Fatal(err)
		}
	}
	was, level := mustLearn(t, book), c.level()
	path := c.s.store.Path()
	if err := c.s.Stop(); err != nil {
		t.Fatal(err)
	}
	s := startedFrom(t, write(t, fmt.Sprintf("data = %q\n", path)+gasTank), Options{Now: c.now})
	if is := mustLearn(t, s.Dockets()); is.N != was.N || !is.Applied || is.Off != was.Off {
		t.Errorf("after a restart %d dockets, applied %v, off %v; expected %d, true, %v", is.N, is.Applied, is.Off, was.N, was.Off)
	}
	refills := 0
	for _, e := range s.tanks["gas"].follows.tracker.Events() { // nothing comes in any more
		switch e.Kind {
		case flow.Refill:
			refills++
		case flow.Drop, flow.Drain:
			t.Errorf("after a restart the correction is taken for a %s at %s", e.Kind, e.Start)
		}
	}
	if refills != 5 {
		t.Errorf("after a restart %d refills; expected 5", refills)
	}
	if again := s.Levels(c.now())[0]; math.Abs(float64(again.Share-level.Share)) > 1e-3 {
		t.Errorf("after a restart the level is %v; expected %v", again.Share, level.Share)
	}
}

func mustLearn(t *testing.T, b docket.Book) docket.Learned {
	t.Helper()
	l, err := b.Learned(context.Background(), "gas")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestDocketsThatTellAlone(t *testing.T) {
	c := newShifted(t, strings.Replace(gasTank, "[mqtt]", "learn = \"tell\"\n[mqtt]", 1))
	plain := c.level()
	for _, d := range c.dockets {
		if err := c.s.Dockets().Enter(t.Context(), d, nil); err != nil {
			t.Fatal(err)
		}
	}
	if l := mustLearn(t, c.s.Dockets()); l.Applied || !l.Helps || c.level().Share != plain.Share {
		t.Errorf("applied %v, helps %v, the level the same %v; expected false, true, true", l.Applied, l.Helps, c.level().Share == plain.Share)
	}
}

func TestDocketsThatCantBe(t *testing.T) {
	c := newShifted(t, gasTank)
	book, ctx, now := c.s.Dockets(), t.Context(), c.now()
	good := docket.Docket{ID: "a", Tank: "gas", Kind: docket.Receipt, Time: now.Add(-time.Hour), Litres: 20}
	for name, d := range map[string]func(*docket.Docket){
		"hasn't been yet":   func(d *docket.Docket) { d.Time = now.Add(time.Hour) },
		"expected above 0":  func(d *docket.Docket) { d.Litres = -3 },
		"up to 100000":      func(d *docket.Docket) { d.Litres = 1e9 },
		"no amount":         func(d *docket.Docket) { d.Litres = 0 },
		"or two":            func(d *docket.Docket) { d.Kilograms = 3 },
		"no tank is called": func(d *docket.Docket) { d.Tank = "beer" },
		"no kind of docket": func(d *docket.Docket) { d.Kind = "gift" },
		"no ID":             func(d *docket.Docket) { d.ID = "" },
		"has an amount":     func(d *docket.Docket) { d.Kind = docket.RanOut },
	} {
		bad := good
		d(&bad)
		if err := book.Enter(ctx, bad, nil); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := book.Enter(ctx, good, []byte("<html>")); err == nil || !strings.Contains(err.Error(), "JPEG") {
		t.Errorf("a page for a picture: %v", err)
	}
	png := append([]byte("\x89PNG\r\n\x1a\n"), bytes.Repeat([]byte{1}, 100)...)
	for range 2 { // the same again is kept once
		if err := book.Enter(ctx, good, png); err != nil {
			t.Fatal(err)
		}
	}
	other := good
	other.Litres = 21
	if err := book.Enter(ctx, other, nil); !errors.Is(err, docket.ErrOther) {
		t.Errorf("another with its ID: %v; expected ErrOther", err)
	}
	data, kind, err := book.Photo(ctx, "gas", "a")
	if err != nil || kind != "image/png" || !bytes.Equal(data, png) {
		t.Errorf("picture of %d bytes, %q, %v", len(data), kind, err)
	}
	l := mustLearn(t, book)
	if len(l.Verdicts) != 1 || l.N != 0 || l.Applied || !strings.Contains(l.Verdicts[0].Sentence, "No refill was seen") {
		t.Errorf("%d verdicts, %d count: %+v", len(l.Verdicts), l.N, l.Verdicts)
	}
	if err := book.Strike(ctx, "gas", "b", true); !errors.Is(err, docket.ErrNone) {
		t.Errorf("striking out what isn't there: %v", err)
	}
}
