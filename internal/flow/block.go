package flow

import "math"

// gather is the levels of a minute as they come in.
type gather struct {
	Cell, First, From, To int64
	X, T, U               float64
	N                     int32
	Moving                bool

	Last     float64 // the newest level
	SubAt    int64   // the level some ten seconds ago
	Sub      float64
	Way, Net float64 // how far it went in such steps, up and down, and by how much in all
}

// block is the levels of a minute, or one where they come less often.
type block struct {
	At, From, To int64   // their mean time, the first's and the last's
	X            float64 // their mean, as content in points; below 0 for a tank that fills up
	U            float64 // the last of their doubts, points
	Share        float64 // mean level on the scale, points
	N            int32
	Moving       bool
	Sway         float64 // by how much it went up and down within it, points
	New          bool    // something lies between it and the one before
}

func (g *gather) block(c *Config) block {
	n := float64(g.N)
	b := block{At: g.First + int64(g.T/n), From: g.From, To: g.To, N: g.N, Moving: g.Moving, Sway: g.Way - math.Abs(g.Net)}
	b.Share = g.X / n
	b.X, b.U = b.Share, g.U
	if f := c.Content; f != nil {
		m, u := b.Share/100, max(g.U/100, 1e-4)
		b.X = 100 * f(m)
		b.U = 50 * (f(m+u) - f(m-u)) * (g.U / 100 / u)
	}
	if c.Fills {
		b.X = -b.X
	}
	return b
}

// ring is the last standing blocks.
type ring struct {
	N   int32 // how many have come, counted on
	Has int32 // how many of them are there
	All [ringSize]block
}

const ringSize = 192

func (r *ring) put(b *block) {
	r.All[r.N%ringSize] = *b
	r.N++
	if r.N == 1<<30 {
		r.N = ringSize * (1 << 20)
	}
	r.Has = min(r.Has+1, ringSize)
}

// back gives the block so many before the newest, which is at 0.
func (r *ring) back(i int32) *block {
	return &r.All[(r.N-1-i+ringSize)%ringSize]
}

// lapse is why the last stretch of good levels of a standing vehicle ended.
type lapse struct {
	Gap, Drive bool
	Wait       int32 // standing blocks still to be left out
}

func (l lapse) any() bool { return l.Gap || l.Drive }

// wideLong is for how long a level of a wide doubt has to stay where it is to count.
const wideLong = 30 * minute

// wide says whether a level of a wide doubt stays where it is: then the doubt is that of
// the instrument, such as between two steps of a sender, and nothing came or went. Left
// out, a fall in steps would look like one that never pauses.
func (s *state) wide(b *block, seen int64) bool {
	if s.Wide.At == 0 || math.Abs(b.X-s.Wide.X) > 0.3 || b.From-seen > max(5*minute, int64(3*s.Cadence)) {
		s.Wide = b.mark()
	}
	return b.At-s.Wide.At >= wideLong
}

// block takes a minute's levels.
func (t *Tracker) block(b block) {
	s := &t.s
	seen := s.Seen
	s.Seen = b.To
	if b.Moving || b.Sway > 1.2+8*s.Noise {
		if s.MovedFrom == 0 {
			s.MovedFrom = b.From
		}
		if b.To-s.MovedFrom >= 45*second {
			s.Break.Drive = true
			s.Stood = 0
		}
		return
	}
	if s.Known && b.From-seen > max(5*minute, int64(3*s.Cadence)) {
		s.Break.Gap = true
		s.Break.Wait = max(s.Break.Wait, 1)
	}
	s.MovedFrom = 0
	s.Stood = min(s.Stood+1, 100)
	switch {
	case b.U > 3 && !s.wide(&b, seen):
		return
	case s.Break.Drive && b.U > 0.6 && s.Stood < 4:
		return
	case s.Break.Wait > 0 && s.Known:
		if s.Break.Wait--; b.N < 5 {
			return
		}
		s.Break.Wait = 0
	}
	if !s.Known {
		s.Known, s.Last = true, b
		s.Break = lapse{}
		s.Blocks.put(&b)
		t.first(&b)
		return
	}
	if t.sways(&b) {
		return
	}
	s.Grain.place(b.X)
	l := s.Break
	s.Break = lapse{}
	b.New = l.any()
	d := b.X - s.Last.X
	if !b.New {
		s.scatter(d, &b)
		s.Stairs.see(b.X, d, s.Noise)
	}
	t.rises(&b, d, l)
	t.falls(&b, d, l)
	t.halves(&b, l)
	s.Blocks.put(&b)
	t.uses(&b, d)
	s.Last = b
	t.afterwards(&b)
	t.book(&b)
}

// scatter learns how blocks scatter about their neighbours: by the deviation of each
// from the line through the two around it.
func (s *state) scatter(d float64, b *block) {
	if s.Blocks.Has < 2 {
		return
	}
	p, q := s.Blocks.back(1), &s.Last
	if q.At-p.At <= 0 || b.At-p.At <= 0 {
		return
	}
	w := float64(q.At-p.At) / float64(b.At-p.At)
	dev := q.X - p.X - w*(b.X-p.X)
	// A surface that swings turns back at every other block; what fills or empties a
	// tank doesn't.
	back := 0.0
	if e := q.X - p.X; e*d < 0 {
		back = min(math.Abs(e), math.Abs(d))
	}
	s.Rough += (back - s.Rough) * 0.15
	if dev < 0 {
		dev = -dev
	}
	// The median of |dev|, by stochastic approximation (Robbins and Monro, Annals of
	// Mathematical Statistics 22 (1951) 400-407): spells of use hardly move it. It is
	// 0.674·√1.5 of the standard deviation of a block.
	s.Noises = min(s.Noises+1, 200)
	by := 1 + max(0.01, 0.5/s.Noises)
	if dev > s.Noise*0.826 {
		s.Noise *= by
	} else {
		s.Noise /= by
	}
	s.Noise = min(max(s.Noise, 0.01), 5)
}
