package web

import (
	"fmt"
	"net/url"
	"strings"

	"gaugewright/internal/contents"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// Mixtures that are no presets.
const ownParts = "own parts"

var (
	countedBy = []option{{Value: "", Name: "mass"}, {Value: job.ByVolume, Name: "volume of liquid at 15 °C"}}
	pricedBy  = []option{{Value: "l", Name: "a litre"}, {Value: "kg", Name: "a kilogram"}}
)

// contentsValues writes what is in a tank into the fields of its page.
func contentsValues(t job.Tank, u quantity.Units) url.Values {
	v := url.Values{}
	if g := t.Gas; g != nil && g.Mix != "" {
		v.Set("gas.mix", g.Mix)
	} else if g != nil {
		v.Set("gas.mix", ownParts)
		for name, part := range map[string]float64{"propane": g.Propane, "butane": g.Butane, "isobutane": g.Isobutane} {
			v.Set("gas."+name, figureField(quantity.Round(part*100, 9)))
		}
		if g.By == job.ByVolume {
			v.Set("gas.by", job.ByVolume)
		}
	}
	v.Set("density_kg_l", figureField(t.DensityKgL))
	v.Set("temperature_c", celsiusField(t.TemperatureC, u))
	v.Set("price", figureField(t.PricePerL))
	v.Set("priced", "l")
	if t.PricePerKg != 0 {
		v.Set("price", figureField(t.PricePerKg))
		v.Set("priced", "kg")
	}
	v.Set("currency", t.Currency)
	for _, l := range t.Loads {
		loadValues(v, l)
	}
	return v
}

// contents puts what was typed of the contents into a tank.
func (f *typed) contents(t *job.Tank, u quantity.Units) {
	if t.Contents == job.LPG {
		f.gas(t)
	} else {
		t.Gas = nil
		t.DensityKgL, _ = f.number("density_kg_l", "kg/L", 0.5, 2)
	}
	t.TemperatureC = f.celsius("temperature_c", u, t.TemperatureC)
	t.PricePerL, t.PricePerKg = 0, 0
	if v, ok := f.number("price", f.text("currency"), 0, 1e6); ok {
		if v == 0 {
			f.blame("price", "found 0; leave it blank where the price isn't known")
		}
		if f.text("priced") == "kg" {
			t.PricePerKg = v
		} else {
			t.PricePerL = v
		}
	}
	t.Currency = f.text("currency")
}

func (f *typed) gas(t *job.Tank) {
	mix := f.text("gas.mix")
	parts := []string{"propane", "butane", "isobutane"}
	switch mix {
	case "":
		t.Gas = nil
		return
	case ownParts:
	default:
		if _, _, err := contents.Preset(mix); err != nil {
			f.blame("gas.mix", "%v", err)
		}
		t.Gas = &job.Gas{Mix: mix}
		return
	}
	var kept job.Gas
	if t.Gas != nil && t.Gas.Mix == "" {
		kept = *t.Gas
	}
	g := job.Gas{By: f.text("gas.by")}
	if g.By == "" && kept.By == job.ByMass {
		g.By = job.ByMass
	}
	sum := 0.0
	for i, to := range []*float64{&g.Propane, &g.Butane, &g.Isobutane} {
		v, _ := f.number("gas."+parts[i], "%", 0, 100)
		*to = quantity.Round(v/100, 11)
		sum += v
	}
	if !f.wrong() && (sum < 99.9 || sum > 100.1) {
		f.blame("gas.propane", "the parts make %s %% together; expected 100", quantity.Short(sum, 3))
	}
	t.Gas = &g
}

// contentsPlace names the field of a place within a job's tank; "" where the page
// has none.
func (f *typed) contentsPlace(path []string) string {
	if len(path) == 0 {
		return ""
	}
	switch path[0] {
	case "gas":
		if len(path) > 1 && path[1] != "mix" {
			return "gas." + path[1]
		}
		return "gas.mix"
	case "density_kg_l", "temperature_c", "currency":
		return path[0]
	case "price_per_l", "price_per_kg":
		return "price"
	case "loads":
		return f.loadPlace(path[1:])
	}
	return ""
}

var contentsSaid = map[string]said{
	"gas.propane":   {"Propane, %", "Its part of the mixture; the three make 100.", "decimal"},
	"gas.butane":    {"n-Butane, %", "Its part; blank for none.", "decimal"},
	"gas.isobutane": {"Isobutane, %", "Its part; blank for none.", "decimal"},
	"density_kg_l":  {"Density, kg/L", "", "decimal"},
	"temperature_c": {"Temperature, ", "Of the contents, on the day that the figures are for; 15 °C unless stated.", "text"},
	"price":         {"Price", "As asked at the pump; blank where it isn't known.", "decimal"},
	"currency":      {"Currency", "As it is to be written, such as EUR.", ""},
}

// Fact gives a field of the contents.
func (b contentsBody) Fact(name string) formField {
	s := contentsSaid[name]
	switch name {
	case "temperature_c":
		_, unit := b.Units.TemperatureIn(0)
		s.label += unit
	case "density_kg_l":
		s.hint = "Only if it was measured or stands on the delivery note, at the temperature beside it; blank for the usual one."
		if b.Contents == job.Other {
			s.hint = "At the temperature beside it. " + knownDensities()
		}
	}
	return b.field(name, s.label, s.hint, s.mode)
}

// knownDensities names what else may be in a tank, as far as its density is known.
func knownDensities() string {
	for _, m := range contents.Matters() {
		if m.Kind == contents.KindOther {
			return fmt.Sprintf("%s has %s at %s.", capital(m.Title), quantity.Short(m.Base.Mid/1000, 3), m.BaseAt)
		}
	}
	return ""
}

// Mix gives the choice of a mixture, By what its parts are counted by, and Priced
// what a price is of.
func (b contentsBody) Mix() formField {
	list := []option{{Value: "", Name: "not known"}, {Value: ownParts, Name: "by its parts, below"}}
	for _, p := range contents.Presets() {
		list = append(list, option{Value: p.Name, Name: p.Name})
	}
	now := b.now.Get("gas.mix")
	for i, o := range list {
		if o.Value != "" && o.Value != ownParts && strings.EqualFold(o.Value, strings.Join(strings.Fields(now), " ")) {
			list[i].Value = now // as it stands in the job
		}
	}
	return b.pick("gas.mix", "Mixture", "As the delivery note or the pump has it; none of the names says what is really in the tank.", list)
}

func (b contentsBody) By() formField {
	return b.pick("gas.by", "Parts by", "What the note counts them by.", countedBy)
}

func (b contentsBody) Priced() formField {
	return b.pick("priced", "for", "What the price is of.", pricedBy)
}

// Presets are the mixtures with what their standards fix.
func (b contentsBody) Presets() []contents.PresetMix { return contents.Presets() }

func (b contentsBody) IsGas() bool { return b.Contents == job.LPG }

// Bad gives what is wrong with a field.
func (b contentsBody) Bad(name string) string { return b.faults[name] }

// labelled notes what every field is called.
func (b contentsBody) labelled() {
	for name := range contentsSaid {
		b.Fact(name)
	}
	b.Mix()
	b.By()
	b.Priced()
	b.Loads()
}
