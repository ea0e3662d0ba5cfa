package main

import (
	"bytes"
	"embed"
	"fmt"
	"io"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/readings"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/telling"
)

// sampleFiles are bench, check and tank files of a made-up job.
//
//go:embed sample/*.csv sample/*.json
var sampleFiles embed.FS

// sampleTank is one tank of the made-up job and how its display is to be set.
type sampleTank struct {
	tank      job.Tank
	file      string
	scale     scale.Kind
	table     int // entries of a table readout; 0: two end values
	shaped    bool
	tolerance number
}

// sampleDate is the day on which the made-up job was done.
const sampleDate = "2026-11-03"

// sampleTanks are the tanks of Tidewater Kitchen, a travelling food stall that
// doesn't exist. Every figure is invented.
func sampleTanks() []sampleTank {
	celsius := func(t float64) *float64 { return &t }
	bench := func(meter string, t float64) job.Bench {
		return job.Bench{By: "R. Fitter", Date: sampleDate, Meter: meter, TemperatureC: &t}
	}
	return []sampleTank{
		{
			tank: job.Tank{
				Name: "Gas", Contents: job.LPG, WaterCapacityL: 54, PermittedFillPct: 80,
				Gas: &job.Gas{Propane: 0.6, Butane: 0.4}, TemperatureC: celsius(5), PricePerL: 1.05, Currency: "EUR",
				Loads: []job.Load{
					{Name: "griddle", KW: job.Exactly(4.2), Plate: job.Net, HoursPerDay: job.Between(1.5, 3)},
					{Preset: "hob burner", Name: "soup kettle", HoursPerDay: job.Between(1, 2)},
					{Name: "fridge", GPerH: job.Between(10, 20), HoursPerDay: job.Exactly(24)},
				},
				Wire:   &job.Wire{AreaMM2: 0.75, LengthM: 6, Joints: 4},
				Sender: job.Sender{Description: "magnet-driven dial, rising", Claimed: []job.Claim{{EmptyOhm: 0, FullOhm: 90}, {EmptyOhm: 0, FullOhm: 95}}},
				Bench:  bench("hand multimeter, 0.1 ohm steps", 17),
			},
			file: "gas", shaped: true, scale: scale.Fill, tolerance: 2,
		},
		{
			tank: job.Tank{
				Name: "Fresh water", Contents: job.Water, WaterCapacityL: 90, TemperatureC: celsius(5),
				Loads: []job.Load{
					{Name: "washing up and hands", LPerMin: job.Between(3, 5), HoursPerDay: job.Between(0.1, 0.2)},
					{Name: "tea and soup", LPerDay: job.Between(6, 10)},
				},
				Sender: job.Sender{Description: "float on a rod, chain of resistors", Claimed: []job.Claim{{EmptyOhm: 0, FullOhm: 190}}},
				Bench:  bench("hand multimeter, 0.1 ohm steps", 17),
			},
			file: "water", shaped: true, scale: scale.Volume, table: 6, tolerance: 4,
		},
		{
			tank: job.Tank{
				Name: "Diesel", Contents: job.Diesel, WaterCapacityL: 62, PermittedFillPct: 95, TemperatureC: celsius(5),
				Loads:  []job.Load{{Preset: "diesel heater", HoursPerDay: job.Between(4, 8)}},
				Sender: job.Sender{Description: "swing arm, falling", Claimed: []job.Claim{{EmptyOhm: 240, FullOhm: 33}}},
				Bench:  bench("hand multimeter, 0.1 ohm steps", 15),
			},
			file: "diesel", scale: scale.Mark, table: 6, tolerance: 2,
		},
	}
}

// setUp does for one tank what a fitter does: reads its bench file, finds the
// best numbers, keys them in and checks the display.
func (t *sampleTank) setUp() (*curve.Curve, scale.Scale, span.Choice, error) {
	fail := func(err error) (*curve.Curve, scale.Scale, span.Choice, error) {
		return nil, scale.Scale{}, span.Choice{}, fmt.Errorf("sample tank %s: %w", t.tank.Name, err)
	}
	sheet, err := readSample(t.file, readings.Read)
	if err != nil {
		return fail(err)
	}
	t.tank.SetSheet(sheet)
	if t.shaped {
		data, err := sampleFiles.ReadFile("sample/" + t.file + ".tank.json")
		if err != nil {
			return fail(err)
		}
		if t.tank.Shape, err = tankfile.Read(bytes.NewReader(data), t.file+".tank.json"); err != nil {
			return fail(err)
		}
		t.tank.Shape.Version = 0 // it is a part of the job file
	}
	wish := telling.UsualWish()
	if t.table > 0 {
		step := 0.1
		wish.Readout, wish.Points, wish.Step, wish.PercentStep = telling.Table, t.table, &step, 0.1
	}
	p, err := telling.Set(&t.tank, job.Setting{Scale: string(t.scale), By: "R. Fitter", Date: sampleDate}, wish, nil)
	if err != nil {
		return fail(err)
	}
	display, err := readSample(t.file+".shown", readings.ReadShown)
	if err != nil {
		return fail(err)
	}
	check := checkVerb{When: "as-left", By: "R. Fitter", Tolerance: t.tolerance}.stored(display, sampleDate)
	t.tank.Checks = append(t.tank.Checks, check)
	return p.Curve, p.Scale, p.Best, nil
}

// readSample reads one of the embedded files.
func readSample[T any](name string, read func(r io.Reader, name string) (T, error)) (T, error) {
	data, err := sampleFiles.ReadFile("sample/" + name + ".csv")
	if err != nil {
		var none T
		return none, err
	}
	return read(bytes.NewReader(data), name+".csv")
}

// sampleJob says for whom and on what the made-up job was done.
func sampleJob() job.Job {
	return job.Job{
		Version: job.Version, Number: "TK-2026-014", Customer: "Tidewater Kitchen", Vehicle: "food trailer, twin axle",
		Fitter: "R. Fitter", Date: sampleDate, Note: "Sample: this job, its tanks and all its readings are invented.",
	}
}
