package web

import (
	"fmt"
	"math"
	"net/url"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// wished is what is wanted of the numbers to key in, as the fields of the page
// have it. Their names are those of the command line's flags; a table's step has a
// field of its own, as it isn't the step of end values.
type wished struct {
	text map[string]string // as typed, or as the page begins
	bad  map[string]string // what is wrong with a field, by its name
	wish telling.Wish
	how  job.Setting
	own  *span.Ends // end values of somebody's own
}

// wishFields are the fields that go along from page to page.
var wishFields = []string{"readout", "scale", "objective", "points", "step", "table-step", "percent-step", "margin", "lowest", "highest", "empty-mark", "full-mark"}

// wishOf reads the fields that were sent; those that weren't are as the tank was
// set before or, where nothing is set, as on the command line.
func wishOf(at *tankAt, signal curve.Signal, sent url.Values) *wished {
	w := &wished{text: wishBefore(at.Setting, signal), bad: map[string]string{}}
	if at.Setting == nil {
		w.text["scale"] = usualScale(*at.Tank)
	}
	for _, name := range append([]string{"lower", "upper"}, wishFields...) {
		if sent.Has(name) {
			w.text[name] = strings.TrimSpace(sent.Get(name))
		}
	}
	w.wish = telling.UsualWish()
	w.wish.Readout, w.wish.Objective, w.wish.Margin = w.text["readout"], w.text["objective"], w.text["margin"]
	if w.wish.Margin == "" {
		w.wish.Margin = "usual"
	}
	if v := w.number("points"); v != nil {
		if w.wish.Points = int(*v); float64(w.wish.Points) != *v {
			w.bad["points"] = fmt.Sprintf("%s entries can’t be made; write a whole number, 2 to 1000.", w.text["points"])
		}
	}
	step := "step"
	if w.wish.Readout == telling.Table {
		step = "table-step"
	}
	w.wish.Step = w.number(step)
	for name, into := range map[string]*float64{"percent-step": &w.wish.PercentStep, "lowest": &w.wish.Lowest, "highest": &w.wish.Highest} {
		if v := w.number(name); v != nil {
			*into = *v
		}
	}
	w.how = job.Setting{Scale: w.text["scale"], EmptyMark: w.number("empty-mark"), FullMark: w.number("full-mark")}
	w.ends(at, signal)
	return w
}

// wishBefore is what the fields begin with.
func wishBefore(s *job.Setting, signal curve.Signal) map[string]string {
	usual := telling.UsualWish()
	text := map[string]string{"readout": usual.Readout, "objective": usual.Objective, "points": fmt.Sprint(usual.Points), "margin": usual.Margin, "scale": string(scale.Mark)}
	if s == nil {
		return text
	}
	text["readout"], text["scale"] = s.Readout, s.Scale
	for name, mark := range map[string]*float64{"empty-mark": s.EmptyMark, "full-mark": s.FullMark} {
		if mark != nil {
			text[name] = quantity.Short(*mark, 3)
		}
	}
	if s.Objective != "" {
		text["objective"] = s.Objective
	}
	for name, v := range map[string]float64{"lowest": s.LowestOhm, "highest": s.HighestOhm} {
		if v != 0 {
			text[name] = quantity.Short(v, 6)
		}
	}
	switch {
	case s.Readout != job.Table && s.StepOhm != float64(signal.Step()):
		text["step"] = quantity.Short(s.StepOhm, 6)
	case s.Readout == job.Table && s.StepOhm != 0:
		text["table-step"] = quantity.Short(s.StepOhm, 6)
	}
	switch {
	case s.Readout == job.TwoPoint:
	case s.Points > 0: // what was asked for was kept
		text["points"] = fmt.Sprint(s.Points)
		if s.StepPct != 0 {
			text["percent-step"] = quantity.Short(s.StepPct, 6)
		}
	default:
		text["points"] = fmt.Sprint(max(len(s.Table), len(s.ThenTable)))
		text["percent-step"] = percentStep(s.Table)
	}
	return text
}

// percentStep tells the step of the percentages that were keyed in, where a job
// doesn't hold it: the coarsest of the usual ones that all of them are on.
func percentStep(table []job.Entry) string {
	for _, step := range []float64{1, 0.5, 0.1, 0.01} {
		on := true
		for _, e := range table {
			on = on && math.Abs(e.Pct/step-math.Round(e.Pct/step)) < 1e-6
		}
		if on {
			return quantity.Short(step, 2)
		}
	}
	return ""
}

// usualScale is the mark scale, as on the command line; where that is refused for
// what is in the tank, the first that isn't.
func usualScale(t job.Tank) string {
	for _, kind := range []scale.Kind{scale.Mark, scale.Fill, scale.Usable, scale.Volume} {
		t.Setting = &job.Setting{Scale: string(kind)}
		if _, err := t.Scale(); err == nil {
			return string(kind)
		}
	}
	return string(scale.Mark)
}

// number reads a field; nil where it is empty or can't be read.
func (w *wished) number(name string) *float64 {
	text := w.text[name]
	if text == "" {
		return nil
	}
	v, err := quantity.ParseNumber(text, true)
	switch {
	case err != nil:
		w.bad[name] = fmt.Sprintf("%s: %q isn’t a number; write it like 10.5.", fieldNames[name], text)
		return nil
	case v < 0:
		w.bad[name] = fmt.Sprintf("%s: %s is below zero; expected 0 or more.", fieldNames[name], text)
		return nil
	}
	return &v
}

// ends reads end values of somebody's own, where a readout takes them.
func (w *wished) ends(at *tankAt, signal curve.Signal) {
	if w.wish.Readout != telling.TwoPoint || w.text["lower"] == "" && w.text["upper"] == "" {
		return
	}
	for _, name := range []string{"lower", "upper"} {
		if w.text[name] == "" {
			w.bad[name] = fmt.Sprintf("%s: nothing is written there; it takes the %s.", fieldNames[name], signal.Figures())
		}
	}
	lower, upper := w.number("lower"), w.number("upper")
	for name, v := range map[string]*float64{"lower": lower, "upper": upper} {
		if v != nil && *v > float64(signal.Limit()) {
			w.bad[name] = fmt.Sprintf("%s: %s %s can’t come from a level sender; expected 0 to %s.", fieldNames[name], w.text[name], signal.Unit(), quantity.Short(float64(signal.Limit()), 3))
		}
	}
	switch {
	case w.bad["lower"] != "" || w.bad["upper"] != "":
	case *lower == *upper:
		w.bad["upper"] = fmt.Sprintf("Both are %s %s, so nothing could be shown between; write two that differ.", quantity.Short(*upper, 6), signal.Unit())
	default:
		w.own = &span.Ends{Lower: quantity.Ohm(*lower), Upper: quantity.Ohm(*upper)}
	}
}

// fieldNames are the fields as the page calls them.
var fieldNames = map[string]string{
	"readout": "What the display takes", "scale": "What 100 % means", "objective": "What is made least",
	"points": "Entries of the table", "step": "Step of the end values", "table-step": "Step of the table’s values", "percent-step": "Step of the table’s percentages",
	"margin": "Margin", "lowest": "Least that the display takes", "highest": "Most that the display takes",
	"empty-mark": "Mark at 0 %", "full-mark": "Mark at 100 %", "lower": "At 0 %", "upper": "At 100 %",
}

// faultOf gives the first thing that is wrong in the order of the page, ends last.
func (w *wished) faultOf(names ...string) string {
	for _, name := range names {
		if text := w.bad[name]; text != "" {
			return text
		}
	}
	return ""
}

// Text gives what stands in a field, Bad what is wrong with it.
func (w *wished) Text(name string) string { return w.text[name] }
func (w *wished) Bad(name string) string  { return w.bad[name] }

// Is says whether a choice stands at a value.
func (w *wished) Is(name, value string) bool { return w.text[name] == value }

// Name gives what a field is called.
func (w *wished) Name(name string) string { return fieldNames[name] }

// More says whether anything of what is folded away was changed, or is wrong.
func (w *wished) More() bool {
	usual := telling.UsualWish()
	for _, name := range []string{"lowest", "highest", "empty-mark", "full-mark", "margin", "objective"} {
		if w.bad[name] != "" {
			return true
		}
	}
	return w.wish.Objective != usual.Objective || w.wish.Margin != usual.Margin || w.wish.Lowest != 0 || w.wish.Highest != 0 || w.how.EmptyMark != nil || w.how.FullMark != nil
}

// carriedField is a field that goes along unseen.
type carriedField struct{ Name, Value string }

// Carried are the fields of the wish, to go along with another form.
func (w *wished) Carried() []carriedField {
	var out []carriedField
	for _, name := range wishFields {
		out = append(out, carriedField{name, w.text[name]})
	}
	return out
}

// query is the wish as the query of an address.
func (w *wished) query() string {
	q := url.Values{}
	for _, c := range w.Carried() {
		q.Set(c.Name, c.Value)
	}
	return q.Encode()
}
