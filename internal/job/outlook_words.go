package job

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/contents"
	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Shown gives the units in which the job's figures are shown.
func (j *Job) Shown() quantity.Units {
	if j.Units == nil {
		return quantity.Units{}
	}
	return *j.Units
}

// Approx writes a figure with its doubt, about 95 %, to as many places as the
// doubt gives sense to: "43.2 ± 0.9 L". The doubt is rounded up (JCGM 100:2008,
// 7.2.6). Without a doubt it is three figures or so, and no ±.
func Approx(v, u float64, unit string) string {
	wide := doubt.UsualFactor * u
	if wide < 1e-9*math.Abs(v) || wide == 0 {
		return figures(v) + " " + unit
	}
	places := 2
	switch {
	case wide >= 2:
		places = 0
	case wide >= 0.2:
		places = 1
	}
	step := math.Pow(10, float64(places))
	return fmt.Sprintf("%s ± %s %s", quantity.Digits(v, places), quantity.Digits(math.Ceil(wide*step-1e-6)/step, places), unit)
}

// figures writes a number to three figures or so.
func figures(v float64) string {
	switch a := math.Abs(v); {
	case a < 10:
		return quantity.Short(v, 2)
	case a < 100:
		return quantity.Short(v, 1)
	}
	return quantity.Digits(v, 0)
}

// VolumeWords, MassWords and HeatWords write an amount with its doubt in a
// person's units.
func VolumeWords(u quantity.Units, f gauge.Figure) string {
	v, unit := u.VolumeIn(quantity.CubicMetre(f.Mid))
	d, _ := u.VolumeIn(quantity.CubicMetre(f.U))
	return Approx(v, d, unit)
}

// MassWords writes a mass in kg.
func MassWords(u quantity.Units, f gauge.Figure) string {
	v, unit := u.MassIn(quantity.Kilogram(f.Mid))
	d, _ := u.MassIn(quantity.Kilogram(f.U))
	return Approx(v, d, unit)
}

// HeatWords writes a heat in J.
func HeatWords(u quantity.Units, f gauge.Figure) string {
	v, unit := u.EnergyIn(quantity.Joule(f.Mid))
	d, _ := u.EnergyIn(quantity.Joule(f.U))
	return Approx(v, d, unit)
}

// UseWords says what is used in a day: "0.9 to 1.9 kg, 1.4 in the middle".
func (o Outlook) UseWords(u quantity.Units) string {
	show := func(v float64) (float64, string) {
		if o.Lasting.By == contents.ByKilograms {
			return u.MassIn(quantity.Kilogram(v))
		}
		return u.VolumeIn(quantity.CubicMetre(v))
	}
	low, unit := show(o.Lasting.PerDay.Low)
	mid, _ := show(o.Lasting.PerDay.Mid)
	high, _ := show(o.Lasting.PerDay.High)
	if a, b := figures(low), figures(high); a == b {
		return a + " " + unit
	}
	return fmt.Sprintf("%s to %s %s, %s in the middle", figures(low), figures(high), unit, figures(mid))
}

// Words says for how long, in hours from two on and else in minutes, the low end
// cut and the high end rounded up: "28 to 31 hours".
func (r Running) Words() string {
	in, unit := r.For.Hours(), "hours"
	if in.Mid < 2 {
		in.Low, in.High, unit = in.Low*60, in.High*60, "minutes"
	}
	low, high := quantity.Digits(math.Floor(in.Low+1e-9), 0), quantity.Digits(math.Ceil(in.High-1e-9), 0)
	if low == high {
		return low + " " + unit
	}
	return low + " to " + high + " " + unit
}

// LastsWords says how long it lasts: "12 to 24 days, 16 in the middle".
func (o Outlook) LastsWords() string {
	switch {
	case o.Lasting.Nothing:
		return "nothing uses it"
	case o.Lasting.Empty && o.Room:
		return "full already"
	case o.Lasting.Empty:
		return "nothing of it can be drawn"
	}
	return o.Lasting.Left.String()
}

// Sentence tells an owner how long it lasts and what to do by when, with the day
// from which it is counted.
func (o Outlook) Sentence(from time.Time) string {
	if !o.Room {
		return o.Lasting.Sentence(from)
	}
	switch {
	case o.Lasting.Nothing:
		return "Nothing runs into it."
	case o.Lasting.Empty:
		return "It is full; empty it now."
	}
	text := fmt.Sprintf("At this use it is full in %s", o.Lasting.Left)
	if !o.RefillBy.IsZero() {
		text += "; empty it by " + o.RefillBy.Format("2 January 2006")
	}
	return text + "."
}

// AskWords says what to ask for at the pump, in a person's units and cut down in
// them, and what decides in its place: "Ask for at most 34 L (17.2 kg), about
// 25.70 EUR. The tank's own filling stop decides, …".
func (o Outlook) AskWords(u quantity.Units) string {
	a := o.Ask
	if a.Nothing {
		return a.Sentence()
	}
	volume := func(m3 float64) string { return u.VolumeTextDown(quantity.CubicMetre(m3)) }
	text := fmt.Sprintf("Ask for at most %s of %s (", volume(a.Metered), a.Name)
	if a.Gas && a.At15 != a.Metered {
		text += volume(a.At15) + " at " + u.TemperatureText(quantity.Celsius(UsualCelsius)) + ", "
	}
	text += u.MassTextDown(quantity.Kilogram(a.Kilograms)) + ")"
	if a.Price > 0 {
		text += strings.TrimRight(", about "+quantity.Digits(a.Price, 2)+" "+a.Currency, " ")
	}
	if a.Gas {
		return text + ". The tank's own filling stop decides, not this figure; when it stops, the tank is full."
	}
	return text + ". Stop when the pump or the tank says so, whatever this figure is."
}

// sentence makes a sentence of a message that has neither a capital nor a full
// stop.
func sentence(err error) string { return asSentence(err.Error()) }

func asSentence(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	text = string(unicode.ToUpper(first)) + text[size:]
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

// sentences does the same for findings; the list isn't changed.
func sentences(list []finding.Finding) []finding.Finding {
	out := make([]finding.Finding, len(list))
	for i, f := range list {
		f.Text = asSentence(f.Text)
		out[i] = f
	}
	return out
}
