package mqtt

import (
	"testing"
	"time"
)

// A sender with so many messages on their way at most, at so many a second, and a
// disk that commits every ten seconds or as soon as a second after it is hurried: how
// many get through in five minutes, and in how many commits.
func TestPacing(t *testing.T) {
	for name, c := range map[string]struct {
		window   int     // the sender's
		rate     float64 // messages a second that it wants to send
		most     int     // that the receiver told it
		through  int     // at the least, in five minutes
		commits  int     // at the most
		unhelped int     // what would get through if nobody hurried, at the most
	}{
		"four a second, of a library with room for 20":    {20, 4, 512, 1150, 65, 620},
		"four a second, each waited for":                  {1, 4, 512, 280, 300, 31},
		"four a second with room enough":                  {100, 4, 512, 1150, 31, 1300},
		"one in ten seconds":                              {20, 0.1, 512, 29, 31, 31},
		"a hundred a second, and no more than it is told": {512, 100, 512, 25000, 130, 16000},
	} {
		t.Run(name, func(t *testing.T) {
			run := func(helped bool) (through, commits int) {
				var p pacing
				now := time.Unix(1.7e9, 0)
				begun, last := now, now.Add(-time.Hour)
				waiting, owed, hurried := 0, 0.0, false
				for ; now.Sub(begun) < 5*time.Minute; now = now.Add(10 * time.Millisecond) {
					owed += c.rate / 100
					for owed >= 1 && waiting < c.window {
						owed--
						waiting++
						hurried = p.came(now, 1, waiting, c.most) && helped || hurried
					}
					if ago := now.Sub(last); waiting > 0 && (ago >= 10*time.Second || hurried && (ago >= time.Second || waiting >= 128)) {
						p.acks(now, waiting)
						last, hurried = now, false
						through += waiting
						waiting = 0
						commits++
					}
				}
				return through, commits
			}
			through, commits := run(true)
			if through < c.through || commits > c.commits {
				t.Errorf("%d get through in %d commits; want %d or more in at most %d", through, commits, c.through, c.commits)
			}
			if n, _ := run(false); n > c.unhelped {
				t.Errorf("%d get through without help; want %d at most, or it needs none", n, c.unhelped)
			}
		})
	}
}
