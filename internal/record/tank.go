package record

import (
	"fmt"

	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// tank is one tank with everything worked out of it that can be; what can't is
// nil, and the error says why.
type tank struct {
	job.Tank
	id     string
	accent chart.Accent
	unit   curve.MarkUnit
	units  quantity.Units // in which figures are shown
	runs   bool           // how long each load runs by itself is told, which takes a while to reckon

	curve    *curve.Curve
	curveErr error
	scale    scale.Scale
	scaleErr error
	filling  *scale.Filling // nil where what is in the tank isn't known by a shape
	keyed    span.Setting   // nil where nothing usable was keyed in
	keyedErr error
	trial    span.Trial // of keyed on curve; Rows is nil without either
	proofs   []job.Proved
	proofErr error

	later     []laterCheck // checks of the sender itself after the record
	laterLeft int          // those before, which aren't judged
}

func build(t job.Tank, id string, accent chart.Accent) tank {
	b := tank{Tank: t, id: id, accent: accent, unit: t.Unit()}
	b.curve, b.curveErr = t.Curve()
	b.set()
	b.proofs, b.proofErr = t.Proofs()
	return b
}

// set works out what the tank's setting makes of its curve.
func (b *tank) set() {
	t := b.Tank
	b.keyed, b.keyedErr, b.trial = nil, nil, span.Trial{}
	b.scale, b.scaleErr = t.Scale()
	if empty, full := b.scale.Ends(); b.scaleErr == nil && !(full > empty) {
		b.scaleErr = fmt.Errorf("a permitted fill of %g %% leaves no scale between its marks", t.PermittedFillPct)
	}
	b.filling = fillingOf(t, b.scale, b.scaleErr)
	if t.Setting != nil {
		b.keyed, b.keyedErr = t.Setting.Keyed()
		// Figures on a scale that was refused are not shown, whatever was
		// keyed in.
		if b.scaleErr != nil {
			b.keyed, b.keyedErr = nil, b.scaleErr
		}
	}
	if b.keyed != nil && b.curve != nil {
		b.trial = span.Try(b.curve, b.scale, b.keyed)
	}
}

// fillingOf gives how full the tank is at its marks, where it has a shape or its
// scale goes through what is in it.
func fillingOf(t job.Tank, s scale.Scale, scaleErr error) *scale.Filling {
	if t.Shape != nil {
		if f, err := t.Filling(); err == nil {
			return &f
		}
		return nil
	}
	if f, ok := s.Filling(); ok && scaleErr == nil {
		return &f
	}
	return nil
}

// litres says whether litres can be told beside the marks, which aren't litres
// themselves.
func (b tank) litres() bool {
	return b.filling != nil && b.filling.Capacity > 0 && b.unit != curve.Volume
}

// glance is the tank in one line.
func (b tank) glance() Glance {
	g := Glance{KeyIn: "nothing keyed in yet", Proof: "not checked yet"}
	if b.keyed != nil {
		g.KeyIn = b.keyed.String()
		switch s := b.keyed.(type) {
		case span.Table:
			g.KeyIn = fmt.Sprintf("a table of %d entries", len(s))
		case span.EndsThenTable:
			g.KeyIn = fmt.Sprintf("%s %s, then a table of %d entries", s.Ends, b.Signal().Unit(), len(s.Table))
		default:
			g.KeyIn += " " + b.Signal().Unit()
		}
	}
	for _, p := range b.proofs { // the last one stands
		if p.Check.When == job.AsLeft {
			g.Proof = verdict(p.Proof)
		}
	}
	for i := len(b.later) - 1; i >= 0; i-- { // the last one that was judged
		if c := b.later[i]; !c.empty && c.err == nil {
			g.Proof += "; later check"
			if on := day(c.bench.Date); on != "" {
				g.Proof += " of " + on
			}
			g.Proof += ": " + c.verdict()
			break
		}
	}
	return g
}

// blocks is the tank from top to bottom.
func (b tank) blocks() []Block {
	blocks := []Block{b.facts()}
	if list := b.Cautions(); len(list) > 0 {
		blocks = append(blocks, Cautions{cleaned(list)})
	}
	if todo := b.todo(); len(todo.List) > 0 {
		blocks = append(blocks, todo)
	}
	if b.keyed != nil {
		blocks = append(blocks, b.keyIn())
	}
	blocks = append(blocks, b.meaning()...)
	if figure, ok := b.shapeFigure(); ok {
		blocks = append(blocks, figure)
	}
	if b.curve != nil {
		blocks = append(blocks, b.curveFigure())
	}
	if b.trial.Rows != nil {
		blocks = append(blocks, b.rulers(nil), b.shownTable())
	}
	if f := b.findings(); len(f.List) > 0 {
		blocks = append(blocks, f)
	}
	if f := b.claims(); len(f.List) > 0 {
		blocks = append(blocks, f)
	}
	later := b.comesLater()
	for i, p := range b.proofs {
		if !later[i] {
			blocks = append(blocks, b.checkTable(i, p))
		}
	}
	blocks = append(blocks, b.laterBlocks()...)
	if b.curve != nil {
		if t, ok := b.budgetTable(); ok {
			blocks = append(blocks, t)
		}
	}
	if len(b.Bench.Readings) > 0 {
		blocks = append(blocks, b.strip())
	}
	return blocks
}

// facts is what the tank is and how it was read.
func (b tank) facts() Facts {
	var f Facts
	capacity, name := "", "Capacity"
	if b.WaterCapacityL > 0 {
		capacity = quantity.Short(b.WaterCapacityL, 1) + " L"
	}
	if b.Shape != nil && b.filling != nil {
		if byShape := quantity.Short(float64(b.filling.Capacity)*1000, 1) + " L by its shape"; capacity == "" {
			capacity = byShape
		} else {
			capacity += " stated, " + byShape
		}
	}
	if b.Contents == job.LPG {
		name = "Water capacity"
	}
	f.List = append(f.List, fact(name, capacity))
	if b.Contents == job.LPG || b.PermittedPct() > 0 {
		permitted := ""
		switch {
		case b.fillRefused():
			permitted = fmt.Sprintf("%s %% was stated, above the %d %% that is accepted for LPG: find out", quantity.Short(b.PermittedPct(), 2), job.MaxLPGFillPct)
		case b.PermittedPct() > 0:
			permitted = quantity.Short(b.PermittedPct(), 2) + " %"
			if litres := b.leastCapacity(); litres > 0 {
				// Cut, not rounded: it must never say more than is permitted.
				permitted += fmt.Sprintf(" (%s L)", quantity.Short(downward(litres*b.PermittedPct()/100), 1))
			}
		}
		f.List = append(f.List, fact("Permitted fill", permitted))
	}
	if heel, ok := b.Heel(); ok {
		f.List = append(f.List, fact("Left when nothing more can be drawn", quantity.Short(float64(heel)*1000, 1)+" L"))
	}
	f.List = append(f.List, fact("Sender", b.Sender.Description))
	for _, known := range []Fact{fact("Sender type", b.Sender.Type), fact("Batch", b.Sender.Batch), fact("Serial number", b.Sender.Serial)} {
		if !known.Missing {
			f.List = append(f.List, known)
		}
	}
	if b.Sender.Known != nil {
		f.List = append(f.List, fact("Curve known from", b.Sender.Known.From))
	}
	if n := len(b.Bench.Readings); n > 0 {
		count := "1 reading"
		if n > 1 {
			count = fmt.Sprintf("%d readings", n)
		}
		if by := byOn(b.Bench.By, b.Bench.Date); by != "" {
			count += ", " + by
		}
		f.List = append(f.List, fact("Bench", count), fact("Meter", b.Bench.Meter))
		temperature := ""
		if b.Bench.TemperatureC != nil {
			temperature = quantity.Minus(quantity.Short(*b.Bench.TemperatureC, 1)) + " °C"
		}
		f.List = append(f.List, fact("Temperature of the sender", temperature), b.doubtsFact())
	}
	return f
}

// fillRefused says whether the permitted fill stated is one that must not be
// shown as if it held.
func (b tank) fillRefused() bool {
	return b.Contents == job.LPG && b.PermittedPct() > job.MaxLPGFillPct
}

// leastCapacity gives the water capacity in litres, the lesser of what is stated
// and what the shape holds; 0 where neither is known.
func (b tank) leastCapacity() float64 {
	if b.Shape == nil || b.filling == nil {
		return b.WaterCapacityL
	}
	shape := float64(b.filling.Capacity) * 1000
	if b.WaterCapacityL == 0 {
		return shape
	}
	return min(shape, b.WaterCapacityL)
}

// todo is what the work on this tank still lacks.
func (b tank) todo() Todo {
	var t Todo
	for _, step := range b.Summary() {
		if !step.Done {
			t.List = append(t.List, clean(step.String()))
		}
	}
	if n := len(b.later); n > 0 {
		if c := b.later[n-1]; c.todo() != "" && !b.setAfter(c) && !b.leftWell(c) {
			t.List = append(t.List, fmt.Sprintf("After the later check of %s: %s, as said beneath that check.", orElse(day(c.bench.Date), "a day that isn't stated"), c.todo()))
		}
	}
	return t
}

// findings is what the sender was found to do.
func (b tank) findings() Findings {
	f := Findings{Heading: "What the sender does"}
	for _, found := range b.Findings() {
		f.List = append(f.List, SentenceOf(found))
	}
	if b.curveErr != nil && len(b.Bench.Readings) > 0 {
		f.List = append(f.List, weighed(finding.Bad, "No curve could be made: "+b.curveErr.Error()+"."))
		return f
	}
	if b.curve != nil {
		for _, found := range b.curve.Findings() {
			f.List = append(f.List, SentenceOf(found))
		}
	}
	return f
}

// claims is what the readings say of the spans in the data sheet.
func (b tank) claims() Findings {
	f := Findings{Heading: "Spans as claimed"}
	var claims []curve.Claim
	for _, c := range b.Claims() {
		if c.Empty != c.Full { // a claim of one value is no span
			claims = append(claims, c)
		}
	}
	empty, full, err := b.Ends()
	if b.curve == nil || err != nil || len(claims) == 0 {
		return f
	}
	odds, err := b.curve.Odds(curve.AsStated(claims), b.unit.FromShown(empty), b.unit.FromShown(full))
	if err != nil {
		f.List = append(f.List, weighed(finding.Doubt, "The claimed spans can't be judged: "+err.Error()+"."))
		return f
	}
	for _, found := range b.curve.OddsFindings(odds) {
		s := SentenceOf(found)
		if found.Weight == finding.Note {
			s.Word = ""
		}
		f.List = append(f.List, s)
	}
	return f
}

func cleaned(list []string) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = clean(s)
	}
	return out
}
