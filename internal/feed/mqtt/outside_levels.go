package mqtt

import (
	"bytes"
	"fmt"
	"sync"
)

// Limits of what waits for a broker that isn't there.
const (
	topicsMost  = 1 << 17
	payloadMost = 256 << 10
)

// message is one to publish.
type message struct {
	topic   string
	payload []byte
	retain  bool
	id      string // goes with it where the protocol can carry it; "": none
}

// latest has the newest message of each topic: those that wait to be sent, in the
// order in which their topics came, and those that are retained, for good.
type latest struct {
	wake chan struct{} // has an element while something waits

	mu      sync.Mutex
	waiting map[string]message
	order   []string
	kept    map[string]message
}

func newLatest() *latest {
	return &latest{wake: make(chan struct{}, 1), waiting: make(map[string]message), kept: make(map[string]message)}
}

// put adds a message, in the place of an older one that still waits.
func (l *latest) put(m message) error {
	if len(m.payload) > payloadMost {
		return fmt.Errorf("the payload for %s has %d bytes; expected at most %d", m.topic, len(m.payload), payloadMost)
	}
	m.payload = bytes.Clone(m.payload)
	l.mu.Lock()
	defer l.mu.Unlock()
	_, waits := l.waiting[m.topic]
	_, kept := l.kept[m.topic]
	if !waits && !kept && len(l.waiting)+len(l.kept) >= topicsMost {
		return fmt.Errorf("%d topics have been published at; %s is one too many", topicsMost, m.topic)
	}
	l.add(m)
	if m.retain && len(m.payload) > 0 {
		l.kept[m.topic] = m
	} else if m.retain {
		delete(l.kept, m.topic)
	}
	return nil
}

// add has the message wait. The caller has the lock.
func (l *latest) add(m message) {
	if _, ok := l.waiting[m.topic]; !ok {
		l.order = append(l.order, m.topic)
	}
	l.waiting[m.topic] = m
	l.call()
}

func (l *latest) call() {
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// again has everything that is retained wait once more, behind the first message.
func (l *latest) again(first message) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.waiting, first.topic)
	order := []string{first.topic}
	for _, topic := range l.order {
		if topic != first.topic {
			order = append(order, topic)
		}
	}
	l.order = order
	l.waiting[first.topic] = first
	for _, m := range l.kept {
		if _, ok := l.waiting[m.topic]; !ok {
			l.add(m)
		}
	}
	l.call()
}

// take gives up to n messages that wait, which wait no longer.
func (l *latest) take(n int) []message {
	l.mu.Lock()
	defer l.mu.Unlock()
	n = min(n, len(l.order))
	batch := make([]message, 0, n)
	for _, topic := range l.order[:n] {
		batch = append(batch, l.waiting[topic])
		delete(l.waiting, topic)
	}
	l.order = l.order[n:]
	if len(l.order) == 0 {
		l.order = nil // lets go of what was taken
	} else {
		l.call()
	}
	return batch
}

// back has messages wait again that couldn't be sent, unless there is a newer one.
func (l *latest) back(batch []message) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, m := range batch {
		if _, newer := l.waiting[m.topic]; !newer {
			l.add(m)
		}
	}
}
