package watch

import "math"

// noise is what is known of how readings scatter, in points.
type noise struct {
	// Standing: the median of what the middle one of three readings differs by from the line
	// between its neighbours, as a standard deviation. A median moved by steps is
	// robust to anything that fewer than half of the readings do.
	still  float64
	seen   int32
	recent float64 // the same with a shorter memory

	// Moving: the variance of one reading about the level, and the variance of
	// means of blocks in parts of it.
	sloshVar float64
	sloshed  int32 // readings of this drive
	block    [scales]block
}

// block follows means of readings over a stretch of time.
type block struct {
	sum, length float64 // of readings less ref
	ref         float64 // the level when the block began
	n           int32
	part        float64 // variance of the mean, in parts of that of one reading
	known       float64 // how many means it rests on, the prior's too
}

const (
	scales     = 3
	firstBlock = 5.0 // s; each further one is four times as long
	leastStill = 0.015
	usualSlosh = 3.0 // points, before a drive was seen
	leastSlosh = 0.5 // points: a surface that swings less stands, for all that can be told
)

var priorPart = [scales]float64{0.3, 0.12, 0.05}

func (n *noise) begin() {
	*n = noise{still: 0.1, recent: 0.1, sloshVar: usualSlosh * usualSlosh}
	for i := range n.block {
		n.block[i].part, n.block[i].known = priorPart[i], 2.5
	}
}

// bend takes how far the middle one of three readings lies off the line between
// its neighbours, as a share w of the way; moving says how likely it is that the vehicle moves.
func (n *noise) bend(e, w, moving float64) {
	e = math.Abs(e) / math.Sqrt(1+w*w+(1-w)*(1-w)) / 0.6745
	n.seen++
	by := 1.06
	if n.seen < 12 {
		by = 1.5
	}
	if e > n.recent {
		n.recent *= 1.25
	} else {
		n.recent /= 1.25
	}
	n.recent = min(max(n.recent, leastStill), 30)
	if moving > 0.3 && n.seen > 60 {
		return
	}
	if e > n.still {
		n.still *= by
	} else {
		n.still /= by
	}
	n.still = min(max(n.still, leastStill), 1)
}

// slosh takes a reading and the level foretold for it while the vehicle moves.
func (n *noise) slosh(y, x, dt float64) {
	v := y - x
	n.sloshed++
	sd2 := n.sloshVar
	v2 := min(v*v, 9*sd2)
	a := max(1/float64(min(n.sloshed, 50)+3), dt/(120+dt))
	n.sloshVar = max(0.04, sd2+a*(v2-sd2)*1.03)
	clipped := math.Copysign(math.Sqrt(v2), v)
	length := firstBlock
	for i := range n.block {
		b := &n.block[i]
		if b.n == 0 {
			b.ref = x
		}
		b.sum += x - b.ref + clipped
		b.n++
		b.length += dt
		if b.length >= length-0.5*dt {
			mean := b.sum / float64(b.n)
			b.known = min(b.known+1, 30)
			b.part += (min(1.5, mean*mean/n.sloshVar) - b.part) / b.known
			b.sum, b.length, b.n = 0, 0, 0
		}
		length *= 4
	}
}

// stop forgets the blocks that were begun, at the end of a drive.
func (n *noise) stop() {
	n.sloshed = 0
	for i := range n.block {
		b := &n.block[i]
		b.sum, b.length, b.n = 0, 0, 0
	}
}

// wellKnown is how many means of the longest blocks make them count above the
// shorter ones: what a swing averages out over 80 s needn't be feared over 5.
const wellKnown = 8

// moving gives the noise of readings a time dt apart while the vehicle moves.
// What counts in the long run is the spectral density at low frequencies, that
// is the variance of a mean times the time it was taken over.
func (n *noise) moving(dt float64) noiseVar {
	density, length := 0.0, firstBlock
	for i := range n.block {
		d := n.block[i].part * max(length, dt)
		if i < scales-1 && n.block[scales-1].known > wellKnown {
			d /= float64(int(2) << (scales - 2 - i))
		}
		density = max(density, d)
		length *= 4
	}
	one := max(n.sloshVar, leastSlosh*leastSlosh, 9*n.still*n.still)
	return noiseVar{one, one * max(density/max(dt, 1e-3), 0.02)}
}

// quantum finds the step in which a source gives its values: the largest usual
// step of which all values so far are multiples.
type quantum struct {
	i int8
}

var quanta = [...]float64{1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001, 0}

func (q *quantum) see(v float64) {
	for int(q.i) < len(quanta)-1 {
		n := v / quanta[q.i]
		if math.Abs(n-math.Round(n)) < 1e-6*(1+math.Abs(n)*1e-4) {
			break
		}
		q.i++
	}
}

func (q *quantum) step() float64 { return quanta[q.i] }
