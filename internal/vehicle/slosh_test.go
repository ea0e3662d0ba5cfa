package vehicle

import (
	"math"
	"math/rand/v2"
	"testing"

	"gaugewright/internal/peer"
)

// The distance and the highest acceleration of the cycles: 1.013 km and
// 1.04 m/s², 6.955 km and 0.83 m/s². Source: UN Regulation No. 83, annex 4 (from
// memory).
func TestCyclesAgainstTheRegulation(t *testing.T) {
	for _, c := range []struct {
		name              string
		cycle             []stretch
		seconds, km, most float64
	}{
		{"urban", urban, 195, 1.013, 1.04},
		{"country", country, 400, 6.955, 0.83},
	} {
		var seconds, km, most, speed float64
		for _, s := range c.cycle {
			seconds += s.seconds
			km += (speed + s.to) / 2 * s.seconds / 3600
			most = max(most, (s.to-speed)/3.6/s.seconds)
			speed = s.to
		}
		if seconds != c.seconds || speed != 0 || math.Abs(km/c.km-1) > 0.002 || math.Abs(most-c.most) > 0.005 {
			t.Errorf("%s: %g s, %.4f km, at most %.3f m/s², ends at %g km/h; expected %g s, %g km, %g m/s², 0",
				c.name, seconds, km, most, speed, c.seconds, c.km, c.most)
		}
	}
}

// The two limits of the formula for the first mode: a shallow tank is a wave that
// crosses it at √(g·h) in half a period, a deep one doesn't feel its floor.
// Source: any text on water waves.
func TestFirstModeLimits(t *testing.T) {
	const length = 0.6
	if got, want := FirstMode(length, 0.003), math.Pi*math.Sqrt(Gravity*0.003)/length; math.Abs(got/want-1) > 1e-4 {
		t.Errorf("shallow: %g rad/s, expected %g", got, want)
	}
	if got, want := FirstMode(length, 6), math.Sqrt(math.Pi*Gravity/length); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("deep: %g rad/s, expected %g", got, want)
	}
}

// The same pendulum, pulled about by the same drive, by SciPy's solve_ivp
// (an eighth-order Runge-Kutta method).
func TestPendulumAgainstSciPy(t *testing.T) {
	omega, damping := FirstMode(0.6, 0.2), 0.05
	const steps = 400
	rests := make([]float64, steps)
	r := ride{draw: rand.New(rand.NewPCG(5, 0))}
	r.set(Town)
	for range 220 { // past the first idling
		r.step()
	}
	var p pendulum
	p.tune(omega, damping, substep)
	got := make([]float64, steps)
	for i := range rests {
		r.step()
		rests[i], _ = r.rest()
		p.step(rests[i])
		got[i] = p.slope
	}
	var want struct{ Slope []float64 }
	peer.Python(t, []string{"scipy"}, `
import json, sys
from scipy.integrate import solve_ivp
g = json.load(sys.stdin)
w, z, dt = g["Omega"], g["Damping"], g["Step"]
y, out = [0.0, 0.0], []
for rest in g["Rests"]:
    y = solve_ivp(lambda t, y: [y[1], -2*z*w*y[1] - w*w*(y[0]-rest)], (0, dt), y, method="DOP853", rtol=1e-11, atol=1e-14).y[:, -1]
    out.append(float(y[0]))
print(json.dumps({"Slope": out}))
`, map[string]any{"Omega": omega, "Damping": damping, "Step": substep, "Rests": rests}, &want)
	largest := 0.0
	for i := range got {
		largest = max(largest, math.Abs(got[i]))
		if math.Abs(got[i]-want.Slope[i]) > 1e-9 {
			t.Fatalf("step %d: slope %.12g, SciPy %.12g", i, got[i], want.Slope[i])
		}
	}
	if largest < 0.02 {
		t.Errorf("the surface leans by at most %g rad; the drive doesn't move it", largest)
	}
}

// On a constant slope the surface swings about that slope: over whole periods the
// mean of what is left, the swing, is nothing, and zero crossings come at the
// damped frequency ω·√(1−ζ²).
func TestSwingsAboutRest(t *testing.T) {
	const rest, damping, steps = 0.03, 1e-6, 200
	omega := FirstMode(0.5, 0.1)
	var p pendulum
	period := 2 * math.Pi / (omega * math.Sqrt(1-damping*damping))
	p.tune(omega, damping, period/steps)
	for i := range 5 {
		sum, crossings := 0.0, 0
		for range steps {
			before := p.slope - rest
			p.step(rest)
			sum += p.slope - rest
			if before*(p.slope-rest) < 0 {
				crossings++
			}
		}
		if math.Abs(sum/steps) > 1e-5*rest || crossings != 2 {
			t.Errorf("period %d: the swing's mean is %g rad with %d crossings; expected 0 and 2", i, sum/steps, crossings)
		}
	}
}

// The drawn motions have the deviations that they are said to have.
func TestRideDeviations(t *testing.T) {
	r := ride{draw: rand.New(rand.NewPCG(11, 0))}
	r.set(Track)
	var shake, hills, n float64
	for range 400_000 {
		r.step()
		if r.speed > 0.1 {
			shake += r.shakeX * r.shakeX
			hills += r.pitch * r.pitch
			n++
		}
	}
	h := habits[Track]
	for name, c := range map[string][2]float64{"shake": {math.Sqrt(shake / n), h.shake}, "hills": {math.Sqrt(hills / n), h.hills}} {
		if math.Abs(c[0]/c[1]-1) > 0.06 {
			t.Errorf("%s: %g, expected %g", name, c[0], c[1])
		}
	}
}
