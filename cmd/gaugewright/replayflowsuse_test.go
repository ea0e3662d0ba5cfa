package main

import (
	"fmt"
	"math"
	"strings"
)

// matchUses holds spells of use that are told against what was drawn. One is such where
// half of its amount or more was drawn in its time, give or take a reading and a half, or
// three minutes.
func (v *flowVerdict) matchUses(truth flowTruth, events []flowEvent) {
	near := max(180, 1.5*truth.Every)
	within := func(from, to float64) (sum float64) {
		for _, d := range truth.Draws {
			if long := min(d[1], to) - max(d[0], from); long > 0 {
				sum += d[2] * long / max(d[1]-d[0], 1e-9)
			}
		}
		return sum
	}
	var told []flowEvent
	for _, e := range events {
		if e.Kind != "use" {
			continue
		}
		told = append(told, e)
		least, most, amount := within(e.from, e.to), within(e.from-near, e.to+near), value(e.Amount)
		v.spells.add(most >= 0.5*amount)
		if most < 0.5*amount {
			v.say("invented use of %.2f %% from %s, in which %.2f %% was drawn, p %.2f", amount, hours(truth, e.from), most, value(e.P))
			continue
		}
		v.drawnErrors = append(v.drawnErrors, max(0, least-amount, amount-most))
		v.drawnHeld.add(value(e.Low) <= most && value(e.High) >= least)
	}
	for _, s := range truth.spells() {
		found := false
		for _, e := range told {
			found = found || e.from < s[1]+near && e.to > s[0]-near
		}
		for i, least := range []float64{1, 2, 5} {
			if s[2] >= least {
				v.drawn[i].add(found)
			}
		}
	}
}

// spells are the draws of a history less than 15 minutes apart as one, as far as
// nothing hid them and they took no more than five hours.
func (f *flowTruth) spells() (list [][3]float64) {
	var all [][3]float64
	for _, d := range f.Draws {
		if n := len(all) - 1; n >= 0 && d[0]-all[n][1] < 900 {
			all[n][1], all[n][2] = max(all[n][1], d[1]), all[n][2]+d[2]
			continue
		}
		all = append(all, d)
	}
	hidden := append(append(append([][2]float64{}, f.Gaps...), f.Trips...), f.Sticks...)
	for _, x := range f.Faults {
		a, _ := x[0].(float64)
		b, _ := x[1].(float64)
		hidden = append(hidden, [2]float64{a, b})
	}
	for _, r := range f.Refills {
		hidden = append(hidden, [2]float64{r.From, r.To})
	}
	for _, s := range all {
		clear := s[1]-s[0] <= 5*3600 && s[2]/max(0.01, (s[1]-s[0])/3600) >= 1.5
		for _, h := range hidden {
			clear = clear && (h[0] >= s[1]+900 || h[1] <= s[0]-900)
		}
		if clear {
			list = append(list, s)
		}
	}
	return list
}

// judgeSwing holds how far the reading is said to swing with the day against how far a
// fine day moved it.
func (v *flowVerdict) judgeSwing(truth flowTruth, s flowSummary) {
	v.swingKnown.add(s.Swing != nil)
	if s.Swing == nil {
		return
	}
	swung := 0.0
	if len(truth.Heat) == 2 {
		half, _ := truth.Heat[1].(float64)
		swung = 200 * half
	}
	held := value(s.SwingLow) <= swung && swung <= value(s.SwingHigh)
	if v.swing.add(held); !held {
		v.say("swing with the day of %.2f (%.2f to %.2f) points, truly %.2f", value(s.Swing), value(s.SwingLow), value(s.SwingHigh), swung)
	}
}

// usesTable writes what came of the spells of use, by the kind.
func usesTable(order []string, verdicts map[string]*flowVerdict, all *flowVerdict) string {
	const form = "%-14s %10s | %10s %10s %10s | %6s %6s %6s | %7s %7s\n"
	var out strings.Builder
	fmt.Fprintf(&out, form, "spells of use", "were such", "told >1 pt", "> 2", "> 5", "median", "95 %", "held", "swing", "known")
	figure := func(x float64) string {
		if math.IsNaN(x) {
			return "–"
		}
		return fmt.Sprintf("%.2f", x)
	}
	row := func(name string, v *flowVerdict) {
		fmt.Fprintf(&out, form, name, v.spells.String(), v.drawn[0].String(), v.drawn[1].String(), v.drawn[2].String(),
			figure(part(v.drawnErrors, 0.5)), figure(part(v.drawnErrors, 0.95)), v.drawnHeld.percent(), v.swing.percent(), v.swingKnown.percent())
	}
	for _, k := range order {
		row(k, verdicts[k])
	}
	row("all", all)
	return out.String()
}
