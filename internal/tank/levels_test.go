package tank_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// Tilted cylinder D 300 mm, L 800 mm: a numerical integration made for the
// project by independent code (testdata/tilted_cylinder.csv); depth is measured
// square to the axis at a place counted from the low end.
func TestTiltedCylinderAtItsSensor(t *testing.T) {
	f, err := os.Open("testdata/tilted_cylinder.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	flat := tank.Head{Kind: tank.Flat}
	for _, row := range rows[1:] {
		var v [4]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		// The low end is aft with the nose up.
		tk := newTank(t, made(t)(tank.Cylinder(0.3, 0.8, true, flat, flat)), tank.Sensor{X: v[1]/1000 - 0.4})
		levels := levelsAt(t, tk, v[0], 0)
		if got := litres(levels.Volume(quantity.Metre(v[2] / 1000))); math.Abs(got-v[3]) > 1e-8 {
			t.Errorf("tilt %g°, %g mm from the low end, depth %g mm: %.8f L, want %.8f", v[0], v[1], v[2], got, v[3])
		}
	}
}

// The signs of pitch and roll, on a box whose corners can be followed by hand.
func TestSignsOfTilt(t *testing.T) {
	box := made(t)(tank.Box(1, 0.5, 0.4))
	tests := []struct {
		what        string
		pitch, roll float64
		sensor      tank.Sensor
		way         float64 // the volume against the level one's
	}{
		// With the nose up, liquid runs aft: a sensor forward sees less of it, so
		// for the same height there is more.
		{"nose up, sensor forward", 3, 0, tank.Sensor{X: 0.4}, 1},
		{"nose up, sensor aft", 3, 0, tank.Sensor{X: -0.4}, -1},
		{"nose down, sensor forward", -3, 0, tank.Sensor{X: 0.4}, -1},
		// With starboard down, liquid runs to starboard, away from port.
		{"starboard down, sensor to port", 0, 3, tank.Sensor{Y: 0.2}, 1},
		{"starboard down, sensor to starboard", 0, 3, tank.Sensor{Y: -0.2}, -1},
		{"nose up, sensor in the middle", 3, 0, tank.Sensor{}, 0},
	}
	for _, test := range tests {
		tk := newTank(t, box, test.sensor)
		level, tilted := tk.Upright().Volume(0.2), levelsAt(t, tk, test.pitch, test.roll).Volume(0.2)
		// Cavalieri: a prism's volume is its plan times the height over the
		// middle, while the surface touches neither floor nor roof.
		want := level + quantity.CubicMetre(test.way*0.5*math.Tan(3*math.Pi/180)*max(math.Abs(test.sensor.X), math.Abs(test.sensor.Y)))
		if math.Abs(float64(tilted-want)) > 1e-12 {
			t.Errorf("%s: %s, want %s", test.what, tilted, want)
		}
	}
}

// Both ways, in every shape, at any tilt: rising, and each the other's reverse
// to 1e-9 of the capacity.
func TestThereAndBack(t *testing.T) {
	for name, solid := range everyShape(t) {
		t.Run(name, func(t *testing.T) {
			low, high := solid.Box()
			rapid.Check(t, func(t *rapid.T) {
				part := func(what string) float64 { return rapid.Float64Range(-0.5, 0.5).Draw(t, what) }
				sensor := tank.Sensor{X: part("x") * (high.X - low.X), Y: part("y") * (high.Y - low.Y)}
				if rapid.Bool().Draw(t, "leaning sensor") {
					sensor.Axis = r3.Vec{X: part("lean x"), Y: part("lean y"), Z: 1}
				}
				tk, err := tank.New(solid, sensor)
				if err != nil {
					t.Fatal(err)
				}
				tilt := tank.Degrees(rapid.Float64Range(-15, 15).Draw(t, "pitch"), rapid.Float64Range(-15, 15).Draw(t, "roll"))
				if rapid.IntRange(0, 3).Draw(t, "level one in four") == 0 {
					tilt = tank.Tilt{}
				}
				levels, err := tk.At(tilt)
				if err != nil {
					t.Fatal(err)
				}
				capacity := tk.Capacity()
				empty, full := levels.Reach()
				if v := levels.Volume(empty - 1e-9); v != 0 {
					t.Fatalf("holds %v below its reach", v)
				}
				if v := levels.Volume(full + 1e-9); math.Abs(float64(v/capacity)-1) > 1e-9 {
					t.Fatalf("holds %v above its reach, capacity %v", v, capacity)
				}
				wanted := quantity.CubicMetre(rapid.Float64Range(0, 1).Draw(t, "part")) * capacity
				h, err := levels.HeightOf(wanted)
				if err != nil {
					t.Fatal(err)
				}
				if got := levels.Volume(h); math.Abs(float64(got-wanted)) > 1e-9*float64(capacity) {
					t.Fatalf("%v stands at %v, where there is %v", wanted, h, got)
				}
				a := empty + quantity.Metre(rapid.Float64Range(0, 1).Draw(t, "lower"))*(full-empty)
				b := a + quantity.Metre(rapid.Float64Range(0, 1e-3).Draw(t, "step"))*(full-empty)
				// Two integrals to 1e-10 may differ by as much.
				if va, vb := levels.Volume(a), levels.Volume(b); vb < va-quantity.CubicMetre(1e-10)*capacity {
					t.Fatalf("%v at %v and less, %v, at %v", va, a, vb, b)
				}
				if s := levels.Surface(a); !(s >= 0) {
					t.Fatalf("surface %v at %v", s, a)
				}
			})
		})
	}
}

// A tilt too slight to be one is none, in every shape.
func TestHardlyTilted(t *testing.T) {
	for name, solid := range everyShape(t) {
		tk := newTank(t, solid, tank.Sensor{X: 0.05, Y: 0.05})
		for _, tilt := range []tank.Tilt{{Pitch: 6e-154, Roll: 3e-167}, {Pitch: 1e-16}, {Roll: -1e-14}, {Pitch: 1e-13, Roll: 1e-12}, {Pitch: 1e-11, Roll: -1e-9}} {
			levels, err := tk.At(tilt)
			if err != nil {
				t.Fatal(err)
			}
			for k := range 9 {
				h := tk.Height() * (quantity.Metre(k) + 0.5) / 9
				got, want := levels.Volume(h), tk.Upright().Volume(h)
				if math.Abs(float64(got-want)) > 1e-9*float64(tk.Capacity()) {
					t.Errorf("%s, %v: %v at %v, level %v", name, tilt, got, h, want)
				}
			}
		}
	}
}

// The surface is what the volume rises by, and the centroid what it rises
// around: d(∫p dV)/dd is the surface's own centroid, so its part along up is d
// times the surface.
func TestSurfaceIsTheSlope(t *testing.T) {
	for name, solid := range everyShape(t) {
		tk := newTank(t, solid, tank.Sensor{})
		for _, tilt := range []tank.Tilt{{}, tank.Degrees(4, -7)} {
			levels, err := tk.At(tilt)
			if err != nil {
				t.Fatal(err)
			}
			empty, full := levels.Reach()
			const step = 1e-6
			for k := range 19 {
				// Off the middle, where boxes and tables have their knots.
				h := empty + quantity.Metre((float64(k)+0.717)/20)*(full-empty)
				got := levels.Slope(h)
				want := float64(levels.Volume(h+step)-levels.Volume(h-step)) / (2 * step)
				if math.Abs(got-want) > 1e-4*(1+want) {
					t.Errorf("%s, %s at %v: slope %v, and the volume rises by %v", name, tilt, h, got, want)
				}
				c, up := levels.Centroid(h), tilt.Up()
				if strings.HasPrefix(name, "strapping") {
					continue // what is known of its shape is its volume
				}
				low, high := tk.Box()
				if !(c.X >= low.X && c.X <= high.X && c.Y >= low.Y && c.Y <= high.Y && c.Z >= low.Z && c.Z <= high.Z) {
					t.Errorf("%s, %s at %v: centroid %v outside the tank", name, tilt, h, c)
				}
				if below := r3.Dot(up, c); !(below < r3.Dot(up, r3.Vec{Z: float64(h)})) {
					t.Errorf("%s, %s at %v: centroid %v above the surface", name, tilt, h, c)
				}
			}
		}
	}
}

// Wherever a tank is put and however it's turned, it holds the same; and the
// centroid goes with it.
func TestMovedAndTurned(t *testing.T) {
	for name, solid := range everyShape(t) {
		if strings.HasPrefix(name, "strapping") {
			continue // of which the length and the width are different guesses
		}
		for _, turn := range []float64{0.3, math.Pi / 2, -2} {
			// A tilt about the turned axes is the same as before.
			up := tank.Degrees(6, 9).Up()
			s, c := math.Sincos(turn)
			turnedUp := r3.Vec{X: c*up.X - s*up.Y, Y: s*up.X + c*up.Y, Z: up.Z}
			before, err := solid.Cut(up)
			if err != nil {
				t.Fatal(err)
			}
			moved := tank.Placed{Solid: solid, Turn: turn, At: r3.Vec{X: 1, Y: -2, Z: 3}}
			after, err := moved.Cut(turnedUp)
			if err != nil {
				t.Fatal(err)
			}
			shift := r3.Dot(turnedUp, moved.At)
			low, high := before.Span()
			for k := range 11 {
				d := low + (high-low)*float64(k)/10
				v, _ := before.Below(d)
				w, _ := after.Below(d + shift)
				if math.Abs(v-w) > 1e-10 {
					t.Errorf("%s turned by %v: %v m³ before, %v after", name, turn, v, w)
				}
				if v > 1e-3 {
					a, b := r3.Scale(1/v, before.Moment(d)), r3.Scale(1/w, after.Moment(d+shift))
					want := r3.Vec{X: c*a.X - s*a.Y + 1, Y: s*a.X + c*a.Y - 2, Z: a.Z + 3}
					if r3.Norm(r3.Sub(b, want)) > 1e-7 {
						t.Errorf("%s turned by %v: centroid %v, want %v", name, turn, b, want)
					}
				}
			}
		}
	}
}

func TestNewRefuses(t *testing.T) {
	box := func(l, w, h float64) tank.Solid { return made(t)(tank.Box(l, w, h)) }
	tests := []struct {
		name   string
		solid  tank.Solid
		sensor tank.Sensor
		says   string
	}{
		{"metres taken for millimetres", box(400, 0.3, 0.2), tank.Sensor{}, "is it in another unit?"},
		{"a crumb", box(0.5, 0.3, 0.001), tank.Sensor{}, "is it in another unit?"},
		{"sensor outside", box(0.5, 0.3, 0.2), tank.Sensor{X: 0.4}, "outside the tank"},
		{"sensor nowhere", box(0.5, 0.3, 0.2), tank.Sensor{X: math.NaN()}, "outside the tank"},
		{"sensor lying", box(0.5, 0.3, 0.2), tank.Sensor{Axis: r3.Vec{X: 1}}, "must point upward"},
		{"sensor's axis not a number", box(0.5, 0.3, 0.2), tank.Sensor{Axis: r3.Vec{X: math.NaN(), Z: 1}}, "must point upward"},
	}
	for _, test := range tests {
		if _, err := tank.New(test.solid, test.sensor); err == nil || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%s: error %v, want one with %q", test.name, err, test.says)
		}
	}
	tk := newTank(t, box(0.5, 0.3, 0.2), tank.Sensor{})
	for _, tilt := range []tank.Tilt{tank.Degrees(70, 0), tank.Degrees(0, -61), {Pitch: math.NaN()}} {
		if _, err := tk.At(tilt); err == nil {
			t.Errorf("a tilt of %v was accepted", tilt)
		}
	}
	for _, v := range []quantity.CubicMetre{-0.001, 0.0301, quantity.CubicMetre(math.NaN())} {
		if h, err := tk.Upright().HeightOf(v); err == nil {
			t.Errorf("%v in a tank of 30 L stands at %v", v, h)
		}
	}
}
