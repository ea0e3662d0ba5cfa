package watch

import "time"

// Published is a level as the network and files have it: plain JSON, units in
// the names, null for what isn't known. It is described in docs/levels.md and in
// the AsyncAPI document.
type Published struct {
	Tank   string    `json:"tank"`
	Time   time.Time `json:"time"`   // of the reading that it rests on, UTC
	Clock  string    `json:"clock"`  // "source" or "arrival"
	Source string    `json:"source"` // which feed it came from

	Ohm      *float64       `json:"ohm"`
	MarkPct  *float64       `json:"mark_pct"`
	LevelPct *float64       `json:"level_pct"`
	LowPct   *float64       `json:"low_pct"` // the 95 % interval
	HighPct  *float64       `json:"high_pct"`
	UPct     *float64       `json:"u_pct"` // standard uncertainty, in points
	VolumeL  *float64       `json:"volume_l"`
	UVolumeL *float64       `json:"u_volume_l"`
	MassKg   *float64       `json:"mass_kg"`
	UMassKg  *float64       `json:"u_mass_kg"`
	AgeS     float64        `json:"age_s"` // when it was published
	StaleS   float64        `json:"stale_after_s"`
	Motion   string         `json:"motion"`
	Status   string         `json:"status"`
	Fault    string         `json:"fault,omitempty"` // in two or three words
	Since    *time.Time     `json:"since,omitempty"`
	Reason   string         `json:"reason"`              // "" where nothing is amiss
	LastGood *PublishedGood `json:"last_good,omitempty"` // where the value isn't good
}

// PublishedGood is the last level that could be believed.
type PublishedGood struct {
	Time     time.Time `json:"time"`
	LevelPct float64   `json:"level_pct"`
	UPct     float64   `json:"u_pct"`
	VolumeL  *float64  `json:"volume_l"`
	MassKg   *float64  `json:"mass_kg"`
}

// Publish gives the level as the network has it.
func (l Level) Publish() Published { panic("not written yet") }
