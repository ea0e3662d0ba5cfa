package curve

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// What a sender may do between its ends and at a single mark, as standard
// deviations in parts of its span. Both are common practice, no source: floats
// and dials are sold as good to 2 to 5 %, and the windings and the hand on the
// dial take a quarter of a percent.
const (
	bendSD  = ClaimTolerance / 2 // half-way between the ends
	ownSD   = 0.0025             // at each mark by itself
	litreSD = 0.125              // half-way, where marks are quantities
)

// mostWeighed is how many marks are weighed for the end values. More of them,
// between those, tell next to nothing new of the ends.
const mostWeighed = 64

// strayAllowance is how far a mark may stray from the straight line between a
// claim's ends besides the tolerance, in parts of the claimed span. It is
// nothing for a dial or a height. Where the mark is a quantity poured or
// weighed, the tank's shape bends the course between the ends and says nothing
// against the sender: half-way a quarter of the span, which has room for lying
// cylinders (0.06), spheres (0.1) and wedges (0.25).
func (c *Curve) strayAllowance(share float64) float64 {
	if c.unit != Volume && c.unit != Mass {
		return 0
	}
	s := min(1, max(0, share))
	return 2 * litreSD * 4 * s * (1 - s)
}

func (c *Curve) bendSD() float64 {
	if c.unit == Volume || c.unit == Mass {
		return litreSD
	}
	return bendSD
}

// ends is what the readings say of the ohms at the empty and the full mark: a
// bivariate normal distribution.
type ends struct {
	ohm      [2]float64
	variance [2]float64
	between  float64 // covariance
	det      float64 // of the covariance matrix, kept apart because it may be small
}

func (e ends) u(i int) float64 { return math.Sqrt(e.variance[i]) }

// Beyond these the marks tell nothing of the ends, and the sums would lose all
// their digits.
const (
	mostBeyond = 1e9 // times the stretch of the marks that the scale is long
	mostAway   = 1e6 // times the scale that a mark lies from either end
)

// inProportion refuses a scale of which the marks can't tell anything.
func (c *Curve) inProportion(empty, full float64) error {
	first, last := c.points[0].Mark, c.points[len(c.points)-1].Mark
	stretch, scale := last-first, full-empty
	away := max(math.Abs(first-empty), math.Abs(last-empty), math.Abs(first-full), math.Abs(last-full))
	if scale <= mostBeyond*stretch && away <= mostAway*scale && away < math.Inf(1) {
		return nil
	}
	read := "read"
	if c.known() {
		read = "known"
	}
	text := func(mark float64) string { return fmt.Sprintf("%.9g", c.unit.ToShown(mark)) }
	return fmt.Errorf("the marks %s, %s to %s %s, tell nothing of a scale from %s to %s %s: they must reach over more than a billionth of it, and lie nearer to it than a million times its length; take readings all over the scale",
		read, text(first), text(last), c.unit.Symbol(), text(empty), text(full), c.unit.Symbol())
}

// endValues tells the ohms at the empty and the full mark from the points, by
// generalised least squares on y(s) = a·(1−s) + b·s + bend(s) + own, with s the
// share of the way from empty to full. The bend is a Brownian bridge, zero at
// both ends, with a standard deviation of 2.5 % of the span half-way (12.5 %
// where marks are quantities); the own part has 0.25 % and the point's standard
// uncertainty. So a mark that was read tells the end near it well and the far
// one poorly, and where an end wasn't reached its doubt grows with what is
// missing. Where the points scatter about this more than they should (steps, a
// strong bend), all variances grow by χ²/(n−2), as is usual for discrepant
// measurements (R. T. Birge, Phys. Rev. 40 (1932) 207; from memory).
//
// Its weakness: the points' uncertainties are taken as independent, so the part
// that is common to all (the meter) is believed to average out. It hardly
// does: each end rests on the few marks beside it. Those of a curve from knots
// are taken as one doubt that all share.
func (c *Curve) endValues(empty, full float64) ends {
	points := c.weighed()
	n := len(points)
	share := make([]float64, n)
	for i, p := range points {
		share[i] = (p.Mark - empty) / (full - empty)
	}
	first, stretch := points[0].Mark, points[n-1].Mark-points[0].Mark
	span := float64(c.Span()) / stretch * (full - empty)
	bend := 4 * square(c.bendSD()*span) // a bridge has a quarter of this half-way
	cov := mat.NewSymDense(n, nil)
	y := mat.NewVecDense(n, nil)
	// The unknowns are the values at the first and the last mark: near the
	// readings, so that the sums keep their digits however far the ends are.
	design := mat.NewDense(n, 2, nil)
	widest := 0.0
	for _, p := range points {
		widest = max(widest, float64(p.U))
	}
	for i, p := range points {
		for j := i; j < n; j++ {
			v := bend * bridge(share[i], share[j])
			if c.known() {
				v += float64(p.U) * float64(points[j].U) // one doubt that all share
			}
			cov.SetSym(i, j, v)
		}
		own := square(ownSD * span)
		if c.known() {
			// A shared doubt far above the span would leave nothing to tell the
			// marks apart by; a millionth keeps the sums' digits.
			own = max(own, 1e-6*widest*widest)
		} else {
			own += square(float64(p.U))
		}
		cov.SetSym(i, i, cov.At(i, i)+own)
		t := (p.Mark - first) / stretch
		design.SetRow(i, []float64{1 - t, t})
		y.SetVec(i, float64(p.Ohm))
	}
	// Marks that are known far better than others would make the matrix all but
	// singular; in parts of each mark's own standard deviation it isn't.
	size := make([]float64, n)
	for i := range size {
		size[i] = math.Sqrt(cov.At(i, i))
	}
	for i := range size {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, cov.At(i, j)/size[i]/size[j])
		}
		y.SetVec(i, y.AtVec(i)/size[i])
		for k := range 2 {
			design.Set(i, k, design.At(i, k)/size[i])
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		panic("curve: the covariance of the marks isn't positive definite")
	}
	var solved mat.Dense // C⁻¹X
	var normal mat.Dense // XᵀC⁻¹X
	var right, beta mat.VecDense
	must(chol.SolveTo(&solved, design))
	normal.Mul(design.T(), &solved)
	right.MulVec(solved.T(), y)
	a, b, d := normal.At(0, 0), normal.At(0, 1), normal.At(1, 1)
	det := 1 / (a*d - b*b)
	beta.MulVec(mat.NewDense(2, 2, []float64{d * det, -b * det, -b * det, a * det}), &right)
	birge := 1.0
	if n > 2 {
		var fitted, rest mat.VecDense
		fitted.MulVec(design, &beta)
		fitted.SubVec(y, &fitted)
		must(chol.SolveVecTo(&rest, &fitted))
		birge = max(1, mat.Dot(&fitted, &rest)/float64(n-2))
	}
	// From the first and the last mark to the ends: linear.
	t0, t1 := (empty-first)/stretch, (full-first)/stretch
	to := [2][2]float64{{1 - t0, t0}, {1 - t1, t1}}
	v := [3]float64{d * det * birge, -b * det * birge, a * det * birge}
	var e ends
	for i, row := range to {
		e.ohm[i] = row[0]*beta.AtVec(0) + row[1]*beta.AtVec(1)
		e.variance[i] = row[0]*row[0]*v[0] + 2*row[0]*row[1]*v[1] + row[1]*row[1]*v[2]
	}
	e.between = to[0][0]*to[1][0]*v[0] + (to[0][0]*to[1][1]+to[0][1]*to[1][0])*v[1] + to[0][1]*to[1][1]*v[2]
	e.det = square(t1-t0) * det * birge * birge
	return e
}

// weighed gives the points, or as many as are worth weighing, spread evenly
// over them with both ends.
func (c *Curve) weighed() []Point {
	n := len(c.points)
	if n <= mostWeighed {
		return c.points
	}
	out := make([]Point, mostWeighed)
	for k := range out {
		out[k] = c.points[k*(n-1)/(mostWeighed-1)]
	}
	return out
}

// bridge is the covariance of a Brownian motion that is nought at 0 and at 1.
func bridge(s, t float64) float64 {
	if s > t {
		s, t = t, s
	}
	switch {
	case t <= 0:
		return -t
	case s >= 1:
		return s - 1
	case s <= 0 || t >= 1:
		return 0
	}
	return s * (1 - t)
}

// logWithin gives the logarithm of how well a kind of sender agrees with the
// ends: the integral over both end values of its two triangular distributions
// times the normal distribution of what was read. −∞ where they lie more than
// nine standard deviations apart.
//
// The inner integral is a closed form. The outer one is taken by Gauss and
// Legendre's rule in two pieces that meet at the triangle's tip.
func (e ends) logWithin(s Stated) float64 {
	half := s.Tolerance * s.size()
	if !(square(half) > 0) {
		return math.Inf(-1) // ends that are one but for rounding: no sender is of that kind
	}
	first, second := float64(s.Empty), float64(s.Full)
	u0 := e.u(0)
	slope := e.between / e.variance[0]
	u1 := math.Sqrt(e.det / e.variance[0])
	f := func(x float64) float64 {
		z := (x - e.ohm[0]) / u0
		tip := (half - math.Abs(x-first)) / square(half)
		return tip * math.Exp(-z*z/2) * triangleUnderNormal(second, half, e.ohm[1]+slope*(x-e.ohm[0]), u1)
	}
	low, high := e.ohm[0]-9*u0, e.ohm[0]+9*u0
	sum := 0.0
	for _, piece := range [][2]float64{{first - half, first}, {first, first + half}} {
		from, to := max(low, piece[0]), min(high, piece[1])
		if to > from {
			sum += quad.Fixed(f, from, to, 64, quad.Legendre{}, 0)
		}
	}
	return math.Log(sum / (u0 * math.Sqrt(2*math.Pi)))
}

// triangleUnderNormal gives the mean of a triangular density, of the given
// centre and half-width, over a normal distribution: the second difference of
// E[(Y−k)₊] = u·φ(z) + (m−k)·Φ(z), z = (m−k)/u. The side on which all three
// terms are small is taken, so that nothing is lost in the tail.
func triangleUnderNormal(centre, half, mean, u float64) float64 {
	d := mean - centre
	if d > 0 {
		d = -d // symmetric: seen from the other side
	}
	beyond := func(k float64) float64 {
		z := (d - k) / u
		return u*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi) + (d-k)*distuv.UnitNormal.CDF(z)
	}
	return max(0, (beyond(-half)-2*beyond(0)+beyond(half))/square(half))
}

// otherSpans gives the logarithm of the density of both end values for a
// sender that is none of those asked about: any ohms up to MaxOhm, each
// doubling as likely as another above some ten ohms, even below that. Per ohm
// that is 1/((R + 10 Ω)·ln 10001). For other signals it is the same up to their
// Limit, even below 1 V, 2 mA or 10 % of the supply.
func otherSpans(e ends, signal Signal) float64 {
	knee, limit := signals[signal].knee, float64(signal.Limit())
	sum := 0.0
	for _, ohm := range e.ohm {
		sum -= math.Log((max(0, ohm) + knee) * math.Log((limit+knee)/knee))
	}
	return sum
}

func square(v float64) float64 { return v * v }

// must is for solutions with a matrix that has been factorized: they fail only
// where the matrix is singular to working precision, which the part that each
// mark has by itself keeps it from being on a scale in proportion to the marks.
func must(err error) {
	if err != nil {
		panic("curve: " + err.Error())
	}
}
