package station

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/paho"

	"gaugewright/internal/doors"
	"gaugewright/internal/watch"
)

// mine is a client that came with a token over TLS.
type mine struct {
	*client
	gone chan struct{}
}

// by connects to the broker with a password over TLS, checking its certificate
// against the file that it is in.
func by(t *testing.T, at, pem, name, password string) (*mine, error) {
	t.Helper()
	text, err := os.ReadFile(pem)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(text) {
		t.Fatal("there is no certificate in the file")
	}
	conn, err := tls.Dial("tcp", at, &tls.Config{RootCAs: pool, ServerName: "localhost"})
	if err != nil {
		t.Fatal(err)
	}
	m := &mine{client: &client{levels: make(chan watch.Published, 100)}, gone: make(chan struct{})}
	ended := func() {
		select {
		case <-m.gone:
		default:
			close(m.gone)
		}
	}
	m.Client = paho.NewClient(paho.ClientConfig{Conn: conn, OnServerDisconnect: func(*paho.Disconnect) { ended() }, OnClientError: func(error) { ended() },
		OnPublishReceived: []func(paho.PublishReceived) (bool, error){func(p paho.PublishReceived) (bool, error) {
			var l watch.Published
			if json.Unmarshal(p.Packet.Payload, &l) == nil {
				m.levels <- l
			}
			return true, nil
		}}})
	_, err = m.Connect(t.Context(), &paho.Connect{ClientID: name, CleanStart: true, KeepAlive: 30, Username: name, UsernameFlag: true, Password: []byte(password), PasswordFlag: true})
	return m, err
}

// A token publishes the readings of its own tanks and reads the levels of its own,
// over TLS with the certificate that is made here, and nothing by it goes on after
// it was revoked.
func TestTokensByMQTT(t *testing.T) {
	const text = `commit_every = "1ms"
[tank.fresh]
lower = 10
upper = 180
[tank.grey]
lower = 10
upper = 180
[mqtt]
listen = "127.0.0.1:0"
tls_listen = "127.0.0.1:0"
self_signed = true
[mqtt.users]
ecu = "a long word"
`
	s, path := started(t, text, Options{})
	pem := filepath.Join(filepath.Dir(path), "watch.tls.pem")
	told := strings.Join(s.Told(), "\n")
	if !strings.Contains(told, "mqtts://127.0.0.1:") || !strings.Contains(told, "SHA-256: ") {
		t.Errorf("it tells\n%s", told)
	}
	_, rest, _ := strings.Cut(told, "mqtts://")
	at, _, _ := strings.Cut(rest, "\n")
	token := func(name string, read, publish bool, tanks ...string) (doors.Pass, string) {
		p, secret, err := s.Passes().Make(t.Context(), doors.Pass{Kind: doors.Token, Name: name, Read: read, Publish: publish, Tanks: tanks}, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		return p, secret
	}
	sends, sendsSecret := token("sends fresh", false, true, "fresh")
	_, reads := token("reads fresh", true, false, "fresh")

	reader, err := by(t, at, pem, "reader", reads)
	if err != nil {
		t.Fatal(err)
	}
	for filter, want := range map[string]byte{"gaugewright/+/level": 1, "gaugewright/fresh/level": 1, "gaugewright/grey/level": 0x87, "gaugewright/fresh/reading": 0x87, "$SYS/broker/version": 0x87} {
		ack, _ := reader.Subscribe(t.Context(), &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: filter, QoS: 1}}})
		if ack == nil || ack.Reasons[0] != want {
			t.Errorf("subscribing to %s: %+v; expected reason %#x", filter, ack, want)
		}
	}
	sender, err := by(t, at, pem, "sender", sendsSecret)
	if err != nil {
		t.Fatal(err)
	}
	publish := func(m *mine, topic, payload string) byte {
		r, err := m.Publish(t.Context(), &paho.Publish{Topic: topic, QoS: 1, Payload: []byte(payload)})
		if r == nil {
			t.Fatalf("%s: %v", topic, err)
		}
		return r.ReasonCode
	}
	if code := publish(sender, "gaugewright/fresh/reading", "95"); code != 0 {
		t.Errorf("its own tank: %#x", code)
	}
	if code := publish(sender, "gaugewright/grey/reading", "95"); code != 0x87 {
		t.Errorf("another tank: %#x; expected 0x87, not authorized", code)
	}
	if code := publish(sender, "gaugewright/fresh/level", "{}"); code != 0x87 {
		t.Errorf("a level, which the watch alone makes: %#x; expected 0x87", code)
	}
	if code := publish(reader, "gaugewright/fresh/reading", "95"); code != 0x87 {
		t.Errorf("one that only reads: %#x; expected 0x87", code)
	}
	ack, _ := sender.Subscribe(t.Context(), &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: "gaugewright/fresh/level", QoS: 1}}})
	if ack == nil || ack.Reasons[0] != 0x87 {
		t.Errorf("one that only publishes may subscribe: %+v", ack)
	}
	if _, err := by(t, at, pem, "any", "a long word"); err == nil {
		t.Error("a user's password lets in under another name")
	}
	// One on the list may publish at the other tank; of its level the reader hears
	// nothing, though it subscribed to all.
	user, err := by(t, at, pem, "ecu", "a long word")
	if err != nil {
		t.Fatal(err)
	}
	if code := publish(user, "gaugewright/grey/reading", "50"); code != 0 {
		t.Errorf("one on the list: %#x", code)
	}
	reads95 := func(l watch.Published) bool { return l.Tank == "fresh" && l.Ohm != nil && *l.Ohm == 95 }
	reader.until(t, "the level of its own tank", reads95)
	everything := joinedOver(t, at, pem)
	everything.until(t, "the level of the other tank", func(l watch.Published) bool { return l.Tank == "grey" && l.Ohm != nil })
	publish(sender, "gaugewright/fresh/reading", "96")
	reader.until(t, "another level", func(l watch.Published) bool {
		if l.Tank != "fresh" {
			t.Errorf("it is told the level of %s", l.Tank)
		}
		return l.Ohm != nil && *l.Ohm == 96
	})

	if err := s.Passes().RevokePass(t.Context(), sends.ID, time.Now()); err != nil {
		t.Fatal(err)
	}
	select {
	case <-sender.gone:
	case <-time.After(10 * time.Second):
		t.Error("its connection goes on after the token was revoked")
	}
	if _, err := by(t, at, pem, "again", sendsSecret); err == nil {
		t.Error("it connects again")
	}
	link, secret, err := s.Passes().Make(t.Context(), doors.Pass{Kind: doors.Link, Name: "x"}, time.Now())
	if _, bad := by(t, at, pem, "link", secret); err != nil || bad == nil {
		t.Errorf("the link %s goes as a password: %v", link.ID, err)
	}
	if _, err := by(t, at, pem, "none", ""); err == nil {
		t.Error("over TLS somebody comes in without a password")
	}
}

// joinedOver is one on the list that subscribed to all levels.
func joinedOver(t *testing.T, at, pem string) *mine {
	t.Helper()
	m, err := by(t, at, pem, "ecu", "a long word")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := m.Subscribe(t.Context(), &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: "gaugewright/+/level", QoS: 1}}}); err != nil {
		t.Fatal(err)
	}
	return m
}
