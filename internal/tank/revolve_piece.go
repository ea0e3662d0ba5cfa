package tank

import "math"

type revolveKind byte

const (
	revolveLine    revolveKind = iota // ρ straight between both ends: cylinder, cone
	revolveEllipse                    // ρ² = across²(1 − τ²/along²), τ from the centre: sphere, head
	revolveArc                        // ρ = offset ± √(along² − τ²): knuckle, ring
)

// revolvePiece is one piece of the profile of a body of revolution: the radius
// ρ over the distance t along the axis. The bodies between its ends are added,
// or with inner taken away.
type revolvePiece struct {
	kind     revolveKind
	inner    bool
	from, to float64
	// line: the radius at both ends
	first, last float64
	// ellipse: centre and half axes along and across the axis; arc: its middle
	// lies at centre and offset from the axis, and along is its radius
	centre, along, across float64
	offset                float64
	sign                  float64 // arc: +1 the side away from the axis, −1 the side towards it
}

// radius gives ρ at t, never less than nothing; t is held within the piece.
func (p *revolvePiece) radius(t float64) float64 {
	t = min(p.to, max(p.from, t))
	switch p.kind {
	case revolveLine:
		if p.first == p.last {
			return p.first
		}
		return max(0, p.first+(p.last-p.first)*((t-p.from)/(p.to-p.from)))
	case revolveEllipse:
		tau := t - p.centre
		return p.across / p.along * math.Sqrt(max(0, (p.along-tau)*(p.along+tau)))
	default:
		tau := t - p.centre
		return max(0, p.offset+p.sign*math.Sqrt(max(0, (p.along-tau)*(p.along+tau))))
	}
}

// flipped is the piece seen from the other end of the axis.
func (p revolvePiece) flipped() revolvePiece {
	p.from, p.to = -p.to, -p.from
	p.first, p.last = p.last, p.first
	p.centre = -p.centre
	return p
}

// volume gives ∫ πρ² dt between two places of the piece.
func (p *revolvePiece) volume(t1, t2 float64) float64 {
	switch d := t2 - t1; p.kind {
	case revolveLine:
		a, b := p.radius(t1), p.radius(t2)
		return math.Pi / 3 * d * (a*a + a*b + b*b)
	case revolveEllipse:
		// Of b² − τ² from τ1 on, so that little of it near a pole stays exact.
		tau, q := t1-p.centre, p.across/p.along
		return math.Pi * q * q * d * ((p.along-tau)*(p.along+tau) - d*(tau+d/3))
	default:
		return math.Pi * (p.arcSum(t2) - p.arcSum(t1))
	}
}

// arcSum is an antiderivative of ρ² = c² + r² − τ² ± 2c√(r²−τ²). The angle is
// told by its tangent: by its sine it would lose half its digits at the ends.
func (p *revolvePiece) arcSum(t float64) float64 {
	r, c := p.along, p.offset
	tau := min(r, max(-r, t-p.centre))
	root := math.Sqrt((r - tau) * (r + tau))
	return tau*(c*c+r*r-tau*tau/3) + p.sign*c*(tau*root+r*r*math.Atan2(tau, root))
}

// lever gives ∫ t πρ² dt between two places of the piece.
func (p *revolvePiece) lever(t1, t2 float64) float64 {
	switch d := t2 - t1; p.kind {
	case revolveLine:
		a, b := p.radius(t1), p.radius(t2)
		return t1*p.volume(t1, t2) + math.Pi/12*d*d*(a*a+2*a*b+3*b*b)
	case revolveEllipse:
		a, b, q := t1-p.centre, t2-p.centre, p.across/p.along
		return p.centre*p.volume(t1, t2) +
			math.Pi/2*q*q*(b-a)*(b+a)*(p.along*p.along-(a*a+b*b)/2)
	default:
		part := func(t float64) float64 {
			r, c := p.along, p.offset
			tau := min(r, max(-r, t-p.centre))
			root := math.Sqrt((r - tau) * (r + tau))
			return tau*tau*((c*c+r*r)/2-tau*tau/4) - p.sign*2.0/3*c*root*root*root
		}
		return p.centre*p.volume(t1, t2) + math.Pi*(part(t2)-part(t1))
	}
}

// reach gives the greatest m·t + n·ρ(t) of the piece, n ≥ 0: how far it reaches
// in a direction with the components m along the axis and n across it.
func (p *revolvePiece) reach(m, n float64) float64 {
	best := max(m*p.from+n*p.radius(p.from), m*p.to+n*p.radius(p.to))
	switch {
	case p.kind == revolveEllipse:
		h := math.Hypot(m*p.along, n*p.across)
		if t := p.centre + p.along*(m*p.along/h); h > 0 && t > p.from && t < p.to {
			return m*p.centre + h
		}
	case p.kind == revolveArc && p.sign > 0:
		if t := p.centre + p.along*m; t > p.from && t < p.to {
			return m*p.centre + n*p.offset + p.along*math.Hypot(m, n)
		}
	}
	return best
}

// crossings adds to a list where a line cuts the profile, ρ, or its mirror
// image, −ρ: the line is (t, s) = d(m, n) + l(n, −m), and the values are those
// of l. Some may lie beyond the piece or on the other branch of an arc.
func (p *revolvePiece) crossings(d, m, n float64, list []float64) []float64 {
	switch p.kind {
	case revolveLine:
		slope := 0.0
		if p.first != p.last {
			slope = (p.last - p.first) / (p.to - p.from)
		}
		for _, sign := range [2]float64{1, -1} {
			// dn − lm = ±(first + slope(dm + ln − from))
			under := m + sign*slope*n
			if l := (d*n - sign*(p.first+slope*(d*m-p.from))) / under; under != 0 && !math.IsInf(l, 0) {
				list = append(list, l)
			}
		}
	case revolveEllipse:
		// In units of the half axes the ellipse is a circle, the line e/h from
		// its middle.
		h := math.Hypot(m*p.along, n*p.across)
		e := d - m*p.centre
		if room := (h - e) * (h + e); room > 0 {
			mid := n*p.centre + m*n*(e/h)*((p.along-p.across)*(p.along+p.across)/h)
			half := p.along * (p.across / h) * (math.Sqrt(room) / h)
			list = append(list, mid-half, mid+half)
		}
	default:
		for _, offset := range [2]float64{p.offset, -p.offset} {
			e := d - m*p.centre - n*offset
			if room := (p.along - e) * (p.along + e); room > 0 {
				mid, half := n*p.centre-m*offset, math.Sqrt(room)
				list = append(list, mid-half, mid+half)
			}
		}
	}
	return list
}
