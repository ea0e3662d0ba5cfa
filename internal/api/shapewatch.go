package api

import "time"

// Feed is how one way stands by which readings come in.
type Feed struct {
	Feed    string      `json:"feed" doc:"Its name." example:"mqtt"`
	Up      bool        `json:"up" doc:"Whether it is connected, or listens." example:"true"`
	Where   *string     `json:"where" doc:"To what; null: it never was." example:"127.0.0.1:1883"`
	Since   *time.Time  `json:"since" doc:"Connected or lost since then, UTC; null: it has been neither." example:"2026-11-24T06:00:00Z"`
	Why     *string     `json:"why" doc:"Why it isn't up; null where it is." example:"connection refused"`
	Again   *time.Time  `json:"again" doc:"When it is tried again, UTC; null: that isn't known, or it is up." example:"2026-11-24T06:01:00Z"`
	Taken   uint64      `json:"taken" doc:"Readings that it brought since the watch was started." example:"86400"`
	Refused []WhatCount `json:"refused" nullable:"false" doc:"What it brought that is no reading, by the reason."`
}

// WhatCount is how often something was.
type WhatCount struct {
	What string `json:"what" doc:"What it was, in a few fixed words." example:"an unknown field"`
	N    uint64 `json:"n" doc:"How often, since the watch was started." example:"2"`
}

// Standing is how the watch itself stands.
type Standing struct {
	Started    *time.Time  `json:"started" doc:"When the watch was started, UTC; null: that isn't known." example:"2026-11-24T06:00:00Z"`
	Failing    *string     `json:"failing" doc:"Why readings can't be kept at present; null where they are kept. They aren't acknowledged meanwhile." example:"no space left on device"`
	Since      *time.Time  `json:"failing_since" doc:"Since when, UTC; null where readings are kept." example:"2026-11-24T06:00:00Z"`
	Waiting    int         `json:"waiting" doc:"Readings that wait to be kept." example:"40"`
	Kept       uint64      `json:"kept" doc:"Readings that were kept since the watch was started." example:"86400"`
	Failed     uint64      `json:"failed_commits" doc:"How often readings couldn't be kept since the watch was started. They weren't acknowledged." example:"0"`
	StoreBytes *int64      `json:"store_bytes" doc:"The size in bytes of the file of readings and what belongs to it; null: that isn't known." example:"1048576"`
	Lost       []WhatCount `json:"lost" nullable:"false" doc:"What was lost for want of room, by its name."`
	Notes      []string    `json:"notes" nullable:"false" doc:"What else people should know, in a sentence each: what was put right at the start, a clock that was set, a damaged file that was put aside."`
	Version    *string     `json:"version" doc:"Of the program; null: that isn't known." example:"1.4.0"`
}

func tallies(list []Tally) []WhatCount {
	out := make([]WhatCount, len(list))
	for i, t := range list {
		out[i] = WhatCount{What: t.Why, N: t.N}
	}
	return out
}

func feedOf(f FeedState) Feed {
	out := Feed{Feed: f.Name, Up: f.Up, Where: said(f.Where), Since: when(f.Since), Taken: f.Taken, Refused: tallies(f.Refused)}
	if !f.Up {
		out.Why, out.Again = said(f.Why), when(f.Again)
	}
	return out
}

func standingOf(s WatchState, version string) Standing {
	out := Standing{Started: when(s.Started), Failing: said(s.Failing), Waiting: s.Waiting, Kept: s.Kept, Failed: s.Failed, Lost: tallies(s.Lost), Notes: s.Notes, Version: said(version)}
	if s.Failing != "" {
		out.Since = when(s.Since)
	}
	if out.Notes == nil {
		out.Notes = []string{}
	}
	if s.Bytes >= 0 {
		out.StoreBytes = &s.Bytes
	}
	return out
}
