package mqtt

import (
	"sync"
	"time"
)

// acks acknowledges messages in the order in which they came, as MQTT asks
// (4.6.0-2 of MQTT 5, from memory), and only those that may be. It does so from a
// goroutine of its own, so that whoever says that readings are on disk never
// waits for a network.
type acks struct {
	mu     sync.Mutex
	wake   sync.Cond
	queue  []*turn
	closed bool
	pacing pacing
}

// turn is a message's place in the order.
type turn struct {
	acks *acks
	ack  func()
	may  bool
}

func newAcks() *acks {
	a := &acks{}
	a.wake.L = &a.mu
	go a.run()
	return a
}

// turn gives the next place.
func (a *acks) turn(m arrival) *turn {
	t := &turn{acks: a, ack: m.ack}
	if m.qos == 0 {
		return t
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if !a.closed {
		a.queue = append(a.queue, t)
	}
	return t
}

// stuck notes that a message waits for its turn, and says whether the broker waits
// for that.
func (a *acks) stuck(most int) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return len(a.queue) > 0 && a.pacing.came(time.Now(), 1, len(a.queue), most)
}

// done says that the message may be acknowledged.
func (t *turn) done() {
	t.acks.mu.Lock()
	defer t.acks.mu.Unlock()
	t.may = true
	t.acks.wake.Signal()
}

func (a *acks) run() {
	for {
		a.mu.Lock()
		for !a.closed && (len(a.queue) == 0 || !a.queue[0].may) {
			a.wake.Wait()
		}
		if a.closed {
			a.mu.Unlock()
			return
		}
		t := a.queue[0]
		a.pacing.acks(time.Now(), len(a.queue))
		a.queue = a.queue[1:]
		a.mu.Unlock()
		t.ack()
	}
}

// close acknowledges nothing more.
func (a *acks) close() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.closed, a.queue = true, nil
	a.wake.Signal()
}
