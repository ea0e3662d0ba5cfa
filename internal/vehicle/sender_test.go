package vehicle

import (
	"math"
	"testing"
	"time"
)

func probeOf(t *testing.T, s Sender, shape Shape, share float64) *probe {
	t.Helper()
	if err := s.check(); err != nil {
		t.Fatal(err)
	}
	in, err := newShape(shape)
	if err != nil {
		t.Fatal(err)
	}
	return newProbe(s, in, share)
}

var box = Shape{Length: 0.5, Width: 0.4, Height: 0.3}

// A straight sender without play, in a box: ohms are linear in the height.
func TestStraightSender(t *testing.T) {
	p := probeOf(t, Sender{Empty: 240, Full: 33}, box, 0)
	for _, share := range []float64{0, 0.25, 0.5, 0.777, 1} {
		p.follow(share * 0.3)
		if got, want := p.resistance(293.15), 240-share*207; math.Abs(got-want) > 1e-9 {
			t.Errorf("at %g: %g ohm, expected %g", share, got, want)
		}
	}
}

// The stops, the play, the steps, the bend and the temperature, by hand.
func TestSenderByHand(t *testing.T) {
	for name, c := range map[string]struct {
		sender Sender
		heads  []float64 // heights in m, one after the other
		warmth float64
		want   float64
	}{
		"below the lower stop": {Sender{Empty: 10, Full: 110, Bottom: 0.2, Top: 0.8}, []float64{0.03}, 293.15, 10},
		"between the stops":    {Sender{Empty: 10, Full: 110, Bottom: 0.2, Top: 0.8}, []float64{0.15}, 293.15, 60},
		"above the upper stop": {Sender{Empty: 10, Full: 110, Bottom: 0.2, Top: 0.8}, []float64{0.29}, 293.15, 110},
		"play, coming up":      {Sender{Empty: 0, Full: 100, Hysteresis: 0.04}, []float64{0, 0.15}, 293.15, 48},
		"play, coming down":    {Sender{Empty: 0, Full: 100, Hysteresis: 0.04}, []float64{0, 0.3, 0.15}, 293.15, 52},
		"steps":                {Sender{Empty: 0, Full: 100, Steps: 10}, []float64{0.3 * 0.34}, 293.15, 30},
		"bend":                 {Sender{Empty: 0, Full: 100, Bend: 0.2}, []float64{0.15}, 293.15, 55},
		"warm":                 {Sender{Empty: 0, Full: 100, PerKelvin: 0.004}, []float64{0.15}, 303.15, 52},
	} {
		p := probeOf(t, c.sender, box, 0)
		for _, h := range c.heads {
			p.follow(h)
		}
		if got := p.resistance(c.warmth); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %g ohm, expected %g", name, got, c.want)
		}
	}
}

// A lying cylinder, by the area of a circle's segment r²·acos(1−h/r) −
// (r−h)·√(2rh−h²) (any table of formulas), and the table's stated limits.
func TestLyingCylinder(t *testing.T) {
	const d, long = 0.283, 0.64
	in, err := newShape(Shape{Lying: true, Length: long, Height: d})
	if err != nil {
		t.Fatal(err)
	}
	r := d / 2
	if want := math.Pi * r * r * long; math.Abs(in.capacity/want-1) > 1e-9 {
		t.Errorf("capacity %g m³, expected %g", in.capacity, want)
	}
	for i := 1; i < 1000; i++ {
		h := d * float64(i) / 1000
		segment := r*r*math.Acos(1-h/r) - (r-h)*math.Sqrt(2*r*h-h*h)
		off := math.Abs(in.height(segment*long/in.capacity) - h)
		if limit := map[bool]float64{true: 1e-3, false: 5e-5}[h < 0.01*d || h > 0.99*d]; off > limit*d {
			t.Errorf("at %g of the height: off by %g of the diameter", h/d, off/d)
		}
		if back := in.height(in.share(h)); math.Abs(back-h) > 1e-12 {
			t.Errorf("there and back at %g: %g", h, back)
		}
	}
}

// What each kind of fault does to the readings of an otherwise perfect sender
// that stands at 50 ohms; the fault lasts from the fifth reading to the ninth.
func TestFaults(t *testing.T) {
	at := func(i int) time.Time { return begin.Add(time.Duration(i) * time.Second) }
	const from, to = 5, 10
	for _, c := range []struct {
		kind Kind
		by   float64
		is   func(i int, s Sample) bool // of the readings that were taken meanwhile
		sent int                        // readings that come in all, of 20
	}{
		{Broken, 0, func(_ int, s Sample) bool { return s.Ohm == 99999 }, 20},
		{Broken, 400, func(_ int, s Sample) bool { return s.Ohm == 400 }, 20},
		{Broken, math.NaN(), func(_ int, s Sample) bool { return math.IsNaN(s.Ohm) }, 20},
		{Shorted, 0, func(_ int, s Sample) bool { return s.Ohm < 1 }, 20},
		{Added, 12, func(_ int, s Sample) bool { return s.Ohm == 62 }, 20},
		{Stuck, 0, func(_ int, s Sample) bool { return s.Ohm == 50 }, 20},
		{Gap, 0, func(int, Sample) bool { return false }, 15},
		{Doubled, 0, func(_ int, s Sample) bool { return s.Ohm == 50 }, 25},
		{Swapped, 0, func(_ int, s Sample) bool { return s.Ohm == 50 }, 20},
		{Late, 3, func(_ int, s Sample) bool { return s.Ohm == 50 && s.Stamp.Equal(s.Time) }, 20},
		{Unset, 0, func(i int, s Sample) bool { return s.Stamp.Unix() == int64(i) }, 20},
		{Ahead, 0, func(_ int, s Sample) bool { return s.Stamp.Year() == 2100 }, 20},
		{Stepped, -90, func(_ int, s Sample) bool { return s.Time.Sub(s.Stamp) == 90*time.Second }, 20},
		{Disagree, 20, func(_ int, s Sample) bool { return s.Ohm == 50 && !s.Second || s.Ohm == 70 && s.Second }, 25},
	} {
		v, err := New(1, Plan{Start: begin, Tanks: []Tank{{Name: "a", Shape: box, Begin: 0.5, Sender: Sender{Empty: 0, Full: 100}}},
			Faults: []Fault{{Tank: "a", Kind: c.kind, By: c.by, From: from * time.Second, To: to * time.Second}}})
		if err != nil {
			t.Fatal(err)
		}
		sent, order := 0, true
		last := at(-1)
		for range 20 {
			for _, s := range v.Next() {
				sent++
				i := int(s.Time.Sub(begin) / time.Second)
				order = order && !s.Time.Before(last)
				last = s.Time
				during := i >= from && i < to
				if during && (!c.is(i, s) || s.Fault != c.kind) {
					t.Errorf("%s: reading %d is %v ohm at %v, fault %q", c.kind, i, s.Ohm, s.Stamp, s.Fault)
				}
				if !during && (s.Ohm != 50 || s.Fault != Sound || !s.Stamp.Equal(at(i)) || s.True != 0.5) {
					t.Errorf("%s: reading %d is %v ohm at %v, fault %q; expected a sound 50", c.kind, i, s.Ohm, s.Stamp, s.Fault)
				}
			}
		}
		if sent != c.sent || order == (c.kind == Swapped || c.kind == Late) {
			t.Errorf("%s: %d readings came, in order: %v; expected %d", c.kind, sent, order, c.sent)
		}
	}
}

// A loose contact and spikes come and go.
func TestFlickerAndSpikes(t *testing.T) {
	for _, kind := range []Kind{Flicker, Spikes} {
		v, err := New(2, Plan{Start: begin, Tanks: []Tank{{Name: "a", Shape: box, Begin: 0.5, Sender: Sender{Empty: 0, Full: 100}}},
			Faults: []Fault{{Tank: "a", Kind: kind}}})
		if err != nil {
			t.Fatal(err)
		}
		var well, open, low int
		for range 2000 {
			switch s := v.Next()[0]; {
			case s.Ohm == 50:
				well++
			case s.Ohm == 99999:
				open++
			case s.Ohm < 2:
				low++
			}
		}
		if kind == Flicker && (well < 600 || open < 400 || low < 150) || kind == Spikes && (well < 1850 || well > 1940 || open > 0) {
			t.Errorf("%s: %d well, %d open, %d near nothing of 2000", kind, well, open, low)
		}
	}
}

func TestParseFault(t *testing.T) {
	for text, want := range map[string]Fault{
		"fresh break 2m..5m":          {Tank: "fresh", Kind: Broken, From: 2 * time.Minute, To: 5 * time.Minute},
		"fresh break 400ohm 2m..":     {Tank: "fresh", Kind: Broken, From: 2 * time.Minute, By: 400},
		"lpg resist 12 ..5m":          {Tank: "lpg", Kind: Added, To: 5 * time.Minute, By: 12},
		"a second -20ohm":             {Tank: "a", Kind: Disagree, By: -20},
		"a clock-step -90s 1h..1h10m": {Tank: "a", Kind: Stepped, By: -90, From: time.Hour, To: 70 * time.Minute},
		"a late":                      {Tank: "a", Kind: Late, By: 30},
	} {
		if got, err := ParseFault(text); err != nil || got != want {
			t.Errorf("%q: %+v, %v; expected %+v", text, got, err, want)
		}
	}
	if f, err := ParseFault("a break null"); err != nil || !math.IsNaN(f.By) {
		t.Errorf("null: %+v, %v", f, err)
	}
	for _, text := range []string{"", "fresh", "fresh melt", "fresh break 5m..2m", "fresh break 2m", "fresh short 3ohm", "a/b break", "a late -3s", "a break -5m..2m", "a resist NaN", "a resist 1e99", "fresh break 2m...5m"} {
		if f, err := ParseFault(text); err == nil {
			t.Errorf("%q is not refused: %+v", text, f)
		}
	}
}

func FuzzParseFault(f *testing.F) {
	for _, text := range []string{"fresh break 2m..5m", "a resist 12ohm 1h..", "a break null", "a clock-step -90s 2m..5m"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if got, err := ParseFault(text); err == nil {
			if err := got.check(); err != nil {
				t.Errorf("%q is read as %+v, which can't be: %v", text, got, err)
			}
		}
	})
}
