package mqtt

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"
	paho3 "github.com/eclipse/paho.mqtt.golang"
)

// seen gathers levels as "retain payload".
type seen struct {
	mu   sync.Mutex
	list []string
}

func (s *seen) add(retain bool, payload []byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.list = append(s.list, fmt.Sprint(retain, " ", string(payload)))
}

func (s *seen) is(want ...string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Equal(s.list, want)
}

const clientReadings = 200

// payloads are readings of a minute.
func payloads() (list []string) {
	base := time.Now().Unix() - 300
	for n := range clientReadings {
		list = append(list, fmt.Sprintf(`{"ohm":%d,"time":%d}`, 100+n, base+int64(n)))
	}
	return list
}

// Eclipse's clients for Go, as a controller and a display would use them: each
// reading published with QoS 1 is acknowledged, and all are taken in their order;
// the retained level comes with the flag and a live one without.
func TestConformGoClients(t *testing.T) {
	for _, house := range houses {
		for name, client := range map[string]func(*testing.T, string, *seen) func(string) error{"paho.golang": client5, "paho.mqtt.golang": client311} {
			t.Run(house.name+" "+name, func(t *testing.T) {
				t.Parallel()
				h := house.open(t)
				h.retain(t, "fresh/level", "60")
				var got seen
				publish := client(t, h.port, &got)
				eventually(t, "the retained level comes", func() bool { return got.is("true 60") })
				for _, text := range payloads() {
					if err := publish(text); err != nil {
						t.Fatal(err)
					}
				}
				eventually(t, "all readings are taken", func() bool { return len(h.sink.values()) == clientReadings })
				if !slices.IsSorted(h.sink.values()) {
					t.Errorf("got %v", h.sink.values())
				}
				h.publish(t, "fresh/level", "61")
				eventually(t, "the live level comes", func() bool { return got.is("true 60", "false 61") })
			})
		}
	}
}

// client5 subscribes to levels, and gives what publishes a reading.
func client5(t *testing.T, port string, got *seen) func(string) error {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 3*soon)
	t.Cleanup(cancel)
	at, _ := url.Parse("mqtt://127.0.0.1:" + port)
	c, err := autopaho.NewConnection(ctx, autopaho.ClientConfig{
		ServerUrls: []*url.URL{at}, KeepAlive: 30,
		OnConnectionUp: func(c *autopaho.ConnectionManager, _ *paho.Connack) {
			if _, err := c.Subscribe(ctx, &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: levels, QoS: 1}}}); err != nil {
				t.Error(err)
			}
		},
		ClientConfig: paho.ClientConfig{ClientID: "go5", OnPublishReceived: []func(paho.PublishReceived) (bool, error){
			func(p paho.PublishReceived) (bool, error) {
				got.add(p.Packet.Retain, p.Packet.Payload)
				return true, nil
			},
		}},
	})
	if err == nil {
		err = c.AwaitConnection(ctx)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Disconnect(ctx) })
	return func(text string) error {
		_, err := c.Publish(ctx, &paho.Publish{Topic: readings, QoS: 1, Payload: []byte(text)})
		return err
	}
}

// client311 is the same with MQTT 3.1.1.
func client311(t *testing.T, port string, got *seen) func(string) error {
	t.Helper()
	c := paho3.NewClient(paho3.NewClientOptions().AddBroker("mqtt://127.0.0.1:" + port).SetClientID("go311").SetProtocolVersion(4))
	done := func(token paho3.Token) error {
		if !token.WaitTimeout(soon) {
			return fmt.Errorf("no answer within %v", soon)
		}
		return token.Error()
	}
	if err := done(c.Connect()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Disconnect(100) })
	if err := done(c.Subscribe(levels, 1, func(_ paho3.Client, m paho3.Message) { got.add(m.Retained(), m.Payload()) })); err != nil {
		t.Fatal(err)
	}
	return func(text string) error { return done(c.Publish(readings, 1, false, text)) }
}

// Why a connection ended is told in words: here by the broker inside, to which an
// outside one is another's.
func TestOutsideTold(t *testing.T) {
	b, err := NewBroker(Config{Listen: "127.0.0.1:0"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	first := newLedger(t)
	if err := b.Start(first); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Stop)
	_, port, _ := strings.Cut(b.Addr().String(), ":")
	for _, v := range versions {
		r := run(t, OutsideConfig{URL: "mqtt://127.0.0.1:" + port, Protocol: v.protocol, ClientID: "twin" + v.v}, newLedger(t))
		r.up(t, 1)
		mustPublish(t, port, v.v, "-t", readings, "-m", "118.4")
		eventually(t, "a reading comes through both", func() bool { return len(r.sink.values()) == 1 })
		if v.protocol == "5" {
			eventually(t, "its own state isn't wanted there", func() bool { return r.Refusals() == 1 })
		}
		other, _ := greet(t, port, v.v, hello{id: "twin" + v.v, clean: true})
		eventually(t, "the other is noticed", func() bool { return len(r.told.down()) > 0 })
		want := map[string]string{"5": "another client with the same client_id has taken the session over (reason 0x8E)", "3.1.1": "the connection was lost: EOF"}[v.protocol]
		if told := r.told.down()[0]; !strings.HasSuffix(told, want) {
			t.Errorf("it told %q, expected %q", told, want)
		}
		r.up(t, 2)
		other.ended()
		r.stop()
	}
}
