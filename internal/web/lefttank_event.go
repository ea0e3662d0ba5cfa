package web

import (
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/quantity"
)

// eventSentence says what happened and when.
func eventSentence(e history.Event, now time.Time) string {
	at := momentWords(e.Time, now) + ": "
	switch e.Kind {
	case history.FaultBegan:
		text := at + e.Fault.String()
		if e.Level >= 0 && e.Level <= 1 {
			text += "; the level before it was " + sharePct(quantity.Share(e.Level), 0.01)
		}
		return text + "."
	case history.FaultEnded:
		return at + "mended: " + e.Fault.String() + "."
	}
	return at + e.Text
}
