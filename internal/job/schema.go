package job

import (
	_ "embed" // the schema
	"slices"

	"gaugewright/internal/strict"
)

// Schema is the JSON Schema (2020-12) of a job file of [Version]. It is a description for
// people and other programs, and the very thing that Read checks a file with.
// What no schema can state, such as names that differ, stands at [Read]. The
// formats date and date-time are asserted.
//
//go:embed job-v2.schema.json
var Schema []byte

// SchemaV1 is that of version 1, by which files of that version are read for ever.
//
//go:embed job-v1.schema.json
var SchemaV1 []byte

// Limits of a job file, as the schema has them.
const (
	// MaxBytes is the largest job file, 16 MiB.
	MaxBytes = 16 << 20
	// MaxTanks is how many tanks one job may have.
	MaxTanks = 100
	// MaxReadings is how many bench readings one tank may have.
	MaxReadings = 2000
	// MaxStruck is how many struck readings one tank may have.
	MaxStruck = 2000
	// MaxRevisions is how many revisions the history of one job may have.
	MaxRevisions = 2000
	// MaxLPGFillPct is the largest permitted fill that is accepted for LPG, in
	// percent of the water capacity. 80 % is common practice, no source. Some
	// national tables allow a little more by volume at 60 °F: a filling density
	// of 42 % of the water's mass, as in 29 CFR 1910.110 for liquids of relative
	// density 0.504 to 0.510, comes to 82.8 % there by our own cross-check. From
	// 85 % at 0 °C propane fills its tank to the brim at 49 °C, which a tank in
	// the sun can reach; so no more than that is ever written down here. The
	// local code governs, and may ask for less.
	MaxLPGFillPct = 85
)

// Endings for what isn't ohms.
var (
	voltages = []string{"v", "mv", "volt", "volts", "value"}
	currents = []string{"ma", "amp", "amps", "milliamp", "milliamps", "value"}
)

// form is what a job file is to its reader. A job nests nine deep, and no object
// in one has a third of 100 fields.
var form = &strict.Form{
	File: "job file", Content: "job",
	Schema: Schema, Version: Version,
	Earlier:  []strict.Earlier{{Version: 1, Schema: SchemaV1, Forward: toVersion2}},
	MaxBytes: MaxBytes, MaxDepth: 20, MaxEntries: MaxReadings, MaxFields: 100,
	TooLarge: "divide it into several jobs",
	Units: []strict.Unit{
		{Ending: "pct", Words: "percent"}, {Ending: "mm", Words: "millimetres"}, {Ending: "l", Words: "litres"},
		{Ending: "kg", Words: "kilograms"}, {Ending: "ohm", Words: "ohms"},
		{Ending: "volt", Words: "volts"}, {Ending: "milliamp", Words: "milliamperes"},
		{Ending: "value", Words: "in what the bench reads"},
		{Ending: "c", Words: "degrees Celsius"}, {Ending: "deg", Words: "degrees"},
	},
	Takes: map[string][]string{"volt": voltages, "milliamp": currents, "value": append(slices.Clone(voltages), currents...)},
	Either: [][]string{
		{"ohm", "volt", "milliamp", "of_supply_pct", "value"}, {"empty_ohm", "empty_value"}, {"full_ohm", "full_value"},
		{"lower_ohm", "lower_value"}, {"upper_ohm", "upper_value"}, {"step_ohm", "step_value"}, {"margin_ohm", "margin_value"},
		{"lowest_ohm", "lowest_value"}, {"highest_ohm", "highest_value"},
	},
	Explain: explain,
}
