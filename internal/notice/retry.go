package notice

import (
	"hash/fnv"
	"math/rand/v2"
	"time"
)

// Policy is when a notice is tried again, and when it is given up.
type Policy struct {
	// First is the pause after the first try that failed; each further pause is twice
	// as long, up to Most (exponential back-off), less a random part of up to Jitter of
	// it, so that those who wait for the same server don't come at once.
	First, Most time.Duration
	// Back is the longest pause while nobody answers at all, so that it isn't long after
	// there is a network again.
	Back   time.Duration
	Jitter float64 // 0..1
	// GiveUp is how long a notice may wait while the other side answers and doesn't
	// take it; Unreached while nobody answers at all, which in a vehicle out of coverage
	// is nobody's fault. Tries is how often it was tried before either at the least, as
	// a clock may have jumped.
	GiveUp, Unreached time.Duration
	Tries             int
	// Longest is the longest pause that the other side may ask for.
	Longest time.Duration
}

// Usual is the policy that is used.
var Usual = Policy{
	First: 30 * time.Second, Most: time.Hour, Back: 10 * time.Minute, Jitter: 0.25,
	GiveUp: 3 * 24 * time.Hour, Unreached: 30 * 24 * time.Hour, Tries: 20,
	Longest: 6 * time.Hour,
}

// Pause gives how long to wait after so many tries of a notice by a way that failed
// (1: the first). The random part depends on seed, the ID, the way and the number of
// tries alone.
func (p Policy) Pause(id, way string, tries int, seed uint64) time.Duration {
	pause := p.First
	for i := 1; i < tries && pause < p.Most; i++ {
		pause *= 2
	}
	pause = min(pause, p.Most)
	h := fnv.New64a()
	_, _ = h.Write([]byte(id + "\x00" + way)) // a sum never fails
	r := rand.New(rand.NewPCG(seed^h.Sum64(), uint64(tries)))
	return pause - time.Duration(r.Float64()*p.Jitter*float64(pause))
}

// After gives how a notice stands after a try at now: delivered where err is nil,
// otherwise to be tried again, or given up.
func (p Policy) After(w Waiting, now time.Time, err error, seed uint64) Waiting {
	w.Tries++
	w.Last, w.Next = now, time.Time{}
	if err == nil {
		w.Done, w.Why, w.Unreached = now, "", false
		return w
	}
	f := FailureOf(err)
	w.Why, w.Unreached = f.Err.Error(), f.Unreached
	most := p.GiveUp
	if f.Unreached {
		most = p.Unreached
	}
	if f.Permanent || f.Gone || w.Tries >= p.Tries && now.Sub(w.Queued) >= most {
		w.Dead = now
		return w
	}
	pause := p.Pause(w.Notice.ID, w.Way, w.Tries, seed)
	if f.Unreached {
		pause = min(pause, p.Back)
	}
	w.Next = now.Add(max(pause, min(f.After, p.Longest)))
	return w
}

// Due gives when a notice is really to be tried, at a moment: not later than the
// longest pause from then, as the clock may have been set back.
func (p Policy) Due(w Waiting, now time.Time) time.Time {
	if latest := now.Add(max(p.Most, p.Longest)); w.Next.After(latest) {
		return latest
	}
	return w.Next
}
