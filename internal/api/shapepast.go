package api

import (
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/quantity"
)

// History is a tank's levels over a stretch of time.
type History struct {
	Tank    string         `json:"tank" doc:"The tank's name in the watch." example:"fresh"`
	From    time.Time      `json:"from" doc:"Where the stretch begins, UTC." example:"2026-11-23T14:00:00Z"`
	To      time.Time      `json:"to" doc:"Where it ends, UTC; itself not in it." example:"2026-11-24T14:00:00Z"`
	BucketS int64          `json:"bucket_s" doc:"How long a part is, in seconds: a whole number of minutes." example:"300"`
	Buckets []LevelsBucket `json:"buckets" nullable:"false" doc:"Its parts by their time, all of one length. Those of which nothing is known are left out."`
}

// LevelsBucket is what the levels of a part of a stretch came to.
type LevelsBucket struct {
	From    time.Time `json:"from" doc:"Where the part begins, UTC: a multiple of bucket_s." example:"2026-11-24T13:55:00Z"`
	N       int64     `json:"n" doc:"How many levels there were." example:"300"`
	MinPct  *float64  `json:"min_pct" doc:"The lowest, in percent of the tank's scale; null where there was none." example:"51.4"`
	MeanPct *float64  `json:"mean_pct" doc:"Their mean." example:"51.84"`
	MaxPct  *float64  `json:"max_pct" doc:"The highest." example:"52.1"`
	LowPct  *float64  `json:"low_pct" doc:"The mean of the lower ends of their 95 % intervals." example:"50.1"`
	HighPct *float64  `json:"high_pct" doc:"The mean of the upper ends." example:"53.6"`
	Without int64     `json:"without" doc:"For how many readings no level could be shown." example:"0"`
	Worst   string    `json:"worst" enum:"good,maintenance,out-of-spec,check,failure" doc:"The worst status of the part." example:"good"`
}

func levelsBucket(b history.LevelBucket) LevelsBucket {
	out := LevelsBucket{From: b.From.UTC(), N: b.N, Without: b.Without, Worst: b.Worst.String()}
	if b.N > 0 {
		pct := func(s quantity.Share) *float64 { return rounded(100*float64(s), 2) }
		out.MinPct, out.MeanPct, out.MaxPct, out.LowPct, out.HighPct = pct(b.Min), pct(b.Mean), pct(b.Max), pct(b.Low), pct(b.High)
	}
	return out
}

// Readings are a tank's raw readings over a stretch of time.
type Readings struct {
	Tank    string           `json:"tank" doc:"The tank's name in the watch." example:"fresh"`
	Source  string           `json:"source" doc:"By which way they came." example:"mqtt"`
	Signal  string           `json:"signal" enum:"ohm,volt,count,level_pct" doc:"What they are, which is the unit of min, mean and max: ohms, volts, counts, or percent." example:"ohm"`
	From    time.Time        `json:"from" doc:"Where the stretch begins, UTC." example:"2026-11-23T14:00:00Z"`
	To      time.Time        `json:"to" doc:"Where it ends, UTC; itself not in it." example:"2026-11-24T14:00:00Z"`
	BucketS int64            `json:"bucket_s" doc:"How long a part is, in seconds." example:"300"`
	Buckets []ReadingsBucket `json:"buckets" nullable:"false" doc:"Its parts by their time, all of one length. Those with nothing in them are left out."`
}

// ReadingsBucket is what the readings of a part of a stretch came to.
type ReadingsBucket struct {
	From time.Time `json:"from" doc:"Where the part begins, UTC: a multiple of bucket_s." example:"2026-11-24T13:55:00Z"`
	N    int64     `json:"n" doc:"How many readings had a value." example:"300"`
	Min  *float64  `json:"min" doc:"The least, in the unit that signal says; null where none had a value." example:"117.9"`
	Mean *float64  `json:"mean" doc:"Their mean." example:"118.4"`
	Max  *float64  `json:"max" doc:"The greatest." example:"118.9"`
}

func readingsBucket(b history.Bucket) ReadingsBucket {
	out := ReadingsBucket{From: b.From.UTC(), N: b.N}
	if b.N > 0 {
		out.Min, out.Mean, out.Max = rounded(b.Min, 3), rounded(b.Mean, 3), rounded(b.Max, 3)
	}
	return out
}

// RunOfReadings is a run of readings of a tank: from one source, of one signal.
type RunOfReadings struct {
	Source string `json:"source" doc:"By which way they came." example:"mqtt"`
	Signal string `json:"signal" enum:"ohm,volt,count,level_pct" doc:"What they are, with the unit." example:"ohm"`
}

// Event is something that happened.
type Event struct {
	Time     time.Time `json:"time" doc:"When, UTC." example:"2026-11-24T14:02:11Z"`
	Tank     *string   `json:"tank" doc:"To which tank; null: to the watch itself." example:"fresh"`
	Kind     string    `json:"kind" enum:"fault,mended,began,ended,cut,repair,disk,disk-ok,clock,lost" doc:"What: a tank's fault began or was mended; the watch began, ended in order, or was cut off; something was put right at the start; readings couldn't be kept, or are again; this machine's clock was set; something was lost for want of room." example:"fault"`
	Fault    *string   `json:"fault" doc:"Which fault, in two or three words; null where it is none." example:"broken wire"`
	Status   *string   `json:"status" doc:"How far the level could be believed from then on: good, maintenance, out-of-spec, check or failure; null where it isn't about a tank." example:"failure"`
	LevelPct *float64  `json:"level_pct" doc:"The level before it, in percent of the tank's scale; null where there was none." example:"61.02"`
	Sentence string    `json:"sentence" doc:"All of it as a sentence in English, with the day and the time of the machine's zone." example:"24 November 2026, 15:02 – Broken wire; the last good level was 61 %."`
	Text     *string   `json:"text" doc:"More about it, as a sentence; null where there is no more to say." example:"The machine's clock was set back by 3 h."`
}

func eventOf(e history.Event, zone *time.Location) Event {
	out := Event{Time: e.Time.UTC(), Tank: said(e.Tank), Kind: string(e.Kind), Sentence: e.Sentence(zone), Fault: said(e.Fault.String()), Text: said(e.Text)}
	if e.Tank != "" {
		status := e.Status.String()
		out.Status = &status
		if e.Level >= 0 {
			out.LevelPct = rounded(100*e.Level, 2)
		}
	}
	return out
}
