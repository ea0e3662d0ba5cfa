package notice

import "time"

// Rate is how many notices may go out by a way: Burst at once, and then one more in
// each Every. Critical ones have as much again for themselves, so that others never hold
// them up.
type Rate struct {
	Burst int
	Every time.Duration
}

// UsualRate is what is used: an alarm that comes and goes all day fills nobody's letter
// box.
var UsualRate = Rate{Burst: 20, Every: time.Minute}

// Gate counts what goes out by one way. It isn't for several goroutines.
type Gate struct {
	rate Rate
	room [2]float64 // of others and of critical ones
	at   time.Time
}

// NewGate makes a gate that lets a burst through.
func NewGate(r Rate) *Gate {
	return &Gate{rate: r, room: [2]float64{float64(r.Burst), float64(r.Burst)}}
}

// Wait says how long a notice has to wait at now; 0: it may go, and is counted.
func (g *Gate) Wait(priority string, now time.Time) time.Duration {
	if !g.at.IsZero() && now.After(g.at) {
		for i := range g.room {
			g.room[i] = min(float64(g.rate.Burst), g.room[i]+float64(now.Sub(g.at))/float64(g.rate.Every))
		}
	}
	g.at = now // also where the clock was set back
	i := 0
	if priority == Critical {
		i = 1
	}
	if g.room[i] >= 1 {
		g.room[i]--
		return 0
	}
	return time.Duration((1-g.room[i])*float64(g.rate.Every)).Truncate(time.Millisecond) + time.Millisecond
}

// Recall counts one that went out before a restart; the oldest comes first.
func (g *Gate) Recall(priority string, at time.Time) { g.Wait(priority, at) }

// Memory is how far back what went out matters: what is older leaves a burst free.
func (r Rate) Memory() time.Duration { return time.Duration(r.Burst) * r.Every }
