package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/strict"
)

// called are the words for fields whose names don't say it, by their keys or by
// the fields alone.
var called = map[string]string{
	"water_capacity_l": "water capacity", "permitted_fill_pct": "permitted fill", "heel_l": "heel", "density_kg_l": "density",
	"temperature_c": "temperature of the contents", "in/temperature_c": "temperature", "price_per_l": "price of a litre", "price_per_kg": "price of a kilogram",
	"bench/by": "who read the sender", "bench/date": "date of the readings", "bench/meter": "meter", "bench/temperature_c": "temperature of the sender",
	"bench/marks": "kind of marks", "bench/gives": "what the sender gives", "bench/empty_mark": "lowest mark of the bench", "bench/full_mark": "highest mark of the bench",
	"bench/doubts/meter_pct": "error of the meter", "bench/doubts/meter_digits": "digits of the meter's error", "bench/doubts/meter_step": "last digit of the meter",
	"bench/doubts/leads_ohm": "reading of the leads", "bench/doubts/mark": "doubt of a mark", "bench/doubts/temperature_pct": "change of the sender with the weather",
	"sender/description": "sender", "sender/type": "sender type", "sender/batch": "batch of the sender", "sender/serial": "serial number of the sender",
	"sender/claimed": "claimed span", "sender/claimed/empty_ohm": "empty end", "sender/claimed/full_ohm": "full end", "sender/claimed/empty_value": "empty end", "sender/claimed/full_value": "full end",
	"sender/known/from": "what the known curve comes from", "sender/known/marks": "kind of marks of the known curve", "sender/known/gives": "what the known curve gives",
	"sender/known/units": "units behind the known curve", "sender/known/batches": "batches behind the known curve", "sender/known/df": "degrees of freedom of the known curve",
	"sender/known/noise": "noise of the known curve", "sender/known/noise_df": "degrees of freedom of its noise", "sender/known/knots": "knot",
	"wire/area_mm2": "area of the wire", "wire/awg": "gauge of the wire", "wire/length_m": "length of the wire", "wire/metal": "metal of the wire", "wire/joints": "joints in the wire",
	"wire/temperature_c": "temperature of the wire", "wire/read_through_it": "readings made through the wire",
	"gas/by": "what the parts of the gas are counted by", "gas/mix": "mixture of the gas", "gas/propane": "part of propane", "gas/butane": "part of n-butane", "gas/isobutane": "part of isobutane",
	"units/volume": "unit of volumes", "units/mass": "unit of masses", "units/energy": "unit of heat", "units/pressure": "unit of pressures", "units/temperature": "unit of temperatures",
	"setting/scale": "what 100 % means", "setting/step_ohm": "step of the readout", "setting/step_value": "step of the readout", "setting/margin_ohm": "margin", "setting/margin_value": "margin",
	"setting/empty_mark": "mark at 0 %", "setting/full_mark": "mark at 100 %", "setting/by": "who keyed it in", "setting/date": "date of the setting",
	"setting/objective": "what was made least", "setting/points": "most points of the table", "setting/step_pct": "step of the percentages",
	"setting/lowest_ohm": "least value of the readout", "setting/highest_ohm": "largest value of the readout", "setting/lowest_value": "least value of the readout", "setting/highest_value": "largest value of the readout",
	"setting/table": "entry", "setting/then_table": "correction",
	"setting/table/ohm": "entered value", "setting/table/value": "entered value", "setting/table/pct": "shown percentage", "setting/then_table/in_pct": "percentage in", "setting/then_table/pct": "shown percentage",
	"setting/lower_ohm": "lower end value", "setting/upper_ohm": "upper end value", "setting/lower_value": "lower end value", "setting/upper_value": "upper end value",
	"checks": "check", "checks/when": "when it was made", "checks/by": "who checked", "checks/date": "date", "checks/tolerance_pct": "tolerance", "checks/display_step_pct": "step of the display",
	"checks/mark_doubt": "doubt of a mark", "checks/readings": "mark", "checks/readings/shown_pct": "shown",
	"services": "service", "loads": "load", "struck": "struck", "reason": "because", "at": "place",
}

// words says what a place is called.
func (s spot) words() string {
	field := s.key[strings.LastIndexByte(s.key, '/')+1:]
	name, ok := called[s.key]
	if !ok && strings.HasPrefix(s.key, "services/") {
		name, ok = called["bench/"+strings.TrimPrefix(s.key, "services/")]
	}
	if !ok {
		name, ok = called[field]
	}
	if !ok {
		name = plainName(field)
		if strings.HasPrefix(s.key, "shape/") {
			name = "shape, " + name
		}
	}
	if s.label != "" && strings.HasSuffix(s.path, "/"+field) {
		return s.label + ": " + name
	}
	if s.label != "" {
		return s.label
	}
	return name
}

// entryOf is what an entry of a list is called.
func entryOf(key string) string { return spot{key: key}.words() }

// symbols are the units that field names end in.
var symbols = map[string]string{"pct": "%", "mm": "mm", "mm2": "mm²", "m": "m", "l": "L", "kg": "kg", "ohm": "Ω", "c": "°C", "deg": "°", "kw": "kW",
	"volt": "V", "milliamp": "mA", "digits": "digits"}

// plainName makes words of a field's name: "l_per_h" is "L per h".
func plainName(field string) string {
	parts := strings.Split(field, "_")
	if n := len(parts); n > 1 && symbols[parts[n-1]] != "" && !slices.Contains(parts, "per") {
		parts = parts[:n-1]
	}
	return strings.Join(parts, " ")
}

// figure says what a value is, with the unit that its field's name ends in. Text
// that is long, or of several lines, is told by its length.
func (s spot) figure(v any) string {
	switch v := v.(type) {
	case float64:
		ending := s.key[strings.LastIndexByte(s.key, '/')+1:]
		ending = ending[strings.LastIndexByte(ending, '_')+1:]
		if strings.HasSuffix(s.key, "density_kg_l") {
			return figureOf(v) + " kg/L"
		}
		if unit := symbols[ending]; unit != "" && !strings.Contains(s.key, "_per_") {
			return figureOf(v) + " " + unit
		}
		return figureOf(v)
	case string:
		if n := len([]rune(v)); n > 60 || strings.ContainsAny(v, "\n\r\t") {
			return fmt.Sprintf("a text of %d characters", n)
		}
		if v == "" {
			return "empty"
		}
		return momentOf(s.key, v)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case []any:
		if len(v) == 2 {
			low, okLow := v[0].(float64)
			high, okHigh := v[1].(float64)
			if okLow && okHigh {
				return figureOf(low) + " to " + figureOf(high)
			}
		}
		return "a list of " + strconv.Itoa(len(v))
	case map[string]any:
		return inWords(v)
	}
	return "nothing"
}

// momentOf writes a day and a time of a file for people: "2 November 2025",
// "2 November 2025 at 09:30 UTC". Any other text, and one that is neither, stays.
func momentOf(key, v string) string {
	switch key[strings.LastIndexByte(key, '/')+1:] {
	case "date":
		if day, err := time.Parse(time.DateOnly, v); err == nil {
			return day.Format("2 January 2006")
		}
	case "time", "struck":
		at, err := time.Parse(time.RFC3339, v)
		if err != nil {
			return v
		}
		clock := "15:04"
		if at.Second() != 0 || at.Nanosecond() != 0 {
			clock = "15:04:05.999999999"
		}
		zone := "UTC"
		if _, offset := at.Zone(); offset != 0 {
			zone = at.Format("UTC-07:00")
		}
		return at.Format("2 January 2006 at "+clock) + " " + zone
	}
	return v
}

// figureOf prints a number with all its digits.
func figureOf(v float64) string { return strict.Figure(v) }

// order is that of the fields of the types, as the file has them.
var order = []string{"version", "number", "customer", "vehicle", "fitter", "name", "preset", "contents", "water_capacity_l", "permitted_fill_pct", "heel_l", "gas",
	"density_kg_l", "temperature_c", "loads", "price_per_l", "price_per_kg", "currency", "shape", "sender", "wire", "bench", "setting", "checks", "services",
	"readout", "scale", "when", "by", "date", "meter"}

// inOrder sorts fields as a file has them, those that aren't listed behind.
func inOrder(fields []string) []string {
	place := func(name string) int {
		if i := slices.Index(order, name); i >= 0 {
			return i
		}
		return len(order)
	}
	slices.SortFunc(fields, func(a, b string) int {
		if n := place(a) - place(b); n != 0 {
			return n
		}
		return strings.Compare(a, b)
	})
	return fields
}
