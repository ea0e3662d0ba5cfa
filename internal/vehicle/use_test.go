package vehicle

import (
	"math"
	"testing"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// Taps that are closed for an exponential time of mean 1/λ and then open for one of
// mean T are open for λT/(1+λT) of the time (an alternating renewal process; any
// text on stochastic processes). The same however seldom it is read.
func TestUseAgainstRenewalTheory(t *testing.T) {
	const perHour, open, flow = 6.0, 30.0, 1e-6 // 1/h, s, m³/s
	use := Use{Flow: flow, Lasts: open * time.Second, Steady: 1e-9}
	for h := range use.Taps {
		use.Taps[h] = perHour
	}
	for _, every := range []time.Duration{5 * time.Second, 10 * time.Minute} {
		v, err := New(3, Plan{Start: begin, Every: every, Tanks: []Tank{{Name: "a", Shape: Shape{Length: 10, Width: 10, Height: 10}, Begin: 1,
			Use: use, Sender: Sender{Empty: 0, Full: 100}}}})
		if err != nil {
			t.Fatal(err)
		}
		const length = 2000 * time.Hour
		for v.Elapsed() <= length {
			v.Next()
		}
		part := perHour * open / 3600
		want := length.Seconds() * (flow*part/(1+part) + 1e-9)
		// About 11,400 openings: a standard deviation of 1.3 %.
		if got := float64(v.State(0).Book.Used); math.Abs(got/want-1) > 0.05 {
			t.Errorf("read every %v: %.4g m³ were used, expected %.4g", every, got, want)
		}
	}
}

// Parked on a slope, the surface at the sender comes to rest where the exact
// geometry of the tilted tank has it.
func TestRestAgainstGeometry(t *testing.T) {
	s := Sender{Empty: 0, Full: 1000, X: 0.1, Y: -0.15}
	v, err := New(1, Plan{Start: begin, Tanks: []Tank{{Name: "a", Shape: box, Begin: 0.5, Sender: s}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, degrees := range [][2]float64{{1.5, 0}, {0, -2}, {-1, 1.2}} {
		v.ride.pitch, v.ride.roll = degrees[0]*degree, degrees[1]*degree
		in := v.tanks[0]
		for range 200 { // no footsteps: these are those of Next
			in.tune(0.5)
			in.sway(v.ride.rest())
		}
		solid, err := tank.Box(box.Length, box.Width, box.Height)
		if err != nil {
			t.Fatal(err)
		}
		real, err := tank.New(solid, tank.Sensor{X: s.X, Y: s.Y})
		if err != nil {
			t.Fatal(err)
		}
		levels, err := real.At(tank.Degrees(degrees[0], degrees[1]))
		if err != nil {
			t.Fatal(err)
		}
		want, err := levels.HeightOf(quantity.CubicMetre(in.volume))
		if err != nil {
			t.Fatal(err)
		}
		if got := in.probe.mark * box.Height; math.Abs(got-float64(want)) > 2e-5 {
			t.Errorf("pitch %g°, roll %g°: the surface is at %.5f m, by geometry at %.5f m", degrees[0], degrees[1], got, float64(want))
		}
	}
}
