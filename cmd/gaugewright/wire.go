package main

import (
	"errors"
	"fmt"
	"strings"

	"gaugewright/internal/circuit"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

type wireVerb struct {
	Area         string  `required:"" placeholder:"AREA" help:"The area of one conductor, such as 0.5mm2, or its gauge, such as 20awg."`
	Length       string  `required:"" placeholder:"LENGTH" help:"The length one way, such as 6m; the way back is added."`
	Temp         string  `default:"20C" placeholder:"TEMPERATURE" help:"The temperature of the wire, such as 40C."`
	Metal        string  `default:"copper" enum:"copper,tinned,aluminium" help:"copper, tinned (copper) or aluminium."`
	Joints       int     `placeholder:"NUMBER" help:"Joints in both conductors together; each adds 2 to 20 milliohms (common practice, no source)."`
	Span         string  `placeholder:"EMPTY:FULL" help:"The ohms of the sender at empty and at full, such as 0:90: what the wire does to the level."`
	Limit        *number `placeholder:"POINTS" help:"Also the smallest area that keeps the error below so many points; needs --span."`
	Leak         string  `placeholder:"OHMS" help:"What a leak of so many ohms across the sender (water in a plug) would look like; needs --span."`
	Corroded     string  `placeholder:"OHMS" help:"What so many ohms in a corroded joint would look like; needs --span."`
	Needle       string  `placeholder:"OHMS" help:"The sender is shared with a needle gauge whose coil has so many ohms: what a second input would see; needs --span."`
	Stands       string  `default:"3.3V" placeholder:"VOLTAGE" help:"The most voltage that the second input stands, for --needle."`
	NotFlammable bool    `help:"The tank is known to hold water or waste; else it is taken for one of fuel or gas."`
	JSON         bool    `name:"json" help:"Write the result as JSON."`
}

// Run tells what a run of wire adds.
func (v *wireVerb) Run(s streams) error {
	run, err := v.run()
	if err != nil {
		return err
	}
	added, err := run.Added()
	if err != nil {
		return err
	}
	var out fields
	out.set("added_ohm", figure(added.Ohm))
	out.set("error_points_at_empty", nil)
	out.set("error_points_at_full", nil)
	out.set("low_ohm", figure(added.Low))
	out.set("high_ohm", figure(added.High))
	out.set("basis", added.Basis)
	var told []finding.Finding
	say := func(kind, text string) {
		told = append(told, finding.Finding{Kind: kind, Weight: finding.Note, Text: telling.Sentence(text)})
	}
	if v.Span == "" && (v.Limit != nil || v.Leak != "" || v.Corroded != "" || v.Needle != "") {
		return errors.New("--limit, --leak, --corroded and --needle need --span, such as 0:90")
	}
	if v.Span != "" {
		span, err := parseSpan(v.Span)
		if err != nil {
			return err
		}
		effect, err := run.On(span)
		if err != nil {
			return fmt.Errorf("--span: %w", err)
		}
		out.values[1], out.values[2] = figure(effect.Empty), figure(effect.Full)
		out.set("corrected_empty_ohm", figure(effect.Corrected.Empty))
		out.set("corrected_full_ohm", figure(effect.Corrected.Full))
		say("wire", effect.Text)
		if v.Limit != nil {
			size, err := run.SmallestArea(span, float64(*v.Limit))
			if err != nil {
				return fmt.Errorf("--limit: %w", err)
			}
			out.set("smallest_area_mm2", nil)
			if size.Found {
				out.values[len(out.values)-1] = figure(size.Area * 1e6)
			}
			say("smallest-area", size.Text)
		}
	}
	if v.Span != "" {
		more, err := v.beside(&out, run)
		if err != nil {
			return err
		}
		told = append(told, more...)
	}
	out.set("findings", append([]finding.Finding{}, told...))
	bad := error(nil)
	if finding.Worst(told) == finding.Bad {
		bad = errBad
	}
	if v.JSON {
		if err := writeJSON(s.out, out); err != nil {
			return err
		}
		return bad
	}
	fmt.Fprintln(s.out, telling.Wire(v.Length, added))
	writeFindings(s.out, told)
	return bad
}

// beside tells what faults of the wiring would look like, and what sharing the
// sender with a needle gauge does.
func (v *wireVerb) beside(out *fields, run circuit.Run) (told []finding.Finding, err error) {
	span, err := parseSpan(v.Span)
	if err != nil {
		return nil, err
	}
	for _, f := range []struct {
		flag, text, words, name string
		fault                   circuit.Fault
	}{
		{"--leak", v.Leak, "A leak of %s across the sender, such as water in a plug, reads", "leak_points", circuit.Leak},
		{"--corroded", v.Corroded, "%s in a corroded joint reads", "corroded_points", circuit.Corroded},
	} {
		if f.text == "" {
			continue
		}
		ohm, err := quantity.ParseOhm(f.text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.flag, err)
		}
		look, err := f.fault.Looks(float64(ohm), span)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.flag, err)
		}
		out.set(f.name, map[string]float64{"empty": figure(look.Empty), "half": figure(look.Half), "full": figure(look.Full)})
		told = append(told, finding.Finding{Kind: strings.TrimSuffix(f.name, "_points"), Weight: finding.Note,
			Text: telling.FaultWords(fmt.Sprintf(f.words, ohm), look)})
	}
	if v.Needle == "" {
		return told, nil
	}
	coil, err := quantity.ParseOhm(v.Needle)
	if err != nil {
		return nil, fmt.Errorf("--needle: %w", err)
	}
	stands, err := withUnit(v.Stands, volts)
	if err != nil {
		return nil, fmt.Errorf("--stands %w", err)
	}
	added, err := run.Added()
	if err != nil {
		return nil, err
	}
	shared, err := circuit.Shared{Span: span, Coil: float64(coil), Stands: stands, LeadSender: added.Ohm, NotFlammable: v.NotFlammable}.Analyse()
	if err != nil {
		return nil, fmt.Errorf("--needle: %w", err)
	}
	var f fields
	between := func(b circuit.Between) []float64 { return []float64{figure(b.Low), figure(b.High)} }
	f.set("verdict", string(shared.Verdict))
	f.set("volts_at_empty", between(shared.Empty))
	f.set("volts_at_full", between(shared.Full))
	f.set("volts_broken", figure(shared.Top))
	f.set("error_points_supply_assumed", figure(shared.Assumed))
	f.set("error_points_supply_measured", figure(shared.Ratio))
	f.set("most_current_ma", figure(shared.Current*1e3))
	out.set("needle", f)
	for _, found := range shared.Findings {
		found.Text = telling.Sentence(found.Text)
		told = append(told, found)
	}
	return told, nil
}

// run reads the wire.
func (v *wireVerb) run() (circuit.Run, error) {
	run := circuit.Run{Joints: v.Joints, Metal: map[string]circuit.Metal{"copper": circuit.Copper, "tinned": circuit.Tinned, "aluminium": circuit.Aluminium}[v.Metal]}
	area, gauge, err := circuit.ParseArea(v.Area)
	if err != nil {
		return run, fmt.Errorf("--area: %w", err)
	}
	run.Area = area
	if gauge {
		run.Conductor = circuit.Solid
	}
	length, err := quantity.ParseMetre(v.Length)
	if err != nil {
		return run, fmt.Errorf("--length: %w", err)
	}
	run.Length = float64(length)
	kelvin, err := quantity.ParseKelvin(v.Temp)
	if err != nil {
		return run, fmt.Errorf("--temp: %w", err)
	}
	run.Kelvin = float64(kelvin)
	return run, run.Check()
}

// parseSpan reads the ohms at empty and at full.
func parseSpan(text string) (circuit.Span, error) {
	empty, full, ok := strings.Cut(text, ":")
	a, err := quantity.ParseNumber(empty, true)
	b, err2 := quantity.ParseNumber(full, true)
	if !ok || err != nil || err2 != nil {
		return circuit.Span{}, fmt.Errorf("--span %q isn't two figures; write it like 0:90", text)
	}
	return circuit.Span{Empty: a, Full: b}, nil
}
