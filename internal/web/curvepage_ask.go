package web

import (
	"fmt"
	"net/url"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

// askBody is the questions put to a curve, as they were typed, and its answers.
type askBody struct {
	Value, Mark         asking
	Figures, Unit, Each string // "ohms", "Ω"; the unit of marks
}

// asking is one field and what came of it.
type asking struct {
	Text        string // as it was typed
	Bad         string // what is wrong with it
	Asked, Told string // the value, and the answer
}

// ask answers what stands in the address; the fault is of the first that can't be
// read.
func ask(c *curve.Curve, q url.Values) (body *askBody, fault string) {
	unit, signal := c.Unit(), c.Signal()
	body = &askBody{Figures: signal.Figures(), Unit: signal.Unit(), Each: unit.Symbol()}
	body.Value.Text, body.Mark.Text = strings.TrimSpace(q.Get("value")), strings.TrimSpace(q.Get("mark"))
	if a := &body.Value; a.Text != "" {
		v, bad := askedNumber(a.Text, float64(signal.Limit()), signal.Unit(), "36.2")
		if a.Bad = bad; bad == "" {
			answer := c.Mark(quantity.Ohm(v), curve.Refuse)
			a.Asked, a.Told = telling.MarkTold(c, answer, telling.IntervalOf(c, answer))
		}
	}
	if a := &body.Mark; a.Text != "" {
		v, bad := askedNumber(a.Text, unit.Limit(), unit.Symbol(), "40")
		if a.Bad = bad; bad == "" {
			a.Asked, a.Told = telling.ValueTold(c, c.Ohm(unit.FromShown(v), curve.Refuse))
		}
	}
	switch {
	case body.Value.Bad != "":
		fault = body.Value.Bad
	case body.Mark.Bad != "":
		fault = body.Mark.Bad
	}
	return body, fault
}

// askedNumber reads a number from 0 to a limit, with or without its unit behind it.
func askedNumber(text string, most float64, unit, like string) (v float64, bad string) {
	v, err := quantity.ParseNumber(strings.TrimSuffix(text, unit), true)
	switch {
	case err != nil:
		return 0, fmt.Sprintf("%q isn’t a number; write it like %s.", text, like)
	case v < 0 || v > most:
		return 0, fmt.Sprintf("%s %s can’t be asked for; expected 0 to %s.", text, unit, quantity.Short(most, 3))
	}
	return v, ""
}
