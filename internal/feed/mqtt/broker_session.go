package mqtt

import "sync"

// session is what is remembered of a client from one connection to the next: the
// messages of quality of service 2 that were kept, and that it may still send
// again.
type session struct {
	mu       sync.Mutex
	received map[uint16]struct{}
}

// session gives a client's session. Where there is none, it is nil, unless it is
// to be made.
func (b *Broker) session(client string, make bool) *session {
	b.remember.Lock()
	defer b.remember.Unlock()
	s := b.sessions[client]
	if s == nil && make {
		s = &session{received: map[uint16]struct{}{}}
		b.sessions[client] = s
	}
	return s
}

// forget ends a client's session.
func (b *Broker) forget(client string) {
	b.remember.Lock()
	defer b.remember.Unlock()
	delete(b.sessions, client)
	delete(b.delayed, client)
}

func (s *session) has(id uint16) bool {
	if s == nil {
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	_, ok := s.received[id]
	return ok
}

func (s *session) len() int {
	if s == nil {
		return 0
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.received)
}

func (s *session) add(id uint16) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.received[id] = struct{}{}
}

// remove tells whether it was there.
func (s *session) remove(id uint16) bool {
	if s == nil {
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	_, ok := s.received[id]
	delete(s.received, id)
	return ok
}
