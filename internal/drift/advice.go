package drift

import (
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Do is what is advised.
type Do string

// The three things that can be done about a setting.
const (
	Leave   Do = "leave"
	ReKey   Do = "re-key"
	Replace Do = "replace"
)

// Readout is what shows the sender and how it is set.
type Readout struct {
	Setting span.Setting
	Scale   scale.Scale
	// Tolerance is how far the display may be off; 0 stands for
	// span.DefaultTolerance.
	Tolerance quantity.Share
	Margin    span.Margin // the zero value stands for span.UsualMargin
	Takes     span.Readout
	// Points is how many entries a table may have, and ShareStep the step of
	// its percentages; used where the Setting is a table.
	Points    int
	ShareStep quantity.Share
	Objective span.Objective
	// Overfills says that reading low near the top invites overfilling: LPG and
	// fuel.
	Overfills bool
	// RecordDay and Day are when the record and the later bench were made; with
	// Earlier services they tell how fast the sender changes.
	RecordDay, Day time.Time
	Earlier        []Visit
}

// Advice is what to do about the setting. Marks are in the shown unit, errors in
// points.
type Advice struct {
	Do Do `json:"do"`
	// Mend says that something has to be mended or set back first, and the
	// sender checked again.
	Mend bool `json:"mend_first"`
	// Within says that the present setting is within the tolerance at every
	// mark, Verdict how surely.
	Within  bool    `json:"within"`
	Verdict string  `json:"verdict"`
	Worst   float64 `json:"worst_pct"` // the worst error with the present setting
	WorstU  float64 `json:"worst_u_pct"`
	WorstAt float64 `json:"worst_at"`
	// Lower and Upper, or Table, are what to key in instead; only with ReKey.
	Lower     *float64   `json:"lower_value,omitempty"`
	Upper     *float64   `json:"upper_value,omitempty"`
	Table     []KeyEntry `json:"table,omitempty"`
	Remaining float64    `json:"remaining_pct,omitempty"` // the worst error with it
	Reason    string     `json:"reason"`
	// From says what the changed curve rests on.
	From     string            `json:"from"`
	Interval Interval          `json:"interval"`
	Findings []finding.Finding `json:"findings"`

	setting span.Setting
	curve   *curve.Curve
}

// KeyEntry is one line of a table to key in.
type KeyEntry struct {
	Value float64 `json:"value"`
	Pct   float64 `json:"pct"`
}

// Setting gives what to key in instead; nil where nothing is.
func (a Advice) Setting() span.Setting { return a.setting }

// Curve gives the curve of the sender as it is now.
func (a Advice) Curve() *curve.Curve { return a.curve }
