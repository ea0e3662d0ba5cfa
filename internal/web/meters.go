package web

import (
	"context"
	"errors"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// MeterSetup is how a meter is reached.
type MeterSetup struct {
	Name    string       `json:"name"`             // a person's name for it
	Kind    string       `json:"kind"`             // "scpi-tcp", "scpi-serial", "lines-serial" or "lines-tcp"
	Address string       `json:"address"`          // host:port, or the serial port's name
	Baud    int          `json:"baud,omitempty"`   // of a serial port; 0: 9600
	Ask     string       `json:"ask,omitempty"`    // of SCPI: "measure" or "read"; "": measure
	Signal  curve.Signal `json:"signal,omitempty"` // what the bench wants of it
}

// MeterSeen is a meter and how it is doing.
type MeterSeen struct {
	Setup    MeterSetup
	Identity string // what it calls itself; "" while that isn't known
	Last     sitting.Sample
	Steady   quantity.Ohm // where Last.Spell is not 0: the value that stands
	Chosen   bool         // it is the one on the bench
}

// Meters are the meters of the workshop. The methods may be called from several
// goroutines.
type Meters interface {
	// List gives all of them, by name.
	List() []MeterSeen
	// Chosen gives the one on the bench; false where ohms are typed.
	Chosen() (MeterSeen, bool)
	// Heard gives a channel that is closed when the one on the bench says
	// something new, or another is chosen.
	Heard() <-chan struct{}
	// Keep adds a meter, or replaces the one of its name, and chooses it.
	Keep(ctx context.Context, m MeterSetup) error
	Remove(ctx context.Context, name string) error
	// Choose puts a meter on the bench; "" for none.
	Choose(ctx context.Context, name string) error
	// Try asks a meter once, without keeping it.
	Try(ctx context.Context, m MeterSetup) (MeterSeen, error)
	// Ports gives the serial ports that there are.
	Ports() []string
}

// noMeters is a workshop in which ohms are typed.
type noMeters struct{}

var errNoMeters = errors.New("this program was started without meters; type the ohms")

func (noMeters) List() []MeterSeen                                  { return nil }
func (noMeters) Chosen() (MeterSeen, bool)                          { return MeterSeen{}, false }
func (noMeters) Heard() <-chan struct{}                             { return nil }
func (noMeters) Keep(context.Context, MeterSetup) error             { return errNoMeters }
func (noMeters) Remove(context.Context, string) error               { return errNoMeters }
func (noMeters) Choose(context.Context, string) error               { return errNoMeters }
func (noMeters) Try(context.Context, MeterSetup) (MeterSeen, error) { return MeterSeen{}, errNoMeters }
func (noMeters) Ports() []string                                    { return nil }

// meterWords is what a page is told of the meter on the bench.
type meterWords struct {
	Name   string `json:"name"`   // "" where ohms are typed
	State  string `json:"state"`  // of [sitting.State]
	Text   string `json:"text"`   // "36.2", with no unit; "" where there is no value
	Unit   string `json:"unit"`   // "Ω"
	Words  string `json:"words"`  // what is the matter, where there is no value
	Run    string `json:"run"`    // spells are numbered anew in each run of the program, and of a meter
	Spell  int64  `json:"spell"`  // 0: it doesn't stand still
	Steady string `json:"steady"` // the value that stands, as it would be taken
}

// meterNow gives what the meter on the bench says now.
func (s *Site) meterNow() meterWords {
	s.spells.mu.Lock()
	defer s.spells.mu.Unlock()
	m, ok := s.o.Meters.Chosen()
	if !ok {
		return meterWords{State: "typed"}
	}
	w := meterWords{Run: s.run + s.spells.of(m.Setup.Name, m.Last.Spell), Name: m.Setup.Name, State: m.Last.State.String(), Unit: m.Setup.Signal.Unit(), Words: m.Last.Words, Spell: m.Last.Spell}
	if m.Last.State == sitting.Reading {
		w.Text = valueText(m.Last.Value)
		if m.Last.Spell != 0 {
			w.Steady = valueText(m.Steady)
		}
	}
	return w
}

// valueText writes a value as it is shown while it is taken, which is how it is
// shown on the strip.
func valueText(v quantity.Ohm) string { return sitting.Figure(curve.Ohms, v) }
