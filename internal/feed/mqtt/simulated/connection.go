package simulated

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"

	"gaugewright/internal/feed"
)

// sessionLasts is how long the broker keeps the session of a client that is
// away, in seconds.
const sessionLasts = 3600

// takenOver is the reason code of a server that gives the session to another
// client of the same identifier (MQTT 5.0, 2.4).
const takenOver = 0x8E

// connection describes the connection. end ends the publisher.
func (p *Publisher) connection(tell feed.Teller, end context.CancelFunc) autopaho.ClientConfig {
	user, secret := "", ""
	if p.user != nil {
		user = p.user.Username()
		secret, _ = p.user.Password()
	}
	return autopaho.ClientConfig{
		ServerUrls:            []*url.URL{p.url},
		TlsCfg:                p.c.TLS,
		KeepAlive:             20,
		SessionExpiryInterval: sessionLasts,
		ConnectUsername:       user,
		ConnectPassword:       []byte(secret),
		WillMessage:           &paho.WillMessage{Topic: p.StateTopic(), QoS: 1, Retain: true, Payload: []byte(Gone)},
		WillProperties:        &paho.WillProperties{},
		ReconnectBackoff: func(try int) time.Duration {
			p.mu.Lock()
			ever, lost := p.ever, p.lost
			p.mu.Unlock()
			pause := wait(p.first, try, ever)
			if pause > 0 {
				if lost == nil {
					lost = errors.New("the connection was lost")
				}
				tell.Down(lost, pause)
			}
			return pause
		},
		OnConnectError: func(err error) { p.down(plainly(err)) },
		OnConnectionUp: func(cm *autopaho.ConnectionManager, ack *paho.Connack) {
			p.mu.Lock()
			p.ever, p.lost, p.since = true, nil, time.Now()
			if !ack.SessionPresent {
				// What was sent and not acknowledged is lost with the session.
				p.again()
				p.era, p.again = context.WithCancel(context.Background())
			}
			p.mu.Unlock()
			p.up.Store(true)
			tell.Up(p.url.Host)
			go func() {
				ctx, cancel := context.WithTimeout(context.Background(), lastWait)
				defer cancel()
				p.state(ctx, cm, Running)
			}()
		},
		ClientConfig: paho.ClientConfig{
			ClientID: p.c.Client,
			// Both see what is sent.
			Session:     &p.sequence,
			PingHandler: &p.sequence,
			// A reading waits for its acknowledgement as long as it takes: over a
			// lost connection the session sends it again.
			PacketTimeout: 24 * time.Hour,
			OnClientError: func(err error) { p.down(err) },
			OnServerDisconnect: func(d *paho.Disconnect) {
				if d.ReasonCode == takenOver {
					p.mu.Lock()
					p.taken = fmt.Errorf("another client connected as %q, and the broker gave it the session; expected a name of its own for each that runs", p.c.Client)
					p.mu.Unlock()
					end()
				}
				p.down(fmt.Errorf("the broker ended the connection, reason %#x", d.ReasonCode))
			},
		},
	}
}

// short is how soon a connection that is lost again was hardly there, and fewest
// how many such in a row are told as what they look like.
const (
	short  = 5 * time.Second
	fewest = 3
)

// down notes why the connection is down.
func (p *Publisher) down(err error) {
	p.up.Store(false)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.lost = err
	switch {
	case p.since.IsZero(): // it wasn't up
		return
	case time.Since(p.since) < short:
		p.hardly++
	default:
		p.hardly = 0
	}
	p.since = time.Time{}
	if p.hardly >= fewest {
		p.lost = fmt.Errorf("%w, right after connecting, %d times in a row; perhaps another client has the name %q too: give this one a name of its own", err, p.hardly, p.c.Client)
	}
}

// reasons are the reason codes with which a server refuses a connection (MQTT
// 5.0, 3.2.2.2), those that a person can do something about.
var reasons = map[byte]string{
	0x84: "it doesn't speak MQTT 5",
	0x85: "it doesn't like the client's name",
	0x86: "bad user name or pass word",
	0x87: "not authorized: it wants a user name and a pass word, or others than these",
	0x88: "it is unavailable",
	0x89: "it is busy",
	0x8A: "it has banned this client",
	0x97: "a quota is used up",
	0x9F: "too many connections at once",
}

// plainly says of a refused connection why.
func plainly(err error) error {
	var refused *autopaho.ConnackError
	if errors.As(err, &refused) && reasons[refused.ReasonCode] != "" {
		return fmt.Errorf("it refuses the connection: %s (reason %#x)", reasons[refused.ReasonCode], refused.ReasonCode)
	}
	return err
}
