package mqtt

import (
	"net"
	"testing"
)

func init() {
	houses = append(houses, struct {
		name string
		open func(t *testing.T) *house
	}{"inside", openInside})
}

// openInside starts the broker inside, which ends with the test.
func openInside(t *testing.T) *house {
	t.Helper()
	b, err := NewBroker(Config{Listen: "127.0.0.1:0"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	b.stamps.Store(1<<16 - 4) // so that its stamps go past what the library sorts by
	sink := newLedger(t)
	if err := b.Start(sink); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	if err := b.Publish(WatchTopic, []byte(Running), true); err != nil { // as whoever runs the watch does
		t.Fatal(err)
	}
	_, port, err := net.SplitHostPort(b.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	return &house{port: port, sink: sink, levels: b, inside: true}
}
