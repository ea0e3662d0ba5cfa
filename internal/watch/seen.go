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

// departs forgets, at the beginning of a drive, what standing still seemed to tell
// of use while driving.
// share is how often something is drawn while this vehicle moves.
func (f *filter) departs(share float64) {
	a, b := &f.m[riding], &f.m[burning]
	both := a.mu + b.mu
	sigma := rates[burning].sigma
	*b = mode{x: a.x, pxx: a.pxx, prr: sigma * sigma, mu: share * both}
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

// drives is what is known of use while driving, from the level before and after.
type drives struct {
	from, p       float64 // the level before, and its variance
	at            int64   // when it began
	ended         int64   // 0: it lasts, or was looked at
	burnt, looked float64 // drives in which something was drawn, and all
}

const (
	shortestDrive = 600 * second // that is looked at
	burns         = 0.0006       // points/s: use at less than that counts for none
)

// share is how often something is drawn in a drive: one in five, until more is known.
func (d *drives) share() float64 { return (0.8 + d.burnt) / (4 + d.looked) }

// look compares the level after a drive with that before.
func (d *drives) look(at int64, x, p float64) {
	if d.ended == 0 || at-d.ended < 30*second || p > 0.05 {
		return
	}
	long := d.ended - d.at
	fell := d.from - x
	d.ended = 0
	if long < shortestDrive || d.p > 0.05 || fell < -0.5 {
		return // too short, not known, or filled since
	}
	d.looked++
	if fell > burns*float64(long)/second+0.2 {
		d.burnt++
	}
	if d.looked > 20 {
		d.burnt, d.looked = d.burnt*20/d.looked, 20
	}
}
