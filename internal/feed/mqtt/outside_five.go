package mqtt

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/eclipse/paho.golang/packets"
	"github.com/eclipse/paho.golang/paho"
	"github.com/eclipse/paho.golang/paho/session/state"
)

// What a broker may send before it has an acknowledgement, and how long one
// message may be: together what a flood can take of the memory. The broker drops
// longer ones itself (3.1.2-25 of MQTT 5, from memory).
const (
	receiveMost = 256
	packetMost  = 256 << 10
)

// acksEvery is how often acknowledgements are sent.
const acksEvery = 5 * time.Millisecond

// five is a connection that speaks MQTT 5.
type five struct{ client *paho.Client }

// opener5 gives what opens connections. They share a session, so that what a
// broker hasn't acknowledged is sent to it again.
func (o *Outside) opener5() func(context.Context, *spell) (link, bool, error) {
	session := state.NewInMemory()
	return func(ctx context.Context, s *spell) (link, bool, error) {
		connect, err := o.connect5()
		if err != nil {
			return nil, false, err
		}
		conn, err := o.c.dial(ctx)
		if err != nil {
			return nil, false, err
		}
		f := &five{}
		f.client = paho.NewClient(paho.ClientConfig{
			Conn:                       conn,
			Session:                    session,
			PacketTimeout:              patience,
			EnableManualAcknowledgment: true,
			SendAcksInterval:           acksEvery,
			OnPublishReceived:          []func(paho.PublishReceived) (bool, error){s.take5},
			OnClientError:              func(err error) { s.lose(fmt.Errorf("the connection was lost: %w", err)) },
			OnServerDisconnect: func(d *paho.Disconnect) {
				s.lose(fmt.Errorf("the broker ended the connection: %s", reason(d.ReasonCode)))
			},
		})
		answer, err := f.client.Connect(ctx, connect)
		if err != nil {
			if answer != nil && answer.ReasonCode >= 0x80 {
				err = fmt.Errorf("the broker refused the connection: %s", reason(answer.ReasonCode))
			}
			return nil, false, err
		}
		return f, answer.SessionPresent, nil
	}
}

// connect5 makes the CONNECT.
func (o *Outside) connect5() (*paho.Connect, error) {
	expiry := uint32(o.c.expiry / time.Second)
	receive, packet := uint16(receiveMost), uint32(packetMost)
	c := &paho.Connect{
		ClientID:  o.c.clientID,
		KeepAlive: uint16(o.c.keepAlive / time.Second),
		Properties: &paho.ConnectProperties{
			SessionExpiryInterval: &expiry,
			ReceiveMaximum:        &receive,
			MaximumPacketSize:     &packet,
			RequestProblemInfo:    true,
		},
		WillMessage:    &paho.WillMessage{Topic: o.c.root + "/" + WatchTopic, Payload: []byte(Gone), QoS: 1, Retain: true},
		WillProperties: &paho.WillProperties{},
	}
	if o.c.user != "" {
		c.UsernameFlag, c.Username = true, o.c.user
	}
	if o.c.password != nil {
		password, err := o.c.password()
		if err != nil {
			return nil, err
		}
		c.PasswordFlag, c.Password = true, password
	}
	return c, nil
}

// take5 takes what came in.
func (s *spell) take5(p paho.PublishReceived) (bool, error) {
	a := arrival{
		topic: p.Packet.Topic, payload: p.Packet.Payload, retained: p.Packet.Retain, again: p.Packet.Duplicate(),
		qos: p.Packet.QoS,
		ack: func() {
			// An error says that the connection is gone; the message will come again.
			_ = p.Client.Ack(p.Packet)
		},
	}
	if p.Packet.Properties != nil {
		a.id = string(p.Packet.Properties.CorrelationData)
	}
	s.take(a)
	return true, nil
}

func (f *five) subscribe(ctx context.Context, filters ...string) error {
	var subs []paho.SubscribeOptions
	for _, filter := range filters {
		subs = append(subs, paho.SubscribeOptions{Topic: filter, QoS: 1})
	}
	answer, err := f.client.Subscribe(ctx, &paho.Subscribe{Subscriptions: subs})
	if answer != nil && len(answer.Reasons) == len(filters) {
		// Without the first there are no readings; the rest can be done without.
		if code := answer.Reasons[0]; code >= 0x80 {
			return fmt.Errorf("the broker refused the subscription to %s: %s", filters[0], reason(code))
		}
		return nil
	}
	return err
}

func (f *five) publish(ctx context.Context, batch []message) (refused int, err error) {
	var mu sync.Mutex
	var all sync.WaitGroup
	for _, m := range batch {
		all.Go(func() {
			answer, e := f.client.Publish(ctx, packet5(m))
			mu.Lock()
			defer mu.Unlock()
			switch {
			case answer != nil && answer.ReasonCode >= 0x80, errors.Is(e, paho.ErrInvalidArguments):
				refused++
			case e != nil:
				err = e
			}
		})
	}
	all.Wait()
	return refused, err
}

// packet5 makes the PUBLISH.
func packet5(m message) *paho.Publish {
	p := &paho.Publish{Topic: m.topic, Payload: m.payload, QoS: 1, Retain: m.retain, Properties: &paho.PublishProperties{}}
	if m.id != "" {
		p.Properties.CorrelationData = []byte(m.id)
	}
	if len(m.payload) > 0 {
		text := byte(1)
		p.Properties.PayloadFormat = &text
		if m.payload[0] == '{' {
			p.Properties.ContentType = "application/json"
		}
	}
	return p
}

func (f *five) leave(goodOrder bool) {
	d := &paho.Disconnect{}
	if !goodOrder {
		d.ReasonCode = packets.DisconnectDisconnectWithWillMessage
	}
	_ = f.client.Disconnect(d) // an error says that it has ended already
}
