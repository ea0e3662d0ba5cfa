package mqtt

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"log/slog"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"

	"gaugewright/internal/peer"
)

// certificates makes an authority, and from it certificates for the broker and
// for a client, as files ca.pem, broker.pem, broker.key, client.pem, client.key.
func certificates(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	write := func(name, kind string, der []byte) {
		if err := os.WriteFile(filepath.Join(dir, name), pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var ca *x509.Certificate
	var caKey *ecdsa.PrivateKey
	for i, name := range []string{"ca", "broker", "client"} {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		c := &x509.Certificate{
			SerialNumber: big.NewInt(int64(i + 1)), Subject: pkix.Name{CommonName: name},
			NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
			IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, KeyUsage: x509.KeyUsageDigitalSignature,
			ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth},
		}
		if ca == nil {
			c.IsCA, c.BasicConstraintsValid, c.KeyUsage = true, true, x509.KeyUsageCertSign
			ca, caKey = c, key
		}
		der, err := x509.CreateCertificate(rand.Reader, c, ca, &key.PublicKey, caKey)
		if err != nil {
			t.Fatal(err)
		}
		write(name+".pem", "CERTIFICATE", der)
		text, err := x509.MarshalECPrivateKey(key)
		if err != nil {
			t.Fatal(err)
		}
		write(name+".key", "EC PRIVATE KEY", text)
	}
	return dir
}

// Encrypted, with a certificate of one's own, by both protocols and by WebSocket;
// and nothing goes to a broker that can't show who it is.
func TestOutsideEncrypted(t *testing.T) {
	dir := certificates(t)
	tlsPort, webPort, webTLSPort := freePort(t), freePort(t), freePort(t)
	secure := []string{"cafile " + dir + "/ca.pem", "certfile " + dir + "/broker.pem", "keyfile " + dir + "/broker.key", "require_certificate true"}
	config := append([]string{"listener " + tlsPort + " 127.0.0.1"}, secure...)
	config = append(config, "listener "+webPort+" 127.0.0.1", "protocol websockets", "listener "+webTLSPort+" 127.0.0.1", "protocol websockets")
	m := newMosquitto(t, append(config, secure...)...)
	c := OutsideConfig{CA: dir + "/ca.pem", Cert: dir + "/client.pem", Key: dir + "/client.key"}
	for _, at := range []string{"mqtts://127.0.0.1:" + tlsPort, "wss://127.0.0.1:" + webTLSPort, "ws://127.0.0.1:" + webPort} {
		for _, v := range versions {
			t.Run(at[:strings.Index(at, ":")]+" "+v.protocol, func(t *testing.T) {
				c := c
				if strings.HasPrefix(at, "ws:") {
					c = OutsideConfig{}
				}
				c.URL, c.Protocol, c.Root = at, v.protocol, "r/"+strings.ReplaceAll(t.Name(), "/", "_")
				r := run(t, c, newLedger(t))
				r.up(t, 1)
				mustPublish(t, m.port, v.v, "-t", c.Root+"/fresh/reading", "-m", "118.4")
				eventually(t, "a reading comes", func() bool { return slices.Equal(r.sink.values(), []float64{118.4}) })
				if err := r.Publish("fresh/level", []byte("{}"), true); err != nil {
					t.Fatal(err)
				}
				subscribe(t, m.port, v.v, "-t", c.Root+"/fresh/level").waitFor(t, "* "+c.Root+"/fresh/level {}")
			})
		}
	}
	t.Run("not known", func(t *testing.T) {
		r := run(t, OutsideConfig{URL: "mqtts://127.0.0.1:" + tlsPort}, newLedger(t))
		eventually(t, "it is refused", func() bool {
			return strings.Contains(strings.Join(r.told.down(), " "), "certificate signed by unknown authority")
		})
	})
}

// writeOnly lets everybody in, who may write and not read.
type writeOnly struct{ mochi.HookBase }

func (*writeOnly) Provides(b byte) bool {
	return b == mochi.OnConnectAuthenticate || b == mochi.OnACLCheck
}
func (*writeOnly) OnConnectAuthenticate(*mochi.Client, packets.Packet) bool { return true }
func (*writeOnly) OnACLCheck(_ *mochi.Client, _ string, write bool) bool    { return write }

// A subscription that the broker refuses is told, and tried again. mosquitto's
// lists of rights refuse none, so another broker stands in.
func TestOutsideSubscriptionRefused(t *testing.T) {
	for _, v := range versions {
		server := mochi.New(&mochi.Options{Logger: slog.New(slog.DiscardHandler)})
		err := errors.Join(
			server.AddHook(new(writeOnly), nil),
			server.AddListener(listeners.NewTCP(listeners.Config{ID: "t", Address: "127.0.0.1:0"})),
			server.Serve(),
		)
		if err != nil {
			t.Fatal(err)
		}
		at, _ := server.Listeners.Get("t")
		r := run(t, OutsideConfig{URL: "mqtt://" + at.Address(), Protocol: v.protocol}, newLedger(t))
		eventually(t, "it is told and tried again", func() bool { return len(r.told.down()) > 1 })
		if told := r.told.down()[0]; r.told.up() > 0 || !strings.HasPrefix(told, "the broker refused the subscription to gaugewright/+/reading") {
			t.Errorf("MQTT %s: connected %d times, and told %q", v.protocol, r.told.up(), told)
		}
		r.stop()
		if err := server.Close(); err != nil {
			t.Error(err)
		}
	}
}

// Users, passwords and rights.
func TestOutsideRights(t *testing.T) {
	tool := peer.Tool(t, "mosquitto_passwd", "mosquitto")
	dir := t.TempDir()
	passwords, secret, rights := filepath.Join(dir, "passwords"), filepath.Join(dir, "secret"), filepath.Join(dir, "rights")
	for name, text := range map[string]string{
		passwords: "", secret: "right\n",
		// The watch may read readings and its own state, and write that alone.
		rights: "user van\ntopic read gaugewright/+/reading\ntopic readwrite gaugewright/watch\nuser shed\ntopic write gaugewright/#\n",
	} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, user := range []string{"van", "shed"} {
		if out, err := exec.Command(tool, "-b", passwords, user, "right").CombinedOutput(); err != nil {
			t.Fatalf("mosquitto_passwd: %v, %s", err, out)
		}
	}
	m := newMosquitto(t, "allow_anonymous false", "password_file "+passwords, "acl_file "+rights)
	t.Setenv("GAUGEWRIGHT_TEST_PASSWORD", "wrong")
	for _, v := range versions {
		t.Run(v.protocol, func(t *testing.T) {
			c := OutsideConfig{URL: "mqtt://127.0.0.1:" + m.port, Protocol: v.protocol, User: "van", PasswordEnv: "GAUGEWRIGHT_TEST_PASSWORD"}
			r := run(t, c, newLedger(t))
			eventually(t, "a wrong password is told", func() bool { return len(r.told.down()) > 0 })
			want := map[string]string{"5": "the broker refused the connection: no right to do that (reason 0x87)", "3.1.1": "not Authorized"}[v.protocol]
			if told := r.told.down()[0]; r.told.up() > 0 || told != want {
				t.Errorf("connected %d times, and told %q; expected %q", r.told.up(), told, want)
			}
			r.stop()

			c.PasswordEnv, c.PasswordFile, c.ClientID = "", secret, "van"+v.v
			r = run(t, c, newLedger(t))
			r.up(t, 1)
			mustPublish(t, m.port, v.v, "-u", "shed", "-P", "right", "-t", "gaugewright/fresh/reading", "-m", "118.4")
			eventually(t, "a reading comes", func() bool { return len(r.sink.values()) == 1 })
			if err := r.Publish("fresh/level", []byte("{}"), true); err != nil {
				t.Fatal(err)
			}
			if v.protocol == "5" {
				eventually(t, "the refusal is counted", func() bool { return r.Refusals() == 1 })
			}
			mustPublish(t, m.port, v.v, "-u", "shed", "-P", "right", "-t", "gaugewright/fresh/reading", "-m", "118.5")
			eventually(t, "nothing else is disturbed", func() bool { return len(r.sink.values()) == 2 })
			if r.told.up() != 1 || len(r.told.down()) > 0 {
				t.Errorf("connected %d times, and told %q", r.told.up(), r.told.down())
			}
		})
	}
}
