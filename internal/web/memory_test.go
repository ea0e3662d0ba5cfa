package web

import (
	"bytes"
	"context"
	"fmt"
	"sort"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/job"
)

// memory is a store that forgets everything, for tests of pages alone. What it
// lacks beside a real one is the disk.
type memory struct {
	mu      sync.Mutex
	jobs    map[job.ID]*kept
	notes   map[string]string
	started map[string]job.ID
	fail    error // what every change is refused with
}

type kept struct {
	data          []byte
	revision      int64
	place         string
	made, changed time.Time
	keys          map[string]bool
	history       []job.Change
	was           [][]byte // the file at each revision, from 1
}

func newMemory() *memory {
	return &memory{jobs: map[job.ID]*kept{}, notes: map[string]string{}, started: map[string]job.ID{}}
}

func (m *memory) open(id job.ID) (*job.Kept, error) {
	k, ok := m.jobs[id]
	if !ok {
		return nil, fmt.Errorf("job %q: %w", id, job.ErrNoJob)
	}
	j, err := job.Read(bytes.NewReader(k.data), string(id))
	if err != nil {
		return nil, err
	}
	return &job.Kept{ID: id, Revision: k.revision, Place: k.place, Job: j, Made: k.made, Changed: k.changed}, nil
}

func (m *memory) Jobs(_ context.Context, find string, limit int) ([]job.Card, int, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var cards []job.Card
	for id := range m.jobs {
		k, err := m.open(id)
		if err != nil {
			return nil, 0, err
		}
		c := job.Card{ID: id, Revision: k.Revision, Place: k.Place, Number: k.Job.Number, Customer: k.Job.Customer, Vehicle: k.Job.Vehicle, Date: k.Job.Date, Changed: k.Changed}
		text := strings.Join([]string{c.Number, c.Customer, c.Vehicle, c.Date}, "\n")
		for _, t := range k.Job.Tanks {
			next := t.Next()
			c.Tanks = append(c.Tanks, job.CardTank{Name: t.Name, Contents: t.Contents, Next: next, Done: strings.HasPrefix(next, "done")})
			text += "\n" + t.Name
		}
		found := true
		for _, word := range strings.Fields(strings.ToLower(find)) {
			found = found && strings.Contains(strings.ToLower(text), word)
		}
		if found {
			cards = append(cards, c)
		}
	}
	sort.Slice(cards, func(a, b int) bool { return cards[a].Changed.After(cards[b].Changed) })
	return cards[:min(limit, len(cards))], len(cards), nil
}

func (m *memory) Job(_ context.Context, id job.ID) (*job.Kept, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.open(id)
}

func (m *memory) Start(_ context.Context, key string, j *job.Job, at time.Time) (job.ID, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fail != nil {
		return "", m.fail
	}
	if id, ok := m.started[key]; ok && key != "" {
		return id, nil
	}
	data, err := j.Encode()
	if err != nil {
		return "", err
	}
	id := job.ID(fmt.Sprintf("j%d", len(m.jobs)+1))
	m.jobs[id] = &kept{data: data, revision: 1, made: at, changed: at, keys: map[string]bool{}, history: []job.Change{{At: at, Words: "started"}}, was: [][]byte{data}}
	m.started[key] = id
	return id, nil
}

func (m *memory) Change(_ context.Context, id job.ID, c job.Change) (*job.Kept, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fail != nil {
		return nil, m.fail
	}
	now, err := m.open(id)
	if err != nil {
		return nil, err
	}
	k := m.jobs[id]
	if c.Key != "" && k.keys[c.Key] {
		return now, nil
	}
	if c.Revision != 0 && c.Revision != k.revision {
		return nil, job.ErrMoved
	}
	if err := c.Do(now.Job); err != nil {
		return nil, err
	}
	data, err := now.Job.Encode()
	if err != nil {
		return nil, err
	}
	k.data, k.changed, k.was = data, c.At, append(k.was, data)
	c.Revision = k.revision
	k.revision++
	k.keys[c.Key] = true
	c.Do = nil
	k.history = append([]job.Change{c}, k.history...)
	return m.open(id)
}

func (m *memory) History(_ context.Context, id job.ID, limit int) ([]job.Change, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	h := m.jobs[id].history
	return h[:min(limit, len(h))], nil
}

func (m *memory) At(_ context.Context, id job.ID, revision int64) (*job.Job, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, ok := m.jobs[id]
	if !ok || revision < 1 || revision > int64(len(k.was)) {
		return nil, job.ErrNoJob
	}
	return job.Read(bytes.NewReader(k.was[revision-1]), string(id))
}

func (m *memory) Leave(_ context.Context, id job.ID, place string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.jobs[id].place = place
	return nil
}

func (m *memory) Revision(_ context.Context, id job.ID) (int64, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, ok := m.jobs[id]
	if !ok {
		return 0, job.ErrNoJob
	}
	return k.revision, nil
}

func (m *memory) Note(_ context.Context, name string) (string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.notes[name], nil
}

func (m *memory) SetNote(_ context.Context, name, value string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.fail != nil {
		return m.fail
	}
	m.notes[name] = value
	return nil
}
