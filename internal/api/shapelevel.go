package api

import (
	"time"

	"gaugewright/internal/watch"
)

// Level is a level as programs get it: what [watch.Published] has, under the same
// names.
type Level struct {
	Tank   string     `json:"tank" doc:"The tank's name in the watch." example:"fresh"`
	Time   *time.Time `json:"time" doc:"When the reading was measured that this rests on, UTC; null: nothing has come yet." example:"2026-11-24T14:02:11Z"`
	Clock  string     `json:"clock" enum:"source,arrival" doc:"Whose time that is: the source's, or that of arrival." example:"source"`
	Source string     `json:"source" doc:"By which way the reading came; empty: nothing has come yet." example:"mqtt"`

	Ohm      *float64 `json:"ohm" doc:"The sender's resistance in ohms; null where the signal doesn't tell it." example:"118.4"`
	MarkPct  *float64 `json:"mark_pct" doc:"The mark at which the sender stands, in percent of the marks." example:"52.3"`
	LevelPct *float64 `json:"level_pct" doc:"The level in percent of the tank's scale; null: there is none to show, and last_good and reason stand instead. Not a cut-off: never fill by it." example:"51.84"`
	LowPct   *float64 `json:"low_pct" doc:"The lower end of its 95 % interval, in percent." example:"50.1"`
	HighPct  *float64 `json:"high_pct" doc:"The upper end of its 95 % interval, in percent." example:"53.6"`
	UPct     *float64 `json:"u_pct" doc:"Its standard uncertainty in points." example:"0.87"`
	VolumeL  *float64 `json:"volume_l" doc:"The liquid in litres; null where the capacity isn't known." example:"51.79"`
	UVolumeL *float64 `json:"u_volume_l" doc:"The standard uncertainty of the litres." example:"0.87"`
	MassKg   *float64 `json:"mass_kg" doc:"The contents in kilograms; null where the density isn't known." example:"51.7"`
	UMassKg  *float64 `json:"u_mass_kg" doc:"The standard uncertainty of the kilograms." example:"0.87"`

	AgeS   float64     `json:"age_s" doc:"How old the reading was in seconds when this was answered; 0 where nothing has come." example:"4.2"`
	StaleS float64     `json:"stale_after_s" doc:"The age in seconds beyond which this mustn't be shown as a level." example:"300"`
	Motion string      `json:"motion" enum:"unknown,standing,moving" doc:"Whether the vehicle is thought to stand still." example:"standing"`
	Status string      `json:"status" enum:"good,maintenance,out-of-spec,check,failure" doc:"How far the level can be believed: one of the four kinds of NAMUR NE 107, or good." example:"good"`
	Fault  string      `json:"fault,omitempty" doc:"What is amiss, in two or three words; not there where nothing is." example:"broken wire"`
	Since  *time.Time  `json:"since,omitempty" doc:"Since when, UTC; not there where nothing is amiss." example:"2026-11-24T14:02:11Z"`
	Reason string      `json:"reason" doc:"What is amiss as a sentence to show, with times of the watch's own zone; empty where nothing is." example:"broken wire since 14:02; last good 61 %"`
	Last   *LevelKnown `json:"last_good,omitempty" doc:"The last level that could be believed, where this one can't."`
}

// LevelKnown is the last level that could be believed.
type LevelKnown struct {
	Time     time.Time `json:"time" doc:"Of its reading, UTC." example:"2026-11-24T14:01:58Z"`
	LevelPct float64   `json:"level_pct" doc:"The level in percent of the tank's scale." example:"61.02"`
	UPct     float64   `json:"u_pct" doc:"Its standard uncertainty in points." example:"0.9"`
	VolumeL  *float64  `json:"volume_l" doc:"The liquid in litres; null where the capacity isn't known." example:"60.96"`
	MassKg   *float64  `json:"mass_kg" doc:"The contents in kilograms; null where the density isn't known." example:"60.9"`
}

// level makes of a tank's level what programs get.
func level(tank string, l watch.Level, zone *time.Location) Level {
	if l.Time.IsZero() {
		return Level{
			Tank: tank, Clock: watch.ArrivalClock.String(), StaleS: l.Stale.Seconds(), Motion: watch.MotionUnknown.String(),
			Status: watch.Failure.String(), Fault: watch.NoReading.String(), Reason: "no reading has come yet",
		}
	}
	p := l.PublishIn(zone)
	out := Level{
		Tank: p.Tank, Time: &p.Time, Clock: p.Clock, Source: p.Source,
		Ohm: p.Ohm, MarkPct: p.MarkPct, LevelPct: p.LevelPct, LowPct: p.LowPct, HighPct: p.HighPct, UPct: p.UPct,
		VolumeL: p.VolumeL, UVolumeL: p.UVolumeL, MassKg: p.MassKg, UMassKg: p.UMassKg,
		AgeS: p.AgeS, StaleS: p.StaleS, Motion: p.Motion, Status: p.Status, Fault: p.Fault, Since: p.Since, Reason: p.Reason,
	}
	if g := p.LastGood; g != nil {
		out.Last = &LevelKnown{Time: g.Time, LevelPct: g.LevelPct, UPct: g.UPct, VolumeL: g.VolumeL, MassKg: g.MassKg}
	}
	return out
}
