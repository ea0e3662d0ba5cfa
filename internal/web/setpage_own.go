package web

import (
	"math"

	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// ownBody is the two sliders.
type ownBody struct {
	Sliders []setSlider
	Figures string // what is keyed in: "ohms"
}

// setSlider is one of them with its field.
type setSlider struct {
	Field, Name string
	Text, Bad   string // what stands in the field, and what is wrong with it
	At          string // where the setSlider stands
	Low, High   string
	Step        string
	Unit        string
}

// ownOf gives the sliders: over what the sender gives and some way beyond, in the
// steps of the readout.
func ownOf(at *tankAt, p telling.Proposal, w *wished) *ownBody {
	signal := p.Curve.Signal()
	step := float64(signal.Step())
	if w.wish.Step != nil && *w.wish.Step > 0 {
		step = *w.wish.Step
	} else if w.wish.Step != nil {
		step = math.Pow(10, -float64(signal.Decimals())) // any value: the last digit that is shown
	}
	ends, _ := startsAt(at, p, w).(span.Ends)
	best, _ := p.Best.Setting.(span.Ends)
	least, greatest := p.Curve.Range()
	travel := greatest - least
	low, high := max(0, least-travel/4), greatest+travel/2
	for _, v := range []quantity.Ohm{ends.Lower, ends.Upper, best.Lower, best.Upper} {
		low, high = min(low, v), max(high, v)
	}
	from, to := math.Floor(float64(low)/step)*step, math.Ceil(float64(high)/step)*step
	b := &ownBody{Figures: signal.Figures()}
	for _, f := range []struct {
		name string
		v    quantity.Ohm
	}{{"lower", ends.Lower}, {"upper", ends.Upper}} {
		at := quantity.Short(float64(f.v), 4)
		text := at
		if w.text["lower"] != "" || w.text["upper"] != "" { // as it was typed, right or wrong
			text = w.text[f.name]
		}
		b.Sliders = append(b.Sliders, setSlider{Field: f.name, Name: fieldNames[f.name], Text: text, Bad: w.bad[f.name], At: at,
			Low: quantity.Short(from, 4), High: quantity.Short(to, 4), Step: quantity.Short(step, 4), Unit: signal.Unit()})
	}
	return b
}
