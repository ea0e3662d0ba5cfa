package watch

import (
	"time"

	"gaugewright/internal/quantity"
)

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

// Publish gives the level as the network has it, its reason in the terms of UTC.
func (l Level) Publish() Published { return l.PublishIn(time.UTC) }

// PublishIn is Publish with the reason's times in a zone of its own; all other
// times stay in UTC.
func (l Level) PublishIn(zone *time.Location) Published {
	p := Published{
		Tank: l.Tank, Time: l.Time.UTC(), Clock: l.Clock.String(), Source: l.Source,
		Ohm: known(float64(l.Ohm), 3), MarkPct: known(l.MarkPct, 2),
		AgeS: quantity.Round(l.Age.Seconds(), 1), StaleS: quantity.Round(l.Stale.Seconds(), 1),
		Motion: l.Motion.String(), Status: l.Status.String(), Fault: l.Fault.String(), Reason: l.Reason(zone),
	}
	if !l.Since.IsZero() {
		since := l.Since.UTC()
		p.Since = &since
	}
	if l.Shown {
		p.LevelPct, p.UPct = known(100*float64(l.Share), 2), known(100*float64(l.U), 3)
		p.LowPct, p.HighPct = known(100*float64(l.Low), 2), known(100*float64(l.High), 2)
		p.VolumeL, p.UVolumeL = known(1e3*l.Volume.Mid, 3), known(1e3*l.Volume.U, 3)
		p.MassKg, p.UMassKg = known(l.Mass.Mid, 3), known(l.Mass.U, 3)
	} else {
		p.MarkPct = nil
	}
	if (!l.Shown || l.Status == Failure || l.Status == Check) && !l.Last.Time.IsZero() {
		p.LastGood = &PublishedGood{
			Time:     l.Last.Time.UTC(),
			LevelPct: quantity.Round(100*float64(l.Last.Share), 2),
			UPct:     quantity.Round(100*float64(l.Last.U), 3),
			VolumeL:  known(1e3*l.Last.Volume.Mid, 3), MassKg: known(l.Last.Mass.Mid, 3),
		}
	}
	return p
}
