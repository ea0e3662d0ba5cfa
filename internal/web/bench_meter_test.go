package web

import (
	"context"
	"errors"
	"sync"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// bench meters are a meter whose samples a test makes up.
type benchMeters struct {
	mu    sync.Mutex
	seen  MeterSeen
	there bool
	heard chan struct{}
}

func newBenchMeters() *benchMeters {
	return &benchMeters{there: true, heard: make(chan struct{}),
		seen: MeterSeen{Setup: MeterSetup{Name: "bench meter", Kind: "scpi-tcp"}, Chosen: true}}
}

// says changes the sample; a spell of 0 is a value that moves.
func (m *benchMeters) says(state sitting.State, value quantity.Ohm, spell int64, words string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.seen.Last = sitting.Sample{State: state, Signal: m.seen.Setup.Signal, Value: value, Spell: spell, Words: words}
	m.seen.Steady = value
	close(m.heard)
	m.heard = make(chan struct{})
}

func (m *benchMeters) stands(value quantity.Ohm, spell int64) {
	m.says(sitting.Reading, value, spell, "")
}
func (m *benchMeters) moves(value quantity.Ohm) { m.says(sitting.Reading, value, 0, "") }

func (m *benchMeters) gives(signal curve.Signal) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.seen.Setup.Signal = signal
}

func (m *benchMeters) List() []MeterSeen { return []MeterSeen{m.seen} }
func (m *benchMeters) Chosen() (MeterSeen, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.seen, m.there
}
func (m *benchMeters) Heard() <-chan struct{} {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.heard
}

var errNotHere = errors.New("not in this test")

func (m *benchMeters) Keep(context.Context, MeterSetup) error { return errNotHere }
func (m *benchMeters) Remove(context.Context, string) error   { return errNotHere }
func (m *benchMeters) Choose(context.Context, string) error   { return errNotHere }
func (m *benchMeters) Try(context.Context, MeterSetup) (MeterSeen, error) {
	return MeterSeen{}, errNotHere
}
func (m *benchMeters) Ports() []string { return nil }
