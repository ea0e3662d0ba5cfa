package sitting

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// planAhead is how many readings a plan is judged by, and worthTaking what they
// have to bring the doubt down to, in parts of what it is: a few readings that
// take off less than a tenth aren't worth the time of anyone (common practice,
// no source).
const (
	planAhead   = 5
	worthTaking = 0.9
)

// planned goes by the curve's own plan.
func planned(c *curve.Curve, low, high float64, p pass) Next {
	plan := c.Plan(planAhead, low, high)
	if plan.Limit == curve.LimitOrder {
		return Next{Words: "more readings don't help before the sender keeps one direction"}
	}
	unit := c.Unit()
	if plan.Missing != curve.Unstated {
		if mark, ok := middle(c, plan.Missing, low, high); ok {
			return Next{Known: true, Mark: mark, Sweep: plan.Missing,
				Words: fmt.Sprintf("next: %s once more%s: no mark was read both ways, so the hysteresis isn't known", unit.Text(mark), going(plan.Missing, mark, p.stands))}
		}
	}
	ahead := plan.Next[:0:0]
	for _, n := range plan.Next {
		// What was read beyond the permitted fill isn't read there again.
		if n.Mark >= low && n.Mark <= high {
			ahead = append(ahead, n)
		}
	}
	if len(ahead) == 0 {
		return Next{Words: "more readings don't help" + because(why(plan))}
	}
	last := ahead[len(ahead)-1]
	if plan.Halve < 0 && last.U > worthTaking*plan.U {
		if points(last.U) == points(plan.U) {
			return Next{Words: fmt.Sprintf("more readings don't help: the doubt stays at ±%s points%s", points(plan.U), because(why(plan)))}
		}
		return Next{Words: fmt.Sprintf("more readings hardly help: with %s the doubt falls from ±%s to ±%s points%s",
			howMany(len(ahead)), points(plan.U), points(last.U), because(why(plan)))}
	}
	n := Next{Known: true, Mark: ahead[0].Mark, Sweep: p.towards(ahead[0].Mark)}
	n.Words = "next: " + unit.Text(n.Mark)
	if ahead[0].Again {
		n.Words += " once more"
	}
	n.Words += going(n.Sweep, n.Mark, p.stands)
	if points(ahead[0].U) == points(plan.U) {
		n.Words += "; it lowers the doubt on the whole"
	} else {
		n.Words += fmt.Sprintf("; the doubt falls from ±%s to ±%s points", points(plan.U), points(ahead[0].U))
	}
	if (unit == curve.Volume || unit == curve.Mass) && n.Mark > plan.Above {
		n.Words += "; that fills further than was read: never beyond the permitted fill"
	}
	return n
}

// middle gives the mark nearest to the middle of the way that was read, and not
// in the sweep that is missing.
func middle(c *curve.Curve, missing curve.Sweep, low, high float64) (mark float64, ok bool) {
	for _, q := range c.Used() {
		if q.Sweep != missing && q.Mark >= low && q.Mark <= high && (!ok || math.Abs(q.Mark-(low+high)/2) < math.Abs(mark-(low+high)/2)) {
			mark, ok = q.Mark, true
		}
	}
	return mark, ok
}

func howMany(n int) string {
	if n == 1 {
		return "one more"
	}
	return fmt.Sprintf("%d more", n)
}

// points gives about 95 %, twice the standard uncertainty, in percent of the
// scale.
func points(u float64) string {
	if v := 200 * u; v < 0.1 {
		return quantity.Digits(v, 2)
	}
	return quantity.Digits(200*u, 1)
}

// why says what keeps readings from lowering the doubt.
func why(p curve.Plan) string {
	switch p.Limit {
	case curve.LimitHysteresis:
		return "the sender's hysteresis stays"
	case curve.LimitSteps:
		return "the sender moves in steps"
	case curve.LimitMarks:
		return "the marks stand as close as they can be set by hand"
	case curve.LimitCount:
		return fmt.Sprintf("not even %d would halve it", curve.MostPlanned)
	case curve.LimitMeter:
		if p.Signal != curve.Ohms {
			return "what the meter, its last digit and the marks add stays"
		}
		return "what the meter, its last digit, the leads and the marks add stays"
	}
	return ""
}
