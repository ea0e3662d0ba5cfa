package main

import (
	"bytes"
	"fmt"
	"image/png"
	"io"
	"math"
	"path/filepath"
	"strings"

	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/keep"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tag"
)

type jobCodeVerbs struct {
	QR     jobQR     `cmd:"" name:"qr" help:"Put a tank's settings and curve into a code that can be printed and scanned."`
	FromQR jobFromQR `cmd:"" name:"from-qr" help:"Restore a job from the text of a printed code."`
}

type jobQR struct {
	File string `arg:"" help:"The job file, or - for standard input."`
	Tank string `help:"The tank's name; needed where the job has more than one."`
	Out  string `placeholder:"FILE" help:"Draw the code into this file: an SVG or a PNG, by its name."`
}

// Run writes the text of a tank's code to standard output, and what of the job
// isn't in it to standard error.
func (v *jobQR) Run(s streams) error {
	j, err := readJob(s, v.File)
	if err != nil {
		return err
	}
	kind := strings.ToLower(filepath.Ext(v.Out))
	if v.Out != "" && kind != ".svg" && kind != ".png" {
		return fmt.Errorf("--out %s: a code is drawn as SVG or PNG; give a name that ends in .svg or .png", v.Out)
	}
	c, err := tag.Encode(j, v.Tank)
	if err != nil {
		return fmt.Errorf("%s: %w", v.File, err)
	}
	m, err := tag.Modules(c.Text)
	if err != nil {
		return fmt.Errorf("%s: %w", v.File, err)
	}
	if v.Out != "" {
		var b bytes.Buffer
		if kind == ".png" {
			err = png.Encode(&b, m.Image(pngModule))
		} else {
			err = chart.Code("Printed code", "A QR code with the settings and the curve of a tank.", m.Rows(), 0).SVG(&b, "code")
		}
		if err != nil {
			return err
		}
		if err := keep.File(v.Out, b.Bytes()); err != nil {
			return err
		}
	}
	fmt.Fprintln(s.out, c.Text)
	for _, note := range c.Notes {
		fmt.Fprintln(s.err, note)
	}
	if v.Out != "" {
		fmt.Fprintf(s.err, "Drawn in %s. Print it %.0f mm wide or wider, white margin included.\n", v.Out, math.Ceil(m.LeastMM()))
	}
	return nil
}

// pngModule is the side of a module in the pixels of a PNG.
const pngModule = 8

// readJob reads a job file, or standard input for "-".
func readJob(s streams, file string) (*job.Job, error) {
	if file != "-" {
		return job.ReadFile(file)
	}
	j, err := job.Read(s.in, standardInput)
	if err == nil {
		j.Beside(".")
	}
	return j, err
}

type jobFromQR struct {
	Text string `arg:"" help:"The text of the code in single quotes, or - for standard input."`
	Out  string `placeholder:"FILE" help:"The job file to make; it must not be there yet. Without it the job is told."`
	JSON bool   `name:"json" help:"Write the job as JSON, as it would be stored."`
}

// Run restores the job of a code.
func (v *jobFromQR) Run(s streams) error {
	text := v.Text
	if text == "-" {
		// More than any code has, with its line breaks.
		data, err := io.ReadAll(io.LimitReader(s.in, 1<<16))
		if err != nil {
			return fmt.Errorf("%s: %w", standardInput, err)
		}
		text = string(data)
	}
	j, err := tag.Decode(text)
	if err != nil {
		return err
	}
	if v.Out != "" {
		if err := mustBeNew(v.Out, "give the name of a new file"); err != nil {
			return err
		}
		if err := j.WriteFile(v.Out); err != nil {
			return err
		}
		fmt.Fprintf(s.out, "Job %s with tank %s written to %s. The readings behind the curve aren't in a code; check the display before you rely on it.\n", j.Number, j.Tanks[0].Name, v.Out)
		return nil
	}
	if v.JSON {
		return s.writeJob(j)
	}
	printJob(s, j)
	printRestored(s, &j.Tanks[0])
	return nil
}

// printRestored tells the numbers that came out of a code.
func printRestored(s streams, t *job.Tank) {
	signal, unit := t.Signal(), t.Unit()
	if set := t.Setting; set != nil {
		fmt.Fprintf(s.out, "\nKeyed in, scale %q:\n", set.Scale)
		if set.LowerOhm != nil && set.UpperOhm != nil {
			fmt.Fprintf(s.out, "  lower %s, upper %s\n", keyedText(signal, *set.LowerOhm), keyedText(signal, *set.UpperOhm))
		}
		for _, e := range set.Table {
			fmt.Fprintf(s.out, "  %s → %s %%\n", keyedText(signal, e.Ohm), quantity.Short(e.Pct, 3))
		}
		for _, e := range set.ThenTable {
			fmt.Fprintf(s.out, "  %s %% → %s %%\n", quantity.Short(e.InPct, 3), quantity.Short(e.Pct, 3))
		}
	}
	if known := t.Sender.Known; known != nil {
		fmt.Fprintf(s.out, "\nThe curve, by %d knots, ± about 95 %%:\n", len(known.Knots))
		for _, k := range known.Knots {
			fmt.Fprintf(s.out, "  %s: %s ± %s\n", unit.Text(unit.FromShown(k.Mark)), quantity.Short(k.Value, 4), signal.Text(quantity.Ohm(2*k.U)))
		}
	}
}

// keyedText writes a number as it was keyed in, to all its digits.
func keyedText(signal curve.Signal, v float64) string {
	return quantity.Short(v, 9) + " " + signal.Unit()
}
