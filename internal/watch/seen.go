package watch

// opens says that the level is where the readings are, whatever was thought: y
// with a variance, changing at a rate in points/s.
func (f *filter) opens(y, v, r float64) {
	weights := [modes]float64{0.2, 0.1, 0.2, 0.4, 0.05, 0.05}
	for j := range f.m {
		m := &f.m[j]
		s := rates[j].sigma
		*m = mode{x: y, pxx: v, prr: s * s, mu: weights[j]}
		if j == running {
			m.r, m.prr = r, 0.01
		}
	}
	f.mix()
}

// stands says that the vehicle is seen to stand, at the level that is known.
func (f *filter) stands() {
	weights := [modes]float64{0.6, 0.25, 0.03, 0.03, 0.05, 0.04}
	for j := range f.m {
		m := &f.m[j]
		if j < riding {
			s := rates[j].sigma
			*m = mode{x: f.x, pxx: f.p, prr: s * s}
		}
		m.mu = weights[j]
	}
	f.mix()
}

// burningShare is how often something is drawn while a vehicle moves.
const burningShare = 0.3

// departs forgets, at the beginning of a drive, what standing still seemed to tell
// of use while driving.
func (f *filter) departs() {
	a, b := &f.m[riding], &f.m[burning]
	both := a.mu + b.mu
	sigma := rates[burning].sigma
	*b = mode{x: a.x, pxx: a.pxx, prr: sigma * sigma, mu: burningShare * both}
	a.mu = both - b.mu
}

// stirs says that the vehicle may have begun to move.
func (f *filter) stirs() {
	for j := range f.m {
		f.m[j].mu *= 0.7
	}
	f.m[riding].mu += 0.3
	f.mix()
}

// swings says that the vehicle is seen to move: what the level was counts on.
func (f *filter) swings() {
	for j := range f.m {
		m := &f.m[j]
		m.mu *= 0.02
		if j >= riding {
			m.mu += 0.49
			m.x, m.pxx, m.pxr = f.x, f.p, 0
		}
	}
	f.mix()
}
