package curve

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// Doubts is what is known of the bench besides the readings themselves. The
// zero value states nothing, and the budget then holds only what the readings
// show.
type Doubts struct {
	Meter Meter
	// Leads is a reading of the shorted test leads, subtracted from every
	// reading; LeadsU is its standard uncertainty.
	Leads, LeadsU quantity.Ohm
	// MarkHalfWidth is how far a mark may have been misread, in the unit of the
	// marks inside: by its division, by parallax, by the hand that held it.
	MarkHalfWidth float64
	// Temperature is by how much the sender's ohms may change with the weather,
	// in parts of the ohms, either way.
	Temperature quantity.Share
	// Pouring is how marks in litres came about, where they were poured; nil
	// where they weren't or nothing is known of it.
	Pouring *Pouring
}

// Names of the lines of a budget.
const (
	lineRepeat      = "repeatability of the bench readings"
	lineHysteresis  = "half the hysteresis"
	lineMark        = "reading of the mark"
	linePours       = "the amounts poured"
	lineMeter       = "the meter"
	lineDigit       = "last digit of the meter"
	lineLeads       = "test leads"
	lineTemperature = "temperature of the sender"
	lineOrder       = "order put right"
	lineShape       = "course between the marks"
	lineEnd         = "the end that wasn't reached"
	lineOnce        = "one reading in service"
	lineKnown       = "the curve as it is known beforehand"
)

// Words says, for a caption, where a doubt comes from.
func (d Doubts) Words() string {
	const shown = "the readings' own scatter, hysteresis and last digit"
	var stated []string
	for _, w := range []struct {
		is   bool
		word string
	}{
		{d.Meter.Stated(), "the meter"}, {d.LeadsU > 0, "the test leads"}, {d.MarkHalfWidth > 0, "the reading of the marks"},
		{d.Pouring != nil, "the amounts poured"}, {d.Temperature > 0, "the sender's temperature"},
	} {
		if w.is {
			stated = append(stated, w.word)
		}
	}
	if len(stated) == 0 {
		return shown
	}
	return shown + ", with " + wording.Several(stated, "and")
}

// LeastKnown gives the mark within the readings at which one reading in service
// leaves the most doubt, dead stretches apart.
func (c *Curve) LeastKnown() float64 {
	const looks = 200
	first, last := c.points[0].Mark, c.points[len(c.points)-1].Mark
	worst, at := -1.0, first
	for k := range looks + 1 {
		mark := first + float64(k)/looks*(last-first)
		place := c.placeOf(mark)
		if i := c.pieceOf(mark); c.cubic.y[i+1] == c.cubic.y[i] {
			continue
		}
		if u := math.Hypot(c.uOhm(place), c.repeat.SD) / place.slope; u > worst {
			worst, at = u, mark
		}
	}
	return at
}

// Doubts gives what was stated of the bench besides the readings.
func (c *Curve) Doubts() Doubts { return c.doubts }

// step gives the last digit of the meter in ohms.
func (c *Curve) step() quantity.Ohm {
	if c.doubts.Meter.Step > 0 {
		return c.doubts.Meter.Step
	}
	return quantity.Ohm(c.resolution)
}

// place is where on the curve a doubt is asked for.
type place struct {
	mark  float64
	ohm   float64
	slope float64 // |dR/dmark|
	n     float64 // readings it rests on
	order float64 // by how much it was moved to put the order right, in ohms
	shape float64 // by how much its course is a choice, in ohms
	u     float64 // of the points beside it, in proportion, in ohms
}

// sources tells every source of doubt in the ohms of the curve at a place. The
// uncertainty has the unit given; the sensitivity turns it into ohms.
func (c *Curve) sources(at place, tell func(doubt.Line)) {
	inf := math.Inf(1)
	add := func(name string, value, u float64, unit string, d doubt.Distribution, df, sensitivity float64) {
		if u > 0 {
			tell(doubt.Line{Quantity: name, Value: value, Unit: unit, U: u, Distribution: d, DF: df, Sensitivity: sensitivity})
		}
	}
	if c.known() {
		add(lineKnown, at.ohm, at.u, c.signal.Symbol(), doubt.Normal, inf, 1)
		add(lineShape, 0, doubt.Rectangular(at.shape), c.signal.Symbol(), doubt.RectangularD, inf, 1)
		return
	}
	if c.repeat.DF > 0 {
		add(lineRepeat, at.ohm, c.repeat.SD/math.Sqrt(at.n), c.signal.Symbol(), doubt.StudentT, float64(c.repeat.DF), 1)
	}
	add(lineHysteresis, 0, doubt.Rectangular(c.hysteresisHalf()), c.signal.Symbol(), doubt.RectangularD, inf, 1)
	add(lineMark, 0, doubt.Rectangular(c.doubts.MarkHalfWidth)/c.shownUnit(), c.unit.Symbol(), doubt.RectangularD, inf, at.slope*c.shownUnit())
	if p := c.doubts.Pouring; p != nil {
		add(linePours, at.mark/c.shownUnit(), p.U(at.mark)/c.shownUnit(), c.unit.Symbol(), doubt.Normal, inf, at.slope*c.shownUnit())
	}
	add(lineMeter, 0, doubt.Rectangular(float64(c.doubts.Meter.HalfWidth(quantity.Ohm(at.ohm), c.step()))), c.signal.Symbol(), doubt.RectangularD, inf, 1)
	add(lineDigit, 0, doubt.Resolution(float64(c.step())), c.signal.Symbol(), doubt.RectangularD, inf, 1)
	add(lineLeads, float64(c.doubts.Leads), float64(c.doubts.LeadsU), c.signal.Symbol(), doubt.Normal, inf, -1)
	add(lineTemperature, 0, doubt.Rectangular(float64(c.doubts.Temperature)*at.ohm), c.signal.Symbol(), doubt.RectangularD, inf, 1)
	add(lineOrder, 0, doubt.Rectangular(at.order), c.signal.Symbol(), doubt.RectangularD, inf, 1)
	add(lineShape, 0, doubt.Rectangular(at.shape), c.signal.Symbol(), doubt.RectangularD, inf, 1)
}

// uOhm gives the combined standard uncertainty of the ohms at a place.
func (c *Curve) uOhm(at place) float64 {
	sum := 0.0
	c.sources(at, func(l doubt.Line) { v := l.Contribution(); sum += v * v })
	return math.Sqrt(sum)
}

// shownUnit gives what one unit of mark, as shown, is inside.
func (c *Curve) shownUnit() float64 { return c.unit.FromShown(1) }

// hysteresisHalf gives half the hysteresis as far as it isn't scatter. The
// largest of m differences lies above what they have in common by the expected
// largest of m draws of their scatter, which is taken off (Blom's approximation
// of that order statistic, Statistical Estimates and Transformed Beta-Variables,
// 1958; from memory). Without repeats the scatter isn't known, and nothing is.
func (c *Curve) hysteresisHalf() float64 {
	h, m := float64(c.hysteresis.Ohm), float64(c.hysteresis.marks)
	if c.repeat.DF > 0 && m > 1 {
		scatter := c.repeat.SD * math.Sqrt(c.hysteresis.scatter)
		h = max(0, h-scatter*distuv.UnitNormal.Quantile((m-0.375)/(m+0.25)))
	}
	return h / 2
}

// placeOf gives the place on the curve at a mark within the readings.
func (c *Curve) placeOf(mark float64) place {
	i := c.pieceOf(mark)
	p, q := c.points[i], c.points[i+1]
	t := min(1, max(0, (mark-p.Mark)/(q.Mark-p.Mark)))
	mix := func(a, b float64) float64 { return a + t*(b-a) }
	ohm := math.Abs(c.cubic.At(mark))
	return place{
		mark:  mark,
		ohm:   ohm,
		slope: c.slopeAt(i, mark),
		n:     mix(float64(p.N), float64(q.N)),
		order: mix(math.Abs(float64(p.Measured-p.Ohm)), math.Abs(float64(q.Measured-q.Ohm))),
		shape: math.Abs(math.Abs(mix(float64(p.Ohm), float64(q.Ohm))) - ohm),
		u:     mix(float64(p.U), float64(q.U)),
	}
}

// placeAt gives the place on the curve at a resistance in the rising
// orientation: the middle of the stretch where it is flat.
func (c *Curve) placeAt(y float64) place {
	lowest, highest := c.cubic.Inverse(y)
	return c.placeOf((lowest + highest) / 2)
}

// BudgetOfOhm is the uncertainty budget of the ohms at a mark, as the bench
// tells them: it is what UOhm comes from. False outside the readings.
func (c *Curve) BudgetOfOhm(mark float64) (doubt.Budget, bool) {
	a := c.Ohm(mark, Refuse)
	if !a.Known {
		return doubt.Budget{}, false
	}
	b := doubt.Budget{Unit: c.signal.Symbol()}
	c.sources(c.placeOf(a.Mark), func(l doubt.Line) { b.Lines = append(b.Lines, l) })
	return b, true
}

// BudgetOfMark is the uncertainty budget of the mark told from one reading of a
// resistance in service: the curve's own, the scatter of that one reading, and
// the sensitivities turned by the slope of the curve. Outside the readings,
// where a continuation is asked for, the end that wasn't reached takes the place
// of the curve's own. False where there is no answer, and where the sender
// stands still, since no slope can turn ohms into marks there.
func (c *Curve) BudgetOfMark(ohm quantity.Ohm, beyond Beyond) (doubt.Budget, bool) {
	a := c.Mark(ohm, beyond)
	if !a.Known || a.Highest > a.Lowest {
		return doubt.Budget{}, false
	}
	b := doubt.Budget{Unit: c.unit.Symbol()}
	var slope float64
	if a.Outside {
		t, _ := c.tangent(float64(c.direction)*float64(ohm) > c.cubic.y[len(c.cubic.y)-1])
		slope = t.slope
		b.Lines = append(b.Lines, doubt.Line{Quantity: lineEnd, Value: float64(ohm), Unit: c.signal.Symbol(), U: float64(a.UOhm), Distribution: doubt.Normal, DF: math.Inf(1), Sensitivity: 1})
	} else {
		at := c.placeOf(a.Mark)
		slope = at.slope
		c.sources(at, func(l doubt.Line) { b.Lines = append(b.Lines, l) })
	}
	if !(slope > 0) {
		return doubt.Budget{}, false
	}
	if c.repeat.DF > 0 {
		b.Lines = append(b.Lines, doubt.Line{Quantity: lineOnce, Value: float64(ohm), Unit: c.signal.Symbol(), U: c.repeat.SD, Distribution: doubt.StudentT, DF: float64(c.repeat.DF), Sensitivity: 1})
	}
	// Ohms to marks as shown.
	for i := range b.Lines {
		b.Lines[i].Sensitivity *= float64(c.direction) / (slope * c.shownUnit())
	}
	return b, true
}

// pieceOf gives the piece of the curve that a mark within the readings is on.
func (c *Curve) pieceOf(mark float64) int {
	i := 0
	for i < len(c.points)-2 && c.points[i+1].Mark < mark {
		i++
	}
	return i
}

// slopeAt gives |dR/dmark| at a mark on piece i. The steeper of the curve's own
// slope and that of the straight line between the neighbours is taken, so that
// a curve that starts level isn't held to be flat.
func (c *Curve) slopeAt(i int, mark float64) float64 {
	secant := (c.cubic.y[i+1] - c.cubic.y[i]) / (c.cubic.x[i+1] - c.cubic.x[i])
	return max(c.cubic.Slope(mark), secant)
}
