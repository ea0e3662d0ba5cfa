package mqtt

import (
	"hash/maphash"
	"time"

	"gaugewright/internal/watch"
)

// A reading without a time of its own bears that of its arrival. Where a client loses
// its connection before such a reading is acknowledged, and sends it once more on the
// next, it would bear another, and count twice: shown as fresh, and kept again. So it
// is remembered which of these a connection left behind. A reading that has a time is
// known again by that.

const (
	leftEach    = 1024 // messages that are remembered of a client
	leftClients = 1024 // clients of which any are
	leftFor     = time.Hour
)

// left are messages that a client's connection left behind: handed over, and not
// acknowledged. What they said is there by its hash, under their identifiers.
type left struct {
	at    time.Time
	marks map[uint16]uint64
}

var leftSeed = maphash.MakeSeed()

// markOf is by what a message with readings is known again; 0 where they have times
// of their own.
func markOf(topic, payload []byte, readings []watch.Reading) uint64 {
	for i := range readings {
		if readings[i].Clock == watch.ArrivalClock {
			var h maphash.Hash
			h.SetSeed(leftSeed)
			_, _ = h.Write(topic) // it gives no error
			_ = h.WriteByte(0)
			_, _ = h.Write(payload)
			return max(1, h.Sum64())
		}
	}
	return 0
}

// leave remembers what a client's connection left behind.
func (b *Broker) leave(client string, marks map[uint16]uint64) {
	if len(marks) == 0 {
		return
	}
	b.remember.Lock()
	defer b.remember.Unlock()
	now := time.Now()
	for id, l := range b.left {
		if now.Sub(l.at) > leftFor {
			delete(b.left, id)
		}
	}
	l := b.left[client]
	if l == nil {
		if len(b.left) >= leftClients {
			return
		}
		l = &left{marks: map[uint16]uint64{}}
		if b.left == nil {
			b.left = map[string]*left{}
		}
		b.left[client] = l
	}
	defer func() { b.lefts.Store(int64(len(b.left))) }()
	l.at = now
	for id, mark := range marks {
		if len(l.marks) < leftEach {
			l.marks[id] = mark
		}
	}
}

// sentBefore says whether a message is one that an earlier connection of the client
// left behind, and forgets it. A new one under the same identifier has it forgotten.
func (b *Broker) sentBefore(client string, m incoming) bool {
	if b.lefts.Load() == 0 {
		return false
	}
	b.remember.Lock()
	defer b.remember.Unlock()
	l := b.left[client]
	if l == nil || m.qos == 0 {
		return false
	}
	was, there := l.marks[m.id]
	delete(l.marks, m.id)
	if len(l.marks) == 0 {
		delete(b.left, client)
		b.lefts.Store(int64(len(b.left)))
	}
	return there && m.dup && m.mark != 0 && was == m.mark
}

// unkept forgets what couldn't be kept after all.
func (b *Broker) unkept(client string, list []answer) {
	b.remember.Lock()
	defer b.remember.Unlock()
	if l := b.left[client]; l != nil {
		for _, a := range list {
			delete(l.marks, a.id)
		}
	}
}
