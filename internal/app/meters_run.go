package app

import (
	"context"
	"sync"

	"gaugewright/internal/feed/meter"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// running is the meter on the bench, being listened to.
type running struct {
	setup meter.Setup
	meter *meter.Meter
	stop  context.CancelFunc
	ended chan struct{}

	mu     sync.Mutex
	last   sitting.Sample
	steady quantity.Ohm
}

// run listens to the meter that is on the bench now, and to no other. The lock
// is held.
func (m *meters) run() {
	if r := m.running; r != nil {
		r.stop()
		<-r.ended // a serial port can be opened once only
		m.running = nil
	}
	i := m.find(m.kept.Bench)
	if m.kept.Bench == "" || i < 0 {
		m.news.tell()
		return
	}
	setup := m.kept.Meters[i]
	device, err := meter.New(setup, meter.Options{Now: m.now, Log: m.log})
	if err != nil {
		m.log.Error("meter", "name", setup.Name, "error", err)
		m.news.tell()
		return
	}
	ctx, stop := context.WithCancel(m.ctx)
	r := &running{setup: setup, meter: device, stop: stop, ended: make(chan struct{}),
		last: sitting.Sample{At: m.now(), State: sitting.Opening, Signal: setup.Signal, Words: "The meter is being connected."}}
	m.running = r
	m.news.tell()
	m.done.Go(func() {
		defer close(r.ended)
		still := sitting.NewSteady(sitting.SteadyRule{})
		_ = device.Run(ctx, func(x sitting.Sample) { // it ends with ctx alone
			r.listen(still.Add(x), still)
			m.news.tell()
		})
	})
}

// listen notes what the meter on the bench said. It takes no lock that is held
// while run waits for the meter to end.
func (r *running) listen(x sitting.Sample, still *sitting.Steady) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.last = x
	if x.Spell != 0 {
		r.steady, _ = still.Value()
	}
}

// news is how those who wait hear of something new.
type news struct {
	mu    sync.Mutex
	heard chan struct{}
}

func (n *news) next() <-chan struct{} {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.heard == nil {
		n.heard = make(chan struct{})
	}
	return n.heard
}

func (n *news) tell() {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.heard != nil {
		close(n.heard)
		n.heard = nil
	}
}

// Heard gives a channel that is closed at the next news.
func (m *meters) Heard() <-chan struct{} { return m.news.next() }
