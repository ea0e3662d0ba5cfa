package web

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"slices"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
)

// flowsOf is what came in and went out, as a test makes it up.
type flowsOf struct {
	outlooks []outlook.Outlook
	uses     []Use
	events   map[string][]flow.Event
	err      error
}

func (f *flowsOf) Outlooks(time.Time) []outlook.Outlook { return f.outlooks }
func (f *flowsOf) Uses() []Use                          { return f.uses }

func (f *flowsOf) Flows(_ context.Context, tank string, from, to time.Time, most int, kinds ...flow.Kind) ([]flow.Event, error) {
	var list []flow.Event
	for _, e := range slices.Backward(f.events[tank]) {
		if e.Start.Before(to) && (e.Open() || !e.End.Before(from)) && len(list) < most && (len(kinds) == 0 || slices.Contains(kinds, e.Kind)) {
			list = append(list, e)
		}
	}
	return list, f.err
}

const aDay = 24 * time.Hour

// goingOn is the stall with how it goes on: gas for some evenings, water for some
// days, and of the heater nothing known yet.
func goingOn(t testing.TB) *watches {
	w := stall(t)
	f := &flowsOf{
		outlooks: []outlook.Outlook{
			{At: sunday, Rate: outlook.Rate{Known: true, Low: 0.09, Mid: 0.1, High: 0.12}, Left: outlook.Left{Known: true, Low: 5*aDay + 3*time.Hour, Mid: 6 * aDay, High: 6*aDay + 20*time.Hour},
				FillBy: sunday.Truncate(aDay).Add(4 * aDay), Meals: "evenings", Least: 5, Most: 7, Days: 21},
			{At: sunday, Rate: outlook.Rate{Known: true, Low: 0.1, Mid: 0.12, High: 0.15}, Left: outlook.Left{Known: true, Low: 2 * aDay, Mid: 3 * aDay, High: 3*aDay + time.Hour}, FillBy: sunday.Truncate(aDay).Add(aDay), Least: 2, Most: 4, Days: 20},
			{At: sunday, Why: "No use has been seen yet."},
		},
		uses: []Use{
			{Rate: outlook.Rate{Known: true, Low: 0.09, Mid: 0.1, High: 0.12}, Full: 0.054, FullMass: 27, Swing: flow.Swing{Known: true, Low: 0.018, Mid: 0.021, High: 0.024}},
			{Rate: outlook.Rate{Known: true, Low: 0.1, Mid: 0.12, High: 0.15}, Full: 0.09},
			{Full: 0.02},
		},
		events: map[string][]flow.Event{
			"gas": {
				{Kind: flow.Use, Start: dayBefore.Add(-2 * time.Hour), End: dayBefore.Add(90 * time.Minute), Amount: 0.05, Low: 0.04, High: 0.06, Before: 0.5, After: 0.45, P: 0.99},
				{Kind: flow.Stuck, Start: dayBefore.Add(3 * time.Hour), End: dayBefore.Add(9 * time.Hour), Before: 0.4, After: 0.4, P: 0.95},
				{Kind: flow.Refill, Start: dayBefore.Add(18*time.Hour + 2*time.Minute), End: dayBefore.Add(18*time.Hour + 9*time.Minute), Amount: 0.402, Low: 0.38, High: 0.42, Before: 0.2, After: 0.61, P: 0.999, Why: "The level rose while the vehicle stood."},
				{Kind: flow.Drop, Start: dayBefore.Add(21 * time.Hour), End: dayBefore.Add(21*time.Hour + time.Minute), Amount: 0.04, Low: 0.01, High: 0.07, Before: 0.61, After: 0.57, P: 0.7},
				{Kind: flow.Leak, Start: dayBefore.Add(22 * time.Hour), End: dayBefore.Add(23 * time.Hour), Amount: 0.01, Low: 0, High: 0.02, P: 0.3}, // less likely than not
			},
		},
	}
	for i := range f.uses[:2] {
		for k := range 26 {
			day := sunday.Truncate(aDay).AddDate(0, 0, k-25)
			if k == 11 || k == 12 {
				continue // nothing was known
			}
			f.uses[i].Days = append(f.uses[i].Days, outlook.Day{Day: day, Amount: 0.08 + 0.03*math.Sin(float64(k)), U: 0.008, Whole: k != 10 && k != 25})
		}
	}
	for h := range 24 {
		f.uses[0].ByHour[h] = 0.01
		if h >= 18 && h < 22 {
			f.uses[0].ByHour[h] = 0.2
		}
		f.uses[1].ByHour[h] = 1.0 / 24
	}
	f.uses[0].ByWeekday = [7]float64{0.05, 0.05, 0.05, 0.05, 0.2, 0.3, 0.3}
	w.flows = f
	return w
}

// leaking is the same with gas and water that leak.
func leaking(t testing.TB) *watches {
	w := goingOn(t)
	f := w.flows.(*flowsOf)
	f.events["gas"] = append(f.events["gas"], flow.Event{Kind: flow.Leak, Start: sunday.Add(-5 * time.Hour), Found: sunday.Add(-time.Hour), Amount: 0.05, Low: 0.04, High: 0.06, PerHour: 0.01, Before: 0.66, After: 0.61, P: 0.97})
	f.events["fresh"] = []flow.Event{{Kind: flow.Leak, Start: sunday.Add(-30 * time.Hour), Found: sunday.Add(-time.Hour), Amount: 0.1, Low: 0.08, High: 0.12, PerHour: 0.004, P: 0.8}}
	return w
}

// bookOf is a book of dockets in memory.
type bookOf struct {
	mu      sync.Mutex
	learned docket.Learned
	refills []docket.Refill
	photos  map[string][]byte
	kept    []docket.Docket
	entered int // how often Enter was asked
	refuse  error
	broken  error
}

func (b *bookOf) Enter(_ context.Context, d docket.Docket, photo []byte) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.entered++
	if b.refuse != nil {
		return b.refuse
	}
	b.kept = append(b.kept, d)
	if b.photos == nil {
		b.photos = map[string][]byte{}
	}
	if len(photo) > 0 {
		b.photos[d.ID] = photo
	}
	v := docket.Verdict{Seen: docket.Seen{Docket: d, Refill: true}, Counts: true, Rise: 31, Low: 29.5, High: 32.5, Sentence: "The docket says 31 L, and by the sender 31 L ± 1.5 L came in: they agree."}
	if d.Kind == docket.Receipt && d.Litres > 0 && d.Litres < 10 {
		v.Counts, v.Sentence = false, "The docket says 7.45 L, and by the sender 28 L came in: the amount doesn't count. It would fit as US gallons: was another unit meant?"
	}
	b.learned.Verdicts = append([]docket.Verdict{v}, b.learned.Verdicts...)
	b.learned.N++
	return nil
}

func (b *bookOf) Strike(_ context.Context, _, id string, struck bool) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range b.learned.Verdicts {
		if d := &b.learned.Verdicts[i].Seen.Docket; d.ID == id {
			d.Struck = struck
			return nil
		}
	}
	return errors.New("there is no such docket")
}

func (b *bookOf) Learned(context.Context, string) (docket.Learned, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	l := b.learned
	l.Verdicts = slices.Clone(l.Verdicts)
	return l, b.broken
}

func (b *bookOf) Photo(_ context.Context, _, id string) ([]byte, string, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.photos[id], "image/jpeg", nil
}

func (b *bookOf) Refills(context.Context, string) ([]docket.Refill, error) { return b.refills, nil }

// atPump is the stall at a pump: a filling was just seen.
func atPump(t testing.TB) (*watches, *bookOf) {
	w := goingOn(t)
	b := &bookOf{refills: []docket.Refill{
		{Start: sunday.Add(-9 * time.Minute), End: sunday.Add(-2 * time.Minute), Litres: 31, Low: 29.5, High: 32.5, Share: 0.57},
		{Start: sunday.Add(-8 * aDay), End: sunday.Add(-8*aDay + 6*time.Minute), Litres: math.NaN(), Low: math.NaN(), High: math.NaN(), Share: 0.4},
	}}
	w.book = b
	return w, b
}

// taught is the same with five dockets, one of them struck out, which say that other
// end values would be better.
func taught(t testing.TB) *watches {
	w, b := atPump(t)
	for i, v := range []docket.Verdict{
		{Seen: docket.Seen{Docket: docket.Docket{ID: "d1", Kind: docket.Receipt, Litres: 30.2, Typed: "30.2 L", Stopped: true, Note: "the pump by the ring road", Photo: "receipt.jpg"}}, Counts: true, Caution: "The docket says 30.2 L, and 43.2 L may be filled into the tank from empty: it was overfilled, another unit was meant, or its capacity is another.", Sentence: "The docket says 30.2 L, and by the sender 26.4 L ± 1.5 L came in: 3.8 L too little, beyond doubt."},
		{Seen: docket.Seen{Docket: docket.Docket{ID: "d2", Kind: docket.Weighed, Kilograms: 14.2, Typed: "14.2 kg"}}, Counts: true, Sentence: "It was weighed; the sender showed 48 %."},
		{Seen: docket.Seen{Docket: docket.Docket{ID: "d3", Kind: docket.RanOut}}, Counts: true, Sentence: "It had run out; the sender showed 6 %."},
		{Seen: docket.Seen{Docket: docket.Docket{ID: "d4", Kind: docket.Receipt, Litres: 7.45, Typed: "7.45 L"}}, Sentence: "The docket says 7.45 L, and by the sender 28 L came in: the amount doesn't count. It would fit as US gallons: was another unit meant?"},
		{Seen: docket.Seen{Docket: docket.Docket{ID: "d5", Kind: docket.Receipt, Litres: 12, Typed: "12 L", Struck: true}}},
		{Seen: docket.Seen{Docket: docket.Docket{ID: "d6", Kind: docket.Stopped, Stopped: true}}, Counts: true, Sentence: "The pump stopped by itself, at 80 % or a little less; the sender showed 74 %."},
	} {
		v.Seen.Docket.Tank, v.Seen.Docket.Time = "gas", sunday.Add(-time.Duration(i*53)*time.Hour)
		b.learned.Verdicts = append(b.learned.Verdicts, v)
	}
	b.photos = map[string][]byte{"d1": picture(t, 40, 30)}
	l := &b.learned
	l.N, l.Applied, l.At = 4, true, [5]float64{0, 0.25, 0.5, 0.75, 1}
	l.Off, l.UOff = [5]float64{0.062, 0.041, 0.013, -0.052, -0.06}, [5]float64{0.012, 0.01, 0.009, 0.01, 0.03}
	l.Capacity, l.UCapacity = quantity.CubicMetre(0.0537), quantity.CubicMetre(0.0006)
	l.Propose, l.Lower, l.Upper = true, 5.5, 84.5
	l.Cautions = []string{"Never fill beyond the permitted fill. The filling stop decides when it is full, and no figure here does."}
	l.Reason = "By 4 dockets the largest error to be expected between a tenth and eight tenths falls from 6.0 to 1.4 points with 5.5 and 84.5 Ω in place of 0 and 90."
	return w
}

// picture is a JPEG of a size: its left half is dark.
func picture(t testing.TB, w, h int) []byte {
	t.Helper()
	p := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{230, 230, 230, 255}
			if x < w/2 {
				c = color.RGBA{20, 20, 20, 255}
			}
			p.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, p, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
