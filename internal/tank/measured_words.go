package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Kinds of findings about a fit to poured litres.
const (
	KindFitted         = "fitted-dimension"
	KindNotTold        = "dimension-not-told"
	KindGoTogether     = "dimensions-go-together"
	KindNothingChecks  = "fit-not-checked"
	KindFitMisses      = "fit-misses"
	KindAboveFit       = "poured-above-fit"
	KindFittedCapacity = "fitted-capacity"
)

func (f *PouredFit) words(m *measuredModel, points []Poured, highest float64, most quantity.CubicMetre) (list []finding.Finding) {
	add := func(kind string, weight finding.Weight, format string, args ...any) {
		list = append(list, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
	}
	for _, d := range f.Fitted {
		switch {
		case d.Name == "area":
			add(KindFitted, finding.Note, "Of a box the poured litres tell length × width: %s m². Which of the two is which they can't tell, and for the volume it doesn't matter.", measuredPlusMinus(d.Value, 2*d.U))
		case d.Told:
			add(KindFitted, finding.Note, "The %s comes to %s mm.", d.Name, measuredPlusMinus(d.Value*1000, 2000*d.U))
		case d.U > d.Value/4:
			add(KindNotTold, finding.Doubt, "The %s can't be told from these points at all. Measure it, or pour to other heights.", d.Name)
		default:
			add(KindNotTold, finding.Doubt, "The %s is told poorly by these points: %s mm. Measure it, or pour to other heights.", d.Name, measuredPlusMinus(d.Value*1000, 2000*d.U))
		}
	}
	if len(f.Fitted) == 2 && len(m.priors) == 0 {
		if r := f.Cov.At(0, 1) / (f.Fitted[0].U * f.Fitted[1].U); math.Abs(r) > 0.95 {
			add(KindGoTogether, finding.Note, "%s and %s go together in these points (correlation %s): a measured one would tell the other far better.",
				measuredFirst(f.Fitted[0].Name), f.Fitted[1].Name, quantity.Digits(r, 2))
		}
	}
	switch {
	case f.DF == 0:
		add(KindNothingChecks, finding.Doubt, "There are no more points than unknown dimensions, so nothing checks that the tank has this form: one more pour would.")
	case f.P < 0.01:
		worst := 0
		for i, r := range f.Residuals {
			if math.Abs(r) > math.Abs(f.Residuals[worst]) {
				worst = i
			}
		}
		add(KindFitMisses, finding.Doubt, "The points don't lie on a %s to within their doubts: by chance that would be so in %s of a hundred cases. The farthest is %s at %s, %s off. Another form, a slip in a pour, or doubts stated too small.",
			f.Form, measuredChance(f.P), points[worst].Volume, points[worst].Height, measuredTimes(f.Residuals[worst]))
	}
	if d, i := m.get(measuredValues(f.Fitted), "diameter"); f.Form == LyingForm && highest > d*(1+1e-9) {
		weight := finding.Doubt
		if i >= 0 && highest < d+2*f.Fitted[i].U {
			weight = finding.Note
		}
		add(KindAboveFit, weight, "A point stands at %s, above the fitted diameter of %s.", quantity.Metre(highest), quantity.Metre(d))
	}
	switch {
	case math.IsNaN(float64(f.Capacity)): // not asked for
	case f.UCapacity > f.Capacity/4:
		add(KindFittedCapacity, finding.Doubt, "The capacity can't be told from these points: no more than %s was poured, and what lies above may be anything.", most)
	default:
		text := fmt.Sprintf("The capacity comes to %s L.", measuredPlusMinus(float64(f.Capacity)*1000, 2000*float64(f.UCapacity)))
		weight := finding.Note
		if f.Beyond {
			weight = finding.Doubt
			text += fmt.Sprintf(" No more than %s was poured: what lies above rests on the tank's having this form all the way up.", most)
		}
		list = append(list, finding.Finding{Kind: KindFittedCapacity, Weight: weight, Text: text})
	}
	return list
}

func measuredValues(list []Fitted) []float64 {
	v := make([]float64, len(list))
	for i, f := range list {
		v[i] = f.Value
	}
	return v
}

// measuredDecimals are those at which a doubt has two digits.
func measuredDecimals(doubt float64) int {
	if !(doubt > 0) {
		return 3
	}
	return min(6, max(0, 1-int(math.Floor(math.Log10(doubt)))))
}

// measuredPlusMinus prints a value and its doubt to two digits of the latter.
func measuredPlusMinus(v, doubt float64) string {
	d := measuredDecimals(doubt)
	return quantity.Digits(v, d) + " ± " + quantity.Digits(doubt, d)
}

func measuredChance(p float64) string {
	if p < 1e-4 {
		return "less than 0.01"
	}
	return quantity.Short(p*100, 2)
}

func measuredTimes(r float64) string {
	return quantity.Digits(math.Abs(r), 1) + " times its standard uncertainty"
}

func measuredFirst(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
