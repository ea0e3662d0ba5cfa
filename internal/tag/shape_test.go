package tag_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/tag"
	"gaugewright/internal/tankfile"
)

// lying is a job whose scale goes through the shape of a lying gas tank, with a
// float of which heights were read; invented.
func lying() *job.Job {
	j := example()
	t := &j.Tanks[0]
	t.Sender.Known = nil
	t.WaterCapacityL = 0
	t.Shape = &tankfile.File{
		Body:             tankfile.Body{Shape: tankfile.LyingCylinder, Name: "gas tank", Note: "measured with a tape", DiameterMM: 300.5, LengthMM: 700, Heads: &tankfile.Heads{Both: "ellipsoidal-2-1"}},
		PermittedFillPct: 80,
	}
	t.PermittedFillPct = 0
	for _, r := range [][2]float64{{20, 5}, {90, 20.2}, {150, 45.1}, {210, 71}, {280, 88.4}} {
		reading := job.Reading{Ohm: r[1]}
		reading.MarkMM = &r[0]
		t.Bench.Readings = append(t.Bench.Readings, reading)
	}
	t.Bench.Marks = "mark_mm"
	return j
}

// A scale that goes through the shape comes back the same at every mark.
func TestShape(t *testing.T) {
	j := lying()
	c, err := tag.Encode(j, "")
	if err != nil {
		t.Fatal(err)
	}
	got, err := tag.Decode(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	before, err := j.Tanks[0].Scale()
	if err != nil {
		t.Fatal(err)
	}
	after, err := got.Tanks[0].Scale()
	if err != nil {
		t.Fatal(err)
	}
	for i := range 301 {
		if m := float64(i) / 1000; before.Target(m) != after.Target(m) {
			t.Fatalf("at %g mm %v is to be shown, came back as %v", 1000*m, before.Target(m), after.Target(m))
		}
	}
	if a, b := j.Tanks[0].Capacity(), got.Tanks[0].Capacity(); a != b {
		t.Errorf("a capacity of %v came back as %v", a, b)
	}
	if s := got.Tanks[0].Shape; s.Name != "" || s.Note != "" || s.DiameterMM != 300.5 {
		t.Errorf("came back as %+v", s)
	}
	if again, err := tag.Encode(got, ""); err != nil || again.Text != c.Text {
		t.Errorf("written again as %q, %v", again.Text, err)
	}
}

// A shape that is too large is left out, with what it told besides, where the
// scale doesn't need it, and else refused.
func TestLargeShape(t *testing.T) {
	j := lying()
	tank := &j.Tanks[0]
	heel := 2.5
	strapped := &tankfile.File{Body: tankfile.Body{Shape: tankfile.Strapping}, PermittedFillPct: 80, HeelL: &heel}
	for i := range 101 {
		h := 3 * float64(i)
		strapped.Table = append(strapped.Table, tankfile.Row{HeightMM: h, VolumeL: math.Round(h*h*5) / 1e4})
	}
	tank.Shape = strapped
	_, err := tag.Encode(j, "")
	if err == nil || !strings.Contains(err.Error(), `the scale "fill" goes through the tank's shape`) || !strings.Contains(err.Error(), "bytes") {
		t.Errorf("a scale through a shape that is too large: %v", err)
	}
	tank.Setting.Scale = "mark"
	c, err := tag.Encode(j, "")
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Notes) != 1 || !strings.Contains(c.Notes[0], "shape isn't in the code") {
		t.Errorf("notes %q", c.Notes)
	}
	got, err := tag.Decode(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	if g := got.Tanks[0]; g.Shape != nil || g.WaterCapacityL != 45 || g.PermittedFillPct != 80 || g.HeelL != 2.5 {
		t.Errorf("came back with capacity %g, fill %g, heel %g, shape %v; want 45 (5 × 300² / 10⁴), 80, 2.5 and none", g.WaterCapacityL, g.PermittedFillPct, g.HeelL, g.Shape)
	}
}

// Gas by weight needs the gas: its scale comes back with it.
func TestGasByWeight(t *testing.T) {
	j := example()
	tank := &j.Tanks[0]
	tank.Sender.Known.Marks, tank.Bench.Marks = "mark_kg", "mark_kg"
	for i, m := range []float64{0, 5, 10, 18, 22} {
		tank.Sender.Known.Knots[i].Mark = m
	}
	tank.Bench.EmptyMark, tank.Bench.FullMark = at(0.0), at(22.0)
	tank.Gas = &job.Gas{Propane: 0.6, Butane: 0.4, By: job.ByVolume}
	tank.TemperatureC = at(-3.5)
	c, err := tag.Encode(j, "")
	if err != nil {
		t.Fatal(err)
	}
	got, err := tag.Decode(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	before, err := tank.Scale()
	if err != nil {
		t.Fatal(err)
	}
	after, err := got.Tanks[0].Scale()
	if err != nil {
		t.Fatal(err)
	}
	for i := range 45 {
		if m := float64(i) / 2; before.Target(m) != after.Target(m) {
			t.Fatalf("at %g kg %v is to be shown, came back as %v", m, before.Target(m), after.Target(m))
		}
	}
	if g := got.Tanks[0]; *g.Gas != *tank.Gas || *g.TemperatureC != -3.5 {
		t.Errorf("came back with %+v at %v", g.Gas, g.TemperatureC)
	}
}

// The largest code that a tank can have is still one: 48 knots, a table of 40
// entries, long names and a shape of nearly 400 bytes.
func TestLargestTank(t *testing.T) {
	j := lying()
	tank := &j.Tanks[0]
	tank.Bench.Readings = nil
	for i := range 101 {
		mark := 3 * float64(i)
		r := job.Reading{Ohm: math.Round(1e4*(5+float64(i/3)*2.5)) / 1e4}
		r.MarkMM = &mark
		tank.Bench.Readings = append(tank.Bench.Readings, r)
	}
	tank.Shape.Parts = nil
	s := tank.Setting
	s.Readout, s.LowerOhm, s.UpperOhm = job.Table, nil, nil
	for i := range 40 {
		s.Table = append(s.Table, job.Entry{Ohm: float64(5123+2000*i) / 1000, Pct: float64(i) * 2.5})
	}
	j.Number, j.Vehicle, tank.Name = strings.Repeat("1", 99), strings.Repeat("v", 99), strings.Repeat("t", 99)
	c, err := tag.Encode(j, "")
	if err != nil {
		t.Fatal(err)
	}
	m, err := tag.Modules(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d signs, version %d, level %s, %.0f mm", len(c.Text), m.Version, m.Level, m.LeastMM())
	if m.Level != "M" || len(c.Text) > 1451 {
		t.Errorf("%d signs, level %s; want M", len(c.Text), m.Level)
	}
	if got := scanned(t, m, 4); got != c.Text {
		t.Error("it isn't scanned as it was drawn")
	}
}
