package lookup_test

import (
	"maps"
	"math"
	"sync"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/gauge"
	"gaugewright/internal/lookup"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// pullUp is a divider: a resistor to the reference above the sender, and a
// converter that measures in parts of the same reference.
type pullUp struct {
	ohm  float64
	full int
}

func (p pullUp) Counts(ohm float64) float64 { return float64(p.full) * ohm / (ohm + p.ohm) }
func (p pullUp) Ohm(counts float64) float64 {
	return p.ohm * counts / (float64(p.full) - counts)
}
func (p pullUp) Full() int { return p.full }

// pullDown is the same with the sender above, so that counts fall with ohms.
type pullDown struct {
	ohm  float64
	full int
}

func (p pullDown) Counts(ohm float64) float64 { return float64(p.full) * p.ohm / (ohm + p.ohm) }
func (p pullDown) Ohm(counts float64) float64 { return p.ohm * (float64(p.full) - counts) / counts }
func (p pullDown) Full() int                  { return p.full }

// fed is a sender fed with a steady current: counts in proportion to the ohms.
type fed struct{ most, full int }

func (f fed) Counts(ohm float64) float64 {
	return min(float64(f.full), ohm*float64(f.full)/float64(f.most))
}
func (f fed) Ohm(counts float64) float64 { return counts * float64(f.most) / float64(f.full) }
func (f fed) Full() int                  { return f.full }

// dial fits a curve through ohms at marks spread evenly over a dial.
func dial(t testing.TB, ohms ...float64) *curve.Curve {
	t.Helper()
	var sheet curve.Sheet
	for i, r := range ohms {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: float64(i) / float64(len(ohms)-1), Ohm: quantity.Ohm(r)})
	}
	return fitted(t, sheet)
}

func fitted(t testing.TB, sheet curve.Sheet) *curve.Curve {
	t.Helper()
	c, err := curve.Fit(sheet, curve.Options{KeepAll: true})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func onDial(t testing.TB, c *curve.Curve) gauge.Gauge {
	t.Helper()
	s, err := scale.New(scale.Mark, 1, 0, 1, true)
	if err != nil {
		t.Fatal(err)
	}
	return gauge.Gauge{Curve: c, Scale: s}
}

// Invented senders: one rising with a bend, one falling.
func rising(t testing.TB) gauge.Gauge {
	return onDial(t, dial(t, 0.4, 6.1, 14.8, 25.2, 36.9, 48.7, 59.6, 69.1, 77.5, 84.6, 89.8))
}

func falling(t testing.TB) gauge.Gauge {
	return onDial(t, dial(t, 184.6, 172.3, 155.1, 134.8, 112.9, 91.4, 71.7, 54.2, 38.3, 24.6, 13.2))
}

func made(t testing.TB, g gauge.Gauge, in lookup.Counts, o lookup.Options) *lookup.Table {
	t.Helper()
	table, err := lookup.New(g, in, o)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// truth gives what the gauge says at a count, in tenths of a percent.
func truth(g gauge.Gauge, in lookup.Counts, count int) (float64, bool) {
	l := g.At(quantity.Ohm(in.Ohm(float64(count))), curve.Refuse)
	return 1000 * float64(l.Share), l.Known
}

// cases are tables of every kind, for the forms that are run.
func cases(t testing.TB) map[string]*lookup.Table {
	t.Helper()
	madeOnce.Do(func() { madeCases = makeCases(t) })
	return maps.Clone(madeCases)
}

var (
	madeOnce  sync.Once
	madeCases map[string]*lookup.Table
)

func makeCases(t testing.TB) map[string]*lookup.Table {
	r, f := rising(t), falling(t)
	return map[string]*lookup.Table{
		"rising, 12 points":             made(t, r, pullUp{470, 4095}, lookup.Options{Points: 12}),
		"falling, 8 points, 10 bits":    made(t, f, pullUp{220, 1023}, lookup.Options{Points: 8}),
		"falling twice over, 16 bits":   made(t, f, pullDown{220, 65535}, lookup.Options{Points: 16}),
		"rising, falling counts, 2":     made(t, r, pullDown{100, 255}, lookup.Options{Points: 2}),
		"rising, steady current":        made(t, r, fed{200, 4095}, lookup.Options{Points: 5}),
		"every count":                   made(t, r, pullUp{470, 1023}, lookup.Options{}),
		"every 16 counts":               made(t, f, pullUp{220, 4095}, lookup.Options{Shift: 4}),
		"every 8 counts, 16 bits, down": made(t, f, pullDown{220, 65535}, lookup.Options{Shift: 3}),
	}
}

func near(t testing.TB, what string, found, want, within float64) {
	t.Helper()
	if !(math.Abs(found-want) <= within) {
		t.Errorf("%s: found %.9g, expected %.9g", what, found, want)
	}
}
