package watch

// The filter is an interacting multiple model estimator (Blom and Bar-Shalom,
// IEEE Trans. Automatic Control 33 (1988) 780-783): six Kalman filters, each
// with an idea of its own of what goes on, mixed by how well each foretells the
// readings. The state of each is the level in points of the marks' range and its
// rate in points per second; the rate is an Ornstein-Uhlenbeck process, so it
// dies down when nothing feeds it.
const (
	quiet   = iota // nothing is drawn; the readings are as good as the sender
	drawing        // slow use
	tapped         // a tap runs
	running        // the tank is filled, or drained
	riding         // the vehicle moves, the surface swings, and nothing is drawn
	burning        // the same, with slow use
	modes
)

// rate is the spread of a mode's rate, points/s, and how long a rate lasts, s.
type rate struct{ sigma, lasts float64 }

var rates = [modes]rate{
	quiet:   {0, 1},
	drawing: {0.004, 900},
	tapped:  {0.08, 120},
	running: {0.6, 60},
	riding:  {0, 1},
	burning: {0.006, 1800},
}

// creep is what a level does of itself in any mode, as a random walk, points²/s;
// while the vehicle moves more, since slight use can't be told from none.
const (
	creep       = 9e-6
	creepRiding = 6e-5
)

// change is how often one mode gives way to another, per second.
var change = [modes][modes]float64{
	quiet:   {drawing: 1. / 1800, tapped: 1. / 3000, running: 1. / 6000, riding: 1. / 4000, burning: 1. / 4000},
	drawing: {quiet: 1. / 900, tapped: 1. / 3000, running: 1. / 6000, riding: 1. / 6000, burning: 1. / 3000},
	tapped:  {quiet: 1. / 100, drawing: 1. / 300, running: 1. / 1000, riding: 1. / 3000, burning: 1. / 6000},
	running: {quiet: 1. / 100, drawing: 1. / 300, tapped: 1. / 300, riding: 1. / 1500, burning: 1. / 3000},
	riding:  {quiet: 1. / 600, drawing: 1. / 1800, tapped: 1e-6, running: 1e-6, burning: 1. / 4000},
	burning: {quiet: 1. / 600, drawing: 1. / 1800, tapped: 1e-6, running: 1e-6, riding: 1. / 3000},
}

// mode is one Kalman filter with its weight.
type mode struct {
	x, r          float64 // points, points/s
	pxx, pxr, prr float64
	mu            float64
}

// filter is all of them and what they make together.
type filter struct {
	m    [modes]mode
	x, p float64 // mean and variance of the mixture
}

// begin starts the filter at a reading whose noise isn't known yet.
func (f *filter) begin(y, quietVar, sloshVar float64) {
	weights := [modes]float64{0.6, 0.15, 0.05, 0.05, 0.10, 0.05}
	for j := range f.m {
		v := quietVar
		if j >= riding {
			v = sloshVar
		}
		s := rates[j].sigma
		f.m[j] = mode{x: y, pxx: v, prr: s * s, mu: weights[j]}
	}
	f.mix()
}

// mix works out the mean and the variance of the mixture.
func (f *filter) mix() {
	x := 0.0
	for j := range f.m {
		x += f.m[j].mu * f.m[j].x
	}
	p := 0.0
	for j := range f.m {
		m := &f.m[j]
		d := m.x - x
		p += m.mu * (m.pxx + d*d)
	}
	f.x, f.p = x, p
}
