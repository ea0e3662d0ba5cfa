package drift

import (
	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Result is a later bench held against the record. Values and changes are in
// the shown unit of Gives, marks in the shown unit of Marks; points are percent
// of the record's span.
type Result struct {
	Marks string `json:"marks"` // "mark_pct", "mark_mm", "mark_l" or "mark_kg"
	Gives string `json:"gives"` // "ohm", "volt", "milliamp" or "of_supply_pct"

	// Changed says that the sender has changed beyond doubt: P < ErrorRate.
	Changed   bool    `json:"changed"`
	ErrorRate float64 `json:"error_rate"`
	// P is the probability of readings that look at least as much like a change
	// when there is none, both tests together; Trials is how many trials it was
	// counted from, 0 where it is the upper bound by Bonferroni.
	P      float64 `json:"p"`
	Trials int     `json:"trials"`
	// Whole is the test of the change as a whole, Sharp the test along causes.
	Whole Whole `json:"whole"`
	Sharp Sharp `json:"sharp"`

	Rows    []Row        `json:"rows"`    // by rising mark
	Largest *Largest     `json:"largest"` // where the change is largest; null without rows
	Causes  []Fitted     `json:"causes"`  // the most probable first; empty where nothing changed
	Tell    *Tell        `json:"tell"`    // the reading that would tell the first two causes apart; null where they are told
	Power   []Detectable `json:"power"`   // the least changes that would have been found

	// SpanValue is the record's span, Scatter the standard deviation of one
	// reading that was used and ScatterDF its degrees of freedom, with what was
	// made up of them.
	SpanValue float64           `json:"span"`
	Scatter   float64           `json:"scatter"`
	ScatterDF int               `json:"scatter_df"`
	Findings  []finding.Finding `json:"findings"`

	later   curve.Sheet
	bench   *bench
	verdict *verdict
	fits    []fitted
}

// Whole is the test of the change as a whole: r'V⁻¹r against χ² with n degrees
// of freedom or, where the scatter is an estimate, r'V⁻¹r/n against F with n and
// DF.
type Whole struct {
	Statistic float64 `json:"statistic"` // r'V⁻¹r
	N         int     `json:"n"`
	DF        float64 `json:"df"` // effective degrees of freedom of V; 0 where unlimited
	P         float64 `json:"p"`
}

// Sharp is the test along each cause that is possible: the largest of
// d'V⁻¹r/√(d'V⁻¹d) over the directions d in which the causes move the readings.
type Sharp struct {
	Statistic  float64 `json:"statistic"`
	Along      Cause   `json:"along"` // the cause whose direction it is
	Directions int     `json:"directions"`
	P          float64 `json:"p"`
}

// Row is one place of the later bench: the readings at one mark in one sweep.
type Row struct {
	Mark     float64 `json:"mark"`
	Sweep    string  `json:"sweep,omitempty"`
	N        int     `json:"n"`        // readings
	Found    float64 `json:"found"`    // their mean, test leads taken off
	Expected float64 `json:"expected"` // by the record
	Change   float64 `json:"change"`   // Found − Expected
	U        float64 `json:"u"`        // standard uncertainty of Change
	// Bound is by how much a change at this mark may differ from zero by doubt
	// alone, all marks looked at together.
	Bound  float64 `json:"bound"`
	Beyond bool    `json:"beyond_doubt"` // |Change| > Bound
	Points float64 `json:"change_points"`
	// Outside says that the mark lies outside the record's readings.
	Outside bool `json:"outside,omitempty"`
}

// Largest is the place at which the change is largest.
type Largest struct {
	Mark   float64 `json:"mark"`
	Change float64 `json:"change"`
	U      float64 `json:"u"`
	Points float64 `json:"change_points"`
}

// Detectable is the least change of a kind that these readings would have found
// with a probability of 95 %.
type Detectable struct {
	Cause  Cause   `json:"cause"`
	Mark   float64 `json:"mark"`   // for Misread: the mark at which it is hardest to see
	Size   float64 `json:"size"`   // of the cause's parameter; 0 where none is found at any size
	Change float64 `json:"change"` // the largest change at a reading that it makes
	Points float64 `json:"change_points"`
}

// Cause names what could change the readings.
type Cause string

// The causes that are looked for. Each moves the readings by one parameter.
const (
	Series  Cause = "series"  // ohms added: a corroded joint
	Leak    Cause = "leak"    // siemens beside the sender: a wet connector
	Shift   Cause = "shift"   // the mark moved: a bent arm, a dial that slipped
	Lever   Cause = "lever"   // the mark moved in proportion to its height: an arm of another length
	Gain    Cause = "gain"    // the value changed in proportion: temperature, a wrong meter, a track aged evenly
	Offset  Cause = "offset"  // all values moved alike, for signals other than ohms
	Wear    Cause = "wear"    // some neighbouring marks off, the rest as before
	Dead    Cause = "dead"    // the value stands still over some neighbouring marks
	Open    Cause = "open"    // values far beyond the record at some marks
	Misread Cause = "misread" // one reading off
	Unnamed Cause = "unnamed" // none of these
)

// Fitted is a cause fitted to the change.
type Fitted struct {
	Cause Cause `json:"cause"`
	// Parameter is in the unit named: ohm, siemens, the unit of the marks, or a
	// part of the value (percent); U is its standard uncertainty.
	Parameter   float64 `json:"parameter"`
	U           float64 `json:"u"`
	Unit        string  `json:"unit"`
	From        float64 `json:"from,omitempty"` // the marks between which it acts, for wear, dead, open and misread
	To          float64 `json:"to,omitempty"`
	ChiSquared  float64 `json:"chi_squared"` // of what it leaves unexplained
	Probability float64 `json:"probability"` // among the causes looked at; a judgement of fit
	Sentence    string  `json:"sentence"`
}

// Tell is the one reading that would best tell two causes apart.
type Tell struct {
	Mark   float64 `json:"mark"`
	First  float64 `json:"first"`  // what the first cause gives there
	Second float64 `json:"second"` // what the second gives
	U      float64 `json:"u"`      // standard uncertainty of a reading there against the record
}

// value is the number of a quantity in a result, without rounding noise.
func value[T ~float64](v T) float64 { return quantity.Round(float64(v), 9) }
