package mqtt

import (
	"errors"
	"fmt"
	"testing"
	"time"
)

// dup marks a PUBLISH packet as sent again.
func dup(packet []byte) []byte {
	packet[0] |= 8
	return packet
}

// A client loses its connection while the disk takes its time, and sends again what
// wasn't acknowledged: readings without a time count once, and are acknowledged on the
// new connection, whichever comes first, the message or the disk. What is new counts,
// whatever its identifier was used for.
func TestLeftBehind(t *testing.T) {
	const topic = "gaugewright/fresh/reading"
	for _, version := range []byte{4, 5} {
		for _, kept := range []string{"before", "between", "after", "never"} {
			t.Run(fmt.Sprint(version, " kept ", kept), func(t *testing.T) {
				sink := &held{hold: true}
				b := inside(t, Config{}, sink)
				w := dial(t, b, version, "van")
				w.send(w.message(1, 7, topic, "118.4"), w.message(1, 8, topic, "118.5"))
				handed := func(n int) func() bool {
					return func() bool {
						sink.mu.Lock()
						defer sink.mu.Unlock()
						have := 0
						for _, l := range sink.lists {
							have += len(l)
						}
						return have == n
					}
				}
				eventually(t, "the readings", handed(2))
				w.conn.Close()
				eventually(t, "the end of the connection", func() bool { return len(b.connected()) == 0 })
				want := "[118.4 118.5 120 121]"
				switch kept {
				case "before":
					sink.commit()
				case "never":
					sink.set(true, errors.New("no room"))
					sink.commit()
					sink.set(true, nil)
					want = "[118.4 120 121]"
				}
				w = dial(t, b, version, "van")
				w.send(dup(w.message(1, 7, topic, "118.4")))
				if kept == "between" {
					sink.commit()
				}
				// A new message under an identifier of before, and one sent again that
				// says something else.
				w.send(w.message(1, 8, topic, "120"), dup(w.message(1, 9, topic, "121")))
				acked := make(chan []byte, 3)
				go func() {
					for range 3 {
						b, err := w.read()
						if err != nil {
							return
						}
						acked <- b
					}
				}()
				for end := time.After(time.Minute); len(acked) < 3; {
					sink.commit()
					select {
					case <-end:
						t.Fatalf("%d are acknowledged", len(acked))
					case <-time.After(time.Millisecond):
					}
				}
				for id := byte(7); id < 10; id++ {
					if p := <-acked; p[0] != 0x40 || p[3] != id {
						t.Errorf("% x; want the acknowledgement of %d", p, id)
					}
				}
				if got := fmt.Sprint(sink.values()); got != want {
					t.Errorf("kept %s; want %s", got, want)
				}
			})
		}
	}
}
