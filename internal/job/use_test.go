package job

import (
	"encoding/json"
	"strings"
	"testing"
)

// used puts fields into a job with one tank of some contents.
func used(contents, fields string) string {
	return `{"version":1,"number":"1","tanks":[{"name":"A","contents":"` + contents + `",` + "\n" + fields + "}]}"
}

func load(fields string) string { return used("lpg", `"loads":[{`+fields+`}]`) }

func TestReadRefusesContents(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"gas in water", used("water", `"gas":{"mix":"G31"}`), `f:2:7: /tanks/0/gas: gas is what lpg is mixed of, and this tank holds water; delete it, or correct contents`},
		{"no gas", used("lpg", `"gas":{}`), `f:2:7: /tanks/0/gas: nothing in it; expected the parts of "propane", "butane" and "isobutane", which make 1, or a "mix"`},
		{"too little gas", used("lpg", `"gas":{"propane":0.6,"butane":0.3}`), `f:2:7: /tanks/0/gas: the mass fractions add up to 0.9; they have to make 1 (propane 0.6, n-butane 0.3, isobutane 0)`},
		{"by what", used("lpg", `"gas":{"propane":1,"by":"moles"}`), `f:2:25: /tanks/0/gas/by: found text "moles", expected "mass" or "volume"`},
		{"percent", used("lpg", `"gas":{"propane":60,"butane":40}`), `f:2:18: /tanks/0/gas/propane: found 60, expected 0 to 1` + "\n" + `f:2:30: /tanks/0/gas/butane: found 40, expected 0 to 1`},
		{"name and parts", used("lpg", `"gas":{"mix":"G31","propane":1}`), `f:2:7: /tanks/0/gas: both the name of a mixture and its parts; keep "mix" or the parts and delete the other`},
		{"no such mixture", used("lpg", `"gas":{"mix":"town gas"}`), `f:2:14: /tanks/0/gas/mix: no gas is known by the name "town gas"; expected one of: propane, `},
		{"methane", used("lpg", `"gas":{"methane":1}`), `f:2:8: /tanks/0/gas: unknown field "methane"; `},
		{"density of gas", used("lpg", `"density_kg_l":0.5`), `f:2:16: /tanks/0/density_kg_l: the density of lpg follows from what it is mixed of; state "gas", or delete it`},
		{"density in kg/m³", used("diesel", `"density_kg_l":832`), `f:2:16: /tanks/0/density_kg_l: found 832, expected 0.5 to 2`},
		{"density of diesel", used("diesel", `"density_kg_l":1.2`), `f:2:16: /tanks/0/density_kg_l: the density of the diesel fuel is 1200 kg/m³`},
		{"hot", used("lpg", `"temperature_c":60.5`), `f:2:17: /tanks/0/temperature_c: found 60.5, expected -40 to 60`},
		{"two prices", used("lpg", `"price_per_l":1,"price_per_kg":2`), `f:2:32: /tanks/0/price_per_kg: both price_per_l and price_per_kg; keep the one that is asked at the pump and delete the other`},
		{"free", used("lpg", `"price_per_l":0`), `f:2:15: /tanks/0/price_per_l: found 0, expected above 0 and up to 1000000`},
		{"price of a gallon", used("lpg", `"price_per_gal":4`), `f:2:1: /tanks/0: unknown field "price_per_gal"; write "price_per_l" (litres) or "price_per_kg" (kilograms)`},
		{"currency", used("lpg", `"currency":"pounds of the kingdom"`), `f:2:12: /tanks/0/currency: text of 21 characters, expected up to 20`},

		{"no rate", load(`"name":"a","hours_per_day":1`), `f:2:10: /tanks/0/loads/0: no rate; expected one of "preset", "kw", "g_per_h", "l_per_min", "l_per_h" or "l_per_day"`},
		{"two rates", load(`"name":"a","kw":1,"g_per_h":5,"hours_per_day":1`), `f:2:10: /tanks/0/loads/0: more than one rate: "kw" and "g_per_h"; keep one and delete the others`},
		{"no name", load(`"kw":1,"hours_per_day":1`), `f:2:10: /tanks/0/loads/0: missing field "name": say what it is that draws`},
		{"no hours", load(`"name":"a","kw":1`), `f:2:10: /tanks/0/loads/0: missing field "hours_per_day": say how long it runs in a day`},
		{"wrong way round", load(`"name":"a","kw":[2,1],"hours_per_day":1`), `f:2:27: /tanks/0/loads/0/kw: found 2 before 1; expected the lowest first`},
		{"three", load(`"name":"a","kw":[1,2,3],"hours_per_day":1`), `f:2:27: /tanks/0/loads/0/kw: a list of 3; expected a number, or the lowest and the highest`},
		{"in words", load(`"name":"a","kw":"2","hours_per_day":1`), `f:2:27: /tanks/0/loads/0/kw: found text "2", expected a number or a list in [ ]; write it without quotes`},
		{"below nothing", load(`"name":"a","kw":[-1,2],"hours_per_day":1`), `f:2:28: /tanks/0/loads/0/kw/0: found -1, expected 0 to 10000`},
		{"long day", load(`"name":"a","kw":1,"hours_per_day":[1,25]`), `f:2:48: /tanks/0/loads/0/hours_per_day/1: found 25, expected 0 to 24`},
		{"plate of grams", load(`"name":"a","g_per_h":1,"plate":"net","hours_per_day":1`), `f:2:42: /tanks/0/loads/0/plate: the plate says what a rating in kW counts, and this load has none; delete it, or state kw`},
		{"hours of a day", load(`"name":"a","l_per_day":1,"hours_per_day":1`), `f:2:52: /tanks/0/loads/0/hours_per_day: litres per day count the hours already; delete it, or state l_per_h`},
		{"burnt water", used("water", `"loads":[{"name":"a","kw":1,"hours_per_day":1}]`), `f:2:27: /tanks/0/loads/0/kw: a load in kW burns what it draws, and this tank holds water; state what it draws in litres`},
		{"no such preset", load(`"preset":"sun"`), `f:2:20: /tanks/0/loads/0/preset: no load is called "sun"; expected "hob burner", `},
		{"a preset of gas for water", used("water", `"loads":[{"preset":"hob burner"}]`), `f:2:20: /tanks/0/loads/0/preset: no load is called "hob burner"; expected "tap", `},
		{"a unit", `{"version":1,"number":"1","units":{"volume":"gal"},"tanks":[]}`, `f:1:45: /units/volume: found text "gal", expected "L", "US gal" or "imp gal"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(strings.NewReader(c.text), "f")
			if err == nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Errorf("found\n%v\nexpected\n%s", err, c.want)
			}
		})
	}
}

// A range stands in the file as it was written: a number, or a pair.
func TestRange(t *testing.T) {
	for text, want := range map[string]Range{"2.5": {2.5, 2.5}, "[1,2]": {1, 2}, "0": {}} {
		var r Range
		if err := json.Unmarshal([]byte(text), &r); err != nil || r != want {
			t.Errorf("%s: %v, %v", text, r, err)
		}
		if back, err := json.Marshal(r); err != nil || string(back) != text {
			t.Errorf("%s is written as %s (%v)", text, back, err)
		}
	}
	for _, text := range []string{"[1]", "[1,2,3]", `"1"`, "null", "{}"} {
		var r Range
		if err := json.Unmarshal([]byte(text), &r); err == nil && text != "null" {
			t.Errorf("%s was read as %v", text, r)
		}
	}
}

// A job with all of it is written in the order of the docs.
func TestEncodeContents(t *testing.T) {
	j := &Job{Number: "7", Tanks: []Tank{{Name: "A", Contents: LPG, Gas: &Gas{Propane: 0.6, Butane: 0.4}, TemperatureC: ptr(-5.0), PricePerL: 1.05, Currency: "EUR",
		Loads: []Load{{Name: "griddle", KW: Exactly(4.2), Plate: Net, HoursPerDay: Between(2, 4)}, {Preset: "gas lamp"}}}}}
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	const want = `      "contents": "lpg",
      "gas": { "propane": 0.6, "butane": 0.4 },
      "temperature_c": -5,
      "loads": [
        { "name": "griddle", "kw": 4.2, "plate": "net", "hours_per_day": [2, 4] },
        { "preset": "gas lamp" }
      ],
      "price_per_l": 1.05,
      "currency": "EUR",
`
	if !strings.Contains(string(text), want) {
		t.Errorf("found\n%s", text)
	}
}
