package web

import (
	"fmt"
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/wording"
)

var contentsKinds = []option{
	{Value: string(job.LPG), Name: "LPG (gas)"},
	{Value: string(job.Water), Name: "fresh water"},
	{Value: string(job.Diesel), Name: "diesel"},
	{Value: string(job.Petrol), Name: "petrol"},
	{Value: string(job.Waste), Name: "waste water"},
	{Value: string(job.Other), Name: "something else"},
}

var metals = []option{{Value: "", Name: "copper"}, {Value: "tinned copper", Name: "tinned copper"}, {Value: "aluminium", Name: "aluminium"}}

// tankValues writes a tank into the fields of its page.
func tankValues(t job.Tank, u quantity.Units) url.Values {
	v := url.Values{}
	v.Set("name", t.Name)
	v.Set("contents", string(t.Contents))
	v.Set("water_capacity_l", volumeField(statedCapacity(t), u))
	v.Set("permitted_fill_pct", figureField(t.PermittedPct()))
	v.Set("heel_l", heelField(t, u))
	v.Set("sender.description", t.Sender.Description)
	v.Set("sender.type", t.Sender.Type)
	v.Set("sender.batch", t.Sender.Batch)
	v.Set("sender.serial", t.Sender.Serial)
	for _, c := range t.Sender.Claimed {
		v.Add("claimed", quantity.Short(c.EmptyOhm, 9)+" to "+quantity.Short(c.FullOhm, 9))
	}
	if w := t.Wire; w != nil {
		v.Set("wire.size", quantity.Short(w.AreaMM2, 9)+" mm²")
		if w.AWG != nil {
			v.Set("wire.size", gaugeText(*w.AWG))
		}
		v.Set("wire.length_m", quantity.Short(w.LengthM, 9))
		v.Set("wire.metal", w.Metal)
		v.Set("wire.joints", figureField(float64(w.Joints)))
		v.Set("wire.temperature_c", celsiusField(w.TemperatureC, u))
		if w.Through {
			v.Set("wire.read_through_it", "yes")
		}
	}
	shapeValues(v, t.Shape)
	return v
}

func statedCapacity(t job.Tank) float64 {
	if t.WaterCapacityL == 0 && t.Shape != nil {
		return t.Shape.CapacityL
	}
	return t.WaterCapacityL
}

// heelField writes what can't be drawn: as a volume, or as the height that the
// shape states it as.
func heelField(t job.Tank, u quantity.Units) string {
	switch {
	case t.HeelL > 0:
		return volumeField(t.HeelL, u)
	case t.Shape == nil:
	case t.Shape.HeelL != nil:
		return volumeField(*t.Shape.HeelL, u)
	case t.Shape.HeelMM != nil:
		return quantity.Short(*t.Shape.HeelMM, 9) + " mm"
	}
	return ""
}

func gaugeText(n int) string {
	if n < 0 {
		return fmt.Sprintf("AWG %d/0", 1-n)
	}
	return "AWG " + strconv.Itoa(n)
}

// facts puts what was typed into a tank: all but its shape.
func (f *typed) facts(t *job.Tank, u quantity.Units) {
	if t.Name = f.text("name"); t.Name == "" {
		f.blame("name", "give the tank a name, such as Gas")
	}
	if kind := job.Contents(f.text("contents")); kind != t.Contents {
		known := false
		for _, k := range contentsKinds {
			known = known || k.Value == string(kind)
		}
		if !known {
			f.blame("contents", "say what is in the tank")
		}
		// What was stated of the contents was stated of others.
		t.Contents, t.Gas, t.DensityKgL, t.Loads = kind, nil, 0, nil
	}
	// What the shape states as well is kept there only for as long as it stands.
	shape := t.Shape
	if shape != nil {
		own := *shape
		shape = &own
	} else {
		shape = &tankfile.File{}
	}
	if !f.same("water_capacity_l") || t.WaterCapacityL > 0 {
		was := t.WaterCapacityL
		if t.WaterCapacityL, _ = f.litres("water_capacity_l", u, t.WaterCapacityL); t.WaterCapacityL != was {
			shape.CapacityL = 0
		}
	}
	if !f.same("permitted_fill_pct") {
		t.PermittedFillPct, _ = f.number("permitted_fill_pct", "%", 1, 100)
		shape.PermittedFillPct = 0
	}
	if !f.same("heel_l") {
		f.heel(t, shape, u)
	}
	if t.Shape != nil {
		t.Shape = shape
	}
	t.Sender.Description = f.text("sender.description")
	t.Sender.Type, t.Sender.Batch, t.Sender.Serial = f.text("sender.type"), f.text("sender.batch"), f.text("sender.serial")
	f.claims(t)
	f.wire(t, u)
}

// heel reads what can't be drawn: a volume, or a height at the sensor.
func (f *typed) heel(t *job.Tank, shape *tankfile.File, u quantity.Units) {
	t.HeelL, shape.HeelL, shape.HeelMM = 0, nil, nil
	text := f.text("heel_l")
	if text == "" {
		return
	}
	if m, err := quantity.ParseMetre(text); err == nil {
		if t.Shape == nil {
			f.blame("heel_l", "a height tells litres only where the shape is known; state litres, or the shape first")
			return
		}
		mm := quantity.Round(float64(m)*1000, 9)
		if !(mm >= 0) {
			f.blame("heel_l", "found %q; a heel isn't below nothing", wording.Clip(text, 40))
			return
		}
		shape.HeelMM = &mm
		return
	}
	t.HeelL, _ = f.litres("heel_l", u, 0)
}

var between = regexp.MustCompile(`\s*(?:\bto\b|–|:|\.\.)\s*`)

var hyphen = regexp.MustCompile(`([0-9])\s*-\s*([0-9])`)

// parted gives the figures of a range, like "0 to 90", "0 – 90" or "0:90".
func parted(text string) []string {
	return between.Split(hyphen.ReplaceAllString(strings.TrimSpace(text), "$1 to $2"), -1)
}

// ends reads two figures, like "0 to 90".
func ends(text string) (low, high float64, err error) {
	parts := parted(text)
	if len(parts) != 2 {
		return 0, 0, fmt.Errorf("found %q; expected two figures, like 0 to 90", wording.Clip(text, 40))
	}
	for i, to := range []*float64{&low, &high} {
		if *to, err = quantity.ParseNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(parts[i]), "Ω")), true); err != nil {
			return 0, 0, fmt.Errorf("found %q; expected two figures, like 0 to 90", wording.Clip(text, 40))
		}
	}
	return low, high, nil
}

// claimName names the field of a claimed span.
func claimName(i int) string { return fmt.Sprintf("claimed.%d", i) }

func (f *typed) claims(t *job.Tank) {
	f.labels["claimed"] = "Claimed spans"
	t.Sender.Claimed = nil
	for i, text := range f.rows("claimed") {
		if strings.TrimSpace(text) == "" {
			continue
		}
		low, high, err := ends(text)
		if err != nil {
			f.blame(claimName(i), "%v, of the sender at empty and at full", err)
			continue
		}
		most := float64(t.Signal().Limit())
		if !(low >= 0 && high >= 0 && low <= most && high <= most) {
			f.blame(claimName(i), "found %q; expected figures from 0 to %s", wording.Clip(text, 40), quantity.Short(most, 0))
			continue
		}
		t.Sender.Claimed = append(t.Sender.Claimed, job.Claim{EmptyOhm: low, FullOhm: high})
	}
	t.Sender.Numbers = job.NumbersOf(t.Signal())
}
