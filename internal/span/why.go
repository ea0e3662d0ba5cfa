package span

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// settled is how far, in parts of the span, an end value may stand from what
// the sender gives at a place and still count as set to it: room for a margin
// and a round number.
const settled = 0.03

// Why says why a setting shows what it shows, at the mark where it's furthest
// off or, where it's nowhere off by a point, at the top of the scale: "Shows 80
// at mark 80 because 100 % was set to the dial's own end."
//
// The end values are held against what the sender gives at 0 %, at the dial's
// own end and at the permitted fill, continued in a straight line where nothing
// was read. An end value within 3 % of the span of such a place was set to it.
// Where the scale goes through a tank whose shape bends it, what a display
// straight between the ends of the scale would be off by is the tank's doing,
// and no fault of the end values or of the sender.
func Why(c *curve.Curve, s scale.Scale, setting Setting) string {
	trial := Try(c, s, setting)
	mark := topMark(c, s)
	if trial.Worst >= 0.01 {
		mark = trial.WorstAt[len(trial.WorstAt)-1]
	}
	ohm := c.Ohm(mark, curve.Refuse).Ohm
	off := setting.Show(ohm) - s.Target(mark)
	says := fmt.Sprintf("Shows %s at %s", quantity.Digits(float64(setting.Show(ohm))*100, 0), markText(c.Unit(), mark))
	if size(off) >= 0.01 {
		way := "high"
		if off < 0 {
			way = "low"
		}
		says += fmt.Sprintf(", %s points %s", quantity.Digits(math.Abs(float64(off))*100, 0), way)
	}
	ends, two := setting.(Ends)
	if !two {
		return says + "."
	}
	if (ends.Upper > ends.Lower) != (c.Direction() == curve.Rising) {
		return says + fmt.Sprintf(": the two values are the wrong way round for a %s sender.", c.Direction())
	}
	return says + newPlaces(c, s).because(ends, mark, ohm, off)
}

// places are the resistances that end values are commonly set to.
type places struct {
	c     *curve.Curve
	scale scale.Scale
	empty quantity.Ohm // at 0 %
	full  quantity.Ohm // at 100 % of the scale
	own   quantity.Ohm // at the end of the mark scale itself
	fill  bool         // 100 % is the permitted fill, short of the whole
}

func newPlaces(c *curve.Curve, s scale.Scale) places {
	points := c.Points()
	give := func(mark float64, fallback curve.Point) quantity.Ohm {
		if a := c.Ohm(mark, curve.Continue); a.Known {
			return a.Ohm
		}
		return fallback.Ohm
	}
	empty, full := s.Ends()
	_, ownMark := s.Whole()
	last := points[len(points)-1]
	return places{c: c, scale: s, empty: give(empty, points[0]), full: give(full, last), own: give(ownMark, last),
		fill: s.PermittedFill() < 1}
}

// because gives the rest of the sentence for a figure that is off by some share.
func (p places) because(e Ends, mark float64, ohm quantity.Ohm, off quantity.Share) string {
	target := p.scale.Target(mark)
	// What would be left to explain with one value set right, and with both.
	withUpper := Ends{e.Lower, p.full}.Show(ohm) - target
	withLower := Ends{p.empty, e.Upper}.Show(ohm) - target
	withBoth := Ends{p.empty, p.full}.Show(ohm) - target
	switch {
	case size(off) >= 0.01 && size(off-withBoth) < size(off)/2:
		return ": the end values fit what the sender gives at the ends of the scale, and " + p.bent(mark, withBoth)
	case size(off) >= 0.01 && size(off-withLower) > size(off-withUpper):
		return fmt.Sprintf(": the lower value lies %s what the sender gives at 0 %% (%s)%s.", p.distance(e.Lower, p.empty), p.c.Signal().Text(p.empty), p.besides(mark, off))
	}
	if text := p.setTo(e.Upper); text != "" {
		if size(off) >= 0.01 {
			return ", because 100 % was set to " + text + p.besides(mark, off) + "."
		}
		return " because 100 % was set to " + text + "."
	}
	where := "100 %"
	if p.fill {
		where = "the permitted fill"
	}
	return fmt.Sprintf(": the upper value lies %s what the sender gives at %s (%s)%s.", p.distance(e.Upper, p.full), where, p.c.Signal().Text(p.full), p.besides(mark, off))
}

// byTank gives by how much a display that is straight in the mark from 0 % to
// 100 % would read high at a mark: what the shape of the tank alone does.
func (p places) byTank(mark float64) quantity.Share {
	if p.scale.Bend() < 0.005 {
		return 0
	}
	empty, full := p.scale.Ends()
	from, to := p.scale.Target(empty), p.scale.Target(full)
	straight := from + quantity.Share((mark-empty)/(full-empty))*(to-from)
	return min(1, max(0, straight)) - p.scale.Target(mark)
}

// bent says what is bent between the ends of the scale, where set right they
// leave an error.
func (p places) bent(mark float64, left quantity.Share) string {
	tank := p.byTank(mark)
	switch sender := left - tank; {
	case size(tank) < 0.01 || size(tank) < size(left)/4:
		return "it is bent, dead or uneven between."
	case size(sender) < 0.01 || size(sender) < size(left)/4:
		return "between them the shape of the tank bends the scale, which two end values can't follow."
	}
	return "between them both the shape of the tank and the sender are bent, which two end values can't follow."
}

// besides tells of the shape of the tank where it has its part in an error.
func (p places) besides(mark float64, off quantity.Share) string {
	if tank := p.byTank(mark); size(tank) >= 0.01 && (tank > 0) == (off > 0) {
		return fmt.Sprintf("; about %s of the points are the shape of the tank, which two end values can't follow", quantity.Digits(math.Abs(float64(tank))*100, 0))
	}
	return ""
}

// setTo names the place that an upper value was set to, or nothing.
func (p places) setTo(upper quantity.Ohm) string {
	room := settled * math.Abs(float64(p.own-p.empty))
	far := func(ohm quantity.Ohm) float64 { return math.Abs(float64(upper - ohm)) }
	own := "the dial's own end"
	if p.c.Unit() != curve.Dial {
		own = "the sender's own highest mark"
	}
	switch {
	case p.fill && far(p.full) <= room && far(p.full) <= far(p.own):
		return "the " + p.c.Signal().Figures() + " at the permitted fill"
	case far(p.own) <= room:
		return own
	case p.fill:
		return ""
	}
	// On the dial's own scale the permitted fill isn't known; a value that
	// belongs to a lower mark is told by that mark.
	nearest := curve.Point{}
	for i, q := range p.c.Points() {
		if i == 0 || far(q.Ohm) < far(nearest.Ohm) {
			nearest = q
		}
	}
	if far(nearest.Ohm) > room {
		return ""
	}
	return "what the sender gives at " + markText(p.c.Unit(), nearest.Mark)
}

// distance says how far and to which side one resistance lies from another.
func (p places) distance(a, b quantity.Ohm) string {
	side := "above"
	if a < b {
		side = "below"
	}
	return p.c.Signal().Text(max(a, b)-min(a, b)) + " " + side
}
