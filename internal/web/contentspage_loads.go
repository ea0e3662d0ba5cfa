package web

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"gaugewright/internal/contents"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// The fields of a load; each stands in the form once for every load, and the nth
// of each belongs to the nth load.
var loadFields = []string{"load.name", "load.preset", "load.rate", "load.unit", "load.plate", "load.hours"}

// A rate's units, by the names of the job file.
var (
	burntBy = []option{{Value: "kw", Name: "kW"}, {Value: "g_per_h", Name: "grams an hour"}}
	drawnBy = []option{{Value: "l_per_min", Name: "litres a minute"}, {Value: "l_per_h", Name: "litres an hour"}, {Value: "l_per_day", Name: "litres a day"}}
	plates  = []option{{Value: "", Name: "not said"}, {Value: job.Net, Name: "net"}, {Value: job.Gross, Name: "gross"}}
)

// rateUnits are the units in which a load can be stated for contents.
func rateUnits(c job.Contents) []option {
	switch c {
	case job.LPG:
		return append(append([]option{}, burntBy...), drawnBy...)
	case job.Diesel, job.Petrol:
		return append(append([]option{}, drawnBy[1], drawnBy[2], drawnBy[0]), burntBy...)
	}
	return drawnBy
}

// presetLoads are the kinds of loads of which the usual rate is known.
func presetLoads(c job.Contents) []contents.Load {
	switch c {
	case job.LPG:
		return contents.GasLoads()
	case job.Water, job.Waste:
		return contents.WaterLoads()
	case job.Diesel:
		return contents.DieselLoads()
	}
	return nil
}

// rangeText writes a range for a field: "1.5 to 3", or one figure.
func rangeText(r *job.Range) string {
	switch {
	case r == nil:
		return ""
	case r.Low == r.High:
		return quantity.Short(r.Low, 9)
	}
	return quantity.Short(r.Low, 9) + " to " + quantity.Short(r.High, 9)
}

// rates gives the rate fields of a load by the names of the job file.
func rates(l *job.Load) map[string]**job.Range {
	return map[string]**job.Range{"kw": &l.KW, "g_per_h": &l.GPerH, "l_per_min": &l.LPerMin, "l_per_h": &l.LPerH, "l_per_day": &l.LPerDay}
}

// loadValues adds a load to the fields of a form.
func loadValues(v url.Values, l job.Load) {
	v.Add("load.name", l.Name)
	v.Add("load.preset", l.Preset)
	rate, unit := "", ""
	for name, r := range rates(&l) {
		if *r != nil {
			rate, unit = rangeText(*r), name
		}
	}
	v.Add("load.rate", rate)
	v.Add("load.unit", unit)
	v.Add("load.plate", l.Plate)
	v.Add("load.hours", rangeText(l.HoursPerDay))
}

// count is how many loads stand in the form.
func (f *typed) count() int { return len(f.now["load.name"]) }

// load gives a field of the nth load.
func (f *typed) load(n int, name string) string {
	if list := f.now[name]; n < len(list) {
		return strings.TrimSpace(list[n])
	}
	return ""
}

// loadName names a field of the nth load.
func loadName(n int, name string) string { return fmt.Sprintf("%s.%d", name, n) }

func (f *typed) addLoad() {
	n := f.count()
	for _, name := range loadFields {
		for len(f.now[name]) < n {
			f.now[name] = append(f.now[name], "")
		}
		f.now[name] = append(f.now[name][:n], "")
	}
}

func (f *typed) removeLoad(n int) {
	for _, name := range loadFields {
		if list := f.now[name]; n < len(list) {
			f.now[name] = append(append([]string{}, list[:n]...), list[n+1:]...)
		}
	}
}

// between reads a figure or a range.
func (f *typed) between(field, text, like string) *job.Range {
	parts := parted(text)
	var list []float64
	for _, p := range parts {
		v, err := quantity.ParseNumber(strings.TrimSpace(p), true)
		if err != nil || len(parts) > 2 {
			f.blame(field, "found %q; expected a figure, or the least and the most, like %s", wording.Clip(text, 40), like)
			return nil
		}
		list = append(list, v)
	}
	return job.Between(list[0], list[len(list)-1])
}

// loads puts what was typed of the loads into a tank. A row in which nothing was
// typed is left out.
func (f *typed) loads(t *job.Tank) {
	t.Loads = nil
	for n := range f.count() {
		l := job.Load{Name: f.load(n, "load.name"), Preset: f.load(n, "load.preset")}
		rate, hours := f.load(n, "load.rate"), f.load(n, "load.hours")
		if l.Name == "" && l.Preset == "" && rate == "" && hours == "" {
			continue
		}
		if hours != "" {
			l.HoursPerDay = f.between(loadName(n, "load.hours"), hours, "1.5 to 3")
		}
		to, known := rates(&l)[f.load(n, "load.unit")]
		switch {
		case l.Preset != "" && rate != "":
			f.blame(loadName(n, "load.rate"), "a usual appliance has its usual rate; blank this, or choose “its own rate” to state what its plate says")
		case l.Preset != "":
		case rate == "":
			f.blame(loadName(n, "load.rate"), "say what it draws, like 2 to 3; or choose a usual appliance")
		case !known:
			f.blame(loadName(n, "load.unit"), "there is no such unit")
		default:
			*to = f.between(loadName(n, "load.rate"), rate, "2 to 3")
			if l.KW != nil {
				l.Plate = f.load(n, "load.plate")
			}
		}
		t.Loads = append(t.Loads, l)
	}
}

// loadPlace names the field of a place within the loads.
func (f *typed) loadPlace(path []string) string {
	if len(path) == 0 {
		return ""
	}
	want, err := strconv.Atoi(path[0])
	if err != nil {
		return ""
	}
	for n := range f.count() {
		empty := true
		for _, name := range []string{"load.name", "load.preset", "load.rate", "load.hours"} {
			empty = empty && f.load(n, name) == ""
		}
		if empty {
			continue
		}
		if want--; want >= 0 {
			continue
		}
		field := "load.rate"
		if len(path) > 1 {
			switch path[1] {
			case "name", "preset", "plate":
				field = "load." + path[1]
			case "hours_per_day":
				field = "load.hours"
			}
		} else if f.load(n, "load.name") == "" && f.load(n, "load.preset") == "" {
			field = "load.name"
		} else if f.load(n, "load.hours") == "" {
			field = "load.hours"
		}
		return loadName(n, field)
	}
	return ""
}

// loadView is one load of the form.
type loadView struct {
	N                                      int
	Title                                  string
	Name, Preset, Rate, Unit, Plate, Hours formField
	Burns                                  bool
}

// Loads are the loads of the form.
func (b contentsBody) Loads() []loadView {
	usual := []option{{Value: "", Name: "its own rate"}}
	for _, l := range presetLoads(b.Contents) {
		usual = append(usual, option{Value: l.Name, Name: l.Name})
	}
	var out []loadView
	for n := range b.count() {
		make := func(name, label, hint string, list []option) formField {
			f := b.field(loadName(n, name), fmt.Sprintf("Load %d, %s", n+1, label), hint, "")
			f.Name, f.Label, f.Value = name, capital(label), b.load(n, name)
			if list != nil {
				f.Options = chosen(list, f.Value)
			}
			return f
		}
		v := loadView{N: n, Title: b.load(n, "load.name"), Burns: b.Contents == job.LPG || b.Contents == job.Diesel || b.Contents == job.Petrol}
		if v.Title == "" {
			v.Title = b.load(n, "load.preset")
		}
		v.Name = make("load.name", "what it is", "Such as griddle.", nil)
		v.Preset = make("load.preset", "usual appliance", "With the rate that is usual for its kind; its own plate tells it closer.", usual)
		v.Rate = make("load.rate", "rate", "One figure, or the least and the most: 10 to 20.", nil)
		v.Unit = make("load.unit", "in", "What the rate counts.", rateUnits(b.Contents))
		v.Plate = make("load.plate", "its kW are", "Net or gross heat, where the plate says it.", plates)
		v.Hours = make("load.hours", "hours a day", "How long it runs: 1.5 to 3. None with litres a day.", nil)
		out = append(out, v)
	}
	return out
}
