package record_test

import (
	"math"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// The sample is invented: a travelling food stall with three tanks.

var made = time.Date(2025, time.November, 4, 16, 20, 0, 0, time.UTC)

const checksum = "9f2c61d0b8e74a53c1fe07a9d26b8c4457e03d91a8f65b2ce1704d98b36fa205"

func at[T any](v T) *T { return &v }

func sample() *job.Job {
	return &job.Job{
		Version: job.Version, Number: "2025-118", Customer: "Tidewater Kitchen (invented)", Vehicle: "Food trailer, 5.2 m, “Second Helping”",
		Fitter: "R. Moor", Date: "2025-11-03", Note: "Customer asks that the gas display stands at 100 % when the tank is as full as the filling station may make it.",
		Tanks: []job.Tank{propane(), water(), diesel()},
	}
}

func propane() job.Tank {
	t := job.Tank{
		Name: "Propane", Contents: job.LPG, WaterCapacityL: 54, PermittedFillPct: 80,
		Gas: &job.Gas{Mix: "G31"},
		Loads: []job.Load{
			{Name: "griddle", KW: job.Exactly(4.2), Plate: job.Net, HoursPerDay: job.Between(1.5, 3)},
			{Name: "fridge", GPerH: job.Between(10, 20), HoursPerDay: job.Exactly(24)},
		},
		Sender: job.Sender{Description: "Dial with a two-wire resistive head, 0 to 90 Ω printed on it",
			Claimed: []job.Claim{{EmptyOhm: 0, FullOhm: 90}, {EmptyOhm: 10, FullOhm: 180}}},
		Bench: job.Bench{By: "R. Moor", Date: "2025-11-03", Meter: "Bench multimeter no. 4, leads zeroed", TemperatureC: at(18.5)},
		Setting: &job.Setting{Readout: job.TwoPoint, Scale: "fill", StepOhm: 1, MarginOhm: 0.5,
			LowerOhm: at(0.0), UpperOhm: at(81.0), By: "R. Moor", Date: "2025-11-03"},
		Checks: []job.Check{
			{When: job.AsFound, Date: "2025-11-03", By: "R. Moor", TolerancePct: 2, Note: "Display still set to 0 and 190 by whoever fitted it.",
				Readings: []job.CheckPoint{{MarkPct: at(20.0), ShownPct: 11}, {MarkPct: at(50.0), ShownPct: 26}, {MarkPct: at(80.0), ShownPct: 42}}},
			{When: job.AsLeft, Date: "2025-11-03", By: "R. Moor", TolerancePct: 2,
				Readings: []job.CheckPoint{{MarkPct: at(20.0), ShownPct: 26}, {MarkPct: at(50.0), ShownPct: 63}, {MarkPct: at(80.0), ShownPct: 100}}},
		},
	}
	ohm := func(mark, sweep float64) float64 {
		return quantity.Round(0.4+mark+1.1*math.Sin(mark/17)+sweep, 1)
	}
	for mark := 0.0; mark <= 90; mark += 10 {
		t.Bench.Readings = append(t.Bench.Readings, job.Reading{MarkPct: at(mark), Ohm: ohm(mark, 0.3), Sweep: "up"})
	}
	for mark := 90.0; mark >= 0; mark -= 10 {
		t.Bench.Readings = append(t.Bench.Readings, job.Reading{MarkPct: at(mark), Ohm: ohm(mark, -0.3), Sweep: "down"})
	}
	t.Bench.Readings = append(t.Bench.Readings,
		job.Reading{MarkPct: at(40.0), Ohm: 22.7, Sweep: "up", Note: "lead slipped?"},
		job.Reading{MarkPct: at(40.0), Ohm: ohm(40, 0.2), Sweep: "up"},
		job.Reading{MarkPct: at(80.0), Ohm: ohm(80, 0.4), Sweep: "up"})
	return t
}

func water() job.Tank {
	t := job.Tank{
		Name: "Fresh water", Contents: job.Water, WaterCapacityL: 120,
		Sender: job.Sender{Description: "Float on a rod, 300 mm", Claimed: []job.Claim{{EmptyOhm: 10, FullOhm: 180}}},
		Bench:  job.Bench{By: "R. Moor", Date: "2025-11-03", Meter: "Bench multimeter no. 4"},
		Setting: &job.Setting{Readout: job.Table, Scale: "mark", StepOhm: 1, By: "R. Moor", Date: "2025-11-03",
			Table: []job.Entry{{Ohm: 4, Pct: 0}, {Ohm: 62, Pct: 24}, {Ohm: 128, Pct: 60}, {Ohm: 180, Pct: 100}}},
		Checks: []job.Check{{When: job.AsLeft, Date: "2025-11-03", By: "R. Moor", TolerancePct: 3,
			Readings: []job.CheckPoint{{MarkMM: at(20.0), ShownPct: 0}, {MarkMM: at(150.0), ShownPct: 51}, {MarkMM: at(280.0), ShownPct: 100}}}},
	}
	for mark := 20.0; mark <= 280; mark += 20 {
		x := (mark - 20) / 260
		t.Bench.Readings = append(t.Bench.Readings, job.Reading{MarkMM: at(mark), Ohm: math.Round(4 + 240*x - 64*x*x)})
	}
	return t
}

func diesel() job.Tank {
	t := job.Tank{
		Name: "Heater diesel", Contents: job.Diesel, WaterCapacityL: 22, PermittedFillPct: 95, TemperatureC: at(-5.0),
		Loads:   []job.Load{{Preset: "diesel heater"}},
		Sender:  job.Sender{Description: "Swinging arm", Claimed: []job.Claim{{EmptyOhm: 240, FullOhm: 33}}},
		Bench:   job.Bench{By: "R. Moor", Date: "2025-11-03", Meter: "Bench multimeter no. 4", TemperatureC: at(17.0)},
		Setting: &job.Setting{Readout: job.TwoPoint, Scale: "mark", LowerOhm: at(241.0), UpperOhm: at(30.0), By: "R. Moor", Date: "2025-11-03"},
		Checks: []job.Check{{When: job.AsLeft, Date: "2025-11-03", By: "R. Moor", TolerancePct: 2,
			Readings: []job.CheckPoint{{MarkL: at(0.0), ShownPct: 0}, {MarkL: at(10.0), ShownPct: 46, Note: "after waiting"}, {MarkL: at(20.0), ShownPct: 98}}}},
	}
	for litres := 0.0; litres <= 20; litres += 2 {
		x := litres / 20
		t.Bench.Readings = append(t.Bench.Readings, job.Reading{MarkL: at(litres), Ohm: quantity.Round(240-207*x+9*math.Sin(math.Pi*x), 1)})
	}
	return t
}
