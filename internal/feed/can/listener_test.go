package can

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/watch"
)

func heard(t testing.TB, text string) *listener {
	t.Helper()
	f, err := New("can/boat", config(t, text))
	if err != nil {
		t.Fatal(err)
	}
	return f.(*live).listener
}

func frame(t testing.TB, text string) Frame {
	t.Helper()
	var e Entry
	if err := e.parse([]byte("can0 " + text)); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return e.Frame
}

func (l *listener) all(t testing.TB, s *feedtest.Tape, frames ...string) {
	t.Helper()
	for _, text := range frames {
		if f := frame(t, text); concerns(&f) {
			s.Readings = l.take(s.Readings, &f, watch.Reading{}, s)
		}
	}
}

func TestListener(t *testing.T) {
	l, s := heard(t, boat), newTape()
	l.all(t, s,
		"19F21123#103E49DC050000FF", // water 0, 75 %, 150 L
		"1DF21124#103E49DC050000FF", // another priority and another device: the same level
		"19F21123#20FF7FFFFFFFFFFF", // grey 0: not available
		"19F21123#20FE7FFFFFFFFFFF", // out of range
		"18FEFC23#FFBBFFFFFFFFFAFF", // 74.8 % and 100 %
		"18FEFC24#FFBBFFFFFFFFFEFF", // another address: only the second, which may be anyone's
		"18FEFC23#FFFEFFFFFFFFFFFF",
	)
	s.All(t, "fresh can/boat 75%, fresh can/boat/2 75%, grey can/boat none, grey can/boat broken, "+
		"diesel can/boat 74.8%, spare can/boat 100%, spare can/boat/2 broken, diesel can/boat broken, spare can/boat none")
	s.Count(t, "level that no tank is configured for: spn 96, source 36", 1)
	s.Count(t, "capacity on the bus is another than the one configured", 1)
	if want := "fresh: 150 L on the bus, 120 L configured"; s.Samples[0] != want {
		t.Errorf("%q, expected %q", s.Samples[0], want)
	}
	// Told anew where it changes, and not where it is near enough.
	l.all(t, s, "19F21123#103E49DD050000FF", "19F21123#103E49B5040000FF", "19F21123#103E49DD050000FF")
	s.Count(t, "capacity on the bus is another than the one configured", 2)
}

// What looks like a level and is none takes nothing and disturbs nothing.
func TestListenerPassesOver(t *testing.T) {
	l, s := heard(t, boat), newTape()
	l.all(t, s,
		"123#103E49DC050000FF",             // 11 bits
		"7FF#",                             //
		"19F21123#R8",                      // asks
		"19F21123##0103E49DC050000FF",      // CAN FD
		"18FEFD23#FFBBFFFFFFFFFFFF",        // the next group
		"19F21223#103E49DC050000FF",        //
		"1BF21123#103E49DC050000FF",        // the reserved bit makes it another group
		"20000008#0000000000000000",        // damaged
		"20000040#0000000000000000",        // off
		"20000004#0010000000000000",        // passive
		"20000004#0040000000000000",        // all well again
		"20000100#0000000000000000",        // restarted
		"18FEFC23#FFFFFFFFFFFFFFFF",        // diesel and spare: none
		"18FEFC05#FFFFFFFFFFFFFFFF",        // spare: none; nobody is told of a 96 that says nothing
		"19F21123#103E49", "18FEFC23#FFBB", // too short
		"19F21123#1F3E49DC050000FF", // no instance
		"19F21123#F03E49DC050000FF", // no fluid
		"19F21123#113E49DC050000FF", // water 1
		"19F21123#113E49DC050000FF", //
	)
	s.All(t, "diesel can/boat none, spare can/boat none, spare can/boat none")
	s.Counted(t, map[string]int{
		"bus error: a damaged frame":                                           1,
		"bus error: the controller has gone off the bus":                       1,
		"bus error: so many errors that the controller is passive":             1,
		"fluid level: wrong length":                                            1,
		"fuel level: wrong length":                                             1,
		"fluid level: no instance":                                             1,
		"fluid level: no type of fluid":                                        1,
		"level that no tank is configured for: pgn 127505, water 1, source 35": 2,
	})
}

// However many strangers there are, few words count them.
func TestStrangersAreBounded(t *testing.T) {
	l, s := heard(t, boat), newTape()
	for from := range 250 {
		l.all(t, s, fmt.Sprintf("19F211%02X#513E49DC050000FF", from), fmt.Sprintf("18FEFC%02X#FFBBFFFFFFFFFFFF", from))
	}
	if len(s.Counts) != mostStrangers+1 {
		t.Errorf("%d kinds of words: %v", len(s.Counts), s.Counts)
	}
	s.Count(t, others, 499-mostStrangers)
	if !strings.Contains(s.Samples[0], "19F21100#51") {
		t.Error(s.Samples[0])
	}
}

// A device that changes its address stays the same source; two that speak at once
// are told apart, and of very many there are a few sources.
func TestDevices(t *testing.T) {
	l := heard(t, boat)
	w := l.fuel[1][0] // anyone's
	at := noon
	tell := func(s *feedtest.Tape, from uint8, after time.Duration) string {
		at = at.Add(after)
		return l.source(w, from, watch.Measured, at, s)
	}
	s := newTape()
	for n := range 300 { // always another address, each silent before the next
		if got := tell(s, uint8(n), 11*time.Second); got != "can/boat" {
			t.Fatalf("device %d: %q", n, got)
		}
	}
	for range 5 {
		if a, b := tell(s, 43, 2*time.Second), tell(s, 7, 0); a != "can/boat" || b != "can/boat/2" {
			t.Fatalf("%q and %q", a, b)
		}
	}
	s.Count(t, "level that another device tells too, which was taken; name one by its source", 1)
	if s.Samples[0] != "spare: addresses 43 and 7" {
		t.Error(s.Samples)
	}
	for from := range 252 {
		tell(s, uint8(from), time.Millisecond)
	}
	if len(w.devices) != mostDevices {
		t.Error(w.devices)
	}
	s.Count(t, "level that four other devices tell too", 248)
	if got := tell(s, 251, time.Minute); got != "can/boat" {
		t.Error(got)
	}
	// One that never had a value is none of them, unless nobody else is there.
	none := func() string { return l.source(w, 99, watch.Unavailable, at, s) }
	if got := none(); got != "" {
		t.Errorf("%q, expected to be passed over", got)
	}
	if w.devices = nil; none() != "can/boat" || len(w.devices) != 0 {
		t.Error(none(), w.devices)
	}
}
