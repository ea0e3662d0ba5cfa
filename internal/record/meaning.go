package record

import (
	"fmt"
	"math"
	"strings"
	"time"

	substances "gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// meaning is what the display means in litres, kilograms, heat and days, and what
// heat and frost do to it; nothing where that isn't known.
func (b tank) meaning() []Block {
	if b.scaleErr != nil || b.Setting == nil {
		return nil
	}
	in, err := b.Inside()
	if err != nil || in.Capacity() == 0 {
		return nil
	}
	held, err := b.Substance()
	if err != nil {
		return nil
	}
	var blocks []Block
	if t, ok := b.meansTable(held); ok {
		blocks = append(blocks, t)
	}
	if t, ok := b.warmthTable(held, in); ok {
		blocks = append(blocks, t)
	}
	if f := b.heatAndFrost(held, in); len(f.List) > 0 {
		blocks = append(blocks, f)
	}
	return blocks
}

// usualGasFill is how full a gas tank is taken to be allowed where nothing is
// stated (common practice, no source).
const usualGasFill quantity.Share = 0.8

// meansTable is what stands behind 100, 75, 50 and 25 % of the display. A figure
// that would tell how to fill beyond what is permitted isn't given.
func (b tank) meansTable(held job.Substance) (Table, bool) {
	_, volume := b.units.VolumeIn(1)
	_, mass := b.units.MassIn(1)
	_, heat := b.units.EnergyIn(1)
	t := Table{ID: b.id + "-means", Heading: "What this means", Columns: []Column{{"Display, %", true}, {volumeHead(volume), true}, {massHead(mass), true}}}
	full, limited := b.Full()
	var worst gauge.Amount
	burns, lasts, above := false, false, false
	type row struct {
		level quantity.Share
		out   job.Outlook
		over  bool
	}
	var rows []row
	levels := []quantity.Share{1, 0.75, 0.5, 0.25}
	type looked struct {
		at  job.Level
		out job.Outlook
		err error
	}
	all := sideBySide(len(levels), func(i int) (l looked) {
		if l.at, l.err = b.AtLevel(levels[i]); l.err == nil {
			l.out, l.err = b.OutlookTogether(l.at, time.Time{})
		}
		return l
	})
	for i, level := range levels {
		at, out := all[i].at, all[i].out
		if all[i].err != nil || !out.Amount.Weighs {
			t.Notes = nil
			return t, false
		}
		if limited != nil && b.Contents == job.LPG {
			full = usualGasFill
		}
		over := (limited == nil || b.Contents == job.LPG) && at.Share > full*(1+1e-9)
		rows = append(rows, row{level, out, over})
		burns, lasts = burns || out.Amount.Burns, lasts || !out.Lasting.Nothing
		above = above || over
		if !over {
			worst.Volume.U = max(worst.Volume.U, out.Amount.Volume.U)
			worst.Mass.U = max(worst.Mass.U, out.Amount.Mass.U)
			worst.Net.U = max(worst.Net.U, out.Amount.Net.U)
		}
	}
	if burns {
		t.Columns = append(t.Columns, Column{heat + " net", true})
	}
	if lasts {
		name := "Lasts, days"
		if b.Contents == job.Waste {
			name = "Full in, days"
		}
		t.Columns = append(t.Columns, Column{name, true})
	}
	for _, r := range rows {
		a := r.out.Amount
		name := quantity.Short(float64(r.level)*100, 0)
		if r.over {
			cells := []string{"† " + name}
			for range len(t.Columns) - 1 {
				cells = append(cells, "–")
			}
			t.Rows = append(t.Rows, Row{Cells: cells})
			continue
		}
		v, _ := b.units.VolumeIn(quantity.CubicMetre(a.Volume.Mid))
		m, _ := b.units.MassIn(quantity.Kilogram(a.Mass.Mid))
		cells := []string{name, cut(v), cut(m)}
		if burns {
			e, _ := b.units.EnergyIn(quantity.Joule(a.Net.Mid))
			cells = append(cells, cut(e))
		}
		if lasts {
			cells = append(cells, daysCell(r.out))
		}
		t.Rows = append(t.Rows, Row{Cells: cells})
	}
	switch {
	case above && limited != nil:
		t.Notes = append(t.Notes, fmt.Sprintf("† Fuller than a gas tank may usually be filled (%s, common practice). What this one may hold isn't stated: find out, and don't fill by the display.", usualGasFill))
	case above:
		t.Notes = append(t.Notes, "† Above the permitted fill: the tank must not be filled so far.")
	}
	from := "by " + held.Words
	if _, gas := held.Mix(); gas {
		from = "for " + held.Words
	}
	t.Notes = append(t.Notes, fmt.Sprintf("Reckoned at %s, %s. Figures are cut down.", warmthText(b.units, b.Kelvin()), from))
	parts := []string{doubtText(job.VolumeWords(b.units, gauge.Figure{U: worst.Volume.U})), doubtText(job.MassWords(b.units, gauge.Figure{U: worst.Mass.U}))}
	if burns {
		parts = append(parts, doubtText(job.HeatWords(b.units, gauge.Figure{U: worst.Net.U})))
	}
	t.Notes = append(t.Notes, "Doubt, about 95 %, of a display in whole points, with that of the sender and of what is in the tank: up to "+listed(parts)+".")
	if lasts {
		t.Notes = append(t.Notes, b.loadsNote(rows[0].out))
		for _, r := range rows {
			if b.runs && !r.over && b.Contents != job.Waste {
				t.Notes = append(t.Notes, b.runsNote(r.level)...)
				break
			}
		}
	}
	if heel, ok := b.Heel(); ok {
		t.Notes = append(t.Notes, fmt.Sprintf("%s of it can't be drawn.", b.units.VolumeText(heel)))
	}
	return t, true
}

// loadsNote says for which use the days are.
func (b tank) loadsNote(o job.Outlook) string {
	var names []string
	for _, p := range o.Lasting.Parts {
		names = append(names, fmt.Sprintf("%s (%s %%)", clean(p.Name), quantity.Digits(float64(p.Share)*100, 0)))
	}
	draws := "what uses it"
	if o.Room {
		draws = "what runs into it"
	}
	return fmt.Sprintf("Days with %s: %s; together, in a day, %s. Count on the lower figure.", draws, listed(names), o.UseWords(b.units))
}

// runsNote says how long each load runs by itself, without a pause, on what is
// there at a level of the display.
func (b tank) runsNote(level quantity.Share) []string {
	at, err := b.AtLevel(level)
	if err != nil {
		return nil
	}
	running, err := b.Running(at)
	if err != nil || len(running) == 0 {
		return nil
	}
	var parts []string
	for _, r := range running {
		parts = append(parts, clean(r.Name)+" "+r.Words())
	}
	return []string{fmt.Sprintf("Each by itself, without a pause, from %s on the display: %s.", level, listed(parts))}
}

// daysCell gives the days as an interval, cut below and rounded up above.
func daysCell(o job.Outlook) string {
	if o.Lasting.Nothing {
		return "–"
	}
	days := o.Lasting.Left.Days()
	places := 0
	if days.Mid < 5 {
		places = 1
	}
	step := math.Pow(10, float64(places))
	low, high := math.Floor(days.Low*step+1e-9)/step, math.Ceil(days.High*step-1e-9)/step
	least := quantity.Digits(low, places)
	switch {
	case low > 999:
		return "over 999"
	case high > 999:
		return "over " + least
	case low == high:
		return least
	}
	return least + "–" + quantity.Digits(high, places)
}

// cut gives a figure cut down to a tenth, or to a whole from a hundred on: what is
// left is never told as more than it is.
func cut(v float64) string {
	if v >= 100 {
		return quantity.Digits(math.Floor(v+1e-6), 0)
	}
	return quantity.Digits(downward(v), 1)
}

// doubtText takes the figure itself, which is nothing, off a figure with its doubt.
func doubtText(text string) string {
	if _, after, found := strings.Cut(text, "± "); found {
		return "±" + after
	}
	return text
}

func volumeHead(unit string) string {
	switch unit {
	case "L":
		return "Litres"
	case "US gal":
		return "US gallons"
	}
	return "Imp. gallons"
}

func massHead(unit string) string {
	if unit == "lb" {
		return "Pounds"
	}
	return "Kilograms"
}

// warmthText shows a temperature in a person's unit.
func warmthText(u quantity.Units, k quantity.Kelvin) string {
	return quantity.Minus(u.TemperatureText(k))
}

// warmthTable is how the reading of a gas tank changes with the temperature while
// nothing goes in or out.
func (b tank) warmthTable(held job.Substance, in gauge.Inside) (Table, bool) {
	mix, ok := held.Mix()
	if !ok {
		return Table{}, false
	}
	const begin = quantity.Share(0.5)
	share, _ := in.OfLevel(begin, 0)
	capacity := in.Capacity()
	stock, err := mix.StockOf(quantity.CubicMetre(share)*capacity, capacity, float64(quantity.Celsius(job.UsualCelsius)))
	if err != nil {
		return Table{}, false
	}
	_, degrees := b.units.TemperatureIn(0)
	_, pressure := b.units.PressureIn(1)
	_, volume := b.units.VolumeIn(1)
	t := Table{ID: b.id + "-warmth", Heading: "The same gas, colder and warmer",
		Columns: []Column{{"At, " + degrees, true}, {"Display, %", true}, {volumeHead(volume), true}, {"Pressure, " + pressure, true}}}
	for _, celsius := range []float64{-10, 0, 15, 30} {
		state, err := stock.At(float64(quantity.Celsius(celsius)))
		if err != nil {
			return Table{}, false
		}
		at, _ := b.units.TemperatureIn(quantity.Celsius(celsius))
		v, _ := b.units.VolumeIn(state.LiquidVolume)
		p, _ := b.units.PressureIn(quantity.Pascal(state.Pressure - substances.Atmosphere))
		level := in.LevelOf(quantity.Share(state.LiquidVolume / capacity))
		t.Rows = append(t.Rows, Row{Strong: celsius == job.UsualCelsius, Cells: []string{quantity.Minus(quantity.Short(at, 0)), points(level), cut(v), quantity.Minus(places(p))}})
	}
	kg := b.units.MassText(quantity.Kilogram(stock.Kg()))
	t.Notes = append(t.Notes, fmt.Sprintf("The same %s throughout, liquid and vapour, which show %s at %s: nothing was filled in or drawn.", kg, begin, warmthText(b.units, quantity.Celsius(job.UsualCelsius))),
		"Pressure above that of the air. It goes by the temperature and the mixture and tells nothing of how much is left.")
	return t, true
}

// places gives a pressure to three figures or so.
func places(v float64) string {
	if math.Abs(v) < 10 {
		return quantity.Digits(v, 1)
	}
	return quantity.Digits(v, 0)
}

// heatAndFrost is what heat and frost do to a tank that is full.
func (b tank) heatAndFrost(held job.Substance, in gauge.Inside) Findings {
	f := Findings{Heading: "Heat and frost"}
	full, err := b.Full()
	if mix, ok := held.Mix(); ok {
		f.Heading = "Heat"
		if err == nil {
			f.List = append(f.List, b.liquidFull(mix, full, in.Capacity()))
		}
		return f
	}
	for _, found := range held.Findings {
		f.List = append(f.List, SentenceOf(found))
	}
	switch b.Contents {
	case job.Water, job.Waste:
		kelvin := max(b.Kelvin(), quantity.Celsius(0))
		top, _ := in.OfLevel(1, 0)
		if err == nil {
			top = min(top, full)
		}
		margin, wrong := substances.FreezingMargin(quantity.CubicMetre(top)*in.Capacity(), in.Capacity(), kelvin)
		if wrong != nil {
			return f
		}
		f.Heading = "Frost"
		if b.Contents == job.Water {
			f.List = append(f.List, weighed(finding.Doubt, margin.Sentence(b.units)))
		} else {
			f.List = append(f.List, weighed(finding.Doubt, "Waste freezes as water does and takes 9 % more room as ice: empty the tank, its pipe and its valve before frost."))
		}
	case job.Diesel, job.Petrol:
		matter, unknown := substances.MatterOf(string(b.Contents))
		if err != nil || unknown != nil || b.fillRefused() {
			return f
		}
		brim, wrong := matter.Brim(full, quantity.Celsius(job.UsualCelsius))
		if wrong == nil {
			f.Heading = "Heat"
			f.List = append(f.List, plain(brim.Sentence(b.units)))
		}
	}
	return f
}

// liquidFull warns of what becomes of a gas tank in the heat.
func (b tank) liquidFull(mix substances.Mix, full quantity.Share, capacity quantity.CubicMetre) Sentence {
	usual := quantity.Celsius(job.UsualCelsius)
	begins := fmt.Sprintf("Filled to %s at %s", full, warmthText(b.units, usual))
	stock, err := mix.StockOf(quantity.CubicMetre(full)*capacity, capacity, float64(usual))
	if err != nil {
		return Sentence{}
	}
	const why = "That room is what the permitted fill is for: never fill beyond it, and keep the tank from heat."
	kelvin, ok, err := stock.FullAt()
	if err != nil || !ok {
		return weighed(finding.Doubt, fmt.Sprintf("%s, this gas has room for its liquid up to %s at least. %s", begins, warmthText(b.units, quantity.Kelvin(stock.Limit())), why))
	}
	v, unit := b.units.TemperatureIn(quantity.Kelvin(kelvin))
	return weighed(finding.Doubt, fmt.Sprintf("%s it is full of liquid at %s %s, and from there its pressure rises by several bar with each degree. %s",
		begins, quantity.Minus(quantity.Digits(math.Floor(v), 0)), unit, why))
}
