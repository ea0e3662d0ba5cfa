package lookup_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/gauge"
	"gaugewright/internal/lookup"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// keeps holds a table against its gauge at every count: the largest error is the
// one told, no table of so many points does better than the bound, levels go one
// way, and faults lie where the limits say.
func keeps(t interface {
	Helper()
	Fatalf(string, ...any)
}, g gauge.Gauge, in lookup.Counts, table *lookup.Table) {
	t.Helper()
	var worst, high, low float64
	before := math.MinInt
	for c := 0; c <= table.Full; c++ {
		level, fault := table.Level(c), table.Fault(c)
		ohm := quantity.Ohm(in.Ohm(float64(c)))
		if (level == lookup.NoLevel) != (fault != lookup.Fine) {
			t.Fatalf("count %d: level %d and fault %v", c, level, fault)
		}
		l := table.Limits
		open := fault == lookup.Open
		switch {
		case open && (c == 0 || c == table.Full): // the end of the converter
		case (fault == lookup.Short) != (ohm <= l.Short),
			(fault == lookup.Below) != (ohm > l.Short && ohm < l.Least),
			(fault == lookup.Fine) != (ohm >= l.Least && ohm <= l.Greatest),
			open != (ohm >= l.Open && ohm > l.Greatest):
			t.Fatalf("count %d, %v: %v by %+v", c, ohm, fault, l)
		}
		if fault != lookup.Fine {
			continue
		}
		if level < 0 || level > 1000 {
			t.Fatalf("count %d: level %d", c, level)
		}
		step := level
		if !table.Rising {
			step = -level
		}
		if step < before {
			t.Fatalf("count %d: the level turns round at %d", c, level)
		}
		before = step
		want, ok := truth(g, in, c)
		if ok != (c >= table.First && c <= table.Last) {
			t.Fatalf("count %d: known %v, and read from %d to %d", c, ok, table.First, table.Last)
		}
		if ok {
			off := float64(level) - want
			high, low = max(high, off), max(low, -off)
			worst = max(worst, math.Abs(off))
		} else if end := table.Level(min(table.Last, max(table.First, c))); level != end {
			t.Fatalf("count %d: %d, and the end is %d", c, level, end)
		}
	}
	if math.Abs(worst-table.Worst.Steps) > 1e-9 || math.Abs(high-table.TooHigh.Steps) > 1e-9 || math.Abs(low-table.TooLow.Steps) > 1e-9 {
		t.Fatalf("found %g (+%g −%g), told %+v (%+v, %+v)", worst, high, low, table.Worst, table.TooHigh, table.TooLow)
	}
	for _, c := range []int{table.First, table.Last} {
		if want, _ := truth(g, in, c); math.Abs(float64(table.Level(c))-want) > 0.5+1e-9 && (len(table.Entries) != 1 || c == table.First) {
			t.Fatalf("the end, count %d: %d, expected %g", c, table.Level(c), want)
		}
	}
	want, _ := truth(g, in, table.Worst.Count)
	if off := math.Abs(float64(table.Level(table.Worst.Count)) - want); math.Abs(off-worst) > 1e-9 {
		t.Fatalf("at count %d it is off by %g, told %g", table.Worst.Count, off, worst)
	}
	if table.Bound > worst+1e-9 {
		t.Fatalf("the bound %g lies above %g", table.Bound, worst)
	}
}

func TestTablesKeepTheirWord(t *testing.T) {
	r, f := rising(t), falling(t)
	for name, c := range map[string]struct {
		g  gauge.Gauge
		in lookup.Counts
		o  lookup.Options
		// Errors in steps, none more than the eye would expect of such a bend.
		most float64
	}{
		"12 points":      {r, pullUp{470, 4095}, lookup.Options{Points: 12}, 4},
		"8 points":       {f, pullUp{220, 1023}, lookup.Options{Points: 8}, 8},
		"16 bits":        {f, pullDown{220, 65535}, lookup.Options{Points: 16}, 3},
		"every count":    {r, pullUp{470, 4095}, lookup.Options{}, 0.5},
		"every 8 counts": {r, pullUp{470, 4095}, lookup.Options{Shift: 3}, 15},
	} {
		table := made(t, c.g, c.in, c.o)
		keeps(t, c.g, c.in, table)
		t.Logf("%s: %d points, %d entries, worst %.3f steps at %d, bound %.3f, one count %.3f", name, len(table.Points), len(table.Entries),
			table.Worst.Steps, table.Worst.Count, table.Bound, table.CountStep)
		if table.Worst.Steps > c.most+1e-9 {
			t.Errorf("%s: worst %g, expected at most %g", name, table.Worst.Steps, c.most)
		}
		if n := len(table.Points); n > c.o.Points {
			t.Errorf("%s: %d points", name, n)
		}
	}
}

// A straight sender on a steady current of 0..100 Ω at 8 bits: 20 to 70 Ω are 0
// to 100 %. Reckoned by hand: count c is c/2.55 Ω, so the level is 20·(c/2.55 − 20)
// tenths; two points do, off by rounding alone.
func TestStraightByHand(t *testing.T) {
	g := onDial(t, dial(t, 20, 32.5, 45, 57.5, 70))
	table := made(t, g, fed{100, 255}, lookup.Options{Points: 2})
	for c, want := range map[int]int{
		51:  0,   // 20 Ω
		102: 400, // 40 Ω
		115: 502, // 45.098 Ω: 501.96
		178: 996, // 69.804 Ω: 996.08
		50:  0,   // 19.61 Ω, held: not below 17.5 Ω
		45:  0,   // 17.65 Ω
		44:  lookup.NoLevel,
		184: 996, // 72.16 Ω, held: up to 72.5 Ω
		185: lookup.NoLevel,
		255: lookup.NoLevel,
		256: lookup.NoLevel,
		-1:  lookup.NoLevel,
	} {
		if got := table.Level(c); got != want {
			t.Errorf("count %d: %d, expected %d", c, got, want)
		}
	}
	for c, want := range map[int]lookup.Fault{
		0: lookup.Short, 22: lookup.Short /* 8.63 ≤ 8.75 Ω */, 23: lookup.Below, 44: lookup.Below, 45: lookup.Fine,
		184: lookup.Fine, 185: lookup.Above, 254: lookup.Above, 255: lookup.Open, 256: lookup.NoCount, -1: lookup.NoCount,
	} {
		if got := table.Fault(c); got != want {
			t.Errorf("count %d: %v, expected %v", c, got, want)
		}
	}
	if table.Worst.Steps > 0.8 {
		t.Errorf("a straight line is off by %g steps", table.Worst.Steps)
	}
}

// Every table of three points on a coarse converter, tried one by one, has no
// smaller worst error.
func TestBestByTryingAll(t *testing.T) {
	g := onDial(t, dial(t, 0, 30, 55, 75, 90))
	in := fed{1300, 255} // 18 counts within the readings
	table := made(t, g, in, lookup.Options{Points: 3})
	var want []float64
	for c := table.First; c <= table.Last; c++ {
		v, _ := truth(g, in, c)
		want = append(want, v)
	}
	n := len(want) - 1
	reach := int(table.Worst.Steps) + 1
	least := math.Inf(1)
	y0, y2 := int(want[0]+0.5), int(want[n]+0.5)
	for m := 1; m < n; m++ {
		for y1 := int(want[m]) - reach; y1 <= int(want[m])+reach+1; y1++ {
			worst := 0.0
			for i, v := range want {
				line := float64(y0) + float64((y1-y0)*i)/float64(m)
				if i > m {
					line = float64(y1) + float64((y2-y1)*(i-m))/float64(n-m)
				}
				worst = max(worst, math.Abs(math.Floor(line+0.5+1e-9)-v))
			}
			least = min(least, worst)
		}
	}
	t.Logf("found %.3f, by trying all %.3f, bound %.3f", table.Worst.Steps, least, table.Bound)
	if table.Worst.Steps > least+0.02 {
		t.Errorf("worst %g, and %g can be had", table.Worst.Steps, least)
	}
}

// More points are never worse, beyond what the search lets go.
func TestMorePointsDoBetter(t *testing.T) {
	g := falling(t)
	before := math.Inf(1)
	for _, n := range []int{2, 3, 5, 8, 12, 20, 40} {
		table := made(t, g, pullUp{220, 1023}, lookup.Options{Points: n})
		if table.Worst.Steps > before+0.05 {
			t.Errorf("%d points: %g, fewer had %g", n, table.Worst.Steps, before)
		}
		before = table.Worst.Steps
	}
	if before > 1 {
		t.Errorf("40 points are off by %g steps", before)
	}
}

func TestAnySender(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(rt, "marks")
		ohms := []float64{rapid.Float64Range(0, 50).Draw(rt, "least")}
		for range n - 1 {
			ohms = append(ohms, ohms[len(ohms)-1]+rapid.Float64Range(0.5, 40).Draw(rt, "step"))
		}
		if rapid.Bool().Draw(rt, "falling") {
			for i, j := 0, n-1; i < j; i, j = i+1, j-1 {
				ohms[i], ohms[j] = ohms[j], ohms[i]
			}
		}
		kind := scale.Mark
		permitted := quantity.Share(1)
		if rapid.Bool().Draw(rt, "fill") {
			kind, permitted = scale.Fill, 0.8
		}
		s, err := scale.New(kind, permitted, 0, 1, true)
		if err != nil {
			rt.Fatal(err)
		}
		g := gauge.Gauge{Curve: dial(t, ohms...), Scale: s}
		bits := 16
		if raceDetector {
			bits = 10 // it slows the search some twenty times
		}
		full := 1<<rapid.IntRange(8, bits).Draw(rt, "bits") - 1
		load := rapid.Float64Range(50, 1000).Draw(rt, "load")
		var in lookup.Counts = pullUp{load, full}
		if rapid.Bool().Draw(rt, "down") {
			in = pullDown{load, full}
		}
		o := lookup.Options{Points: rapid.IntRange(2, 24).Draw(rt, "points")}
		if rapid.Bool().Draw(rt, "entries") {
			o = lookup.Options{Shift: rapid.IntRange(0, 5).Draw(rt, "shift")}
		}
		table, err := lookup.New(g, in, o)
		if err != nil {
			if strings.Contains(err.Error(), "counts lie within the readings") {
				return
			}
			rt.Fatal(err)
		}
		keeps(rt, g, in, table)
		// Any resistance, by way of the nearest count, is off by one count more.
		least, greatest := g.Curve.Range()
		for range 20 {
			ohm := rapid.Float64Range(float64(least), float64(greatest)).Draw(rt, "ohm")
			count := int(math.Round(in.Counts(ohm)))
			if count <= table.First || count >= table.Last {
				continue
			}
			want := 1000 * float64(g.At(quantity.Ohm(ohm), curve.Refuse).Share)
			if off := math.Abs(float64(table.Level(count)) - want); off > table.Worst.Steps+table.CountStep+1e-6 {
				rt.Fatalf("%g Ω, count %d: off by %g, told %g and %g", ohm, count, off, table.Worst.Steps, table.CountStep)
			}
		}
	})
}

func TestQuantities(t *testing.T) {
	float := func(unit curve.MarkUnit, top float64) gauge.Gauge {
		var sheet curve.Sheet
		sheet.Unit = unit
		for i := range 6 {
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: top * float64(i) / 5, Ohm: quantity.Ohm(10 + 30*i)})
		}
		s, err := scale.New(scale.Mark, 1, 0, top, false)
		if err != nil {
			t.Fatal(err)
		}
		return gauge.Gauge{Curve: fitted(t, sheet), Scale: s}
	}
	in := fed{200, 4095}
	// 85 Ω is half: count 1740.4, of which 1740 is 84.98 Ω.
	for _, c := range []struct {
		g    gauge.Gauge
		q    lookup.Quantity
		want int
	}{
		{float(curve.Height, 0.3), lookup.Millimetre, 150},
		{float(curve.Volume, 0.09), lookup.TenthsLitre, 450},
		{float(curve.Height, 0.3), lookup.TenthsPct, 500},
	} {
		for _, o := range []lookup.Options{{Quantity: c.q}, {Quantity: c.q, Points: 2}} {
			near(t, c.q.Words(), float64(made(t, c.g, in, o).Level(1740)), float64(c.want), 1)
		}
	}
	through, err := scale.Through(scale.Volume, scale.Straight(0, 1, 0.054, "by hand"), 0, 0, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	g := rising(t)
	g.Scale = through
	if got := made(t, g, in, lookup.Options{Quantity: lookup.TenthsLitre}).Level(int(math.Round(in.Counts(48.7)))); got != 270 {
		t.Errorf("half of 54 L is %d tenths", got)
	}
	for says, ask := range map[string]struct {
		g gauge.Gauge
		q lookup.Quantity
	}{
		"needs marks in litres":  {rising(t), lookup.TenthsLitre},
		"needs marks of height":  {rising(t), lookup.Millimetre},
		"is not known":           {rising(t), 9},
		"a table holds 0 to 327": {float(curve.Volume, 5), lookup.TenthsLitre},
	} {
		if _, err := lookup.New(ask.g, in, lookup.Options{Quantity: ask.q}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
	}
}

type odd struct {
	full int
	ohm  func(float64) float64
}

func (o odd) Counts(float64) float64 { return 0 }
func (o odd) Ohm(c float64) float64  { return o.ohm(c) }
func (o odd) Full() int              { return o.full }

func TestRefused(t *testing.T) {
	g := rising(t)
	good := pullUp{470, 1023}
	for says, ask := range map[string]struct {
		in lookup.Counts
		o  lookup.Options
	}{
		"2 to 256 points":                  {good, lookup.Options{Points: 1}},
		"choose one":                       {good, lookup.Options{Points: 4, Shift: 2}},
		"2^0 to 2^8":                       {good, lookup.Options{Shift: 9}},
		"expected 255 to 65535":            {pullUp{470, 70000}, lookup.Options{}},
		"to and fro":                       {odd{1023, func(c float64) float64 { return 50 + 40*math.Sin(c/100) }}, lookup.Options{}},
		"stands for no resistance":         {odd{1023, func(float64) float64 { return math.NaN() }}, lookup.Options{}},
		"counts lie within the readings":   {fed{1_000_000, 255}, lookup.Options{}},
		"have to rise in this order":       {good, lookup.Options{Limits: &lookup.Limits{Short: 2, Least: 1, Greatest: 95, Open: 200}}},
		"expected 255 to 65535 (8 to 16 b": {pullUp{470, 100}, lookup.Options{}},
	} {
		if _, err := lookup.New(g, ask.in, ask.o); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
	}
	sheet := curve.Sheet{}
	for i, r := range []quantity.Ohm{10, 90, 12, 85, 9, 70} {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: float64(i) / 5, Ohm: r})
	}
	if c, err := curve.Fit(sheet, curve.Options{KeepAll: true}); err == nil && !c.Ordered() {
		g.Curve = c
		if _, err := lookup.New(g, good, lookup.Options{}); err == nil || !strings.Contains(err.Error(), "keeps no order") {
			t.Errorf("no order: %v", err)
		}
	} else {
		t.Errorf("the wild sender is ordered: %v", err)
	}
}

func TestFindings(t *testing.T) {
	kinds := func(table *lookup.Table) string {
		var list []string
		for _, f := range table.Findings {
			list = append(list, f.Kind)
		}
		return strings.Join(list, " ")
	}
	r, f := rising(t), falling(t)
	for _, c := range []struct {
		table *lookup.Table
		want  string
		words string
	}{
		{made(t, r, pullUp{470, 4095}, lookup.Options{}), "short-not-told", "nearly empty"},
		{made(t, f, pullUp{220, 4095}, lookup.Options{}), "", ""},
		{made(t, f, fed{150, 4095}, lookup.Options{}), "input-too-narrow open-on-few-counts", "choose an input"},
	} {
		if got := kinds(c.table); got != c.want {
			t.Errorf("found %q, expected %q", got, c.want)
		}
		if c.words != "" && !strings.Contains(c.table.Findings[0].Text, c.words) {
			t.Errorf("says %q", c.table.Findings[0].Text)
		}
	}
}
