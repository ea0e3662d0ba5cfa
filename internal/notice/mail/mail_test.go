package mail

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"mime"
	"mime/quotedprintable"
	"net"
	netmail "net/mail"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/notice"
	"gaugewright/internal/peer"
)

var noon = time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC)

func message() notice.Message {
	n := notice.Notice{ID: "gas/leak/1762171200", Time: noon, Kind: "leak", Priority: notice.Critical, Tank: "gas", Label: "Gas für Küche", Title: "Gas für Küche: it may leak",
		Text: "Gas für Küche falls by 0.4 L an hour with everything off.\n.\nA line with a dot alone is no end.", Cautions: []string{"Shut the valve at the tank, air the room, keep fire away."}}
	return notice.Words(notice.Waiting{Notice: n, Queued: noon}, noon.Add(time.Second), time.UTC)
}

// pair makes a certificate for localhost, and gives the files of it and of its key.
func pair(t *testing.T) (cert, key string) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "localhost"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		DNSNames: []string{"localhost"}, IsCA: true, BasicConstraintsValid: true}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &private.PublicKey, private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name, kind string, b []byte) string {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: b}), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	return write("cert.pem", "CERTIFICATE", der), write("key.pem", "PRIVATE KEY", secret)
}

// server runs aiosmtpd, and gives a configuration for it and the folder that mail comes to.
func server(t *testing.T, kind string) (Config, string) {
	t.Helper()
	python := peer.Interpreter(t, "aiosmtpd")
	cert, key := pair(t)
	folder, port := t.TempDir(), peer.FreePort(t)
	peer.Beside(t, peer.Says("ready"), python, "testdata/server.py", kind, fmt.Sprint(port), folder, cert, key)
	password := filepath.Join(t.TempDir(), "password")
	if err := os.WriteFile(password, []byte("an old tin kettle\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return Config{Host: "localhost", Port: port, TLS: kind, CA: cert, User: "watch", PasswordFile: password, From: "Gaugewright <watch@tidewater.example>", To: []string{"Küche <owner@tidewater.example>"}}, folder
}

func one(t *testing.T, c Config) *Way {
	t.Helper()
	ways, err := New("mail/owner", c)
	if err != nil {
		t.Fatal(err)
	}
	return ways[0]
}

func taken(t *testing.T, folder string) []*netmail.Message {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(folder, "*.eml"))
	if err != nil {
		t.Fatal(err)
	}
	var list []*netmail.Message
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		m, err := netmail.ReadMessage(strings.NewReader(string(text)))
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, m)
	}
	return list
}

// A notice goes to a server that isn't ours (aiosmtpd), over STARTTLS and with a log-in;
// sent again it is the same message. What comes back of it is what was sent.
func TestMail(t *testing.T) {
	t.Parallel()
	for _, kind := range []string{startTLS, implicit} {
		t.Run(kind, func(t *testing.T) {
			t.Parallel()
			c, folder := server(t, kind)
			w := one(t, c)
			for range 2 {
				if err := w.Send(t.Context(), message()); err != nil {
					t.Fatal(err)
				}
			}
			list := taken(t, folder)
			if len(list) != 2 {
				t.Fatalf("the server has %d mails; expected 2", len(list))
			}
			a, b := list[0].Header, list[1].Header
			if id := a.Get("Message-Id"); id == "" || id != b.Get("Message-Id") || !strings.HasSuffix(id, "@tidewater.example>") {
				t.Errorf("the IDs are %q and %q; expected the same", id, b.Get("Message-Id"))
			}
			for key, want := range map[string]string{
				"X-Envelope": "watch@tidewater.example owner@tidewater.example tls=True user=watch", "Auto-Submitted": "auto-generated", "Importance": "high",
				"Content-Language": "en", "Date": "Mon, 03 Nov 2025 12:00:01 +0000", "User-Agent": "", "X-Mailer": "", "Content-Type": "text/plain; charset=UTF-8",
			} {
				if got := a.Get(key); got != want {
					t.Errorf("%s is %q; expected %q", key, got, want)
				}
			}
			if got, err := new(mime.WordDecoder).DecodeHeader(a.Get("Subject")); err != nil || got != "Gas für Küche: it may leak" {
				t.Errorf("the subject is %q, %v", got, err)
			}
			if to, err := a.AddressList("To"); err != nil || len(to) != 1 || to[0].Name != "Küche" {
				t.Errorf("to %v, %v", to, err)
			}
			body, err := io.ReadAll(quotedprintable.NewReader(list[0].Body))
			if err != nil || strings.ReplaceAll(string(body), "\r\n", "\n") != message().Body() {
				t.Errorf("%v, the body is\n%s\nexpected\n%s", err, body, message().Body())
			}
		})
	}
}

// What a server says decides whether it is worth another try.
func TestMailRefused(t *testing.T) {
	t.Parallel()
	c, folder := server(t, startTLS)
	for name, want := range map[string]struct {
		permanent bool
		say       string
	}{
		"nobody": {true, "refuses it: "}, "large": {true, "5.3.4 Too large"},
		"grey": {false, "doesn't take it now: "}, "full": {false, "The mailbox is full"},
	} {
		t.Run(name, func(t *testing.T) {
			c.To = []string{name + "@tidewater.example"}
			w := one(t, c)
			err := w.Send(t.Context(), message())
			if err == nil || !strings.Contains(err.Error(), want.say) || notice.FailureOf(err).Permanent != want.permanent || notice.FailureOf(err).Unreached {
				t.Errorf("%v, %+v; expected permanent %v", err, notice.FailureOf(err), want.permanent)
			}
			if name != "grey" {
				return
			}
			if err := w.Send(t.Context(), message()); err != nil { // greylisting
				t.Error(err)
			}
		})
	}
	if list := taken(t, folder); len(list) != 1 {
		t.Errorf("the server has %d mails; expected the one that was put off", len(list))
	}
	t.Run("a wrong password", func(t *testing.T) {
		bad := c
		bad.PasswordFile = filepath.Join(t.TempDir(), "password")
		if err := os.WriteFile(bad.PasswordFile, []byte("wrong\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		err := one(t, bad).Send(t.Context(), message())
		if err == nil || notice.FailureOf(err).Permanent || strings.Contains(err.Error(), "wrong") {
			t.Errorf("%v; expected that it is tried again, as the file may be mended, and without the password", err)
		}
	})
	t.Run("a certificate of nobody's", func(t *testing.T) {
		bad := c
		bad.CA = ""
		if err := one(t, bad).Send(t.Context(), message()); err == nil || !strings.Contains(err.Error(), "certificate") || notice.FailureOf(err).Unreached {
			t.Errorf("%v; expected that it isn't believed", err)
		}
	})
	t.Run("slow", func(t *testing.T) {
		slow := c
		slow.To = []string{"slow@tidewater.example"}
		ctx, done := context.WithTimeout(t.Context(), 300*time.Millisecond)
		defer done()
		begun := time.Now()
		if err := one(t, slow).Send(ctx, message()); err == nil || time.Since(begun) > 2*time.Second {
			t.Errorf("%v after %v; expected an end when the time is up", err, time.Since(begun))
		}
	})
}

// Where the server has no TLS, nothing is sent, and no password is shown.
func TestMailStripped(t *testing.T) {
	t.Parallel()
	c, folder := server(t, "bare")
	c.TLS = startTLS
	if err := one(t, c).Send(t.Context(), message()); err == nil || len(taken(t, folder)) > 0 {
		t.Errorf("%v; expected that mail isn't sent in the clear", err)
	}
	c.TLS, c.User, c.PasswordFile = noTLS, "", ""
	if err := one(t, c).Send(t.Context(), message()); err != nil || len(taken(t, folder)) != 1 {
		t.Errorf("on this machine, without TLS as it was asked for: %v", err)
	}
}

func TestMailUnreached(t *testing.T) {
	t.Parallel()
	c := Config{Host: "localhost", Port: peer.FreePort(t), From: "a@example.org", To: []string{"b@example.org"}}
	if err := one(t, c).Send(t.Context(), message()); !notice.FailureOf(err).Unreached {
		t.Errorf("%v; expected that nobody is reached", err)
	}
	// Somebody takes the connection and says nothing.
	l, err := net.Listen("tcp", "localhost:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	c.Port = l.Addr().(*net.TCPAddr).Port
	for _, kind := range []string{startTLS, implicit} {
		c.TLS = kind
		ctx, done := context.WithTimeout(t.Context(), 200*time.Millisecond)
		begun := time.Now()
		if err := one(t, c).Send(ctx, message()); err == nil || time.Since(begun) > 2*time.Second {
			t.Errorf("%s: %v after %v", kind, err, time.Since(begun))
		}
		done()
	}
}

func TestMailConfig(t *testing.T) {
	t.Parallel()
	good := Config{Host: "mail.example.org", From: "watch@example.org", To: []string{"a@example.org", "B <b@example.org>"}}
	ways, err := New("mail/owner", good)
	if err != nil || len(ways) != 2 || ways[0].Name() != "mail/owner" || ways[1].Name() != "mail/owner/2" || ways[1].What() != "b@example.org" {
		t.Errorf("%v, %v", ways, err)
	}
	if ways[0].s.Port != 587 {
		t.Errorf("the port is %d", ways[0].s.Port)
	}
	for name, c := range map[string]struct {
		change func(*Config)
		say    string
	}{
		"no host":              {func(c *Config) { c.Host = "" }, `host is ""`},
		"a host with a port":   {func(c *Config) { c.Host = "a:25" }, `host is "a:25"`},
		"a line in from":       {func(c *Config) { c.From = "a@example.org\r\nBcc: x@example.org" }, "is no address"},
		"a line in a name":     {func(c *Config) { c.From = "\"A\r\nBcc: x@example.org\" <a@example.org>" }, "is no address"},
		"two addresses in one": {func(c *Config) { c.To = []string{"a@example.org, b@example.org"} }, "is no address"},
		"nobody":               {func(c *Config) { c.To = nil }, "to is empty"},
		"no TLS":               {func(c *Config) { c.TLS = "none" }, "everybody on the way"},
		"a password in clear":  {func(c *Config) { c.TLS, c.Plain, c.User, c.PasswordFile = "none", true, "u", "x" }, "whose password"},
		"a kind of TLS":        {func(c *Config) { c.TLS = "ssl" }, `tls is "ssl"`},
		"a user alone":         {func(c *Config) { c.User = "u" }, "only one is there"},
		"no password file":     {func(c *Config) { c.User, c.PasswordFile = "u", "/none" }, "password_file can't be read"},
		"a port":               {func(c *Config) { c.Port = 70000 }, "port is 70000"},
		"a CA":                 {func(c *Config) { c.CA = "/none" }, "ca can't be read"},
	} {
		bad := good
		c.change(&bad)
		if _, err := New("mail/owner", bad); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: it says %v, expected %s", name, err, c.say)
		}
	}
}
