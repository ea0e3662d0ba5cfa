package curve

import (
	"fmt"
	"math"

	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Knot is one mark at which a curve is known without readings of its own.
type Knot struct {
	Mark float64      // share, m, m³ or kg
	Ohm  quantity.Ohm // in the signal's shown unit, 0 or more
	U    quantity.Ohm // its standard uncertainty, all in: twice it is to reach about 95 %
}

// Source is where a curve comes from that isn't fitted to readings.
type Source struct {
	// From says it in words, to stand after a colon: "sender type …, 7 units".
	From string
	// Repeat is how one reading of the sender scatters, as far as it is known; the
	// zero value isn't.
	Repeat doubt.Pooled
	// Readings are readings of the sender that are counted in already, for
	// [Curve.Used]; the knots aren't moved by them.
	Readings []Reading
	// Findings are told besides those of the curve.
	Findings []finding.Finding
}

// MostKnots is how many knots a curve may be known by.
const MostKnots = 1000

// FromKnots makes a curve of knots, two or more with rising marks, whose ohms
// never turn back. It can be used wherever a fitted one is, with these
// differences: its points rest on no readings (N is 0); hysteresis isn't known,
// and repeatability only as the source tells it; its budget is one line, the
// knots' own U, besides the course between them. A doubt at one knot is taken to
// be shared by all, as an offset or a gain is, so that many knots don't make the
// ends better known than each is.
//
// Errors are *SheetError for knots that can't be used, and *SenderError where
// all ohms are the same.
func FromKnots(unit MarkUnit, signal Signal, knots []Knot, source Source) (*Curve, error) {
	n := len(knots)
	if n < 2 || n > MostKnots {
		return nil, &SheetError{0, fmt.Sprintf("the curve is known at %d marks; expected 2 to %d", n, MostKnots)}
	}
	c := &Curve{unit: unit, signal: signal, direction: Rising, source: &source, repeat: source.Repeat}
	if knots[n-1].Ohm < knots[0].Ohm {
		c.direction = Falling
	}
	x, y := make([]float64, n), make([]float64, n)
	c.points = make([]Point, n)
	c.smallest, c.largest = math.Inf(1), 0
	for i, k := range knots {
		if err := k.usable(signal); err != nil {
			return nil, err
		}
		x[i], y[i] = k.Mark, float64(c.direction)*float64(k.Ohm)
		c.points[i] = Point{Mark: k.Mark, Ohm: k.Ohm, U: k.U, Measured: k.Ohm}
		c.smallest, c.largest = min(c.smallest, float64(k.Ohm)), max(c.largest, float64(k.Ohm))
		if i == 0 {
			continue
		}
		if !(k.Mark > knots[i-1].Mark) {
			return nil, &SheetError{0, fmt.Sprintf("the mark %s doesn't lie above the one before it, %s; the marks of a curve rise", unit.Text(k.Mark), unit.Text(knots[i-1].Mark))}
		}
		if y[i] < y[i-1] {
			return nil, &SheetError{0, fmt.Sprintf("the %s turn back between %s and %s (%s, then %s) against the rest of the curve", signal.Figures(),
				unit.Text(knots[i-1].Mark), unit.Text(k.Mark), signal.Text(knots[i-1].Ohm), signal.Text(k.Ohm))}
		}
	}
	if !(y[n-1] > y[0]) {
		return nil, &SenderError{fmt.Sprintf("all %d marks give %s: a sender that doesn't move has no curve", n, signal.Text(knots[0].Ohm))}
	}
	c.cubic = NewCubic(x, y)
	c.readings = append([]Reading(nil), source.Readings...)
	c.setAside = make([]bool, len(c.readings))
	c.sweeps = make([]Sweep, len(c.readings))
	for i, r := range c.readings {
		c.sweeps[i] = r.Sweep
		c.smallest, c.largest = min(c.smallest, float64(r.Ohm)), max(c.largest, float64(r.Ohm))
	}
	c.describeKnown()
	return c, nil
}

// usable refuses what is no place on the curve of a sender.
func (k Knot) usable(signal Signal) error {
	limit := signal.Limit()
	switch {
	case math.IsNaN(k.Mark) || math.IsInf(k.Mark, 0):
		return &SheetError{0, fmt.Sprintf("the mark %g is not a position", k.Mark)}
	case !(k.Ohm >= 0 && k.Ohm <= limit):
		return &SheetError{0, fmt.Sprintf("%g %s can't come from a level sender; expected 0 to %g", float64(k.Ohm), signal.typed(), float64(limit))}
	case !(k.U >= 0) || math.IsInf(float64(k.U), 0):
		return &SheetError{0, fmt.Sprintf("a standard uncertainty of %g %s can't be; expected 0 or more", float64(k.U), signal.typed())}
	}
	return nil
}

// Source tells where a curve comes from that was made by [FromKnots]; false for
// one fitted to readings.
func (c *Curve) Source() (Source, bool) {
	if c.source == nil {
		return Source{}, false
	}
	return *c.source, true
}

// known says that the curve isn't fitted to readings.
func (c *Curve) known() bool { return c.source != nil }

// DoubtWords says, for a caption, where the curve's doubt comes from.
func (c *Curve) DoubtWords() string {
	if c.known() {
		return "what is known of it beforehand: " + c.source.From
	}
	return c.doubts.Words()
}

// describeKnown puts what a curve without readings of its own shows into
// sentences.
func (c *Curve) describeKnown() {
	first, last := c.points[0], c.points[len(c.points)-1]
	c.say("direction", finding.Note, "%s: %s at %s, %s at %s.", capital(c.direction.String()),
		c.signal.Text(first.Ohm), c.unit.Text(first.Mark), c.signal.Text(last.Ohm), c.unit.Text(last.Mark))
	c.say("known", finding.Note, "This curve isn't fitted to readings alone; it comes from: %s.", c.source.From)
	c.findings = append(c.findings, c.source.Findings...)
	if c.unit == Dial && (first.Mark > 0.005 || last.Mark < 0.995) {
		c.say("not-reached", finding.Note, "It is known from %s to %s of the dial; what the sender gives beyond isn't.", c.unit.Text(first.Mark), c.unit.Text(last.Mark))
	}
	c.say("hysteresis", finding.Note, "Hysteresis isn't known of it.")
	if c.repeat.DF > 0 {
		c.say("repeatability", finding.Note, "Repeatability %s %s (one standard deviation), as it is known beforehand.", quantity.Digits(c.repeat.SD, c.signal.Decimals()+1), c.signal.Unit())
	} else {
		c.say("repeatability", finding.Note, "Repeatability isn't known of it.")
	}
	l := c.Linearity()
	c.say("linearity", finding.Note, "Off a straight line by %s of span at best (independent), %s from end to end (terminal-based), %s from the lower end (zero-based).",
		percent(l.Independent), percent(l.Terminal), percent(l.Zero))
	c.describeTravel(float64(c.Span()))
}

// ResolutionOf gives the step of the meter as far as readings show it, in the
// signal's unit: the coarsest power of ten of which all are whole multiples.
func ResolutionOf(readings []Reading, signal Signal) quantity.Ohm {
	return quantity.Ohm(resolutionOf(readings, signal))
}

// Scatter takes the standard uncertainty of the ohms at a mark within the
// readings apart: own is what is each mark's own (repeats, the last digit, a
// misread mark, the order put right, the course between marks), common what all
// marks share (hysteresis, the meter, the leads, the temperature, poured
// amounts). Of a curve from knots all is common.
func (c *Curve) Scatter(mark float64) (own, common float64) {
	c.sources(c.placeOf(mark), func(l doubt.Line) {
		part := &common
		switch l.Quantity {
		case lineRepeat, lineDigit, lineMark, lineOrder, lineShape:
			part = &own
		}
		*part = math.Hypot(*part, l.Contribution())
	})
	return own, common
}
