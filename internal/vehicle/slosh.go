package vehicle

import "math"

// Gravity is the standard acceleration of free fall in m/s².
const Gravity = 9.80665

// FirstMode gives the natural circular frequency in rad/s of the first
// antisymmetric mode of a liquid of a depth in a rectangular tank of a length in
// the direction of the motion, both in metres and above 0:
//
//	ω² = g·π/L·tanh(π·h/L)
//
// Source: Abramson (ed.), The Dynamic Behavior of Liquids in Moving Containers,
// NASA SP-106, 1966, chapter 2 (from memory). For a tank that isn't a box it is
// taken with the mean depth, volume over free surface: a rough figure.
func FirstMode(length, depth float64) float64 {
	return math.Sqrt(Gravity * math.Pi / length * math.Tanh(math.Pi*depth/length))
}

// pendulum is the first mode in one direction: the slope of the surface as a
// linear pendulum that is damped by a share of the critical damping and pulled
// towards the slope at which the surface would come to rest,
//
//	θ″ + 2ζω·θ′ + ω²·(θ − θe) = 0, θe = −(a + g·sin tilt)/g
//
// A step is exact for a slope of rest that doesn't change within it.
type pendulum struct {
	slope, rate        float64 // rad, rad/s
	a11, a12, a21, a22 float64
}

// tune sets the frequency, the damping ratio and the step in seconds.
func (p *pendulum) tune(omega, damping, step float64) {
	wd := omega * math.Sqrt(1-damping*damping)
	e := math.Exp(-damping * omega * step)
	s, c := math.Sincos(wd * step)
	k := damping * omega / wd
	p.a11, p.a12 = e*(c+k*s), e*s/wd
	p.a21, p.a22 = -e*omega*omega/wd*s, e*(c-k*s)
}

// step goes one step on with a slope of rest.
func (p *pendulum) step(rest float64) {
	x := p.slope - rest
	p.slope, p.rate = rest+p.a11*x+p.a12*p.rate, p.a21*x+p.a22*p.rate
}
