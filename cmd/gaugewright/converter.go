package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"gaugewright/internal/circuit"
	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/keep"
	"gaugewright/internal/lookup"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/telling"
)

type inputVerb struct {
	senderInput
	scaleInput
	Tank           string `placeholder:"FILE" help:"The tank file (JSON, see docs/tank.md) that the scale goes through."`
	Vref           string `required:"" placeholder:"VOLTAGE" help:"The voltage that the resistor is pulled up to, such as 3.3V."`
	FullScale      string `placeholder:"VOLTAGE" help:"The converter's full scale, where it isn't that voltage."`
	Bits           int    `required:"" placeholder:"NUMBER" help:"The converter's bits, such as 12."`
	Series         string `default:"E24" enum:"E12,E24,E96" help:"The preferred values to choose from."`
	Pullup         string `placeholder:"OHMS" help:"Look at this resistor instead of choosing one, such as 330ohm."`
	Tolerance      string `default:"1%" placeholder:"PERCENT" help:"The resistor's tolerance; 0% after a calibration through this input."`
	Tempco         number `default:"50" placeholder:"PPM" help:"The resistor's temperature coefficient, in millionths a kelvin; 50 is usual of metal film (common practice, no source)."`
	Warmth         number `default:"20" placeholder:"KELVIN" help:"How far the resistor's temperature goes from that at calibration, either way."`
	Power          string `default:"50mW" placeholder:"POWER" help:"The most power in the sender, such as 50mW, so that it doesn't warm itself."`
	Noise          number `default:"1" placeholder:"COUNTS" help:"The standard deviation of one conversion, in counts."`
	ReferenceError string `default:"1%" placeholder:"PERCENT" help:"How far the reference may be off the converter's full scale; nothing where both are one voltage."`
	Ratiometric    bool   `default:"true" negatable:"" help:"The converter measures against the voltage that feeds the resistor; --no-ratiometric where it doesn't."`
	Leakage        string `default:"0nA" placeholder:"CURRENT" help:"The leakage of the converter's pin, such as 50nA."`
	Current        string `placeholder:"CURRENT" help:"The most current through the sender, such as 0.5mA; unless given 1mA, and 10mA where the tank is known to hold water or waste."`
	Lead           string `default:"0ohm" placeholder:"OHMS" help:"The wire to the sender and back, such as 0.5ohm; see gaugewright wire."`
	NotFlammable   bool   `help:"The tank is known to hold water or waste; else it is taken for one of fuel or gas."`
	RaiseCurrent   bool   `help:"More than 1 mA through a sender that may sit in fuel or gas is meant; it is written down."`
	Table          string `placeholder:"FILE" help:"Write a lookup table from counts to the level: .csv, .json, .h (C) or .py (MicroPython)."`
	TablePoints    int    `placeholder:"NUMBER" help:"So many points with straight lines between them, instead of an entry for every count."`
	TableOf        string `default:"percent" enum:"percent,litres,mm" help:"What the table tells: tenths of a percent, tenths of a litre, or mm."`
	JSON           bool   `name:"json" help:"Write the result as JSON."`
}

// pulled is an input with its resistor, for a lookup table.
type pulled struct {
	in     circuit.Input
	pullup float64
}

func (p pulled) Counts(ohm float64) float64 { return float64(p.in.Counts(p.pullup, ohm)) }

func (p pulled) Ohm(counts float64) float64 {
	ohm, err := p.in.Ohms(p.pullup, int(counts))
	if err != nil {
		if int(counts) < p.in.Counts(p.pullup, 0) {
			return 0
		}
		return math.Inf(1)
	}
	return ohm
}

func (p pulled) Full() int { return 1<<p.in.Bits - 1 }

// Run designs an input for a sender.
func (v *inputVerb) Run(s streams) error {
	in, err := v.input()
	if err != nil {
		return err
	}
	c, err := v.fit(s)
	if err != nil {
		return err
	}
	if c.Signal() != curve.Ohms {
		return fmt.Errorf("%s has its readings in %s: a pull-up is for senders that give ohms; this one's %s goes to a converter as it is, through a divider where it needs one",
			v.Readings, c.Signal().Column(), c.Signal().Word())
	}
	empty, full := v.ends(c)
	sc, ofTank, err := v.scale(s, v.Tank, c.Unit(), empty, full)
	if err != nil {
		return err
	}
	ends, err := spanOf(c, sc)
	if err != nil {
		return err
	}
	choice, err := v.choose(in, ends)
	if err != nil {
		return err
	}
	findings := append(append([]finding.Finding{}, ofTank...), choice.Findings...)
	for i := range findings {
		findings[i].Text = telling.Sentence(findings[i].Text)
	}
	var table *lookup.Table
	if v.Table != "" {
		if table, err = v.table(c, sc, pulled{in, choice.Pullup}); err != nil {
			return err
		}
		findings = append(findings, table.Findings...)
	}
	if v.JSON {
		err = writeJSON(s.out, inputResult(in, ends, choice, table, findings))
	} else {
		printInput(s.out, in, ends, choice, findings)
	}
	if table != nil && !v.JSON {
		fmt.Fprintf(s.out, "\nTable written to %s: off the curve by %s %s at most.\n", v.Table, quantity.Short(table.Quantity.InUnit(table.Worst.Steps), 2), table.Quantity.Unit())
	}
	if err == nil && finding.Worst(findings) == finding.Bad {
		err = errBad
	}
	return err
}

// input reads the converter.
func (v *inputVerb) input() (circuit.Input, error) {
	in := circuit.Input{Bits: v.Bits, Noise: float64(v.Noise), Ratiometric: v.Ratiometric, NotFlammable: v.NotFlammable, RaiseCurrent: v.RaiseCurrent}
	for _, f := range []struct {
		flag, text string
		units      map[string]float64
		to         *float64
	}{
		{"--vref", v.Vref, volts, &in.Reference}, {"--full-scale", v.FullScale, volts, &in.FullScale},
		{"--leakage", v.Leakage, amperes, &in.Leakage}, {"--current", v.Current, amperes, &in.Current},
	} {
		if f.text == "" {
			continue
		}
		value, err := withUnit(f.text, f.units)
		if err != nil {
			return in, fmt.Errorf("%s %w", f.flag, err)
		}
		*f.to = value
	}
	for _, f := range []struct {
		flag, text string
		to         *float64
	}{{"--tolerance", v.Tolerance, &in.Tolerance}, {"--reference-error", v.ReferenceError, &in.ReferenceError}} {
		share, err := quantity.ParseShare(f.text)
		if err != nil {
			return in, fmt.Errorf("%s: %w", f.flag, err)
		}
		*f.to = float64(share)
	}
	in.Tempco, in.Warmth = float64(v.Tempco)*1e-6, float64(v.Warmth)
	power, err := withUnit(v.Power, watts)
	if err != nil {
		return in, fmt.Errorf("--power %w", err)
	}
	in.Power = power
	lead, err := quantity.ParseOhm(v.Lead)
	if err != nil {
		return in, fmt.Errorf("--lead: %w", err)
	}
	in.Lead = circuit.Exactly(float64(lead))
	if v.FullScale != "" && in.FullScale != in.Reference {
		in.Ratiometric = false
	}
	if in.Ratiometric {
		in.ReferenceError, in.FullScale = 0, 0
	}
	if v.Current == "" && v.NotFlammable {
		in.Current = waterCurrent
	}
	return in, in.Check()
}

// waterCurrent is the most current through a sender in water or waste unless
// another is stated, A: what a wiper and thin leads stand without warming (common
// practice, no source).
const waterCurrent = 10e-3

var (
	volts   = map[string]float64{"V": 1, "mV": 1e-3}
	watts   = map[string]float64{"W": 1, "mW": 1e-3}
	amperes = map[string]float64{"A": 1, "mA": 1e-3, "uA": 1e-6, "µA": 1e-6, "nA": 1e-9}
)

// withUnit reads a number with one of several units.
func withUnit(text string, units map[string]float64) (float64, error) {
	t := strings.TrimSpace(text)
	number := strings.TrimRight(t, "munµAVW ")
	factor, ok := units[strings.TrimSpace(t[len(number):])]
	value, err := quantity.ParseNumber(number, true)
	if err != nil || !ok {
		example := "3.3V"
		for unit, of := range map[string]string{"A": "0.5mA", "W": "50mW"} {
			if _, ok := units[unit]; ok {
				example = of
			}
		}
		return 0, fmt.Errorf("%q isn't understood; write it like %s", text, example)
	}
	return value * factor, nil
}

// spanOf gives what the sender gives at both ends of the scale, as far as it was
// read.
func spanOf(c *curve.Curve, sc scale.Scale) (circuit.Span, error) {
	if !c.Ordered() {
		return circuit.Span{}, &curve.SenderError{Text: c.Disorder()}
	}
	empty, full := sc.Ends()
	points := c.Points()
	at := func(mark float64, held curve.Point) float64 {
		if a := c.Ohm(mark, curve.Refuse); a.Known {
			return float64(a.Ohm)
		}
		return float64(held.Ohm)
	}
	span := circuit.Span{Empty: at(empty, points[0]), Full: at(full, points[len(points)-1])}
	return span, span.Check()
}

// choose finds the resistor, or looks at the one given.
func (v *inputVerb) choose(in circuit.Input, ends circuit.Span) (circuit.Choice, error) {
	if v.Pullup == "" {
		return in.Choose(circuit.Series(v.Series), ends)
	}
	pullup, err := quantity.ParseOhm(v.Pullup)
	if err != nil {
		return circuit.Choice{}, fmt.Errorf("--pullup: %w", err)
	}
	return in.Look(float64(pullup), ends)
}

// table makes the lookup table and writes it in the form that its name asks for.
func (v *inputVerb) table(c *curve.Curve, sc scale.Scale, in pulled) (*lookup.Table, error) {
	o := lookup.Options{Points: v.TablePoints, Quantity: map[string]lookup.Quantity{"percent": lookup.TenthsPct, "litres": lookup.TenthsLitre, "mm": lookup.Millimetre}[v.TableOf]}
	table, err := lookup.New(gauge.Gauge{Curve: c, Scale: sc}, in, o)
	if err != nil {
		return nil, fmt.Errorf("--table: %w", err)
	}
	about := lookup.About{Source: filepath.Base(v.Readings), Means: sc.Sentence(),
		Input: fmt.Sprintf("pull-up of %s Ω, %d bits", quantity.Short(in.pullup, 2), in.in.Bits)}
	if !in.in.NotFlammable {
		about.Cautions = []string{telling.Sentence(circuit.CodeCaution)}
	}
	var text []byte
	switch ext := strings.ToLower(filepath.Ext(v.Table)); ext {
	case ".csv":
		text = []byte(table.CSV(about))
	case ".json":
		if text, err = table.JSON(about); err != nil {
			return nil, err
		}
	case ".h":
		text = []byte(table.C(about))
	case ".py":
		text = []byte(table.MicroPython(about))
	default:
		return nil, errors.New("--table: the file's name says in which form: expected one that ends in .csv, .json, .h or .py")
	}
	return table, keep.File(v.Table, text)
}

func printInput(w io.Writer, in circuit.Input, ends circuit.Span, c circuit.Choice, findings []finding.Finding) {
	lines, g, next := telling.Input(in, ends, c)
	for _, line := range lines {
		fmt.Fprintln(w, line)
	}
	fmt.Fprintln(w)
	writeGrid(w, g)
	if next != "" {
		fmt.Fprintln(w)
		writeWrapped(w, "", next)
	}
	fmt.Fprintln(w)
	writeFindings(w, findings)
}

func inputResult(in circuit.Input, ends circuit.Span, c circuit.Choice, table *lookup.Table, findings []finding.Finding) fields {
	var out fields
	out.set("pullup_ohm", figure(c.Pullup))
	out.set("series", string(c.Series))
	out.set("empty_ohm", figure(ends.Empty))
	out.set("full_ohm", figure(ends.Full))
	out.set("counts_at_empty", in.Counts(c.Pullup, ends.Empty))
	out.set("counts_at_full", in.Counts(c.Pullup, ends.Full))
	out.set("worst_step_points", figure(c.Resolution))
	out.set("bound_points", figure(c.Bound))
	out.set("current_shorted_ma", figure(c.Shorted*1e3))
	out.set("sender_power_mw", figure(c.SenderPower*1e3))
	marks := make([]fields, len(c.Marks))
	for i, m := range c.Marks {
		marks[i].set("of_span_pct", figure(m.Mark))
		marks[i].set("ohm", figure(m.Ohm))
		marks[i].set("count", m.Count)
		marks[i].set("points_per_count", figure(m.Points))
		marks[i].set("u_points", figure(m.U))
	}
	out.set("marks", marks)
	next := make([]fields, len(c.RunnersUp))
	for i, r := range c.RunnersUp {
		next[i].set("pullup_ohm", figure(r.Pullup))
		next[i].set("worst_step_points", figure(r.Resolution))
	}
	out.set("next_best", next)
	out.set("tried", c.Tried)
	out.set("refused", c.Refused)
	if table != nil {
		out.set("table_worst", figure(table.Quantity.InUnit(table.Worst.Steps)))
		out.set("table_unit", table.Quantity.Unit())
	}
	out.set("findings", append([]finding.Finding{}, findings...))
	return out
}
