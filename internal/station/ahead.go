package station

import (
	"gaugewright/internal/alarm"
	"gaugewright/internal/notice"
	"gaugewright/internal/watch"
)

// judge is told each level of a tank, and the one at which it becomes stale, after it
// was followed. The tank's lock is held.
func (s *Station) judge(t *tank, l watch.Level) {}

// Alarms holds the alarms.
func (s *Station) Alarms() alarm.Board { return nil }

// Post sends what is to be told.
func (s *Station) Notices() notice.Post { return nil }
