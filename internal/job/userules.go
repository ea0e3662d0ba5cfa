package job

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/strict"
	"gaugewright/internal/wording"
)

// Contents of which a load may be told by the heat or by the mass that it burns.
var burnt = []Contents{LPG, Diesel, Petrol}

// contents refuses what is said of the contents and can't be.
func (r *ruler) contents(t Tank) {
	if t.Gas != nil {
		r.gas(t)
	}
	switch {
	case t.DensityKgL == 0:
	case t.Contents == LPG:
		r.say([]any{"density_kg_l"}, `the density of lpg follows from what it is mixed of; state "gas", or delete it`)
	default:
		if _, err := t.Substance(); err != nil {
			r.say([]any{"density_kg_l"}, "%v", err)
		}
	}
	if t.PricePerL != 0 && t.PricePerKg != 0 {
		r.say([]any{"price_per_kg"}, "both price_per_l and price_per_kg; keep the one that is asked at the pump and delete the other")
	}
	for i, l := range t.Loads {
		r.load([]any{"loads", i}, t, l)
	}
}

func (r *ruler) gas(t Tank) {
	place, g := []any{"gas"}, *t.Gas
	parts := g.Propane + g.Butane + g.Isobutane
	switch {
	case t.Contents != LPG:
		r.say(place, "gas is what lpg is mixed of, and this tank holds %s; delete it, or correct contents", t.Contents)
	case g.Mix != "" && (parts != 0 || g.By != ""):
		r.say(place, `both the name of a mixture and its parts; keep "mix" or the parts and delete the other`)
	case g.Mix == "" && parts == 0:
		r.say(place, `nothing in it; expected the parts of "propane", "butane" and "isobutane", which make 1, or a "mix"`)
	default:
		if _, err := g.mixture(); err != nil {
			if g.Mix != "" {
				place = append(place, "mix")
			}
			r.say(place, "%v", err)
		}
	}
}

func (r *ruler) load(place []any, t Tank, l Load) {
	at := func(name string) []any { return append(slices.Clone(place), name) }
	rated := false
	for _, f := range l.ranges() {
		if f.value == nil {
			continue
		}
		rated = rated || f.name != "hours_per_day"
		if f.value.Low > f.value.High {
			r.say(at(f.name), "found %s before %s; expected the lowest first", strict.Figure(f.value.Low), strict.Figure(f.value.High))
		}
	}
	switch {
	case l.KW == nil && l.Plate != "":
		r.say(at("plate"), "the plate says what a rating in kW counts, and this load has none; delete it, or state kw")
	case l.LPerDay != nil && l.HoursPerDay != nil:
		r.say(at("hours_per_day"), "litres per day count the hours already; delete it, or state l_per_h")
	case l.KW != nil && !slices.Contains(burnt, t.Contents):
		r.say(at("kw"), "a load in kW burns what it draws, and this tank holds %s; state what it draws in litres", t.Contents)
	case l.GPerH != nil && !slices.Contains(burnt, t.Contents):
		r.say(at("g_per_h"), "a load in grams burns what it draws, and this tank holds %s; state what it draws in litres", t.Contents)
	}
	if l.HoursPerDay == nil && l.LPerDay == nil && l.Preset == "" {
		r.say(place, `missing field "hours_per_day": say how long it runs in a day`)
	}
	if l.Preset != "" {
		if err := l.checkPreset(t.Contents); err != nil {
			r.say(at("preset"), "%v", err)
		}
	} else if l.Name == "" && rated {
		r.say(place, `missing field "name": say what it is that draws`)
	}
}

// loadRange is one of the ranges of a load.
type loadRange struct {
	name  string
	value *Range
}

func (l Load) ranges() []loadRange {
	return []loadRange{{"kw", l.KW}, {"g_per_h", l.GPerH}, {"l_per_min", l.LPerMin}, {"l_per_h", l.LPerH}, {"l_per_day", l.LPerDay}, {"hours_per_day", l.HoursPerDay}}
}

// rates are the fields of a load of which exactly one is there.
var rates = []string{"preset", "kw", "g_per_h", "l_per_min", "l_per_h", "l_per_day"}

// rateless says that a load has no rate, or more than one.
func rateless(v strict.Violation) []strict.Problem {
	object, _ := v.Value.(map[string]any)
	var there []string
	for _, name := range rates {
		if _, ok := object[name]; ok {
			there = append(there, fmt.Sprintf("%q", name))
		}
	}
	if len(there) == 0 {
		return []strict.Problem{{Path: v.Path, Msg: "no rate; expected one of " + strict.AnyOf(rates), Missing: rates}}
	}
	return v.Say("more than one rate: %s; keep one and delete the others", wording.Several(there, "and"))
}

// pair says that a list isn't one of the lowest and the highest; nil where it is
// another list.
func pair(v strict.Violation, got int) []strict.Problem {
	if !isLoad(v.Schema) && !strings.Contains(v.Schema, "#/$defs/rate") {
		return nil
	}
	return v.Say("a list of %d; expected a number, or the lowest and the highest", got)
}

// isLoad says whether a place of the schema is that of a load.
func isLoad(schema string) bool { return strings.Contains(schema, "#/$defs/load") }
