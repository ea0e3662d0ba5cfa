package mqtt

import (
	"errors"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// newTestSpell is a connection that lets messages in.
func newTestSpell(t testing.TB, sink *ledger, resumed bool) (*spell, *atomic.Int64) {
	t.Helper()
	o, err := NewOutside("outside/test", OutsideConfig{URL: "mqtt://127.0.0.1"})
	if err != nil {
		t.Fatal(err)
	}
	lost := new(atomic.Int64)
	s := newSpell(o, sink, func(error) { lost.Add(1) })
	var until time.Time
	if resumed {
		until = time.Now().Add(time.Hour)
	}
	s.begin(until)
	return s, lost
}

// Whatever comes, from wherever: nothing panics, each message with QoS 1 is
// acknowledged once, in order, unless the disk fails; and what is taken bears a
// tank that is known and a value or a reason to have none.
func FuzzArrival(f *testing.F) {
	f.Add("gaugewright/fresh/reading", []byte("118.4"), false, false, byte(1), false)
	f.Add("gaugewright/fresh/reading", []byte(`[{"ohm":1,"time":1},{"volt":null}]`), true, false, byte(1), true)
	f.Add("gaugewright/watch", []byte("running"), false, true, byte(1), true)
	f.Add("gaugewright//reading", []byte(nil), false, false, byte(0), false)
	f.Add("", []byte("NaN"), false, false, byte(2), false)
	f.Fuzz(func(t *testing.T, topic string, payload []byte, retained, again bool, qos byte, resumed bool) {
		sink := newLedger(t)
		s, lost := newTestSpell(t, sink, resumed)
		defer s.end()
		const many = 3
		acked := make(chan int, 2*many)
		for n := range many {
			s.take(arrival{topic: topic, payload: payload, retained: retained, again: again, qos: qos, ack: func() { acked <- n }})
		}
		if qos > 0 {
			for n := range many {
				if got := <-acked; got != n {
					t.Fatalf("message %d acknowledged, expected %d", got, n)
				}
			}
		}
		if lost.Load() > 0 {
			t.Error("the connection was ended")
		}
		if len(sink.values()) > 0 {
			r := sink.first()
			if !sink.Knows(r.Tank) || !strings.HasPrefix(topic, "gaugewright/") || r.Source != "outside/test" {
				t.Errorf("%s: took %+v", topic, r)
			}
			if (retained || resumed) && r.Clock != watch.SourceClock {
				t.Errorf("took %+v without a time of its own", r)
			}
		}
	})
}

// What isn't on disk isn't acknowledged, nor is anything behind it.
func TestSpellDiskFails(t *testing.T) {
	sink := newLedger(t)
	s, lost := newTestSpell(t, sink, false)
	var acked atomic.Int64
	send := func() {
		s.take(arrival{topic: "gaugewright/fresh/reading", payload: []byte("118.4"), qos: 1, ack: func() { acked.Add(1) }})
	}
	send()
	eventually(t, "the first is acknowledged", func() bool { return acked.Load() == 1 })
	sink.fail(errors.New("no space left on device"))
	send()
	eventually(t, "the connection is ended", func() bool { return lost.Load() == 1 })
	sink.fail(nil)
	send()
	eventually(t, "the third is on disk", func() bool { return len(sink.values()) == 2 })
	s.end()
	send() // comes too late
	time.Sleep(10 * time.Millisecond)
	if acked.Load() != 1 || sink.attempts() != 3 {
		t.Errorf("%d acknowledged of %d handed over, expected 1 of 3", acked.Load(), sink.attempts())
	}
}

// The mark ends the time in which readings without a time of their own count for
// nothing, and so does the limit that stands in for it.
func TestSpellKept(t *testing.T) {
	sink := newLedger(t)
	s, _ := newTestSpell(t, sink, true)
	defer s.end()
	send := func(topic, payload, id string) {
		s.take(arrival{topic: "gaugewright/" + topic, payload: []byte(payload), id: id, ack: func() {}})
	}
	send("fresh/reading", "1", "")
	send("watch", Running, "another's")
	send("fresh/reading", "2", "")
	send("watch", Running, s.mark)
	send("fresh/reading", "3", "")
	eventually(t, "the third counts", func() bool { return len(sink.values()) == 1 && sink.first().Value == 3 })
	if n := sink.refusals(KeptUntimed); n != 2 {
		t.Errorf("%d refused, expected 2", n)
	}

	s, _ = newTestSpell(t, sink, true)
	defer s.end()
	s.until = time.Now().Add(-time.Second)
	send("grey/reading", "4", "")
	eventually(t, "after the limit all count", func() bool { return len(sink.values()) == 2 })
}

// BenchmarkArrival is what a message costs here, network and disk apart.
func BenchmarkArrival(b *testing.B) {
	sink := newLedger(b)
	s, _ := newTestSpell(b, sink, false)
	defer s.end()
	done := make(chan struct{}, 1)
	a := arrival{topic: "gaugewright/fresh/reading", payload: []byte(`{"ohm":118.4,"time":1793541720.5}`), qos: 1, ack: func() { done <- struct{}{} }}
	b.ReportAllocs()
	for b.Loop() {
		s.take(a)
		<-done
	}
}
