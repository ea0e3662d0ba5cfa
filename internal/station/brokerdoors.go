package station

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"gaugewright/internal/certificate"
	"gaugewright/internal/doors"
	"gaugewright/internal/feed/mqtt"
)

// brokerDoors completes the broker's configuration by what it needs to know who
// comes: tokens, and the certificate of its TLS.
func (s *Station) brokerDoors(c *mqtt.Config) error {
	c.Admit, c.Guesses = s.admit, &doors.Guesses{}
	if c.TLSListen == "" {
		return nil
	}
	var err error
	switch {
	case c.Certificate != "" && c.Key != "":
		s.pair, err = certificate.Given(s.config.path(c.Certificate), s.config.path(c.Key), s.o.Log, s.o.Now)
	case c.SelfSigned && s.store != nil: // a trial makes no file
		s.pair, err = certificate.Own(certificate.Beside(s.config.path(s.config.Data)), nil, s.o.Log, s.o.Now)
	}
	if err == nil && s.pair != nil {
		c.TLS = s.pair.Config()
	}
	return err
}

// askWithin is how long a look at the tokens may take.
const askWithin = 10 * time.Second

// admit gives what a client may do whose password is a token.
func (s *Station) admit(password []byte) (mqtt.Grant, bool) {
	kind, _, is := doors.Sum(string(password))
	if !is || kind != doors.Token {
		return nil, is // a link is no password
	}
	ctx, done := context.WithTimeout(context.Background(), askWithin)
	defer done()
	v, err := s.passes.Enter(ctx, doors.Token, string(password), s.o.Now())
	if err != nil {
		return nil, true
	}
	g := &grant{s: s}
	g.now.Store(&v)
	return g, true
}

// grant is what a client may do that came with a token.
type grant struct {
	s   *Station
	now atomic.Pointer[doors.Visitor]
}

func (g *grant) Name() string               { return g.now.Load().Name }
func (g *grant) Sends() bool                { return g.now.Load().Sends }
func (g *grant) Publishes(tank string) bool { return g.now.Load().Publishes(tank) }
func (g *grant) Sees(tank string) bool      { return g.now.Load().Sees(tank) }

// Still looks the token up again. While the file can't be read what was known
// holds.
func (g *grant) Still() bool {
	ctx, done := context.WithTimeout(context.Background(), askWithin)
	defer done()
	v, err := g.s.passes.Still(ctx, g.now.Load().Pass, g.s.o.Now())
	switch {
	case err == nil:
		g.now.Store(&v)
	case errors.Is(err, doors.ErrNoPass):
		g.now.Store(&doors.Visitor{})
		return false
	}
	return true
}
