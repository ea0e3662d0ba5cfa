package job

import (
	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tankfile"
)

// Version is the version of job files this program writes.
const Version = 2

// Job is one piece of work on one vehicle.
type Job struct {
	Version  int    `json:"version"`
	Number   string `json:"number"`
	Customer string `json:"customer,omitempty"`
	Vehicle  string `json:"vehicle,omitempty"`
	Fitter   string `json:"fitter,omitempty"`
	Date     string `json:"date,omitempty"` // YYYY-MM-DD
	Note     string `json:"note,omitempty"`
	// Units are those in which figures are shown; what is left out is shown in L,
	// kg, kWh, bar and °C. The file itself stays in the units of its field names.
	Units *quantity.Units `json:"units,omitempty"`
	Tanks []Tank          `json:"tanks"`
	// History is how the job came to be, the oldest revision first. It is only ever
	// added to, by [Job.Revise].
	History []Revision `json:"history,omitempty"`
	// Signature vouches for the job file; nil where nobody signed it.
	Signature *Signature `json:"signature,omitempty"`

	// Seal is what became of the signature when the file was read; it isn't in the
	// file.
	Seal Seal `json:"-"`
}

// Contents says what is in a tank; it decides cautions and colours.
type Contents string

// What a tank may hold.
const (
	LPG    Contents = "lpg"
	Water  Contents = "water"
	Diesel Contents = "diesel"
	Petrol Contents = "petrol"
	Waste  Contents = "waste"
	Other  Contents = "other"
)

// Tank is one tank with its sender and everything done to it.
type Tank struct {
	Name             string   `json:"name"` // unique in the job
	Contents         Contents `json:"contents"`
	WaterCapacityL   float64  `json:"water_capacity_l,omitempty"`   // the whole inside volume in litres
	PermittedFillPct float64  `json:"permitted_fill_pct,omitempty"` // of the water capacity; 0: not stated
	// HeelL is what is left when nothing more can be drawn, in litres; 0: not stated.
	HeelL float64 `json:"heel_l,omitempty"`
	// Gas is what an LPG tank was filled with, DensityKgL the density of anything
	// else in kg/L, as far as they are known; TemperatureC is that of the contents,
	// on the day that figures are for.
	Gas          *Gas     `json:"gas,omitempty"`
	DensityKgL   float64  `json:"density_kg_l,omitempty"`
	TemperatureC *float64 `json:"temperature_c,omitempty"`
	Loads        []Load   `json:"loads,omitempty"`        // what draws from it
	PricePerL    float64  `json:"price_per_l,omitempty"`  // one of the two; 0: not stated
	PricePerKg   float64  `json:"price_per_kg,omitempty"` //
	Currency     string   `json:"currency,omitempty"`     // of the price, as it is to be written
	// Shape is the inside of the tank, as in a tank file; nil: not known.
	Shape   *tankfile.File `json:"shape,omitempty"`
	Sender  Sender         `json:"sender"`
	Wire    *Wire          `json:"wire,omitempty"` // between the sender and what reads it
	Bench   Bench          `json:"bench"`
	Setting *Setting       `json:"setting,omitempty"`
	Checks  []Check        `json:"checks,omitempty"`
	// Services are later benches of the same sender, in the order of time.
	Services []Service `json:"services,omitempty"`

	// Folder is where the files that the shape names are, relative to this
	// program; it isn't in the file. ReadFile sets it to the job file's own. With
	// "" none of them is opened.
	Folder string `json:"-"`

	kept *keptShape `json:"-"`
}

// Sender is the part that is measured.
type Sender struct {
	Description string  `json:"description,omitempty"`
	Claimed     []Claim `json:"claimed,omitempty"` // as the data sheet states it
	Numbers     Numbers `json:"-"`                 // of the claims
	// Type is the workshop's name for senders of this kind, Batch the one it came
	// with, and Serial its own number; "" where not known.
	Type   string `json:"type,omitempty"`
	Batch  string `json:"batch,omitempty"`
	Serial string `json:"serial,omitempty"`
	// Known is what is known of the sender without readings of its own: the curve
	// of a type, or one restored from a printed code; nil: nothing.
	Known *kin.Known `json:"known,omitempty"`
}

// Claim is a span as a data sheet states it, in what the sender gives.
type Claim struct {
	EmptyOhm float64 `json:"empty_ohm"`
	FullOhm  float64 `json:"full_ohm"`
}

// Bench is the readings and how they were made.
type Bench struct {
	By           string   `json:"by,omitempty"`
	Date         string   `json:"date,omitempty"` // YYYY-MM-DD
	Meter        string   `json:"meter,omitempty"`
	TemperatureC *float64 `json:"temperature_c,omitempty"` // of the sender
	// Marks says how the marks are known, as the name of their field ("mark_mm"),
	// and Gives what the sender gives ("ohm"), for as long as no reading tells it;
	// "" where nothing is said.
	Marks string `json:"marks,omitempty"`
	Gives string `json:"gives,omitempty"`
	// EmptyMark and FullMark are the lowest and the highest mark to go to on the
	// bench, in the shown unit of the marks; nil: as the tank has them.
	EmptyMark *float64  `json:"empty_mark,omitempty"`
	FullMark  *float64  `json:"full_mark,omitempty"`
	Readings  []Reading `json:"readings"`
	// Struck are the readings that were struck out. Nothing is made of them; they
	// are kept so that it can be seen what was taken.
	Struck []Struck `json:"struck,omitempty"`
	// Doubts is what is known of the bench's own errors; nil: nothing.
	Doubts *Doubts `json:"doubts,omitempty"`
}

// Service is a later bench of the same sender.
type Service struct {
	Bench
	Note string `json:"note,omitempty"`
}

// Reading is one pair; exactly one of the marks is there, the same in all
// readings of a bench.
type Reading struct {
	MarkPct *float64 `json:"mark_pct,omitempty"`
	MarkMM  *float64 `json:"mark_mm,omitempty"`
	MarkL   *float64 `json:"mark_l,omitempty"`
	MarkKg  *float64 `json:"mark_kg,omitempty"`
	// Ohm is in the shown unit of Signal, and in the file under its name.
	Ohm    float64      `json:"ohm"`
	Signal curve.Signal `json:"-"`
	Sweep  string       `json:"sweep,omitempty"` // "up" or "down"
	Time   string       `json:"time,omitempty"`  // RFC 3339
	Note   string       `json:"note,omitempty"`
}

// Setting is what was keyed in: the two end values, or the table, or the two end
// values and the table that corrects the percentage reckoned from them.
// Its numbers named Ohm are in what the sender gives.
type Setting struct {
	Readout   string   `json:"readout"`              // "two-point", "table" or "ends-then-table"
	Scale     string   `json:"scale"`                // "mark", "volume", "fill" or "usable"
	StepOhm   float64  `json:"step_ohm,omitempty"`   // the readout's step; 0: any value
	MarginOhm float64  `json:"margin_ohm,omitempty"` // kept above the sender's largest ohms
	EmptyMark *float64 `json:"empty_mark,omitempty"` // the mark at 0 %, in the bench's unit; absent: 0 % of a dial, else the lowest mark read, or before any is that of the bench, or the lowest known without readings
	FullMark  *float64 `json:"full_mark,omitempty"`  // the mark at 100 % of the mark scale, likewise
	LowerOhm  *float64 `json:"lower_ohm,omitempty"`
	UpperOhm  *float64 `json:"upper_ohm,omitempty"`
	Table     []Entry  `json:"table,omitempty"`
	// ThenTable is the correction table behind the end values of an
	// ends-then-table readout.
	ThenTable []Correction `json:"then_table,omitempty"`
	Numbers   Numbers      `json:"-"` // of step, margin, limits, end values and table
	// What the choice was made for, as far as it is stated: a word of
	// [span.Objectives], the most points of the table, the step of its percentages
	// in percent (0: any), and the least and the largest value that the readout
	// takes (0: no limit).
	Objective  string  `json:"objective,omitempty"`
	Points     int     `json:"points,omitempty"`
	StepPct    float64 `json:"step_pct,omitempty"`
	LowestOhm  float64 `json:"lowest_ohm,omitempty"`
	HighestOhm float64 `json:"highest_ohm,omitempty"`
	By         string  `json:"by,omitempty"`
	Date       string  `json:"date,omitempty"` // YYYY-MM-DD
}

// Kinds of readout, and when a check was made.
const (
	TwoPoint      = "two-point"       // takes two end values
	Table         = "table"           // takes a table
	EndsThenTable = "ends-then-table" // takes two end values, and a table that corrects the percentage
	AsFound       = "as found"        // before the readout was set
	AsLeft        = "as left"         // after
)

// Entry is one line of a table readout.
type Entry struct {
	Ohm float64 `json:"ohm"`
	Pct float64 `json:"pct"`
}

// Correction is one line of a table that corrects a percentage: what comes in,
// and what is shown for it.
type Correction struct {
	InPct float64 `json:"in_pct"`
	Pct   float64 `json:"pct"`
}

// Check is readings of the display taken after setting (or before: as found).
type Check struct {
	When         string  `json:"when"`           // "as found" or "as left"
	Date         string  `json:"date,omitempty"` // YYYY-MM-DD
	By           string  `json:"by,omitempty"`
	TolerancePct float64 `json:"tolerance_pct"` // in points
	// DisplayStepPct is the step in which the display shows, in points; nil: what
	// the figures tell. MarkDoubt is how far a mark may have been misread, either
	// way, in the unit of the bench's marks; nil: what is usual.
	DisplayStepPct *float64     `json:"display_step_pct,omitempty"`
	MarkDoubt      *float64     `json:"mark_doubt,omitempty"`
	Note           string       `json:"note,omitempty"`
	Readings       []CheckPoint `json:"readings"`
}

// CheckPoint is one mark and what the display showed there. The mark is in the
// unit of the bench.
type CheckPoint struct {
	MarkPct  *float64 `json:"mark_pct,omitempty"`
	MarkMM   *float64 `json:"mark_mm,omitempty"`
	MarkL    *float64 `json:"mark_l,omitempty"`
	MarkKg   *float64 `json:"mark_kg,omitempty"`
	ShownPct float64  `json:"shown_pct"`
	Note     string   `json:"note,omitempty"`
}
