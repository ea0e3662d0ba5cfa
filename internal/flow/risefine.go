package flow

import (
	"math"
	"slices"
)

// spots are levels some ten seconds apart, where they come as often: what is drawn
// beside a filling may take less than a minute.
type spots struct {
	N   int32 // how many have come, counted on
	Has int32
	All [spotsSize]spot
}

type spot struct {
	At int64
	X  float64 // on the scale, points
}

const (
	spotsSize  = 240
	spotsApart = 9 * second
)

func (p *spots) put(at int64, x float64) {
	if p.Has > 0 && at-p.All[(p.N-1)%spotsSize].At < spotsApart {
		return
	}
	p.All[p.N%spotsSize] = spot{at, x}
	if p.N++; p.N == 1<<30 {
		p.N = spotsSize * (1 << 20)
	}
	p.Has = min(p.Has+1, spotsSize)
}

// path is how the level went before, in and after a rise.
type path struct {
	n      int
	t      [spotsSize]float64 // minutes from the start of the rise
	x      [spotsSize]float64 // points, as content
	wavers float64            // standard deviation of one of them, points
	i0, i1 int                // the lowest before and the first highest after
}

const pathBeside = 12.0 // minutes

// path gives how the level went around a rise; not ok where it isn't known well enough,
// or something hid a part of it.
func (t *Tracker) path(a *after, p *path) bool {
	s := &t.s
	from := a.Start.At - int64(pathBeside*float64(minute))
	to := a.End.At + int64(pathBeside*float64(minute))
	put := func(at int64, x float64) {
		if at >= from && at <= to && p.n < spotsSize {
			p.t[p.n], p.x[p.n] = float64(at-a.Start.At)/float64(minute), x
			p.n++
		}
	}
	f := &s.Spots
	if f.Has > 0 && (f.Has < spotsSize || f.All[f.N%spotsSize].At < a.Start.At-3*minute) {
		for i := f.Has; i > 0; i-- {
			v := f.All[(f.N-i+spotsSize)%spotsSize]
			if v.At >= from && v.At <= to {
				put(v.At, t.content(v.X))
			}
		}
	} else {
		for i := s.Blocks.Has - 1; i >= 0; i-- {
			b := s.Blocks.back(i)
			put(b.At, b.X)
		}
	}
	// What lies beyond a gap is none of it.
	apart := max(1.7, 2.2*s.Cadence/float64(minute))
	long := float64(a.End.At-a.Start.At) / float64(minute)
	lo, hi := 0, p.n
	for i := 1; i < p.n; i++ {
		if p.t[i]-p.t[i-1] > apart {
			switch {
			case p.t[i] <= 0:
				lo = i
			case p.t[i-1] < long:
				return false
			case hi == p.n:
				hi = i
			}
		}
	}
	copy(p.t[:], p.t[lo:hi])
	copy(p.x[:], p.x[lo:hi])
	p.n = hi - lo
	return p.bounds(a.Start.X, a.End.X, long)
}

// content gives a level on the scale as content, both in points.
func (t *Tracker) content(share float64) float64 {
	x := share
	if f := t.config.Content; f != nil {
		x = 100 * f(share/100)
	}
	if t.config.Fills {
		x = -x
	}
	return x
}

// bounds finds between which of them it rose.
func (p *path) bounds(low, high, long float64) bool {
	rise := high - low
	if p.n < 7 || rise <= 0 {
		return false
	}
	first, last := -1, -1
	for i := 0; i < p.n; i++ {
		if p.t[i] >= -1.5 && p.x[i] > low+0.2*rise && first < 0 {
			first = i
		}
		if p.t[i] <= long+2 && p.x[i] < high-0.2*rise {
			last = i
		}
	}
	if first < 3 || last < first-1 || last > p.n-4 {
		return false
	}
	p.wavers = max(0.02, p.calm(first-1, last+2))
	for first > 1 && p.x[first-1] > low+max(0.3, 5*p.wavers) {
		first--
	}
	for last < p.n-2 && p.t[last] < long && p.x[last+1] < high-max(0.3, 5*p.wavers) {
		last++
	}
	// The lowest and the highest beside those; a tap that runs makes them peaks.
	const near = 2.0 // minutes
	low, p.i0 = p.x[first-1], first-1
	for i := first - 1; i >= 0 && (first-i <= 3 || p.t[first]-p.t[i] <= near); i-- {
		low = min(low, p.x[i])
	}
	for p.i0 > 0 && p.x[p.i0] > low+p.wavers {
		p.i0--
	}
	high, p.i1 = p.x[last+1], last+1
	for i := last + 1; i < p.n && (i-last <= 3 || p.t[i]-p.t[last] <= near); i++ {
		high = max(high, p.x[i])
	}
	for p.i1 < p.n-1 && p.x[p.i1] < high-p.wavers {
		p.i1++
	}
	return p.i0 >= 2 && p.i1 <= p.n-3 && p.i1 > p.i0
}

// calm gives how far one of them is from the next before and after a rise, by the median.
func (p *path) calm(i0, i1 int) float64 {
	var d [spotsSize]float64
	n := 0
	for i := 1; i < p.n; i++ {
		if i < i0 || i > i1+1 {
			d[n] = math.Abs(p.x[i] - p.x[i-1])
			n++
		}
	}
	if n == 0 {
		return 1
	}
	slices.Sort(d[:n])
	return 1.05 * d[n/2] // 1.48/√2
}

// edge is the level at an edge of a rise, and what was drawn beside it.
type edge struct {
	x, u   float64 // points
	tap    float64 // points a minute; 0: none
	uTap   float64
	ran    float64 // minutes for which the tap was seen to run
	fell   float64 // by how much, points
	steady bool    // it ran for as long as it was looked at
}

// edge fits what lies beside a rise: a level that stays, and then falls until the rise
// begins; with -1 after it, one that falls from its end on, and then stays. The hinge is
// found by least squares.
func (p *path) edge(at, way int) edge {
	most := pathBeside
	for {
		n := 0
		for i := at; i >= 0 && i < p.n && math.Abs(p.t[i]-p.t[at]) <= most; i -= way {
			n++
		}
		e, off := p.hinge(at, way, n)
		if off <= 2.5*p.wavers || n <= 4 {
			e.u = math.Hypot(e.u, min(off, 1)/math.Sqrt(float64(n)))
			return e
		}
		most = min(most, math.Abs(p.t[at-way*(n-1)]-p.t[at])) * 0.6
	}
}

func (p *path) hinge(at, way, n int) (edge, float64) {
	if n < 2 {
		return edge{x: p.x[at], u: p.wavers}, 0
	}
	ago := func(i int) float64 { return math.Abs(p.t[at-way*i] - p.t[at]) }
	val := func(i int) float64 { return p.x[at-way*i] }
	sum, sq := 0.0, 0.0
	for i := range n {
		sum += val(i)
	}
	mean := sum / float64(n)
	for i := range n {
		sq += (val(i) - mean) * (val(i) - mean)
	}
	best := sq
	e := edge{x: mean, u: p.wavers / math.Sqrt(float64(n))}
	// It falls over the k nearest steps.
	for k := 1; k < n; k++ {
		u := ago(k)
		mh := 0.0
		for i := range k {
			mh += u - ago(i)
		}
		mh /= float64(n)
		hh, hx := 0.0, 0.0
		for i := range n {
			h := max(0, u-ago(i)) - mh
			hh += h * h
			hx += h * (val(i) - mean)
		}
		if hh <= 0 {
			continue
		}
		slope := hx / hh
		if rss := sq - slope*hx; rss < best {
			tap := -slope * float64(way)
			if tap <= 0 {
				continue
			}
			best = rss
			fell := tap * u
			e.tap, e.ran, e.fell, e.steady = tap, u, fell, k == n-1
			e.x = mean + slope*(u-mh)
			e.uTap = max(p.wavers, math.Sqrt(rss/float64(n))) / math.Sqrt(hh)
			e.u = max(p.wavers, math.Sqrt(rss/float64(n))) / math.Sqrt(float64(k+1))
		}
	}
	if sq-best < 20*p.wavers*p.wavers || e.fell < max(4*p.wavers, 0.12) || e.tap < 3*e.uTap {
		e = edge{x: mean, u: p.wavers / math.Sqrt(float64(n))}
		best = sq
		if n > 6 { // the nearest are what counts
			m := 0.0
			for i := range 6 {
				m += val(i)
			}
			e.x, e.u = m/6, p.wavers/math.Sqrt(6)
		}
	}
	return e, math.Sqrt(best / float64(n))
}

// evenly says whether a filling is even, and by how much the level fell behind it in a few
// steps and stayed behind, as it does by a tap that is open for a moment. Where it doesn't
// come in evenly, nothing can be said.
func (p *path) evenly() (behind float64, even bool) {
	var d, o, w [spotsSize]float64
	n := 0
	for i, j := p.i0+1, p.i0; i <= p.i1; i++ {
		if p.t[i]-p.t[j] >= 0.45 {
			w[n] = p.t[i] - p.t[j]
			d[n] = (p.x[i] - p.x[j]) / w[n]
			n++
			j = i
		}
	}
	if n < 18 {
		return 0, false
	}
	// The first and the last are no whole ones.
	in := copy(o[:], d[1:n-1])
	slices.Sort(o[:in])
	rate := o[in/2]
	for i := range in {
		o[i] = math.Abs(d[i+1] - rate)
	}
	slices.Sort(o[:in])
	off := 1.48 * o[in/2]
	if !(rate > 0) || off > 0.35*rate && in < 40 {
		return 0, false
	}
	tol := max(0.35*rate, 3.5*off)
	for i := 3; i < n-1; i++ { // the watch follows a moment later
		if rate-d[i] <= tol {
			continue
		}
		// A run of steps that are slower, and what makes up for it beside them.
		lost, flat, j := (rate-d[i-1])*w[i-1], 0, i
		for ; j < n-1 && rate-d[j] > 0.5*tol; j++ {
			lost += (rate - d[j]) * w[j]
			if math.Abs(d[j]) < 0.2*rate {
				flat++
			}
		}
		if j < n-1 {
			lost += (rate - d[j]) * w[j]
			if lost > max(0.4, 3*off*w[i]) && flat <= (j-i)/2 {
				behind += lost
			}
		}
		i = j
	}
	return behind, true
}

// beyond is for how long a filling may last, minutes, so that a tap that was seen for a
// while beside it may have run all the time.
const beyond = 36.0

// finely gives by how much the level rose, and what was drawn meanwhile, from how the
// level went around the rise; not ok where it isn't known well enough.
func (t *Tracker) finely(a *after) (f fined, ok bool) {
	s := &t.s
	if s.Cadence > 150*float64(second) || a.Gaps > 0 {
		return f, false
	}
	var p path
	if !t.path(a, &p) {
		return f, false
	}
	b, c := p.edge(p.i0, 1), p.edge(p.i1, -1)
	f.Rose = c.x - b.x
	f.U = math.Hypot(b.u, c.u)
	long := p.t[p.i1] - p.t[p.i0]
	behind, even := p.evenly()
	f.Drawn = behind
	f.UDrawn = 0.15 * behind
	add := func(drawn, u float64) {
		f.Drawn += max(0, drawn)
		f.UDrawn = math.Hypot(f.UDrawn, u)
	}
	low, high := b, c
	if b.tap > c.tap {
		low, high = c, b
	}
	most := high.tap * long
	far := long > beyond
	switch {
	case low.tap > 0 && (low.tap > 0.3*high.tap || high.tap-low.tap < 2*math.Hypot(low.uTap, high.uTap)) && (!far || low.ran > 6):
		// It ran all the time.
		wl, wh := p.weight(low), p.weight(high)
		tap := (low.tap*wl + high.tap*wh) / (wl + wh)
		add(tap*long, long*math.Hypot(1/math.Sqrt(wl+wh), 0.25*(high.tap-low.tap)))
	case high.tap > 0 && !far && !p.paused(high.tap):
		first, last := p.thirds()
		if b.tap > c.tap {
			first, last = last, first
		}
		// One that is opened or shut meanwhile changes how fast it rises.
		switch by := (first - last) / high.tap; {
		case even && by > 0.5 && by < 1.6 && high.ran > 0.8:
			add(min(max(first*long-f.Rose, 0.1*most), most), 0.2*most)
		case high.ran < 1 && high.fell > 0.5 && high.ran > 0.3:
			add(0.3*most, 0.4*most)
		case high.ran < 1:
			// What is left of a surface that overshot, or a tap for a moment.
			f.Rose -= 0.7 * c.fell
			f.Rose -= 0.7 * b.fell
			add(0, 0.5*high.fell)
		case high.ran < 2.5:
			add(0.35*most, 0.4*most)
		default:
			add(0.55*most, 0.4*most)
		}
	default:
		hours := long / 60
		usual, longest := 0.0, max(a.Before.Long, s.Ledger.Rate)
		if hours > 0.3 {
			usual = max(0, min(a.Before.Long, s.Ledger.Rate))
		}
		add(hours*usual, 0.5*hours*max(0, longest))
	}
	return f, true
}

// fined is what came of that.
type fined struct{ Rose, U, Drawn, UDrawn float64 }

// weight is how much the rate of a tap counts: the shorter it ran the less, since the
// watch follows its levels a bit later.
func (p *path) weight(e edge) float64 {
	u := math.Hypot(e.uTap, (0.08+0.3/e.ran)*e.tap)
	return 1 / (u * u)
}

// thirds gives how fast it rose in the first and in the last third, points a minute.
func (p *path) thirds() (first, last float64) {
	i0, i1 := p.i0+1, p.i1-1
	if i1-i0 < 6 {
		return 0, 0
	}
	third := (i1 - i0) / 3
	return (p.x[i0+third] - p.x[i0]) / (p.t[i0+third] - p.t[i0]), (p.x[i1] - p.x[i1-third]) / (p.t[i1] - p.t[i1-third])
}

// paused says whether the level stayed where it is for a minute or so between two pours: a
// tap that drew that much wasn't open.
func (p *path) paused(tap float64) bool {
	still := 0.0
	for i, j := p.i0+1, p.i0; i <= p.i1; i++ {
		if w := p.t[i] - p.t[j]; w >= 0.45 {
			if math.Abs(p.x[i]-p.x[j]) < 0.4*tap*w {
				still += w
			}
			j = i
		}
	}
	return still > 0.9 && still < 0.8*(p.t[p.i1]-p.t[p.i0])
}
