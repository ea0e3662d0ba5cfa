package station

import (
	"runtime/debug"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// Faults come and go while it is asked how the watch stands, as a page, a metric and a
// service manager ask: neither waits for the other for ever.
func TestStandingWhileFaultsComeAndGo(t *testing.T) {
	s, _ := started(t, "[mqtt]\nlisten = \"127.0.0.1:0\"\n[tank.fresh]\nlower = 10\nupper = 190\n", Options{})
	fresh, at := s.tanks["fresh"], time.Now().UTC()
	done := make(chan struct{})
	go func() {
		defer close(done)
		for i := range 3000 {
			fault := []watch.Fault{watch.BrokenWire, watch.NoFault}[i%2]
			fresh.mu.Lock()
			s.watches(fresh, watch.Level{Tank: "fresh", Time: at.Add(time.Duration(i) * time.Minute), Since: at, Fault: fault})
			fresh.mu.Unlock()
		}
	}()
	asked := make(chan struct{})
	go func() {
		defer close(asked)
		for {
			select {
			case <-done:
				return
			default:
				s.Standing()
			}
		}
	}()
	select {
	case <-asked:
	case <-time.After(time.Minute):
		debug.SetTraceback("all")
		panic("they wait for each other") // as the end of the test would, for the station
	}
	s.telling.Lock()
	defer s.telling.Unlock()
	if len(s.events) < 3000 {
		t.Errorf("%d events were told; expected 3000 and the start", len(s.events))
	}
}
