package simulated

import "sync"

// message is one reading on its way.
type message struct {
	tank    string
	payload []byte
}

// lane is a queue of messages that go out in their order. Those that are on their
// way aren't in it any more.
type lane struct {
	mu      sync.Mutex
	ring    []message
	first   int
	n       int
	away    int
	dropped map[string]uint64
	some    chan struct{} // has a value when a message came
}

func newLane() *lane {
	return &lane{some: make(chan struct{}, 1), dropped: map[string]uint64{}}
}

// put adds a message; where bound wait already, the oldest is dropped.
func (l *lane) put(m message, bound int) {
	l.mu.Lock()
	if l.n == bound {
		l.dropped[l.ring[l.first].tank]++
		l.shift()
	}
	if l.n == len(l.ring) {
		grown := make([]message, max(16, min(bound, 2*l.n)))
		for i := range l.n {
			grown[i] = l.ring[(l.first+i)%len(l.ring)]
		}
		l.ring, l.first = grown, 0
	}
	l.ring[(l.first+l.n)%len(l.ring)] = m
	l.n++
	l.mu.Unlock()
	select {
	case l.some <- struct{}{}:
	default:
	}
}

// take gives the oldest message, to be sent.
func (l *lane) take() (message, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.n == 0 {
		return message{}, false
	}
	l.away++
	return l.shift(), true
}

// arrived says that a message that was taken need not be sent any more.
func (l *lane) arrived() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.away--
}

// shift takes the oldest out; there has to be one.
func (l *lane) shift() message {
	m := l.ring[l.first]
	l.ring[l.first] = message{}
	l.first = (l.first + 1) % len(l.ring)
	l.n--
	return m
}

// waiting says how many messages wait or are on their way.
func (l *lane) waiting() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.n + l.away
}
