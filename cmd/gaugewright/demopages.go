package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"

	"gaugewright/internal/app"
	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

// demoWords stand on every page of the demonstration.
const demoWords = "A demonstration: the customers, the tanks, the vehicle, the meter and every figure are invented. It is gone when the program ends."

// pages opens the pages on invented jobs, one done and one just begun, with a
// simulated sender at hand, and on the vehicle of the job that is done, which
// drives about.
func (v demoVerb) pages(s streams, folder string) (err error) {
	done, err := sampleDone()
	if err != nil {
		return err
	}
	log := logTo(s, false)
	drive, err := app.StartDrive(context.Background(), app.DemoVehicle{
		Job: done, Tanks: map[string]string{"fresh": "Fresh water", "gas": "Gas", "diesel": "Diesel"},
		Folder: folder, Speed: v.Speed, Seed: 15, Version: version(), Log: log,
	})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, drive.Stop()) }()
	for _, line := range drive.Told() {
		fmt.Fprintln(s.out, line)
	}
	link, err := drive.Link(context.Background())
	if err != nil {
		return err
	}
	o := app.Options{
		Data: filepath.Join(folder, "demonstration.db"), Listen: v.Listen, Log: log, Watch: drive.Watch(), Passes: drive.Watch().Passes(), Now: drive.Now, Version: version(),
		Demo: &app.Demo{Words: demoWords, Jobs: []*job.Job{done, hutJob()}, Ohms: simulatedOhms, Link: link},
	}
	return serve(s, o, func(streams, bool) (string, error) { return "", nil })
}

// sampleDone is the sample job with everything done to it.
func sampleDone() (*job.Job, error) {
	j := sampleJob()
	for _, t := range sampleTanks() {
		if _, _, _, err := t.setUp(); err != nil {
			return nil, err
		}
		j.Tanks = append(j.Tanks, t.tank)
	}
	return &j, nil
}

// hutJob is an invented job on which nothing has been read yet.
func hutJob() *job.Job {
	return &job.Job{
		Version: job.Version, Number: "TK-2026-015", Customer: "Heron Hut wardens", Vehicle: "hut by the upper lake",
		Fitter: "R. Fitter", Date: "2026-11-24", Note: "Sample: this job and its tanks are invented.",
		Tanks: []job.Tank{
			{
				Name: "Gas", Contents: job.LPG, WaterCapacityL: 110, PermittedFillPct: 80,
				Gas:    &job.Gas{Propane: 1},
				Sender: job.Sender{Description: "magnet-driven dial, not known otherwise", Claimed: []job.Claim{{EmptyOhm: 0, FullOhm: 90}}},
				Loads:  []job.Load{{Preset: "hob burner", Name: "cooker", HoursPerDay: job.Between(0.5, 1.5)}},
				Bench:  job.Bench{Readings: []job.Reading{}},
			},
			{
				Name: "Water", Contents: job.Water, WaterCapacityL: 200,
				Sender: job.Sender{Description: "float on a rod", Claimed: []job.Claim{{EmptyOhm: 240, FullOhm: 33}}},
				Bench:  job.Bench{Readings: []job.Reading{}},
			},
		},
	}
}

// simulatedOhms is what the simulated sender of a tank gives at a mark: along
// the curve of the readings it has, and otherwise from end to end of what is
// claimed of it, with a bend that its data sheet says nothing of.
func simulatedOhms(t job.Tank, mark float64) float64 {
	if c, err := t.Curve(); err == nil {
		if a := c.Ohm(mark, curve.Continue); a.Known && len(c.Used()) > 12 {
			return max(0, float64(a.Ohm))
		}
	}
	empty, full, err := t.Ends()
	if err != nil || !(full > empty) {
		empty, full = 0, 100
	}
	unit := t.Unit()
	from, to := unit.FromShown(empty), unit.FromShown(full)
	x := min(1, max(0, (mark-from)/(to-from)))
	low, high := 0.0, 90.0
	if claims := t.Claims(); len(claims) > 0 {
		low, high = float64(claims[0].Empty), float64(claims[0].Full)
	}
	// A dead travel at the bottom, an S in the middle, and a span that is a
	// twentieth wider than claimed.
	moved := max(0, x-0.02) / 0.98
	bent := moved + 0.035*math.Sin(2*math.Pi*moved)
	return max(0, low+1.05*(high-low)*bent)
}
