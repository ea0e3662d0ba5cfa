package notice

import (
	"strings"
	"testing"
	"time"
)

// What is sent again tells of an alarm that began long ago, and doesn't come late.
func TestAgainIsNotLate(t *testing.T) {
	at := time.Date(2026, 11, 26, 10, 0, 0, 0, time.UTC)
	w := Waiting{Notice: Notice{Time: at, Again: 2}, Queued: at.Add(15 * time.Minute)}
	if s := Lateness(w, at.Add(15*time.Minute+time.Second)); s != "" {
		t.Errorf("it says %q", s)
	}
	w.Tries, w.Unreached = 3, true
	if s := Lateness(w, at.Add(2*time.Hour)); !strings.HasPrefix(s, "This comes 105 minutes late") {
		t.Errorf("after a mail server was away it says %q", s)
	}
	w = Waiting{Notice: Notice{Time: at}, Queued: at.Add(15 * time.Minute)}
	if s := Lateness(w, at.Add(15*time.Minute+time.Second)); !strings.Contains(s, "came late") {
		t.Errorf("the first time it says %q", s)
	}
}
