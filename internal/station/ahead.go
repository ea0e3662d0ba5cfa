package station

import (
	"gaugewright/internal/alarm"
	"gaugewright/internal/notice"
	"gaugewright/internal/web"
)

// Flows says what came in and went out.
func (s *Station) Flows() web.Flows { return nil }

// Alarms holds the alarms.
func (s *Station) Alarms() alarm.Board { return nil }

// Post sends what is to be told.
func (s *Station) Notices() notice.Post { return nil }
