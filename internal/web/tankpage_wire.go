package web

import (
	"gaugewright/internal/circuit"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

func (f *typed) wire(t *job.Tank, u quantity.Units) {
	size, length := f.text("wire.size"), f.text("wire.length_m")
	if size == "" && length == "" && f.text("wire.joints") == "" {
		t.Wire = nil
		return
	}
	var kept job.Wire
	if t.Wire != nil {
		kept = *t.Wire
	}
	w := job.Wire{Metal: f.text("wire.metal"), Through: f.text("wire.read_through_it") != "", TemperatureC: f.celsius("wire.temperature_c", u, kept.TemperatureC)}
	f.wireSize(&w, size)
	text := length
	if _, err := quantity.ParseNumber(text, true); err == nil {
		text += "m"
	}
	switch m, err := quantity.ParseMetre(text); {
	case length == "":
		f.blame("wire.length_m", "say how long the wire is one way, like 6 m")
	case err != nil:
		f.blame("wire.length_m", "%v; metres may be written without it", err)
	default:
		w.LengthM = quantity.Round(float64(m), 9)
	}
	if n, ok := f.number("wire.joints", "", 0, 1000); ok {
		if w.Joints = int(n); float64(w.Joints) != n {
			f.blame("wire.joints", "found %s; expected a whole number", quantity.Short(n, 3))
		}
	}
	t.Wire = &w
}

func (f *typed) wireSize(w *job.Wire, size string) {
	if size == "" {
		f.blame("wire.size", "say how thick the wire is, like 0.75 mm² or AWG 18")
		return
	}
	text := size
	if _, err := quantity.ParseNumber(text, true); err == nil {
		text += "mm2"
	}
	area, awg, err := circuit.ParseArea(text)
	switch {
	case err != nil:
		f.blame("wire.size", "%v", err)
	case !awg:
		w.AreaMM2 = quantity.Round(area*1e6, 9)
	default:
		for n := -3; n <= 40; n++ {
			if _, of, err := circuit.AWG(n); err == nil && of == area {
				w.AWG = &n
			}
		}
	}
}
