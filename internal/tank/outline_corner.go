package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"gaugewright/internal/quantity"
)

// outlineTangent is the bend in radians under which two edges count as running
// on into one another.
const outlineTangent = 1e-7

// outlineRounding is the arc that rounds one corner, and the shares of the two
// edges beside it at which it begins and ends.
type outlineRounding struct {
	arc          outlineEdge
	leave, enter float64
	needs        float64 // length it takes of the edges, where both are straight
}

// outlineRounded puts the roundings in. Edge i leads to vertex i.
func outlineRounded(edges []outlineEdge, vertices []Vertex, size float64) ([]outlineEdge, error) {
	n := len(edges)
	roundings := make([]outlineRounding, n)
	for i, v := range vertices {
		roundings[i] = outlineRounding{leave: 1}
		if v.Corner == 0 {
			continue
		}
		in, out := edges[i], edges[(i+1)%n]
		r, ok := outlineRound(in, out, v.Corner, size)
		if !ok {
			return nil, fmt.Errorf("vertex %d %s of the outline: a rounding radius of %s doesn't fit on the edges beside it, %s and %s long%s",
				i+1, outlinePlace(in.to), quantity.Metre(v.Corner), quantity.Metre(in.length()), quantity.Metre(out.length()), outlineMost(in, out))
		}
		roundings[i] = r
	}
	const slack = 1e-9
	var all []outlineEdge
	for i := range edges {
		before := (i + n - 1) % n
		e, enter, leave := edges[i], roundings[before].enter, roundings[i].leave
		short := leave-enter <= slack
		if leave-enter < -slack {
			return nil, fmt.Errorf("vertices %d %s and %d %s of the outline: their rounding radii of %s and %s don't fit on the edge between them, which is %s long%s",
				before+1, outlinePlace(e.from), i+1, outlinePlace(e.to), quantity.Metre(vertices[before].Corner), quantity.Metre(vertices[i].Corner),
				quantity.Metre(e.length()), outlineNeeds(roundings[before], roundings[i]))
		}
		if enter > 0 || leave < 1 {
			from, to := e.at(enter), e.at(leave)
			if enter > 0 {
				from = roundings[before].arc.to
			}
			if leave < 1 || roundings[i].arc.radius > 0 {
				to = roundings[i].arc.from
			}
			e.start, e.sweep = e.start+enter*e.sweep, (leave-enter)*e.sweep
			e.from, e.to = from, to
		}
		if !short {
			all = append(all, e)
		}
		if roundings[i].arc.radius > 0 {
			all = append(all, roundings[i].arc)
		}
	}
	// Where roundings took all of an edge, the arcs beside it join.
	for i := range all {
		all[(i+1)%len(all)].from = all[i].to
	}
	return all, nil
}

// outlineMost tells the largest radius that fits, where that is simple.
func outlineMost(in, out outlineEdge) string {
	if in.radius > 0 || out.radius > 0 {
		return ""
	}
	t1, t2 := in.heading(true), out.heading(false)
	bend := math.Abs(math.Atan2(r2.Cross(t1, t2), r2.Dot(t1, t2)))
	most := math.Floor(min(in.length(), out.length())/math.Tan(bend/2)*1e4) / 1e4
	return fmt.Sprintf("; expected %s or less", quantity.Metre(most))
}

func outlineNeeds(a, b outlineRounding) string {
	if a.needs == 0 || b.needs == 0 {
		return ""
	}
	return fmt.Sprintf("; together they need %s", quantity.Metre(a.needs+b.needs))
}

// outlineRound rounds the corner between two edges. Its centre is as far from
// both, on the side to which the corner bends: where their parallels meet. False
// where the arc wouldn't begin and end on them.
func outlineRound(in, out outlineEdge, radius, size float64) (outlineRounding, bool) {
	t1, t2 := in.heading(true), out.heading(false)
	bend := math.Atan2(r2.Cross(t1, t2), r2.Dot(t1, t2))
	if math.Abs(bend) < outlineTangent {
		// The edges run on into one another: there is nothing to round.
		return outlineRounding{leave: 1}, true
	}
	side := math.Copysign(radius, bend)
	a, okA := in.beside(side)
	b, okB := out.beside(side)
	if !okA || !okB {
		return outlineRounding{}, false
	}
	best, found := outlineRounding{}, false
	nearest := math.Inf(1)
	for _, centre := range outlineMeet(a, b, 0) {
		leave, enter := in.share(centre), out.share(centre)
		const slack = 1e-9
		if leave < -slack || leave > 1+slack || enter < -slack || enter > 1+slack {
			continue
		}
		leave, enter = min(1, max(0, leave)), min(1, max(0, enter))
		d := r2.Norm(r2.Sub(centre, in.to))
		if d >= nearest {
			continue
		}
		nearest, found = d, true
		arc := outlineEdge{
			from: in.at(leave), to: out.at(enter), centre: centre, radius: radius,
			first: in.last, last: in.last, roundedCorner: true,
		}
		arc.start = outlineAngle(r2.Sub(arc.from, centre))
		arc.sweep = outlinePositive(math.Copysign(1, bend) * (outlineAngle(r2.Sub(arc.to, centre)) - arc.start))
		if bend < 0 {
			arc.sweep = -arc.sweep
		}
		best = outlineRounding{arc: arc, leave: leave, enter: enter}
		if in.radius == 0 && out.radius == 0 {
			best.needs = radius * math.Tan(math.Abs(bend)/2)
		}
	}
	return best, found
}

// beside gives the edge moved to its left by a distance (to the right where
// negative): a line moves, an arc gets another radius. False where that leaves
// no arc.
func (e outlineEdge) beside(by float64) (outlineEdge, bool) {
	if e.radius == 0 {
		h := e.heading(false)
		move := r2.Scale(by, r2.Vec{X: -h.Y, Y: h.X})
		e.from, e.to = r2.Add(e.from, move), r2.Add(e.to, move)
		return e, true
	}
	// A counter-clockwise arc has its centre on the left.
	radius := e.radius - math.Copysign(by, e.sweep*by)
	if !(radius > 0) {
		return e, false
	}
	e.from = r2.Add(e.centre, r2.Scale(radius/e.radius, r2.Sub(e.from, e.centre)))
	e.to = r2.Add(e.centre, r2.Scale(radius/e.radius, r2.Sub(e.to, e.centre)))
	e.radius = radius
	return e, true
}
