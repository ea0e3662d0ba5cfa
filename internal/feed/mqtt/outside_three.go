package mqtt

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"time"

	paho3 "github.com/eclipse/paho.mqtt.golang"
)

// three is a connection that speaks MQTT 3.1.1.
type three struct {
	client paho3.Client
	conn   net.Conn
	gone   chan struct{} // closed when the client has noticed that the connection ended
}

// opener311 gives what opens connections. They share a store, so that what a
// broker hasn't acknowledged is sent to it again.
func (o *Outside) opener311() func(context.Context, *spell) (link, bool, error) {
	store := paho3.NewOrderedMemoryStore()
	return func(ctx context.Context, s *spell) (link, bool, error) {
		t := &three{gone: make(chan struct{})}
		options, err := o.options311()
		if err != nil {
			return nil, false, err
		}
		options.SetStore(store)
		options.SetDefaultPublishHandler(func(_ paho3.Client, m paho3.Message) { s.take311(m) })
		options.SetConnectionLostHandler(func(_ paho3.Client, err error) {
			s.lose(fmt.Errorf("the connection was lost: %w", err))
			close(t.gone)
		})
		options.SetCustomOpenConnectionFn(func(*url.URL, paho3.ClientOptions) (conn net.Conn, err error) {
			t.conn, err = o.c.dial(ctx)
			return t.conn, err
		})
		t.client = paho3.NewClient(options)
		token := t.client.Connect()
		if err := wait(ctx, token); err != nil {
			go t.client.Disconnect(0)
			return nil, false, err
		}
		return t, token.(*paho3.ConnectToken).SessionPresent(), nil
	}
}

// options311 makes what the CONNECT is made of.
func (o *Outside) options311() (*paho3.ClientOptions, error) {
	p := paho3.NewClientOptions().
		AddBroker(o.c.url.String()).
		SetProtocolVersion(4).
		SetClientID(o.c.clientID).
		SetCleanSession(false).
		SetKeepAlive(o.c.keepAlive).
		SetPingTimeout(patience).
		SetConnectTimeout(patience).
		SetWriteTimeout(patience).
		SetAutoReconnect(false).
		SetConnectRetry(false).
		SetAutoAckDisabled(true).
		SetBinaryWill(o.c.root+"/"+WatchTopic, []byte(Gone), 1, true)
	if o.c.user != "" {
		p.SetUsername(o.c.user)
	}
	if o.c.password != nil {
		password, err := o.c.password()
		if err != nil {
			return nil, err
		}
		p.SetPassword(string(password))
	}
	return p, nil
}

// take311 takes what came in.
func (s *spell) take311(m paho3.Message) {
	s.take(arrival{topic: m.Topic(), payload: m.Payload(), retained: m.Retained(), again: m.Duplicate(), qos: m.Qos(), ack: m.Ack})
}

// wait waits until the broker has answered.
func wait(ctx context.Context, token paho3.Token) error {
	select {
	case <-token.Done():
		return token.Error()
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(2 * patience):
		return errors.New("the broker didn't answer")
	}
}

func (t *three) subscribe(ctx context.Context, filters ...string) error {
	wanted := make(map[string]byte)
	for _, filter := range filters {
		wanted[filter] = 1
	}
	token := t.client.SubscribeMultiple(wanted, nil)
	err := wait(ctx, token)
	if given, ok := token.(*paho3.SubscribeToken); ok && ctx.Err() == nil {
		if code, ok := given.Result()[filters[0]]; ok {
			if code >= 0x80 {
				return fmt.Errorf("the broker refused the subscription to %s", filters[0])
			}
			return nil
		}
	}
	return err
}

func (t *three) publish(ctx context.Context, batch []message) (refused int, err error) {
	var tokens []paho3.Token
	for _, m := range batch {
		tokens = append(tokens, t.client.Publish(m.topic, 1, m.retain, m.payload))
	}
	for _, token := range tokens {
		if err := wait(ctx, token); err != nil {
			return 0, err
		}
	}
	return 0, nil
}

// leave ends the connection. MQTT 3.1.1 has no way to take leave with a will but
// to hang up.
func (t *three) leave(goodOrder bool) {
	if goodOrder {
		t.client.Disconnect(uint(farewell / time.Millisecond))
		return
	}
	// The library takes no notice of a connection closed on this side.
	_ = t.conn.SetReadDeadline(time.Unix(1, 0))
	select {
	case <-t.gone:
	case <-time.After(farewell):
		_ = t.conn.Close()
	}
}
