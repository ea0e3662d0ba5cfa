package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/readings"
)

type benchVerb struct {
	File  string `arg:"" help:"CSV to add the readings to; made if it isn't there."`
	Mark  string `default:"pct" enum:"pct,mm,l,kg" help:"In what the marks are known: pct (a dial), mm (a float's height), l (litres poured), kg."`
	Gives string `default:"ohm" enum:"ohm,volt,milliamp,of_supply_pct" help:"What the sender gives: ohm, volt, milliamp (a current loop), or of_supply_pct (a ratiometric sender's output in percent of its supply)."`
}

// Run takes readings typed one a line until the input ends, and stores each
// before it says that it was taken.
func (v *benchVerb) Run(s streams) error {
	unit, ok := unitOf(v.Mark)
	if !ok {
		return fmt.Errorf("--mark %q is not known; expected pct, mm, l or kg", v.Mark)
	}
	signal, ok := signalOf(v.Gives)
	if !ok {
		return fmt.Errorf("--gives %q is not known; expected ohm, volt, milliamp or of_supply_pct", v.Gives)
	}
	a, sheet, err := readings.OpenAppenderFor(v.File, unit, signal)
	if err != nil {
		return err
	}
	b := &bench{streams: s, unit: unit, signal: signal, file: a, sheet: sheet}
	err = b.take()
	return errors.Join(err, a.Close())
}

func unitOf(name string) (curve.MarkUnit, bool) {
	for _, u := range curve.MarkUnits {
		if u.Column() == "mark_"+name {
			return u, true
		}
	}
	return 0, false
}

func signalOf(name string) (curve.Signal, bool) {
	for _, s := range curve.Signals {
		if s.Column() == name {
			return s, true
		}
	}
	return 0, false
}

// samples are readings at a mark of 20, for the prompt.
var samples = map[curve.Signal]string{curve.Ohms: "18.4", curve.Volts: "1.32", curve.Milliamps: "7.18", curve.Ratio: "26.2"}

// bench is one sitting at the prompt.
type bench struct {
	streams
	unit   curve.MarkUnit
	signal curve.Signal
	file   *readings.Appender
	sheet  curve.Sheet
	sweep  curve.Sweep
}

func (b *bench) take() error {
	if said := b.file.Mended(); said != "" {
		fmt.Fprintln(b.err, said)
	}
	fmt.Fprintf(b.out, "Type a mark in %s and the %s, like: 20 %s\n", b.unit.Symbol(), b.signal.Figures(), samples[b.signal])
	fmt.Fprintln(b.out, "A note may follow. Also: up or down (how the marks are approached from now on),")
	fmt.Fprintln(b.out, "strike (take the last one back), look (the curve so far). An empty line or end of input ends.")
	if n := len(b.sheet.Readings); n > 0 {
		fmt.Fprintf(b.out, "%d readings are in the file already.\n", n)
	}
	lines := bufio.NewScanner(b.in)
	lines.Buffer(nil, 1<<20)
	for {
		fmt.Fprintf(b.out, "%d> ", len(b.sheet.Readings)+1)
		if !lines.Scan() {
			fmt.Fprintln(b.out)
			break
		}
		line := strings.TrimSpace(lines.Text())
		if line == "" {
			break
		}
		if err := b.line(line); err != nil {
			return err
		}
	}
	if err := lines.Err(); err != nil {
		return fmt.Errorf("the input broke off: %w; what was taken is in the file", err)
	}
	b.summary(b.out)
	return nil
}

// line carries out one line. Its error is one that ends the sitting: the file
// can't be written.
func (b *bench) line(line string) error {
	word, rest, _ := strings.Cut(line, " ")
	switch strings.ToLower(word) {
	case "up", "down":
		b.sweep, _ = curve.ParseSweep(strings.ToLower(word))
		fmt.Fprintf(b.out, "   marks are approached going %s\n", b.sweep)
		return nil
	case "look":
		b.look()
		return nil
	case "strike":
		return b.strike(strings.TrimSpace(rest))
	}
	r, err := b.parse(line)
	if err != nil {
		fmt.Fprintf(b.out, "   not taken: %v\n", err)
		return nil
	}
	if err := b.file.Add(r); err != nil {
		return err
	}
	b.sheet.Readings = append(b.sheet.Readings, r)
	fmt.Fprintf(b.out, "   taken: %s, %s%s\n", b.unit.Text(r.Mark), b.signal.Text(r.Ohm), b.doubtful(r))
	return nil
}

// parse reads "20 18.4 a note".
func (b *bench) parse(line string) (curve.Reading, error) {
	parts := strings.Fields(line)
	if len(parts) < 2 {
		return curve.Reading{}, fmt.Errorf("found %q; expected a mark and the %s, like 20 %s", line, b.signal.Figures(), samples[b.signal])
	}
	mark, err := quantity.ParseNumber(strings.TrimSuffix(parts[0], b.unit.Symbol()), true)
	if err != nil {
		return curve.Reading{}, fmt.Errorf("the mark %w", err)
	}
	if !(mark >= 0 && mark <= b.unit.Limit()) {
		return curve.Reading{}, fmt.Errorf("the mark %s lies outside 0 to %s %s", parts[0], quantity.Short(b.unit.Limit(), 0), b.unit.Symbol())
	}
	ohm, err := quantity.ParseNumber(strings.TrimSuffix(strings.TrimSuffix(parts[1], b.signal.Symbol()), b.signal.Column()), true)
	if err != nil {
		hint := "; an overload of the meter is an open circuit, not a reading"
		if b.signal != curve.Ohms {
			hint = "; an overload of the meter is not a reading"
		}
		return curve.Reading{}, fmt.Errorf("the %s: %w%s", b.signal.Figures(), err, hint)
	}
	if limit := b.signal.Limit(); !(ohm >= 0 && quantity.Ohm(ohm) <= limit) {
		return curve.Reading{}, fmt.Errorf("%s %s can't come from a level sender; expected 0 to %s", parts[1], b.signal.Column(), quantity.Short(float64(limit), 0))
	}
	return curve.Reading{
		Mark:  b.unit.FromShown(mark),
		Ohm:   quantity.Ohm(ohm),
		Sweep: b.sweep,
		Time:  time.Now().Truncate(time.Second),
		Note:  strings.Join(parts[2:], " "),
	}, nil
}

func (b *bench) strike(reason string) error {
	if len(b.sheet.Readings) == 0 {
		fmt.Fprintln(b.out, "   there is no reading to strike")
		return nil
	}
	r, err := b.file.Strike(reason)
	if err != nil {
		return err
	}
	b.sheet.Readings = b.sheet.Readings[:len(b.sheet.Readings)-1]
	fmt.Fprintf(b.out, "   struck: %s, %s; the file keeps it as a comment\n", b.unit.Text(r.Mark), b.signal.Text(r.Ohm))
	return nil
}

// doubtful says at once when a reading doesn't go with the others.
func (b *bench) doubtful(r curve.Reading) string {
	c, err := curve.Fit(b.sheet, curve.Options{})
	if err != nil {
		return ""
	}
	for _, aside := range c.SetAside() {
		if aside.Mark == r.Mark && aside.Ohm == r.Ohm {
			return "; it doesn't go with the others: take it again"
		}
	}
	return ""
}

func (b *bench) look() {
	c, err := curve.Fit(b.sheet, curve.Options{})
	if err != nil {
		fmt.Fprintf(b.out, "   no curve yet: %v\n", err)
		return
	}
	writeFindings(b.out, c.Findings())
}

func (b *bench) summary(w io.Writer) {
	fmt.Fprintf(w, "%d readings in the file.\n", len(b.sheet.Readings))
	if c, err := curve.Fit(b.sheet, curve.Options{}); err == nil {
		var told []finding.Finding
		for _, f := range c.Findings() {
			if f.Kind == "direction" || f.Weight > finding.Note {
				told = append(told, f)
			}
		}
		writeFindings(w, told)
	}
}
