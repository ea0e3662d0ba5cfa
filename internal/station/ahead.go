package station

import (
	"context"

	"gaugewright/internal/alarm"
	"gaugewright/internal/notice"
)

// Post sends what is to be told.
func (s *Station) Notices() notice.Post { return nil }

// tell hands on a notice, which is on the disk when there is no error. One of the same ID
// counts once.
func (s *Station) tell(_ context.Context, n notice.Notice) error {
	s.o.Log.Warn("a notice can't be sent yet", "notice", n.ID, "title", n.Title)
	return nil
}

// quietHours are those in which nobody is called but for what is critical.
func (s *Station) quietHours() alarm.Quiet { return alarm.Quiet{Zone: s.o.Zone} }
