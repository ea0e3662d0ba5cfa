package language

import "sync"

// saying is a text as it was said, and whether nothing was left out.
type saying struct {
	text string
	all  bool
}

// memo keeps what was said, up to so many texts.
type memo struct {
	mu   sync.RWMutex
	said map[string]saying
}

const memoMost = 20_000

func newMemo() *memo { return &memo{said: map[string]saying{}} }

// get gives what was said before, or says it.
func (m *memo) get(key string, say func() saying) saying {
	m.mu.RLock()
	s, ok := m.said[key]
	m.mu.RUnlock()
	if ok {
		return s
	}
	s = say()
	m.mu.Lock()
	if len(m.said) >= memoMost {
		clear(m.said)
	}
	m.said[key] = s
	m.mu.Unlock()
	return s
}
