package mqtt

import (
	"fmt"
	"sync"
	"testing"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// Messages are retained and taken back while clients subscribe to all of them: each
// client gets its answer, and the race detector finds nothing.
func TestRetainedWhileOthersSubscribe(t *testing.T) {
	b := inside(t, Config{}, new(held))
	done := make(chan struct{})
	var publishing sync.WaitGroup
	for p := range 2 {
		publishing.Go(func() {
			for i := 0; ; i++ {
				select {
				case <-done:
					return
				default:
				}
				payload := []byte("x")
				if i%3 == 2 {
					payload = nil // no more
				}
				if err := b.Publish(fmt.Sprintf("tank-%d-%d/level", p, i%40), payload, true); err != nil {
					t.Error(err)
				}
			}
		})
	}
	defer publishing.Wait()
	defer close(done)
	for range 30 {
		w := dial(t, b, 5, "")
		w.send(framed(0x82, subscription(w, 1, "gaugewright/+/level")))
		for w.packet()[0] != 0x90 {
		}
		w.conn.Close()
	}
}

// A will that comes after a delay is retained where it says so, and is of one moment
// where it is a reading.
func TestDelayedWillIsRetained(t *testing.T) {
	b := inside(t, Config{}, new(held))
	h := &hook{b: b}
	for _, c := range []struct {
		topic          string
		delay          uint32
		asked          bool
		library, there bool
	}{
		{"gaugewright/state/a", 0, true, true, false}, // the library does it
		{"gaugewright/state/b", 5, true, false, true},
		{"gaugewright/state/c", 5, false, false, false},
		{fresh, 5, true, false, false},
	} {
		cl := b.server.NewClient(nil, mochi.LocalListener, "client", false)
		cl.Properties.Will = mochi.Will{TopicName: c.topic, WillDelayInterval: c.delay, Retain: c.asked, Payload: []byte("gone")}
		will, err := h.OnWill(cl, cl.Properties.Will)
		if err != nil || will.Retain != c.library {
			t.Fatalf("%s: left to the library %v, %v", c.topic, will.Retain, err)
		}
		if will.Retain {
			h.OnRetainMessage(cl, packets.Packet{}, 1)
		}
		h.OnWillSent(cl, packets.Packet{TopicName: c.topic, Payload: will.Payload, FixedHeader: packets.FixedHeader{Type: packets.Publish}})
		if pk, there := b.server.Topics.Retained.Get(c.topic); there != c.there || there && (string(pk.Payload) != "gone" || !pk.FixedHeader.Retain) {
			t.Errorf("%s after %d s: retained %v, %+v", c.topic, c.delay, there, pk)
		}
	}
}

// reader is a grant that lets look on.
type reader struct{}

func (reader) Name() string          { return "reader" }
func (reader) Sends() bool           { return false }
func (reader) Publishes(string) bool { return false }
func (reader) Sees(string) bool      { return true }
func (reader) Still() bool           { return true }

// Who may look on alone says nothing of itself either, in any version.
func TestReaderSaysNothing(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		b := inside(t, Config{Admit: func([]byte) (Grant, bool) { return reader{}, true }}, new(held))
		for qos := range byte(3) {
			w := dial(t, b, version, "")
			said := w.message(qos, 1, "gaugewright/state/reader", "running")
			said[0] |= 1 // retained
			w.send(said, ping)
			for w.packet()[0] != 0xd0 {
			}
			if pk, there := b.server.Topics.Retained.Get("gaugewright/state/reader"); there {
				t.Errorf("quality of service %d: %s", qos, pk.Payload)
			}
		}
	})
}
