package docket

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// points gives a part of the scale in points: "6.0".
func points(v float64) string { return quantity.Digits(100*v, 1) }

// percent gives a level: "61 %".
func percent(v float64) string { return quantity.Digits(100*v, 0) + " %" }

// unusable says why an amount can't be used.
func (t *Tank) unusable(d Docket) string {
	if d.Kilograms > 0 && t.Densities == nil {
		return "What a litre weighs isn't known, so kilograms can't be held against the rise; state what is in the tank."
	}
	return "What the tank holds isn't known yet, so it can't be held against the rise."
}

// judge puts a verdict on a docket into words.
func (t *Tank) judge(v *Verdict, p *posterior) {
	s := v.Seen
	d := s.Docket
	if d.Kind == Receipt && !d.Struck {
		v.Caution = t.tooMuch(s)
	}
	switch {
	case v.Sentence != "" && !(d.Kind == Receipt && v.Counts):
		return
	case d.Kind == Stopped:
		v.Sentence = fmt.Sprintf("The pump stopped by itself, at %s or a little less; the sender showed %s.", percent(t.level(t.permitted())), percent(s.After))
	case d.Kind == RanOut:
		v.Sentence = fmt.Sprintf("It had run out; the sender showed %s.", percent(s.After))
	case d.Kind == Weighed:
		v.Sentence = fmt.Sprintf("It was weighed; the sender showed %s.", percent(s.After))
	default:
		together := v.Sentence
		v.Sentence = t.judgeReceipt(v, p)
		if together != "" {
			v.Sentence = v.Sentence + " " + together
		}
		return
	}
	if !v.Counts {
		v.Sentence = fmt.Sprintf("%s The other dockets contradict that, so it doesn't count.", v.Sentence)
	}
}

// said gives the amount of a docket in words: as it was given, and for gas what that comes
// to in the tank, where vapour condenses under it.
func (t *Tank) said(d Docket, m3 float64) string {
	switch {
	case d.Kilograms > 0:
		return fmt.Sprintf("%s (%s)", t.Units.MassText(quantity.Kilogram(d.Kilograms)), t.litres(m3))
	case t.Gas && t.Densities != nil:
		return fmt.Sprintf("%s (%s in the tank)", t.litres(d.Litres/1000), t.litres(m3))
	}
	return t.litres(d.Litres / 1000)
}

// judgeReceipt holds a receipt against the rise.
func (t *Tank) judgeReceipt(v *Verdict, p *posterior) string {
	s := v.Seen
	m3, u, _ := t.liquid(s.Docket)
	if math.IsNaN(v.Rise) {
		if !v.Counts {
			return "It doesn't go with what is known of the tank from before and after, so it doesn't count."
		}
		return "The sender showed no level on one side of it, where a known moment stands in; it counts."
	}
	rise, half := v.Rise/1000, (v.High-v.Low)/2000
	said, rose := t.said(s.Docket, m3), t.litres(max(0, rise))
	if v.Wrong > 0.5 {
		if unit := t.another(s, p); unit != "" {
			return fmt.Sprintf("The docket says %s, and by the sender %s came in: the amount doesn't count. %s", said, rose, unit)
		}
		return fmt.Sprintf("The docket says %s, and by the sender %s came in, which is more apart than a sender can be off: the amount doesn't count. Is it of another tank, or mistyped?", said, rose)
	}
	apart := rise - m3
	switch doubt := math.Hypot(half, 1.645*m3*u); {
	case v.Sentence != "": // of several together, which judgement has them in one sum
		return fmt.Sprintf("By the sender %s came in.", rose)
	case math.Abs(apart) <= doubt:
		return fmt.Sprintf("The docket says %s, and by the sender %s ± %s came in: they agree.", said, rose, t.litres(half))
	case apart > 0:
		return fmt.Sprintf("The docket says %s, and by the sender %s ± %s came in: %s too much, beyond doubt.", said, rose, t.litres(half), t.litres(apart))
	default:
		return fmt.Sprintf("The docket says %s, and by the sender %s ± %s came in: %s too little, beyond doubt.", said, rose, t.litres(half), t.litres(-apart))
	}
}

// another says in which other unit a docket would fit; "" where in none.
func (t *Tank) another(s Seen, p *posterior) string {
	if len(p.draws) == 0 || s.After-s.Before < leastRise {
		return "" // anything small would fit
	}
	before, _ := t.seen(s.Before, 0)
	after, _ := t.seen(s.After, 0)
	var mean, square float64
	n := float64(len(p.draws))
	for k := range p.draws {
		e := &p.draws[k].e
		r := p.draws[k].kappa * (after - before + correction(e, after) - correction(e, before)) * float64(t.Full)
		mean, square = mean+r/n, square+r*r/n
	}
	u := math.Sqrt(max(0, square-mean*mean))
	u = math.Hypot(u, math.Hypot(s.UBefore, s.UAfter)*float64(t.Full))
	d := s.Docket
	best, words := 2.5, ""
	try := func(d Docket, text string) {
		m3, um, ok := t.liquid(d)
		if !ok {
			return
		}
		if z := math.Abs(m3-mean) / math.Hypot(max(u, 0.005*float64(t.Full)), m3*um); z < best {
			best, words = z, text
		}
	}
	if d.Litres > 0 {
		v := d.Litres
		for _, o := range []struct {
			litres, kg float64
			text       string
		}{
			{v * 3.785411784, 0, "It would fit as US gallons: was another unit meant?"},
			{v * 4.54609, 0, "It would fit as imperial gallons: was another unit meant?"},
			{0, v, "It would fit as kilograms: was another unit meant?"},
			{v / 3.785411784, 0, "It would fit if litres were typed as US gallons: was another unit meant?"},
			{v / 4.54609, 0, "It would fit if litres were typed as imperial gallons: was another unit meant?"},
			{v / 10, 0, "It would fit as a tenth of it: was the decimal point left out?"},
			{v * 10, 0, "It would fit as ten times of it: is the decimal point in the wrong place?"},
		} {
			if o.kg > 0 && t.Densities == nil {
				continue
			}
			try(Docket{Litres: o.litres, Kilograms: o.kg}, o.text)
		}
		return words
	}
	v := d.Kilograms
	try(Docket{Litres: v}, "It would fit as litres: was another unit meant?")
	try(Docket{Kilograms: v * 0.45359237}, "It would fit as pounds: was another unit meant?")
	try(Docket{Kilograms: v / 10}, "It would fit as a tenth of it: was the decimal point left out?")
	return words
}

// tooMuch says what has to be seen to where a docket says that more was filled in
// than may be; "" where it doesn't.
func (t *Tank) tooMuch(s Seen) string {
	m3, u, ok := t.liquid(s.Docket)
	if !ok || !(t.Full > 0) {
		return ""
	}
	least := m3 * (1 - 2*u)
	most := t.permitted() * float64(t.Full) * 1.02
	if least <= most {
		return ""
	}
	text := fmt.Sprintf("The docket says %s, and %s may be filled into the tank from empty: it was overfilled, another unit was meant, or its capacity is another.", t.said(s.Docket, m3), t.litres(t.permitted()*float64(t.Full)))
	if t.Gas {
		return text + " A tank that is filled beyond its permitted fill can burst when it warms: have it checked by someone licensed before it stands in the sun or is used."
	}
	return text
}

// cautions are those of what was learned.
func (t *Tank) cautions() []string {
	var list []string
	if t.Gas {
		list = append(list, "Never fill beyond the permitted fill. The filling stop decides when it is full, and no figure here does.")
	}
	return append(list, "A corrected level is no leak detector and no cut-off.")
}
