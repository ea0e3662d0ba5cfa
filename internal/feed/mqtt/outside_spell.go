package mqtt

import (
	"crypto/rand"
	"errors"
	"fmt"
	"sync"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// Reasons for which a message from a broker is no reading, besides those of
// [feed.Refusal].
const (
	RetainedUntimed = "retained, without a time of its own"
	KeptUntimed     = "kept by the broker, without a time of its own"
)

// nearEnough is how long a reading may have been on its way for the time of its
// arrival to stand for that of the measurement.
const nearEnough = 15 * time.Second

// arrival is a message that came in.
type arrival struct {
	topic    string
	payload  []byte
	retained bool   // the broker had it from before the subscription
	again    bool   // the broker sent it before, and it wasn't acknowledged
	id       string // that [message.id] carried
	qos      byte
	ack      func() // tells the broker that it need not send it again
}

// spell is what is known for the time of one connection.
type spell struct {
	o     *Outside
	to    feed.Sink
	mark  string        // the id of this connection's first message
	lose  func(error)   // ends the connection, and says why; the first counts
	ready chan struct{} // closed by begin
	over  chan struct{} // closed by end

	mu    sync.Mutex
	until time.Time // up to when what comes may have been kept by the broker; zero: it hasn't

	acks *acks
}

func newSpell(o *Outside, to feed.Sink, lose func(error)) *spell {
	return &spell{o: o, to: to, mark: rand.Text(), lose: lose, ready: make(chan struct{}), over: make(chan struct{}), acks: newAcks()}
}

// begin lets messages in. Until the time given, unless the mark comes earlier,
// they may be old ones that the broker kept.
func (s *spell) begin(until time.Time) {
	s.until = until
	close(s.ready)
}

// end lets no more messages in, and lets go of what waits for an acknowledgement
// that can't be given any more.
func (s *spell) end() {
	close(s.over)
	s.acks.close()
}

// take takes a message that came in. Calls come one at a time, in the order of
// the messages.
//
// A message without a time of its own bears that of its arrival, which says
// nothing of one that the broker had kept: for an hour, perhaps, from a
// controller that has since died. It would be shown as fresh. So such readings
// are refused: those that were retained, and those of a resumed session that come
// before the mark, which is the session's own "running", published on connecting.
// A broker sends what it has in the order in which it came. Where the mark can't
// come, for want of a right to read it, a time limit stands in for it. After a
// gap of a few seconds the arrival is near enough, and nothing is refused.
func (s *spell) take(a arrival) {
	select {
	case <-s.ready:
	case <-s.over:
	}
	select {
	case <-s.over:
		return
	default:
	}
	turn := s.acks.turn(a)
	if a.topic == s.o.c.root+"/"+WatchTopic {
		if s.marks(a) {
			s.mu.Lock()
			s.until = time.Time{}
			s.mu.Unlock()
		}
		turn.done()
		return
	}
	now := time.Now()
	kept := s.kept(now)
	if !kept {
		s.o.fresh.Store(now.UnixNano())
	}
	readings, why := s.readings(a, now, kept)
	switch why {
	case "":
	case feed.NoSuchTank:
		s.to.Refused(s.o.source, why, []byte(a.topic))
	default:
		s.to.Refused(s.o.source, why, a.payload)
	}
	if len(readings) == 0 {
		turn.done()
		return
	}
	s.to.Later(readings, func(err error) {
		if err == nil {
			turn.done()
			return
		}
		// Nothing of MQTT asks for a message once more on the same connection, and
		// the broker sends again on the next what wasn't acknowledged on this.
		s.lose(fmt.Errorf("readings can't be kept, so they aren't acknowledged and will be sent again: %w", err))
	})
	most := receiveMost
	if s.o.c.old {
		most = 0 // the broker has a limit of its own
	}
	if s.acks.stuck(most) {
		feed.Hurry(s.to)
	}
}

// marks says whether this is the mark. MQTT 3.1.1 carries no id; what there is of
// the same kind is good enough.
func (s *spell) marks(a arrival) bool {
	if s.o.c.old {
		return !a.retained && !a.again && string(a.payload) == Running
	}
	return a.id == s.mark
}

// readings gives the readings of a message, and why not all of them count.
func (s *spell) readings(a arrival, now time.Time, kept bool) (readings []watch.Reading, why string) {
	tank, ok := readingTank(s.o.c.root, a.topic)
	if !ok {
		return nil, ""
	}
	if !s.to.Knows(tank) {
		return nil, feed.NoSuchTank
	}
	d := feed.Defaults{Tank: tank, Source: s.o.source, Arrived: now, Doubted: func(why string) { s.to.Refused(s.o.source, why, a.payload) }}
	if s.o.c.signal != nil {
		d.Signal = s.o.c.signal(tank)
	}
	readings, err := feed.Decode(nil, a.payload, d)
	var refusal *feed.Refusal
	if errors.As(err, &refusal) {
		return nil, refusal.Why()
	} else if err != nil {
		return nil, feed.NotJSON
	}
	switch {
	case a.retained:
		why = RetainedUntimed
	case kept && now.Sub(time.Unix(0, s.o.fresh.Load())) > nearEnough:
		why = KeptUntimed
	default:
		return readings, ""
	}
	timed := readings[:0]
	for _, r := range readings {
		if r.Clock == watch.SourceClock {
			timed = append(timed, r)
		}
	}
	if len(timed) == len(readings) {
		why = ""
	}
	return timed, why
}

// kept says whether a message that comes now may be one that the broker had kept.
func (s *spell) kept(now time.Time) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.until.IsZero() && now.After(s.until) {
		s.until = time.Time{}
	}
	return !s.until.IsZero()
}
