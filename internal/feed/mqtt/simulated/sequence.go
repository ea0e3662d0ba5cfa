package simulated

import (
	"context"
	"sync"

	"github.com/eclipse/paho.golang/packets"
	"github.com/eclipse/paho.golang/paho"
	"github.com/eclipse/paho.golang/paho/session"
	"github.com/eclipse/paho.golang/paho/session/state"
)

// sequence tells when a message has been written to the connection, so that the next
// can't come before it. The library says so to nobody but its keeper of the session,
// which first gives the message its place, and its keeper of the line, which is told
// of each packet right after it was written.
type sequence struct {
	*state.State
	*paho.DefaultPinger

	mu   sync.Mutex
	next func() // of the message that has its place and is being written
}

// written is the key of a function that is called once a message has been written.
type written struct{}

// AddToSession gives a packet its place.
func (s *sequence) AddToSession(ctx context.Context, packet session.Packet, resp chan<- packets.ControlPacket) error {
	err := s.State.AddToSession(ctx, packet, resp)
	if tell, ok := ctx.Value(written{}).(func()); ok {
		s.mu.Lock()
		s.next = tell
		s.mu.Unlock()
	}
	return err
}

// PacketSent is called after a packet was written.
func (s *sequence) PacketSent() {
	s.DefaultPinger.PacketSent()
	s.mu.Lock()
	tell := s.next
	s.next = nil
	s.mu.Unlock()
	if tell != nil {
		tell()
	}
}
