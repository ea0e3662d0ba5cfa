package station

import (
	"gaugewright/internal/alarm"
	"gaugewright/internal/docket"
	"gaugewright/internal/web"
)

// Flows says what came in and went out.
func (s *Station) Flows() web.Flows { return nil }

// Dockets keeps the dockets of the tanks.
func (s *Station) Dockets() docket.Book { return nil }

// Alarms holds the alarms.
func (s *Station) Alarms() alarm.Board { return nil }
