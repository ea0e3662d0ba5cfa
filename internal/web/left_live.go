package web

import (
	"net/http"
	"sync/atomic"
	"time"
)

// The stream of the owner's page. Nothing is queued for anybody: who reads slowly
// is told the latest when there is room for it again, and dropped when there is
// none for five seconds.
const (
	// leftPace is how often a page is told something, at the most.
	leftPace = time.Second
	// leftBeat is how often it is, at the least: a page that hears nothing for
	// longer says that it is cut off. A level can become too old without anything
	// coming in, too.
	leftBeat = 5 * time.Second
	// leftMost is how many pages may follow at once; those beyond ask now and then
	// instead.
	leftMost = 64
)

// followers bounds how many pages follow at once.
type followers struct {
	n          atomic.Int32
	most       int32 // 0: leftMost
	pace, beat time.Duration
	ended      <-chan struct{} // nil: streams end with their requests alone
}

func (f *followers) enter() bool {
	most := f.most
	if most == 0 {
		most = leftMost
	}
	if f.n.Add(1) > most {
		f.n.Add(-1)
		return false
	}
	return true
}

func (f *followers) leave() { f.n.Add(-1) }

func (f *followers) times() (pace, beat time.Duration) {
	pace, beat = leftPace, leftBeat
	if f.pace > 0 {
		pace = f.pace
	}
	if f.beat > 0 {
		beat = f.beat
	}
	return pace, beat
}

// leftTold is what a page is told: whether it has to fetch itself anew, and how old
// the readings are.
type leftTold struct {
	Mark string `json:"mark"`
	// At is how long the stream has been open, in ms: of two events a page knows by
	// it which one was longer under way.
	At   int64      `json:"at"`
	Ages []*float64 `json:"ages"` // of each tank's reading, in seconds; null: none came yet
}

// leftLive follows the watch for a page. It carries no levels: a page fetches them,
// and whoever may no longer look doesn't get them.
func (s *Site) leftLive(w http.ResponseWriter, r *http.Request) error {
	if !s.followers.enter() {
		w.Header().Set("Retry-After", "30")
		http.Error(w, "Too many pages follow the levels at once. This one asks for them now and then.", http.StatusServiceUnavailable)
		return nil
	}
	defer s.followers.leave()
	out, begun := newStream(w), time.Now()
	pace, beat := s.followers.times()
	for {
		// Asked for before looking, so that nothing falls between.
		changed := s.o.Watch.Changed()
		if out.send("now", s.leftTold(r, time.Since(begun))) != nil {
			return nil // the page is gone, or takes nothing
		}
		if !s.followers.wait(r, pace, nil) || !s.followers.wait(r, beat-pace, changed) {
			return nil
		}
	}
}

// wait waits so long, or until something changes. It gives false where there is
// nobody to wait for any more.
func (f *followers) wait(r *http.Request, d time.Duration, changed <-chan struct{}) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-r.Context().Done():
		return false
	case <-f.ended:
		return false
	case <-changed:
	case <-t.C:
	}
	return true
}

func (s *Site) leftTold(r *http.Request, open time.Duration) leftTold {
	b := s.leftWords(r)
	t := leftTold{Mark: b.Mark, At: open.Milliseconds(), Ages: make([]*float64, len(b.Tanks))}
	for i, tank := range b.Tanks {
		if tank.Age != "" {
			t.Ages[i] = &tank.AgeS
		}
	}
	return t
}
