package app

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"sort"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/feed/meter"
	"gaugewright/internal/sitting"
	"gaugewright/internal/web"
)

const metersNote = "meters"

// keptMeters is what the workshop has noted of its meters.
type keptMeters struct {
	Meters []meter.Setup `json:"meters"`
	Bench  string        `json:"bench,omitempty"` // the name of the one on the bench
}

// meters runs the meter on the bench and keeps the list of all. It is a
// [web.Meters].
type meters struct {
	notes notes
	log   *slog.Logger
	now   func() time.Time
	ctx   context.Context // ends when the program stops
	done  sync.WaitGroup

	news    news
	mu      sync.Mutex
	kept    keptMeters
	running *running
}

// openMeters reads the list, and listens to the meter on the bench.
func openMeters(ctx context.Context, n notes, log *slog.Logger, now func() time.Time) (*meters, error) {
	m := &meters{notes: n, log: log, now: now, ctx: ctx}
	text, err := n.Note(ctx, metersNote)
	if err != nil {
		return nil, err
	}
	if text != "" {
		if err := json.Unmarshal([]byte(text), &m.kept); err != nil {
			// A list that can't be read must not keep anyone from the jobs.
			log.Error("the list of meters can't be read; it begins anew", "error", err)
			m.kept = keptMeters{}
		}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.run()
	return m, nil
}

// wait comes back when no meter is listened to any more, after ctx has ended.
func (m *meters) wait() { m.done.Wait() }

// find gives the place of a meter in the list, or −1. Names are alike whatever
// their capitals.
func (m *meters) find(name string) int {
	for i, s := range m.kept.Meters {
		if strings.EqualFold(s.Name, name) {
			return i
		}
	}
	return -1
}

// List gives all meters by name.
func (m *meters) List() []web.MeterSeen {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := make([]web.MeterSeen, len(m.kept.Meters))
	for i, s := range m.kept.Meters {
		out[i] = m.seen(s)
	}
	sort.Slice(out, func(a, b int) bool { return out[a].Setup.Name < out[b].Setup.Name })
	return out
}

func (m *meters) seen(s meter.Setup) web.MeterSeen {
	if r := m.running; r != nil && r.setup == s {
		r.mu.Lock()
		defer r.mu.Unlock()
		return web.MeterSeen{Setup: shownSetup(s), Identity: r.meter.Identity().String(), Last: r.last, Steady: r.steady, Chosen: true}
	}
	return web.MeterSeen{Setup: shownSetup(s), Last: sitting.Sample{Signal: s.Signal, Words: "It isn't on the bench, and so isn't listened to."}}
}

// Chosen gives the meter on the bench.
func (m *meters) Chosen() (web.MeterSeen, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.running == nil {
		return web.MeterSeen{}, false
	}
	return m.seen(m.running.setup), true
}

// keep makes a change of the list; nothing is changed where it can't be noted.
func (m *meters) keep(ctx context.Context, change func(*keptMeters) error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	next := keptMeters{Meters: append([]meter.Setup(nil), m.kept.Meters...), Bench: m.kept.Bench}
	if err := change(&next); err != nil {
		return err
	}
	if err := noteMeters(ctx, m.notes, next); err != nil {
		return err
	}
	m.kept = next
	m.run()
	return nil
}

func noteMeters(ctx context.Context, n notes, k keptMeters) error {
	text, err := json.Marshal(k)
	if err != nil {
		return err
	}
	return n.SetNote(ctx, metersNote, string(text))
}

// mostMeters is far more than a workshop has.
const mostMeters = 50

// Keep adds or replaces a meter and puts it on the bench.
func (m *meters) Keep(ctx context.Context, shown web.MeterSetup) error {
	s := ownSetup(shown)
	if err := s.Check(); err != nil {
		return err
	}
	if s.Name == "" {
		return errors.New("the meter has no name; expected one by which to tell it from others")
	}
	return m.keep(ctx, func(k *keptMeters) error {
		k.Bench = s.Name
		if i := m.find(s.Name); i >= 0 {
			k.Meters[i] = s
			return nil
		}
		if len(k.Meters) >= mostMeters {
			return fmt.Errorf("there are %d meters already; remove one first", len(k.Meters))
		}
		k.Meters = append(k.Meters, s)
		return nil
	})
}

// Remove takes a meter off the list.
func (m *meters) Remove(ctx context.Context, name string) error {
	return m.keep(ctx, func(k *keptMeters) error {
		i := m.find(name)
		if i < 0 {
			return fmt.Errorf("there is no meter %q", name)
		}
		k.Meters = append(k.Meters[:i], k.Meters[i+1:]...)
		if strings.EqualFold(k.Bench, name) {
			k.Bench = ""
		}
		return nil
	})
}

// Choose puts a meter on the bench; "" for none.
func (m *meters) Choose(ctx context.Context, name string) error {
	return m.keep(ctx, func(k *keptMeters) error {
		if name != "" && m.find(name) < 0 {
			return fmt.Errorf("there is no meter %q", name)
		}
		k.Bench = name
		return nil
	})
}

// Try asks a meter once.
func (m *meters) Try(ctx context.Context, shown web.MeterSetup) (web.MeterSeen, error) {
	s := ownSetup(shown)
	if err := s.Check(); err != nil {
		return web.MeterSeen{}, err
	}
	m.mu.Lock()
	if r := m.running; r != nil && r.setup.Kind == s.Kind && r.setup.Address == s.Address {
		// It is being listened to already, and a serial port can be opened once.
		seen := m.seen(r.setup)
		m.mu.Unlock()
		return seen, nil
	}
	m.mu.Unlock()
	identity, sample, err := meter.Try(ctx, s)
	return web.MeterSeen{Setup: shown, Identity: identity.String(), Last: sample}, err
}

// Ports gives the serial ports; none where they can't be told.
func (m *meters) Ports() []string {
	ports, err := meter.Ports()
	if err != nil {
		m.log.Warn("serial ports can't be listed", "error", err)
	}
	return ports
}

func shownSetup(s meter.Setup) web.MeterSetup {
	return web.MeterSetup{Name: s.Name, Kind: s.Kind, Address: s.Address, Baud: s.Baud, Ask: s.Ask, Signal: s.Signal}
}

func ownSetup(s web.MeterSetup) meter.Setup {
	return meter.Setup{Name: s.Name, Kind: s.Kind, Address: s.Address, Baud: s.Baud, Ask: s.Ask, Signal: s.Signal}
}
