package api

import (
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// nothing is the watch of a program that watches nothing.
type nothing struct{}

func (nothing) Tanks() []TankAbout             { return nil }
func (nothing) Levels(time.Time) []watch.Level { return nil }
func (nothing) Counts() []watch.Counts         { return nil }
func (nothing) Feeds() []FeedState             { return nil }
func (nothing) Changed() <-chan struct{}       { return nil }
func (nothing) Past() history.Past             { return nil }
func (nothing) Flows() Flows                   { return nil }
func (nothing) Standing() WatchState           { return WatchState{Bytes: -1} }
func (nothing) Alarms() alarm.Board            { return nil }
