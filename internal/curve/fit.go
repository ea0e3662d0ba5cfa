package curve

import (
	"fmt"
	"math"

	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Direction says which way the ohms go as the mark rises.
type Direction int

const (
	// Rising: more ohms at a higher mark.
	Rising Direction = 1
	// Falling: fewer ohms at a higher mark.
	Falling Direction = -1
)

// String gives "rising" or "falling".
func (d Direction) String() string {
	if d == Falling {
		return "falling"
	}
	return "rising"
}

// Options changes how a curve is fitted. The zero value is the usual way.
type Options struct {
	// KeepAll keeps readings that would be set aside as suspected mistakes.
	KeepAll bool
	// Doubts is what is known of the bench besides the readings.
	Doubts Doubts
}

// Point is one mark of the curve.
type Point struct {
	Mark     float64      // share, m, m³ or kg
	Ohm      quantity.Ohm // on the curve
	U        quantity.Ohm // its standard uncertainty
	N        int          // readings pooled; 0 where the curve isn't fitted to readings
	Measured quantity.Ohm // the pooled readings before order was restored
}

// Curve is the monotone relation between mark and ohms of one sender, with
// what the readings say of its errors. It doesn't change once fitted and may
// be used from several goroutines. [Fit] makes one of readings, [FromKnots] of
// what is known without any.
type Curve struct {
	unit       MarkUnit
	signal     Signal
	direction  Direction
	points     []Point
	cubic      *Cubic // of direction × ohms over marks
	readings   []Reading
	sweeps     []Sweep
	setAside   []bool // readings not used, by index
	disorder   string // how the ohms fail to keep one direction, or ""
	largest    float64
	smallest   float64
	resolution float64
	doubts     Doubts
	repeat     doubt.Pooled
	hysteresis Hysteresis
	findings   []finding.Finding
	source     *Source // of a curve that isn't fitted to readings; nil for others
}

// Hysteresis is the largest difference between the ohms read going up and
// those read going down. Source of the term: IEC 61298-2.
type Hysteresis struct {
	Known bool         // some mark was read both ways
	Ohm   quantity.Ohm // 0 or more
	Mark  float64      // where it stands
	// UpHigher says that the upward reading was the higher one there.
	UpHigher bool

	marks   int     // how many marks were read both ways
	scatter float64 // 1/n up + 1/n down at that mark: variance of the difference in s²
}

// SheetError says why no curve can be made of a sheet: the readings can't be
// used. Line is where, or 0 where it concerns them all.
type SheetError struct {
	Line int
	Text string
}

func (e *SheetError) Error() string { return e.Text }

// SenderError says that the readings are fine and the sender isn't: it gives
// the same ohms whatever its position, or no order at all.
type SenderError struct{ Text string }

func (e *SenderError) Error() string { return e.Text }

// Fit makes the curve of a sheet of two or more readings at two or more marks.
//
// A *SheetError means that the readings can't be used, a *SenderError that
// they show a sender that doesn't move. A sender that moves but keeps no order
// gives a curve with a finding of weight Bad.
func Fit(sheet Sheet, options Options) (*Curve, error) {
	if err := usable(sheet); err != nil {
		return nil, err
	}
	c := &Curve{
		unit:     sheet.Unit,
		signal:   sheet.Signal,
		readings: append([]Reading(nil), sheet.Readings...),
		setAside: make([]bool, len(sheet.Readings)),
		doubts:   options.Doubts,
	}
	c.resolution = resolutionOf(c.readings, c.signal)
	if p := c.doubts.Pouring; p != nil {
		if c.unit != Volume {
			return nil, &SheetError{0, fmt.Sprintf("the marks are in %s; poured amounts are the doubt of marks in L", c.unit.Symbol())}
		}
		if err := p.Check(); err != nil {
			return nil, &SheetError{0, err.Error()}
		}
	}
	if err := c.takeOffLeads(); err != nil {
		return nil, err
	}
	c.lookForFailures()
	var fromOrder bool
	c.sweeps, fromOrder = sweepsOf(c.readings)

	groups := groupByMark(c.readings, c.sweeps, c.setAside)
	if !options.KeepAll {
		_, y := c.pooled(groups)
		for _, i := range wildRepeats(c.readings, groups, spread(y)) {
			c.setAside[i] = true
			c.say("outlier", finding.Doubt, "Reading %s at %s is far from the others at that mark and was set aside: repeat it.",
				c.signal.Text(c.readings[i].Ohm), c.unit.Text(c.readings[i].Mark))
		}
		groups = groupByMark(c.readings, c.sweeps, c.setAside)
	}
	x, y := c.pooled(groups)
	c.direction = directionOf(y)
	turn(y, c.direction)
	x, y, groups = c.settleOrder(x, y, groups, options)

	c.repeat = doubt.Pool(repeats(c.readings, groups))
	c.hysteresis = hysteresisOf(c.readings, groups)
	weights := make([]float64, len(groups))
	for i, g := range groups {
		weights[i] = float64(len(g.all()))
	}
	ordered := Isotonic(y, weights)
	n := len(ordered)
	for i, v := range ordered {
		// Means that differ by their rounding alone are one flat stretch.
		ordered[i] = quantity.Round(v, 9)
	}
	if !(ordered[n-1] > ordered[0]) {
		return nil, &SenderError{fmt.Sprintf("the %s keep no order over the marks (%s at %s, %s at %s, up and down between): no curve can be made; check the float or dial, the leads and the track",
			c.signal.Figures(), c.signal.Text(quantity.Ohm(math.Abs(y[0]))), c.unit.Text(x[0]), c.signal.Text(quantity.Ohm(math.Abs(y[n-1]))), c.unit.Text(x[n-1]))}
	}
	c.cubic = NewCubic(x, ordered)
	c.points = make([]Point, n)
	for i, g := range groups {
		c.points[i] = Point{
			Mark:     x[i],
			Ohm:      c.turned(ordered[i]),
			Measured: c.turned(y[i]),
			N:        len(g.all()),
		}
	}
	for i := range c.points {
		c.points[i].U = quantity.Ohm(c.uOhm(c.placeOf(x[i])))
	}
	c.smallest, c.largest = math.Inf(1), 0
	for i, r := range c.readings {
		if !c.setAside[i] {
			c.smallest, c.largest = min(c.smallest, float64(r.Ohm)), max(c.largest, float64(r.Ohm))
		}
	}
	c.describe(fromOrder)
	return c, nil
}

// takeOffLeads subtracts the reading of the shorted test leads.
func (c *Curve) takeOffLeads() error {
	leads := c.doubts.Leads
	if leads == 0 {
		return nil
	}
	if c.signal != Ohms {
		return &SheetError{0, fmt.Sprintf("shorted test leads are taken off ohms; the readings are in %s", c.signal.Symbol())}
	}
	for i := range c.readings {
		r := &c.readings[i]
		if r.Ohm < leads {
			return &SheetError{r.Line, fmt.Sprintf("%s is less than the shorted test leads alone (%s); read the leads again", r.Ohm, leads)}
		}
		r.Ohm = quantity.Ohm(quantity.Round(float64(r.Ohm-leads), 9))
	}
	return nil
}

// usable refuses sheets from which nothing can be made.
func usable(sheet Sheet) error {
	n := len(sheet.Readings)
	if n == 0 {
		return &SheetError{0, "no readings; a curve needs at least two, at different marks"}
	}
	for _, r := range sheet.Readings {
		if math.IsNaN(r.Mark) || math.IsInf(r.Mark, 0) {
			return &SheetError{r.Line, fmt.Sprintf("the mark %g is not a position", r.Mark)}
		}
		if limit := sheet.Signal.Limit(); !(r.Ohm >= 0 && r.Ohm <= limit) {
			return &SheetError{r.Line, fmt.Sprintf("%g %s can't come from a level sender; expected 0 to %g", float64(r.Ohm), sheet.Signal.typed(), float64(limit))}
		}
	}
	first := sheet.Readings[0]
	if n == 1 {
		return &SheetError{first.Line, "one reading only; a curve needs at least two, at different marks"}
	}
	sameMark, sameOhm := true, true
	for _, r := range sheet.Readings[1:] {
		sameMark = sameMark && r.Mark == first.Mark
		sameOhm = sameOhm && r.Ohm == first.Ohm
	}
	if sameMark {
		return &SheetError{first.Line, fmt.Sprintf("all %d readings are at the mark %s; a curve needs at least two different marks", n, sheet.Unit.Text(first.Mark))}
	}
	if sameOhm {
		return &SenderError{fmt.Sprintf("all %d readings are %s: the sender doesn't move, or the meter isn't on its two wires; check the float or dial and the leads", n, sheet.Signal.Text(first.Ohm))}
	}
	return nil
}

// settleOrder sets aside marks that break the order beyond noise, and says so.
func (c *Curve) settleOrder(x, y []float64, groups []group, options Options) ([]float64, []float64, []group) {
	suspects, hopeless := outOfOrder(x, y, orderPart*spread(y))
	if hopeless {
		c.disorder = fmt.Sprintf("The %s don't keep one direction: %s. No two end values and no table can make sense of that; check the float or dial, the leads and the track.", c.signal.Figures(), c.turns(x, y))
		c.say("not-monotone", finding.Bad, "%s", c.disorder)
		return x, y, groups
	}
	for _, s := range suspects {
		g := groups[s]
		all := g.all()
		ohms := ohmsOf(c.readings, all)
		agree := len(all) > 1 && spread(ohms) < orderPart*spread(y)
		mark, ohm := c.unit.Text(g.mark), c.signal.Text(quantity.Ohm(doubt.Mean(ohms)))
		switch {
		case agree:
			c.say("dropout", finding.Bad, "At %s the sender gave %s %d times, far out of line with the marks beside it: the track or the windings are damaged there. The curve leaves that mark out.", mark, ohm, len(all))
		case options.KeepAll:
			c.say("outlier", finding.Doubt, "The reading %s at %s is far out of line with the marks beside it: repeat it.", ohm, mark)
		default:
			c.say("outlier", finding.Doubt, "The reading %s at %s is far out of line with the marks beside it and was set aside: repeat it; if it comes again, the track is damaged there.", ohm, mark)
		}
		if options.KeepAll && !agree {
			continue
		}
		for _, i := range all {
			c.setAside[i] = true
		}
	}
	groups = groupByMark(c.readings, c.sweeps, c.setAside)
	x, y = c.pooled(groups)
	turn(y, c.direction)
	return x, y, groups
}

// turns describes where the ohms turn back, for a sender without order.
func (c *Curve) turns(x, y []float64) string {
	low, high := 0, 0
	for i := range y {
		if y[i] < y[low] {
			low = i
		}
		if y[i] > y[high] {
			high = i
		}
	}
	n := len(y) - 1
	at := func(i int) string { return fmt.Sprintf("%s at %s", c.signal.Text(c.turned(y[i])), c.unit.Text(x[i])) }
	switch {
	case high != 0 && high != n:
		return fmt.Sprintf("%s, then %s, then %s", at(0), at(high), at(n))
	case low != 0 && low != n:
		return fmt.Sprintf("%s, then %s, then %s", at(0), at(low), at(n))
	}
	return "they go up and down between " + at(low) + " and " + at(high)
}

func (c *Curve) pooled(groups []group) (x, y []float64) {
	x, y = make([]float64, len(groups)), make([]float64, len(groups))
	for i, g := range groups {
		x[i], y[i] = g.mark, pooledOhm(c.readings, g)
	}
	return x, y
}

// turned gives ohms from their value in the rising orientation.
func (c *Curve) turned(y float64) quantity.Ohm { return quantity.Ohm(float64(c.direction) * y) }

func (c *Curve) say(kind string, weight finding.Weight, format string, args ...any) {
	c.findings = append(c.findings, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
}

// turn changes the sign of y for a falling sender, so that it should rise.
func turn(y []float64, d Direction) {
	for i := range y {
		y[i] *= float64(d)
	}
}

// directionOf gives the direction whose order the pooled ohms break least.
func directionOf(y []float64) Direction {
	miss := func(d Direction) float64 {
		turned, w := append([]float64(nil), y...), make([]float64, len(y))
		turn(turned, d)
		for i := range w {
			w[i] = 1
		}
		sum := 0.0
		for i, f := range Isotonic(turned, w) {
			sum += (turned[i] - f) * (turned[i] - f)
		}
		return sum
	}
	if miss(Falling) < miss(Rising) {
		return Falling
	}
	return Rising
}

func hysteresisOf(readings []Reading, groups []group) Hysteresis {
	var h Hysteresis
	for _, g := range groups {
		if len(g.up) == 0 || len(g.down) == 0 {
			continue
		}
		up, down := doubt.Mean(ohmsOf(readings, g.up)), doubt.Mean(ohmsOf(readings, g.down))
		if d := quantity.Ohm(math.Abs(up - down)); !h.Known || d > h.Ohm {
			h = Hysteresis{Known: true, Ohm: d, Mark: g.mark, UpHigher: up > down, marks: h.marks,
				scatter: 1/float64(len(g.up)) + 1/float64(len(g.down))}
		}
		h.marks++
	}
	return h
}

func spread(values []float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		lo, hi = min(lo, v), max(hi, v)
	}
	return hi - lo
}
