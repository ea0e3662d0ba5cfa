package tank_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/tank"
)

// The section's area below the level is that of the points of the plane that
// lie inside the tank and below the surface, counted on a grid.
func TestSectionIsTheTanks(t *testing.T) {
	for name, solid := range everyShape(t) {
		if strings.HasPrefix(name, "strapping") {
			continue
		}
		low, high := solid.Box()
		sensor := tank.Sensor{X: 0.21 * (high.X - low.X), Y: -0.13 * (high.Y - low.Y)}
		tk := newTank(t, solid, sensor)
		low, high = tk.Box()
		levels := levelsAt(t, tk, 7, -5)
		h := tk.Height() / 2
		up := tank.Degrees(7, -5).Up()
		d := r3.Dot(up, r3.Vec{X: sensor.X, Y: sensor.Y, Z: float64(h)})
		for _, looking := range []tank.Looking{tank.FromStarboard, tank.FromAstern} {
			s := levels.Section(looking, 1e-4)
			if len(s.Loops) == 0 {
				t.Fatalf("%s: no section", name)
			}
			// Below the level, strip by strip, in the picture.
			got := 0.0
			level := s.Level(h)
			const strips = 4000
			bottom := math.Inf(1)
			for _, loop := range s.Loops {
				for _, p := range loop {
					bottom = min(bottom, p[1])
				}
			}
			for k := range strips {
				v := bottom + (level-bottom)*(float64(k)+0.5)/strips
				got += insideAt(s.Loops, v) * (level - bottom) / strips
			}
			// In the tank's own frame.
			const cells = 700
			n := 0
			for i := range cells {
				for k := range cells {
					p := r3.Vec{X: sensor.X, Y: sensor.Y, Z: (float64(k) + 0.5) / cells * high.Z}
					if looking == tank.FromStarboard {
						p.X = low.X + (high.X-low.X)*(float64(i)+0.5)/cells
					} else {
						p.Y = low.Y + (high.Y-low.Y)*(float64(i)+0.5)/cells
					}
					if r3.Dot(up, p) < d && tk.Contains(p) {
						n++
					}
				}
			}
			width := high.X - low.X
			if looking == tank.FromAstern {
				width = high.Y - low.Y
			}
			want := float64(n) / cells / cells * width * high.Z
			if math.Abs(got-want) > 0.01*want+1e-4 {
				t.Errorf("%s, view %d: %v m² of the section is under the surface, counted %v", name, looking, got, want)
			}
			// The surface meets the sensor where it was said to.
			if p := s.At(h); math.Abs(p[1]-level) > 1e-12 {
				t.Errorf("%s: the sensor meets the surface at %v, level %v", name, p, level)
			}
		}
	}
}

// insideAt gives how much of a horizontal line lies inside.
func insideAt(loops [][][2]float64, v float64) float64 {
	sum := 0.0
	for _, loop := range loops {
		for i, a := range loop {
			b := loop[(i+1)%len(loop)]
			if (a[1] < v) != (b[1] < v) {
				u := a[0] + (v-a[1])/(b[1]-a[1])*(b[0]-a[0])
				if a[1] < v {
					sum += u
				} else {
					sum -= u
				}
			}
		}
	}
	return math.Abs(sum)
}
