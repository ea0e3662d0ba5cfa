package tank

import "math"

// quadratureNodes are the nodes of the 21-point Kronrod rule on [−1, 1] from
// the middle outward, each with its weight and its weight in the 10-point Gauss
// rule it extends (0 where it is no node of that). Worked out in 60 digits from
// the definition: the added nodes are the zeros of the Stieltjes polynomial,
// orthogonal to all lower powers with the Legendre polynomial as weight. The
// 21-point rule is exact for polynomials up to degree 31.
var quadratureNodes = [11]struct{ x, kronrod, gauss float64 }{
	{0, 0.14944555400291690566, 0},
	{0.14887433898163121088, 0.14773910490133849137, 0.29552422471475287017},
	{0.29439286270146019813, 0.1427759385770600808, 0},
	{0.4333953941292471908, 0.13470921731147332593, 0.26926671930999635509},
	{0.56275713466860468334, 0.12349197626206585108, 0},
	{0.67940956829902440623, 0.1093871588022976419, 0.219086362515982044},
	{0.78081772658641689706, 0.093125454583697605535, 0},
	{0.86506336668898451073, 0.075039674810919952767, 0.14945134915058059315},
	{0.930157491355708226, 0.054755896574351996031, 0},
	{0.97390652851717172008, 0.032558162307964727479, 0.066671344308688137594},
	{0.99565716302580808074, 0.011694638867371874278, 0},
}

const (
	quadratureDepth = 40  // halvings of one stretch
	quadratureMost  = 400 // stretches in all
)

// quadraturePair integrates two functions of one variable at once, from one
// limit to the other, by the Gauss–Kronrod rule of 21 points, halving where the
// two rules differ by more than a tolerance (absolute, for each integral over
// each stretch). Where the integrand
// stays rough after 40 halvings or 400 stretches the best value so far counts:
// what is integrated here is bounded, and such a stretch is too short to
// matter.
func quadraturePair(f func(x float64) (a, b float64), from, to, tolA, tolB float64) (a, b float64) {
	type stretch struct {
		from, to float64
		depth    int
	}
	var stack [quadratureDepth + 2]stretch
	stack[0] = stretch{from, to, 0}
	top, done := 1, 0
	for top > 0 {
		top--
		s := stack[top]
		va, vb, ea, eb := quadratureRule(f, s.from, s.to)
		done++
		if ea <= tolA && eb <= tolB || s.depth >= quadratureDepth || done+top >= quadratureMost {
			a, b = a+va, b+vb
			continue
		}
		mid := s.from + (s.to-s.from)/2
		stack[top] = stretch{mid, s.to, s.depth + 1}
		stack[top+1] = stretch{s.from, mid, s.depth + 1}
		top += 2
	}
	return a, b
}

// quadratureRule gives both integrals over one stretch by the 21-point rule,
// and their estimated errors.
func quadratureRule(f func(x float64) (a, b float64), from, to float64) (a, b, errA, errB float64) {
	mid, half := from+(to-from)/2, (to-from)/2
	a, b = f(mid)
	a, b = quadratureNodes[0].kronrod*a, quadratureNodes[0].kronrod*b
	sizeA, sizeB := math.Abs(a), math.Abs(b)
	var gaussA, gaussB float64
	for i := 1; i < 11; i++ {
		n := &quadratureNodes[i]
		la, lb := f(mid - half*n.x)
		ra, rb := f(mid + half*n.x)
		a += n.kronrod * (la + ra)
		b += n.kronrod * (lb + rb)
		gaussA += n.gauss * (la + ra)
		gaussB += n.gauss * (lb + rb)
		sizeA += n.kronrod * (math.Abs(la) + math.Abs(ra))
		sizeB += n.kronrod * (math.Abs(lb) + math.Abs(rb))
	}
	half = math.Abs(half)
	errA = quadratureError(half*math.Abs(a-gaussA), half*sizeA)
	errB = quadratureError(half*math.Abs(b-gaussB), half*sizeB)
	h := (to - from) / 2
	return a * h, b * h, errA, errB
}

// quadratureError takes the difference of the two rules for the error, which is
// far less of the better one. A difference within a few roundings of the size
// of the integral says nothing more.
func quadratureError(difference, size float64) float64 {
	if difference <= 1e-14*size {
		return 0
	}
	return difference
}

// quadratureEnds integrates like [quadraturePair], for functions that start and
// end like a square root: with x = mid − half·cos θ such ends become smooth.
func quadratureEnds(f func(x float64) (a, b float64), from, to, tolA, tolB float64) (a, b float64) {
	half := (to - from) / 2
	return quadraturePair(func(theta float64) (float64, float64) {
		sin, cos := math.Sincos(theta / 2)
		// Measured from the nearer end, so that what is lost to rounding there
		// is a share of the distance from it.
		x := from + 2*half*sin*sin
		if theta > math.Pi/2 {
			x = to - 2*half*cos*cos
		}
		u, v := f(x)
		w := 2 * half * sin * cos
		return w * u, w * v
	}, 0, math.Pi, tolA, tolB)
}
