package tank_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/tank"
)

// revolveTable reads a table with a header row: its rows by column name.
func revolveTable(t *testing.T, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var list []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, v := range row {
			m[rows[0][i]] = v
		}
		list = append(list, m)
	}
	return list
}

func revolveNumber(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// revolveMade is a solid that must come out.
func revolveMade(s tank.Solid, err error) tank.Solid {
	if err != nil {
		panic(err)
	}
	return s
}

func revolveCut(t testing.TB, s tank.Solid, up r3.Vec) tank.Cut {
	t.Helper()
	cut, err := s.Cut(up)
	if err != nil {
		t.Fatal(err)
	}
	return cut
}

// revolveShare gives which part of all lies below a share of the whole height.
func revolveShare(cut tank.Cut, share float64) float64 {
	low, high := cut.Span()
	all, _ := cut.Below(high)
	v, _ := cut.Below(low + share*(high-low))
	return v / all
}

var (
	revolveFlat = tank.Head{Kind: tank.Flat}
	revolveBall = tank.Head{Kind: tank.Hemispherical}
	revolveHalf = tank.Head{Kind: tank.Ellipsoidal}
	revolveZ    = r3.Vec{Z: 1}
)

// f(h) = (acos k − k√(1−k²))/π, k = 1 − 2h/D, worked out by other code to 12
// digits.
func TestRevolveHorizontalCylinder(t *testing.T) {
	rows := revolveTable(t, "testdata/horizontal_cylinder_fraction.csv")
	if len(rows) != 101 {
		t.Fatalf("%d rows", len(rows))
	}
	cut := revolveCut(t, revolveMade(tank.Cylinder(0.3, 0.8, true, revolveFlat, revolveFlat)), revolveZ)
	ring := revolveCut(t, revolveMade(tank.Ring(0.6, 0.2, tank.AxisZ)), revolveZ)
	for _, row := range rows {
		u, want := revolveNumber(t, row["h_over_D"]), revolveNumber(t, row["volume_fraction"])
		if got := revolveShare(cut, u); math.Abs(got-want) > 1e-12 {
			t.Errorf("h/D %g: %.13f, expected %.13f", u, got, want)
		}
		// A ring that lies flat has the same, whatever its radius.
		if got := revolveShare(ring, u); math.Abs(got-want) > 1e-12 {
			t.Errorf("ring, h/D %g: %.13f, expected %.13f", u, got, want)
		}
	}
	// Perry's Chemical Engineers' Handbook, 7th ed., Table 10-64, "volume of
	// partially filled horizontal cylinders", 5 decimals; from memory.
	for u, want := range map[float64]string{0.01: "0.00169", 0.02: "0.00477", 0.03: "0.00874", 0.25: "0.19550"} {
		if got := strconv.FormatFloat(revolveShare(cut, u), 'f', 5, 64); got != want {
			t.Errorf("h/D %g: %s, the handbook has %s", u, got, want)
		}
	}
}

// Partial fill of each part, worked out by other code to 10 digits; the row
// h/H = 0.25 by two orders of integration.
func TestRevolvePartialFill(t *testing.T) {
	head := func(h tank.Head) tank.Solid { return revolveMade(tank.Cylinder(1, 0, true, revolveFlat, h)) }
	ring := func(ratio float64) tank.Solid { return revolveMade(tank.Ring(2*(ratio+1), 2, tank.AxisX)) }
	parts := map[string]tank.Solid{
		"horizontal_cylinder_or_flat_ring_tank": revolveMade(tank.Cylinder(1, 1, true, revolveFlat, revolveFlat)),
		"sphere_or_ellipsoidal_heads":           head(revolveHalf),
		"asme_fd_heads":                         head(tank.ASMEFlangedDished(1)),
		"kloepper_heads":                        head(tank.Kloepper(1)),
		"korbbogen_heads":                       head(tank.Korbbogen(1)),
		"standing_ring_R_over_r_1.5":            ring(1.5),
		"standing_ring_R_over_r_2":              ring(2),
		"standing_ring_R_over_r_3":              ring(3),
	}
	rows := revolveTable(t, "testdata/partial_fill.csv")
	if len(rows) != 29 || len(rows[0]) != len(parts)+1 {
		t.Fatalf("%d rows of %d", len(rows), len(rows[0]))
	}
	for name, solid := range parts {
		cut := revolveCut(t, solid, revolveZ)
		for _, row := range rows {
			u, want := revolveNumber(t, row["h_over_H"]), revolveNumber(t, row[name])
			if got := revolveShare(cut, u); math.Abs(got-want) > 0.6e-10 {
				t.Errorf("%s, h/H %g: %.11f, expected %.10f", name, u, got, want)
			}
		}
	}
}

// A lying cylinder D 300 mm, L 800 mm, at tilts, worked out by other code to
// 8 decimals of a litre; the depth is square to the axis, the position from
// the low end.
func TestRevolveTiltedCylinder(t *testing.T) {
	rows := revolveTable(t, "testdata/tilted_cylinder.csv")
	if len(rows) != 35 {
		t.Fatalf("%d rows", len(rows))
	}
	const length = 0.8
	solid := revolveMade(tank.Cylinder(0.3, length, true, revolveFlat, revolveFlat))
	for _, row := range rows {
		tilt := tank.Degrees(revolveNumber(t, row["tilt_deg"]), 0) // nose up: the after end is low
		up := tilt.Up()
		cut := revolveCut(t, solid, up)
		x := revolveNumber(t, row["dip_position_from_low_end_mm"])/1000 - length/2
		z := revolveNumber(t, row["liquid_depth_at_dip_mm"])/1000 - 0.15
		v, _ := cut.Below(r3.Dot(up, r3.Vec{X: x, Z: z}))
		if want := revolveNumber(t, row["volume_L"]); math.Abs(v*1000-want) > 0.6e-8 {
			t.Errorf("%v: %.9f L", row, v*1000)
		}
	}
}

// The horizontal vessels of D. Jones, "Calculating Tank Volume", in inches and
// US gallons; figures from memory, the digits beyond them from other code.
func TestRevolveWholeVessel(t *testing.T) {
	const inch, gallon = 0.0254, 3.785411784e-3
	const d, length = 108 * inch, 156 * inch
	for _, c := range []struct {
		name      string
		head      tank.Head
		published float64
		want      float64
	}{
		{"flat", revolveFlat, 1805.19, 1805.188288},
		{"6 % knuckle", tank.ASMEFlangedDished(d), 2028.63, 2028.626671},
	} {
		cut := revolveCut(t, revolveMade(tank.Cylinder(d, length, true, c.head, c.head)), revolveZ)
		v, _ := cut.Below(36*inch - d/2)
		if v /= gallon; math.Abs(v-c.want) > 1e-6 || math.Abs(v-c.published) > 0.006 {
			t.Errorf("%s: %.7f gallons, published %.2f", c.name, v, c.published)
		}
	}
}
