package tank_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// A table is the tank itself to its tolerance, rises as it does, and reverses.
func TestTabulated(t *testing.T) {
	for name, solid := range everyShape(t) {
		t.Run(name, func(t *testing.T) {
			tk := newTank(t, solid, tank.Sensor{})
			for _, tilt := range []tank.Tilt{{}, tank.Degrees(5, -3)} {
				exact, err := tk.At(tilt)
				if err != nil {
					t.Fatal(err)
				}
				tolerance := 1e-8 * tk.Capacity()
				table, err := exact.Tabulated(tolerance)
				if err != nil {
					t.Fatal(err)
				}
				empty, full := exact.Reach()
				before := quantity.CubicMetre(0)
				const many = 3001
				for k := range many {
					h := empty + quantity.Metre(float64(k)/(many-1))*(full-empty)
					got, want := table.Volume(h), exact.Volume(h)
					if math.Abs(float64(got-want)) > 1.5*float64(tolerance) {
						t.Fatalf("%s at %v: %v in the table, exactly %v", tilt, h, got, want)
					}
					if got < before-1e-15 {
						t.Fatalf("%s at %v: falls from %v to %v", tilt, h, before, got)
					}
					before = got
				}
				half, err := table.HeightOf(tk.Capacity() / 2)
				if err != nil {
					t.Fatal(err)
				}
				if v := table.Volume(half); math.Abs(float64(v/tk.Capacity())-0.5) > 1e-9 {
					t.Errorf("%s: half stands at %v, where there is %v", tilt, half, v)
				}
			}
		})
	}
}

// A live table keeps what it says of itself, at tilts and heights of chance,
// and never falls with the height.
func TestLive(t *testing.T) {
	shapes := everyShape(t)
	for _, name := range []string{"box", "lying, dished", "wheel arch, tube", "ring"} {
		tk := newTank(t, shapes[name], tank.Sensor{X: 0.1, Y: -0.05})
		tolerance := 0.0005 * tk.Capacity()
		const limit = 8 * math.Pi / 180
		live, err := tank.NewLive(tk, limit, tolerance)
		if err != nil {
			t.Fatal(err)
		}
		if live.Worst() > tolerance {
			t.Errorf("%s: off by %s, wanted %s", name, live.Worst(), tolerance)
		}
		rapid.Check(t, func(t *rapid.T) {
			tilt := tank.Tilt{Pitch: rapid.Float64Range(-limit, limit).Draw(t, "pitch"), Roll: rapid.Float64Range(-limit, limit).Draw(t, "roll")}
			h := quantity.Metre(rapid.Float64Range(0, 1).Draw(t, "height")) * tk.Height()
			exact, err := tk.At(tilt)
			if err != nil {
				t.Fatal(err)
			}
			got, ok := live.Volume(h, tilt)
			// Worst was found in the cells' middles at 25 heights; between those it
			// may be a little more.
			if want := exact.Volume(h); !ok || math.Abs(float64(got-want)) > 2*float64(tolerance) {
				t.Fatalf("%s, %s at %v: %v, exactly %v", name, tilt, h, got, want)
			}
			if above, _ := live.Volume(h+1e-4, tilt); above < got-1e-12 {
				t.Fatalf("%s, %s: %v at %v, less above it", name, tilt, got, h)
			}
		})
		if _, ok := live.Volume(0.1, tank.Degrees(9, 0)); ok {
			t.Errorf("%s: answers for a tilt that wasn't prepared", name)
		}
	}
}

func BenchmarkTabulatedVolume(b *testing.B) {
	tk := newTank(b, everyShape(b)["lying, dished"], tank.Sensor{})
	table, err := tk.Upright().Tabulated(1e-9 * tk.Capacity())
	if err != nil {
		b.Fatal(err)
	}
	var sum quantity.CubicMetre
	for i := 0; b.Loop(); i++ {
		sum += table.Volume(quantity.Metre(i%4001+1) / 4001 * 0.4)
	}
	if !(sum > 0) {
		b.Fatal(sum)
	}
}

func BenchmarkTabulate(b *testing.B) {
	tk := newTank(b, everyShape(b)["lying, dished"], tank.Sensor{})
	for b.Loop() {
		if _, err := tk.Upright().Tabulated(1e-9 * tk.Capacity()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLiveVolume(b *testing.B) {
	tk := newTank(b, everyShape(b)["lying, dished"], tank.Sensor{})
	live, err := tank.NewLive(tk, 0.14, 0.0005*tk.Capacity())
	if err != nil {
		b.Fatal(err)
	}
	var sum quantity.CubicMetre
	for i := 0; b.Loop(); i++ {
		v, _ := live.Volume(quantity.Metre(i%4001+1)/4001*0.4, tank.Tilt{Pitch: float64(i%101)/101*0.2 - 0.1, Roll: float64(i%77)/77*0.2 - 0.1})
		sum += v
	}
	if !(sum > 0) {
		b.Fatal(sum)
	}
}

func BenchmarkHeightOf(b *testing.B) {
	tk := newTank(b, everyShape(b)["lying, ellipsoids"], tank.Sensor{})
	for i := 0; b.Loop(); i++ {
		if _, err := tk.Upright().HeightOf(tk.Capacity() * quantity.CubicMetre(i%4001) / 4001); err != nil {
			b.Fatal(err)
		}
	}
}
