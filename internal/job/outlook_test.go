package job

import (
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

var monday = time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)

// only gives the one tank of a job.
func only(t *testing.T, text string) Tank {
	t.Helper()
	j, err := Read(strings.NewReader(text), "f")
	if err != nil {
		t.Fatal(err)
	}
	return j.Tanks[0]
}

func nearly(t *testing.T, what string, found, want, within float64) {
	t.Helper()
	if !(math.Abs(found-want) <= within) {
		t.Errorf("%s: found %.9g, expected %.9g", what, found, want)
	}
}

func kinds(list []finding.Finding) string {
	var out []string
	for _, f := range list {
		out = append(out, f.Kind)
	}
	return strings.Join(out, " ")
}

// 54 L of propane at 15 °C, by the reference equation of propane (Lemmon, McLinden,
// Wagner, J. Chem. Eng. Data 54 (2009) 3141, solved with other software): 80 % is
// 21.924141 kg of liquid and 0.170779 kg of vapour, 12.87043 kWh/kg net
// (ISO 6976:1995).
func TestOutlookOfPropane(t *testing.T) {
	k := only(t, used("lpg", `"water_capacity_l":54,"permitted_fill_pct":80,"gas":{"mix":"G31"},"price_per_kg":2,"currency":"EUR",
		"loads":[{"name":"griddle","g_per_h":130,"hours_per_day":4},{"name":"lamp","preset":"gas lamp"}]`))
	full, err := k.Full()
	if err != nil {
		t.Fatal(err)
	}
	o, err := k.Outlook(Level{Share: full}, monday)
	if err != nil {
		t.Fatal(err)
	}
	nearly(t, "litres", o.Amount.Volume.Mid*1000, 43.2, 1e-9)
	nearly(t, "kg", o.Amount.Mass.Mid, 22.094920, 1e-4)
	nearly(t, "kWh net", o.Amount.Net.Mid/3.6e6, 22.094920*12.87043, 0.005)
	if !o.Asks || !o.Ask.Nothing || !strings.Contains(kinds(o.Findings), "full") || strings.Contains(kinds(o.Findings), "overfull") {
		t.Errorf("%+v", o.Ask)
	}
	// The griddle takes 0.52 kg a day and the lamp 0.024 to 0.1.
	if p := o.Lasting.PerDay; p.Low < 0.544 || p.High > 0.62 || p.Mid < 0.55 {
		t.Errorf("%+v", p)
	}
	days := o.Lasting.Left.Days()
	if days.Low < 35 || days.High > 41 || !o.RefillBy.Equal(monday.AddDate(0, 0, int(days.Low))) {
		t.Errorf("%+v, %v", days, o.RefillBy)
	}
	if len(o.Running) != 2 || o.Running[0].Name != "griddle" {
		t.Fatalf("%+v", o.Running)
	}
	// By itself: (22.0949 − what stays as vapour, 0.11 to 0.13 kg)/0.13 kg/h.
	nearly(t, "hours of griddle", o.Running[0].For.Hours().Mid, 169.1, 0.3)

	// Half of that: what may be asked for, cut, and never so much that it is above
	// the permitted fill with all that may be in it.
	half, err := k.AtVolume(0.0216)
	if err != nil {
		t.Fatal(err)
	}
	half.U = 0.01
	if o, err = k.Outlook(half, monday); err != nil {
		t.Fatal(err)
	}
	most := (43.2 - 21.6 - 2*0.54) * 0.5075033
	if a := o.Ask; a.Nothing || a.Kilograms > most || a.Kilograms < most-0.6 || a.Metered*1000 > a.Kilograms/0.5075033+0.3 {
		t.Errorf("%+v, at most %v kg", a, most)
	}
	nearly(t, "price", o.Ask.Price, 2*o.Ask.Kilograms, 1e-9)
	if words := o.AskWords(quantity.Units{Volume: "US gal", Mass: "lb"}); !strings.Contains(words, "Ask for at most 5.1") || !strings.Contains(words, " US gal of gas (") || !strings.Contains(words, "The tank's own filling stop decides") {
		t.Errorf("says %q", words)
	}
}

// In frost no more may be asked for than at 15 °C, though the tank would take it.
func TestOutlookAsksNoMoreInFrost(t *testing.T) {
	ask := func(celsius string) float64 {
		k := only(t, used("lpg", `"water_capacity_l":54,"permitted_fill_pct":80,"gas":{"mix":"G31"},"temperature_c":`+celsius))
		o, err := k.Outlook(Level{}, monday)
		if err != nil || o.Ask.Nothing {
			t.Fatal(err, o.Ask)
		}
		return o.Ask.Kilograms
	}
	cold, usual, warm := ask("-20"), ask("15"), ask("40")
	// What the tank holds at 80 % of liquid at 15 °C is the most, whatever the day;
	// in frost less of it is there as vapour already.
	if most := 43.2 * 0.5075033; cold > most || usual > cold || warm > usual {
		t.Errorf("%v kg at −20, %v at 15, %v at 40 °C", cold, usual, warm)
	}
}

// A tank that holds more than it may is told of, and nothing is asked for.
func TestOutlookOverfull(t *testing.T) {
	k := only(t, used("lpg", `"water_capacity_l":54,"permitted_fill_pct":80,"gas":{"propane":1}`))
	l, err := k.AtVolume(0.048)
	if err != nil {
		t.Fatal(err)
	}
	o, err := k.Outlook(l, monday)
	if err != nil || !o.Ask.Nothing || o.Ask.Metered != 0 || finding.Worst(o.Findings) != finding.Bad {
		t.Errorf("%v, %+v", err, o)
	}
}

// What isn't known is said, and nothing is made up.
func TestOutlookUnknown(t *testing.T) {
	for _, c := range []struct {
		text         string
		weighs, asks bool
		lasts        bool
		says         string
	}{
		{used("lpg", `"water_capacity_l":54,"permitted_fill_pct":80,"loads":[{"name":"a","kw":1,"hours_per_day":1}]`), false, false, false, "mixed of isn't stated"},
		{used("lpg", `"water_capacity_l":54,"gas":{"propane":1}`), true, false, false, "state permitted_fill_pct"},
		{used("diesel", `"water_capacity_l":54,"loads":[{"preset":"diesel heater"}]`), true, false, true, "state permitted_fill_pct"},
		{used("other", `"water_capacity_l":54,"loads":[{"name":"a","l_per_day":2}]`), false, false, true, "density_kg_l"},
		{used("other", `"water_capacity_l":54,"permitted_fill_pct":90,"density_kg_l":1.09`), true, true, false, ""},
		{used("water", `"water_capacity_l":54,"temperature_c":-5,"loads":[{"name":"a","l_per_day":2}]`), false, false, false, "−5 °C"},
	} {
		o, err := only(t, c.text).Outlook(Level{Share: 0.5}, monday)
		text := ""
		for _, f := range o.Findings {
			text += f.Text + "\n"
		}
		if err != nil || o.Amount.Weighs != c.weighs || o.Asks != c.asks || o.Lasting.Nothing == c.lasts || !strings.Contains(text, c.says) {
			t.Errorf("%s: %v, weighs %v, asks %v, nothing %v, %s", c.text, err, o.Amount.Weighs, o.Asks, o.Lasting.Nothing, text)
		}
		nearly(t, "litres", o.Amount.Volume.Mid*1000, 27, 1e-9)
	}
	if _, err := only(t, used("water", `"heel_l":1`)).Outlook(Level{}, monday); err == nil || !strings.Contains(err.Error(), "water_capacity_l") {
		t.Error(err)
	}
	if _, err := only(t, used("diesel", `"water_capacity_l":50`)).Full(); err == nil || !strings.Contains(err.Error(), "permitted_fill_pct") {
		t.Error(err)
	}
}

// A waste tank fills up: what lasts is its room.
func TestOutlookOfWaste(t *testing.T) {
	k := only(t, used("waste", `"water_capacity_l":40,"loads":[{"name":"sink","l_per_day":[8,10]}]`))
	o, err := k.Outlook(Level{Share: 0.25}, monday)
	if err != nil {
		t.Fatal(err)
	}
	days := o.Lasting.Left.Days()
	if !o.Room || o.Asks || days.Low < 3 || days.Low > 3.1 || days.High < 3.6 || days.High > 3.75 {
		t.Errorf("%+v", o)
	}
	if says := o.Sentence(monday); !strings.HasPrefix(says, "At this use it is full in ") || !strings.HasSuffix(says, "; empty it by 5 November 2026.") {
		t.Errorf("says %q", says)
	}
}

// Gas that is weighed: 100 % of the fill scale stands at the kilograms of the
// permitted fill with their vapour, and in frost at no more than those at 15 °C.
func TestScaleByWeight(t *testing.T) {
	const readings = `"water_capacity_l":54,"permitted_fill_pct":80,"gas":{"mix":"G31"},"bench":{"readings":[{"mark_kg":0,"ohm":1},{"mark_kg":27,"ohm":90}]},
		"setting":{"readout":"two-point","lower_ohm":0,"upper_ohm":90,"scale":"fill"}`
	for _, c := range []string{"", `"temperature_c":-20,`} {
		k := only(t, used("lpg", c+readings))
		s, err := k.Scale()
		if err != nil {
			t.Fatal(err)
		}
		_, full := s.Ends()
		nearly(t, "100 %", full, 22.094920, 1e-4)
		if says := s.Sentence(); !strings.Contains(says, "by the kilograms weighed, liquid and vapour") || strings.Contains(says, "at 15 °C") != (c != "") {
			t.Errorf("says %q", says)
		}
		// What is in it goes by the day: the same 10 kg, with less room in frost.
		in, err := k.Inside()
		if err != nil {
			t.Fatal(err)
		}
		share, _ := in.OfMark(10, 0)
		o, err := k.Outlook(Level{Share: share}, monday)
		if err != nil {
			t.Fatal(err)
		}
		nearly(t, "kg", o.Amount.Mass.Mid, 10, 1e-6)
	}
	k := only(t, used("water", `"water_capacity_l":50,"bench":{"readings":[{"mark_kg":0,"ohm":1},{"mark_kg":40,"ohm":90}]},"setting":{"readout":"two-point","lower_ohm":0,"upper_ohm":90,"scale":"volume"}`))
	s, err := k.Scale()
	if err != nil || s.Kind() != scale.Volume {
		t.Fatal(err)
	}
	// 999.1026 kg/m³ at 15 °C: IAPWS-95.
	nearly(t, "half the water", float64(s.Target(0.025*999.1026)), 0.5, 1e-5)
}

// How full a tank is, told in every way.
func TestLevels(t *testing.T) {
	_, data := sample(t)
	j, err := Read(strings.NewReader(strings.Replace(string(data), `"contents": "lpg",`, `"contents": "lpg", "gas": { "propane": 1 },`, 1)), "f")
	if err != nil {
		t.Fatal(err)
	}
	k := j.Tanks[0]
	l, err := k.AtOhm(40.4)
	if err != nil {
		t.Fatal(err)
	}
	nearly(t, "40.4 Ω", float64(l.Share), 0.40, 0.005)
	if !(l.U > 0.0005 && l.U < 0.01) {
		t.Errorf("known to %v", l.U)
	}
	if l, err = k.AtLevel(0.5); err != nil {
		t.Fatal(err)
	}
	nearly(t, "half of the fill scale", float64(l.Share), 0.4, 1e-9)
	if !(float64(l.U) >= 0.8*0.01/math.Sqrt(12) && l.U < 0.02) {
		t.Errorf("known to %v", l.U)
	}
	if l, err = k.AtOhm(85); err != nil || kinds(l.Findings) != "outside" {
		t.Errorf("%+v, %v", l, err)
	}
	if l, err = k.AtMass(15); err != nil {
		t.Fatal(err)
	}
	nearly(t, "15 kg of propane", float64(l.Share), 0.532784, 1e-5)
	if l, err = k.AtMass(0.1); err != nil || l.Share != 0 || kinds(l.Findings) != "vapour" {
		t.Errorf("%+v, %v", l, err)
	}
	for says, f := range map[string]func() (Level, error){
		"28 kg can't be in it; expected 0 kg to 27.4": func() (Level, error) { return k.AtMass(28) },
		"55 L can't be in it; expected 0 L to 54 L":   func() (Level, error) { return k.AtVolume(0.055) },
		"-1 kg can't be in it":                        func() (Level, error) { return k.AtMass(-1) },
		"expected 0 to 100 %":                         func() (Level, error) { return k.AtLevel(1.2) },
		"NaN":                                         func() (Level, error) { return k.AtLevel(quantity.Share(math.NaN())) },
	} {
		if l, err := f(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %+v, %v", says, l, err)
		}
	}
}

func TestApprox(t *testing.T) {
	for want, c := range map[string][2]float64{
		"43.2 ± 0.9 L": {43.21, 0.42}, "305 ± 6 L": {304.8, 2.6}, "9.81 ± 0.16 L": {9.811, 0.0755}, "43.2 L": {43.2, 0}, "0.0 ± 0.4 L": {0, 0.2},
	} {
		if got := Approx(c[0], c[1], "L"); got != want {
			t.Errorf("%v: %q, want %q", c, got, want)
		}
	}
}
