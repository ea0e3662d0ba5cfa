package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/keep"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

type demoVerb struct {
	Listen string  `default:"127.0.0.1:8765" placeholder:"HOST:PORT" help:"Where the pages are; port 0 takes any that is free."`
	Speed  float64 `default:"60" placeholder:"TIMES" help:"How much faster than the clock the simulated vehicle's time runs, 1 to 600."`
	Out    string  `placeholder:"FOLDER" help:"Tell the sample job here instead of opening the pages, and leave its job file, readings and record in this folder."`
}

// Run opens the pages on invented jobs and an invented vehicle or, with a folder to leave things in,
// goes through the sample job and tells it as a fitter would want to read it.
func (v *demoVerb) Run(s streams) error {
	if v.Out == "" {
		folder, err := os.MkdirTemp("", "gaugewright-demo-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(folder)
		return v.pages(s, folder)
	}
	folder := v.Out
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	j := sampleJob()
	fmt.Fprintf(s.out, "A sample job: %s, %s (job %s).\n", j.Customer, j.Vehicle, j.Number)
	fmt.Fprintln(s.out, "It doesn't exist, and every figure in it is invented.")
	for _, t := range sampleTanks() {
		c, sc, choice, err := t.setUp()
		if err != nil {
			return err
		}
		j.Tanks = append(j.Tanks, t.tank)
		tell(s.out, t, c, sc, choice)
	}
	return leave(s.out, folder, &j)
}

// tell is the story of one tank, the answer first.
func tell(w io.Writer, t sampleTank, c *curve.Curve, sc scale.Scale, choice span.Choice) {
	title := fmt.Sprintf("%s: %s, %s", t.tank.Name, t.tank.Sender.Description, quantity.CubicMetre(t.tank.WaterCapacityL/1000))
	fmt.Fprintf(w, "\n\n%s\n%s\n\n", title, strings.Repeat("─", utf8.RuneCountInString(title)))
	printNumbers(w, telling.Choice(c, sc, choice, "whole ohms"))

	fmt.Fprintln(w, "\nWhat it will show")
	writeGrid(w, telling.ShownInBrief(c, sc, choice.Setting))

	fmt.Fprintln(w, "\nHow sure")
	writeWrapped(w, "- ", telling.HowSure(choice))
	proofs, err := t.tank.Proofs()
	if err != nil {
		writeWrapped(w, "- ", err.Error())
	}
	for _, p := range proofs {
		writeWrapped(w, "- ", fmt.Sprintf("Checked on the display afterwards: %s.", p.Proof.Judgement()))
	}
	writeFindings(w, append(span.Remedy(c, sc, choice), choice.Findings...))

	if lines := telling.Means(t.tank, quantity.Units{}); len(lines) > 0 {
		fmt.Fprintln(w)
		writeListed(w, "What is in it, and how long it lasts", "- ", lines)
	}

	if built, sender, found, err := t.tank.Built(); err == nil {
		fmt.Fprintln(w, "\nThe tank")
		r := telling.TankReport{File: t.tank.Shape, Tank: built, Levels: built.Upright(), Sender: sender, Findings: found}
		if err := r.Tell(true); err == nil {
			writeFindings(w, r.Findings)
		}
	}

	fmt.Fprintln(w, "\nWhat the sender does")
	empty, full := sc.Whole()
	told := c.Findings()
	if odds, err := telling.OddsOf(c, t.tank.Claims(), empty, full); err == nil {
		told = append(told, telling.OddsFindings(c, odds)...)
	}
	writeFindings(w, told)

	if cautions := t.tank.Cautions(); len(cautions) > 0 {
		fmt.Fprintln(w)
		writeListed(w, telling.CautionHead, "! ", cautions)
	}
}

// leave writes everything the job consists of into a folder and names it.
func leave(w io.Writer, folder string, j *job.Job) error {
	entries, err := sampleFiles.ReadDir("sample")
	if err != nil {
		return err
	}
	for _, e := range entries {
		data, err := sampleFiles.ReadFile("sample/" + e.Name())
		if err != nil {
			return err
		}
		if err := keep.File(filepath.Join(folder, e.Name()), data); err != nil {
			return err
		}
	}
	file := filepath.Join(folder, "tidewater.job.json")
	if err := j.WriteFile(file); err != nil {
		return err
	}
	page := filepath.Join(folder, "record.html")
	if err := writeRecord(file, page, recordHow{paper: record.A4}); err != nil {
		return err
	}
	fmt.Fprintf(w, "\n\nrecords: %s\n", folder)
	fmt.Fprintf(w, "  %s  to open in a browser and print\n", page)
	fmt.Fprintf(w, "  %s  the job file, with the bench and check files beside it\n", file)
	return nil
}
