package tank

import "math"

// outlineBow is an arc within a band, w half the chord at a level: w0 and a0 are
// w and ∫w dv at the band's beginning, y0 the height over the centre.
type outlineBow struct {
	turn, rise, side float64
	centreU, centreV float64
	radius, square   float64
	y0, w0, a0       float64
}

// newOutlineBow makes the arc of a band that begins at a level.
func newOutlineBow(w *outlineWall, v float64) outlineBow {
	q := outlineBow{
		turn: w.rise * w.side, rise: w.rise, side: w.side,
		centreU: w.centreU, centreV: w.centreV, radius: w.radius, square: w.radius * w.radius,
		y0: v - w.centreV, w0: w.half(v),
	}
	q.a0 = q.under(q.y0, q.w0)
	return q
}

// half gives half the chord of an arc's stretch at a level. At its ends its end
// points count, not the circle's own course: near its top and bottom that would
// be off by the root of the rounding.
func (w *outlineWall) half(v float64) float64 {
	switch v {
	case w.low:
		return w.side * (w.uLow - w.centreU)
	case w.high:
		return w.side * (w.uHigh - w.centreU)
	}
	return w.side * (w.at(v) - w.centreU)
}

// under is ½(y·w + r²·φ), the integral of w over y. With φ = atan2(y, w) an
// error in w enters squared, also where the arc's tangent is level.
func (q *outlineBow) under(y, w float64) float64 {
	return (y*w + q.square*math.Atan2(y, w)) / 2
}

// half gives the height over the centre and half the chord at a level.
func (q *outlineBow) half(c float64) (y, w float64) {
	y = c - q.centreV
	return y, math.Sqrt(max(0, (q.radius-y)*(q.radius+y)))
}

// add adds what an arc contributes between the band's beginning and a height y
// over its centre, x above the beginning, where half its chord is w.
//
// By parts, ∫(c−v)^k/k! du = ∫(c−v)^(k−1)/(k−1)!·w dv − x^k/k!·w0, and the
// moments ∫w dv, ∫y·w dv = −w³/3, ∫y²·w dv = −y·w³/4 + r²/4·∫w dv are closed;
// likewise with u² = centre² + 2·centre·side·w + r² − y² for Uk.
func (q *outlineBow) add(y, x, w float64, t *[4]float64, u *[3]float64) {
	a := q.under(y, w)
	a1 := a - q.a0
	w3, w03 := w*w*w, q.w0*q.w0*q.w0
	a2 := y*a1 + (w3-w03)/3
	a3 := (y*y*a1 + 2*y*(w3-w03)/3 + q.square*a1/4 - (y*w3-q.y0*w03)/4) / 2
	x2 := x * x / 2
	x3 := x2 * x / 3
	t[0] += q.turn * (w - q.w0)
	t[1] += q.turn * (a1 - x*q.w0)
	t[2] += q.turn * (a2 - x2*q.w0)
	t[3] += q.turn * (a3 - x3*q.w0)
	end, begin := q.centreU+q.side*w, q.centreU+q.side*q.w0
	y3, y03 := y*y*y, q.y0*q.y0*q.y0
	mean := q.centreU*q.centreU + q.square
	u[0] += q.rise * (end*end - begin*begin) / 2
	u[1] += q.rise * (mean*x + 2*q.centreU*q.side*a1 - (y3-y03)/3 - x*begin*begin) / 2
	u[2] += q.rise * (mean*x2 + 2*q.centreU*q.side*a2 - y*(y3-y03)/3 + (y3*y-y03*q.y0)/4 - x2*begin*begin) / 2
}
