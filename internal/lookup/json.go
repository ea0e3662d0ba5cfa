package lookup

import (
	"bytes"
	"encoding/json"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Written is the JSON form. Field names carry their unit; level is in steps of
// the unit named by Unit.
type Written struct {
	Unit       string            `json:"unit"` // "tenths_pct", "tenths_l" or "mm"
	Source     string            `json:"source,omitempty"`
	Date       string            `json:"date,omitempty"`
	Input      string            `json:"input,omitempty"`
	Means      string            `json:"means,omitempty"`
	FullCount  int               `json:"full_count"`
	FirstCount int               `json:"first_read_count"`
	LastCount  int               `json:"last_read_count"`
	NoLevel    int               `json:"no_level"`
	Points     []WrittenPoint    `json:"points,omitempty"`
	Entries    *WrittenEntries   `json:"entries,omitempty"`
	Zones      []WrittenZone     `json:"zones"`
	ErrorUnit  string            `json:"error_unit"` // "points", "L" or "mm"
	Worst      float64           `json:"worst_error"`
	WorstAt    int               `json:"worst_at_count"`
	TooHigh    float64           `json:"most_too_high"`
	TooLow     float64           `json:"most_too_low"`
	Bound      float64           `json:"lower_bound_error"`
	CountStep  float64           `json:"most_per_count"`
	Findings   []finding.Finding `json:"findings"`
	Cautions   []string          `json:"cautions"`
}

// WrittenPoint is one point: straight lines run between them.
type WrittenPoint struct {
	Count int `json:"count"`
	Level int `json:"level"`
}

// WrittenEntries are the levels for (count >> shift) − base.
type WrittenEntries struct {
	Shift  int   `json:"shift_bits"`
	Base   int   `json:"base"`
	Levels []int `json:"levels"`
}

// WrittenZone is a stretch of counts, both ends within, that mean the same.
type WrittenZone struct {
	From  int    `json:"from_count"`
	To    int    `json:"to_count"`
	Fault string `json:"fault"` // "none" where there is a level
}

// JSON writes the table as one JSON object.
func (t *Table) JSON(a About) ([]byte, error) {
	w := Written{
		Unit: t.Quantity.Column(), Source: plain(a.Source), Date: plain(a.Date), Input: plain(a.Input), Means: plain(a.Means),
		FullCount: t.Full, FirstCount: t.First, LastCount: t.Last, NoLevel: NoLevel,
		ErrorUnit: t.Quantity.Unit(), Worst: t.rounded(t.Worst.Steps), WorstAt: t.Worst.Count,
		TooHigh: t.rounded(t.TooHigh.Steps), TooLow: t.rounded(t.TooLow.Steps),
		Bound: quantity.Round(t.Quantity.InUnit(t.Bound), 4), CountStep: t.rounded(t.CountStep),
		Findings: append([]finding.Finding{}, t.Findings...), Cautions: append([]string{}, a.cautions()...),
	}
	for _, p := range t.Points {
		w.Points = append(w.Points, WrittenPoint(p))
	}
	if len(t.Points) == 0 {
		w.Entries = &WrittenEntries{t.Shift, t.Base, t.Entries}
	}
	for _, z := range t.Zones {
		w.Zones = append(w.Zones, WrittenZone{z.From, z.To, z.Fault.String()})
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(w)
	return b.Bytes(), err
}
