package tag_test

import (
	"gaugewright/internal/job"
	"gaugewright/internal/kin"
)

func at[T any](v T) *T { return &v }

// example is the job of docs/printed-code.md, all invented.
func example() *job.Job {
	return &job.Job{
		Version: job.Version, Number: "TK-7", Vehicle: "Tidewater Kitchen", Date: "2026-11-03",
		Tanks: []job.Tank{{
			Name: "Gas", Contents: job.LPG, WaterCapacityL: 54, PermittedFillPct: 80,
			Sender: job.Sender{Known: &kin.Known{
				From: "printed code of job TK-7", Marks: "mark_pct", Gives: "ohm", Noise: 0.15, NoiseDF: 5,
				Knots: []kin.Knot{
					{Mark: 5, Value: 4.37, U: 0.22},
					{Mark: 20, Value: 18.2, U: 0.22},
					{Mark: 50, Value: 45.1, U: 0.25},
					{Mark: 80, Value: 72.6, U: 0.3},
					{Mark: 95, Value: 86.25, U: 0.31},
				},
			}},
			Bench: job.Bench{Date: "2026-11-02", Marks: "mark_pct", Gives: "ohm", Readings: []job.Reading{}},
			Setting: &job.Setting{
				Readout: job.TwoPoint, Scale: "fill", StepOhm: 0.5, LowerOhm: at(0.0), UpperOhm: at(72.5), Date: "2026-11-03",
			},
		}},
	}
}
