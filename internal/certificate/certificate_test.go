package certificate

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/peer"
)

var noon = time.Date(2026, 11, 3, 12, 0, 0, 0, time.UTC)

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

// clock is one that is moved by hand.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

func TestOwn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "w.tls.pem")
	c := &clock{now: noon}
	p, err := Own(path, []string{"hut.example", "192.0.2.1"}, quiet(), c.Now)
	if err != nil {
		t.Fatal(err)
	}
	leaf := p.Get().Leaf
	for _, name := range []string{"localhost", "127.0.0.1", "::1", "hut.example"} {
		if err := leaf.VerifyHostname(name); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if life := leaf.NotAfter.Sub(leaf.NotBefore); life > 398*24*time.Hour || leaf.IsCA || leaf.PublicKeyAlgorithm != x509.ECDSA {
		t.Errorf("it lasts %s, is an authority: %v, by %s", life, leaf.IsCA, leaf.PublicKeyAlgorithm)
	}
	if info, err := os.Stat(path); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("%v, permissions %v", err, info.Mode())
	}
	mark := p.Fingerprint()
	// Three weeks before a month before its end it is the same, then another.
	c.add(leaf.NotAfter.Sub(c.Now()) - renewBefore - time.Hour)
	if p.Fingerprint() != mark {
		t.Error("it was renewed too early")
	}
	c.add(2 * time.Hour)
	if p.Fingerprint() == mark {
		t.Error("it isn't renewed a month before its end")
	}
	if now := p.Get().Leaf; !now.NotAfter.After(c.Now().AddDate(1, 0, 0)) {
		t.Errorf("the renewed one ends %s", now.NotAfter)
	}
	mark = p.Fingerprint()
	if again, err := Own(path, []string{"hut.example"}, quiet(), c.Now); err != nil || again.Fingerprint() != mark {
		t.Errorf("after a new start: %v, or another", err)
	}
	if other, err := Own(path, []string{"hut.example", "new.example"}, quiet(), c.Now); err != nil || other.Get().Leaf.VerifyHostname("new.example") != nil {
		t.Errorf("with another name: %v, or it lacks the name", err)
	}
}

func TestOwnRefuses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "w.tls.pem")
	if _, err := Own(path, nil, quiet(), time.Now); err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" {
		if err := os.Chmod(path, 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := Own(path, nil, quiet(), time.Now); err == nil || !strings.Contains(err.Error(), "chmod 600") {
			t.Errorf("a key that others can read: %v", err)
		}
	}
	if err := os.WriteFile(path, []byte("nonsense"), 0o600); err != nil {
		t.Fatal(err)
	}
	_ = os.Chmod(path, 0o600)
	if _, err := Own(path, nil, quiet(), time.Now); err == nil || !strings.Contains(err.Error(), "move the file away") {
		t.Errorf("a file that is none: %v", err)
	}
}

// A given certificate is taken anew when its files change, and kept where what
// comes in its place can't be used.
func TestGivenIsReloaded(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "c.pem")
	put := func(names ...string) {
		t.Helper()
		text, err := selfSigned(names, nil, time.Now())
		if err == nil {
			err = os.WriteFile(path, text, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	put("one.example")
	c := &clock{now: noon}
	var log bytes.Buffer
	p, err := Given(path, path, slog.New(slog.NewTextHandler(&log, nil)), c.Now)
	if err != nil {
		t.Fatal(err)
	}
	first := p.Fingerprint()
	put("two.example")
	if err := os.Chtimes(path, time.Now(), time.Now().Add(time.Second)); err != nil {
		t.Fatal(err)
	}
	c.add(lookEvery)
	if p.Fingerprint() == first || p.Get().Leaf.DNSNames[0] != "two.example" {
		t.Error("a new certificate isn't taken")
	}
	second := p.Fingerprint()
	if err := os.WriteFile(path, []byte("half a fi"), 0o600); err != nil {
		t.Fatal(err)
	}
	c.add(lookEvery)
	if p.Fingerprint() != second || !strings.Contains(log.String(), "can't be used") {
		t.Errorf("half a file takes its place, or nothing is said of it: %s", log.String())
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	c.add(lookEvery)
	if p.Fingerprint() != second {
		t.Error("with the file gone the certificate is gone")
	}
	if _, err := Given(path, path, quiet(), c.Now); err == nil {
		t.Error("no file at all is taken")
	}
}

// served is a port that speaks TLS as the program does.
func served(t *testing.T) (port, pem string) {
	t.Helper()
	pem = filepath.Join(t.TempDir(), "w.tls.pem")
	p, err := Own(pem, nil, quiet(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	l, err := tls.Listen("tcp", "127.0.0.1:0", p.Config("http/1.1"))
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	all.Go(func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			all.Go(func() {
				defer c.Close()
				_ = c.SetDeadline(time.Now().Add(10 * time.Second))
				_, _ = io.CopyN(io.Discard, c, 1)
				_, _ = io.WriteString(c, "HTTP/1.1 204 No Content\r\nConnection: close\r\n\r\n")
			})
		}
	})
	t.Cleanup(func() { l.Close(); all.Wait() })
	_, port, _ = net.SplitHostPort(l.Addr().String())
	return port, pem
}

func ran(t *testing.T, name string, args ...string) string {
	t.Helper()
	ctx, done := context.WithTimeout(context.Background(), 100*time.Second)
	defer done()
	c := exec.CommandContext(ctx, name, args...)
	out, err := c.CombinedOutput()
	if err != nil && len(out) == 0 {
		t.Fatalf("%s: %v", name, err)
	}
	return string(out)
}

var colours = regexp.MustCompile("\x1b\\[[0-9;]*m")

// sslscan finds no protocol before TLS 1.2, no suite without authentication of
// what is encrypted or without a fresh key, and no renegotiation.
func TestPortBySslscan(t *testing.T) {
	sslscan := peer.Tool(t, "sslscan", "sslscan")
	port, _ := served(t)
	out := colours.ReplaceAllString(ran(t, sslscan, "--no-colour", "--no-check-certificate", "127.0.0.1:"+port), "")
	for protocol, want := range map[string]string{"SSLv2": "disabled", "SSLv3": "disabled", "TLSv1.0": "disabled", "TLSv1.1": "disabled", "TLSv1.2": "enabled", "TLSv1.3": "enabled"} {
		if !regexp.MustCompile(`(?m)^` + regexp.QuoteMeta(protocol) + `\s+` + want).MatchString(out) {
			t.Errorf("%s isn't %s", protocol, want)
		}
	}
	// Of compression nmap tells, as Debian's sslscan can't ask for it.
	if !strings.Contains(out, "Session renegotiation not supported") {
		t.Error("renegotiation is supported")
	}
	if regexp.MustCompile(`(?m)^TLSv\S+ vulnerable`).MatchString(out) {
		t.Error("it is vulnerable to Heartbleed")
	}
	suites := regexp.MustCompile(`(?m)^(?:Preferred|Accepted)\s+(TLSv\S+)\s+(\d+) bits\s+(\S+)`).FindAllStringSubmatch(out, -1)
	if len(suites) < 5 {
		t.Errorf("only %d suites were found", len(suites))
	}
	for _, s := range suites {
		bits, _ := strconv.Atoi(s[2])
		good := strings.HasPrefix(s[3], "TLS_AES_") || strings.HasPrefix(s[3], "TLS_CHACHA20_") || strings.HasPrefix(s[3], "ECDHE-") && (strings.Contains(s[3], "GCM") || strings.Contains(s[3], "CHACHA20"))
		if bits < 128 || !good {
			t.Errorf("%s offers %s with %d bits", s[1], s[3], bits)
		}
	}
	if t.Failed() {
		t.Log(out)
	}
}

// nmap's script grades every suite, and finds no compression.
func TestPortByNmap(t *testing.T) {
	nmap := peer.Tool(t, "nmap", "nmap")
	port, _ := served(t)
	out := ran(t, nmap, "-Pn", "-n", "--disable-arp-ping", "--unprivileged", "-sT", "-p", port, "--script", "+ssl-enum-ciphers", "127.0.0.1")
	if !strings.Contains(out, "least strength: A") || !strings.Contains(out, "TLSv1.3") {
		t.Errorf("expected no suite weaker than A, and TLS 1.3:\n%s", out)
	}
	if n := strings.Count(out, "compressors:"); n == 0 || !regexp.MustCompile(`compressors: \n\|\s+NULL\n`).MatchString(out) {
		t.Errorf("expected no compression but NULL:\n%s", out)
	}
	for _, bad := range []string{"SSLv3:", "TLSv1.0:", "TLSv1.1:", "warnings:", " - B", " - C", " - F", "CBC", "TLS_RSA_", "DEFLATE"} {
		if strings.Contains(out, bad) {
			t.Errorf("it has %q:\n%s", bad, out)
		}
	}
}

// OpenSSL connects, checks the certificate against the file, and is refused by
// older protocols.
func TestPortByOpenSSL(t *testing.T) {
	openssl := peer.Tool(t, "openssl", "openssl")
	port, pem := served(t)
	ask := func(args ...string) string {
		return ran(t, openssl, append([]string{"s_client", "-connect", "127.0.0.1:" + port, "-servername", "localhost", "-CAfile", pem, "-verify_hostname", "localhost"}, args...)...)
	}
	if out := ask("-tls1_3"); !strings.Contains(out, "Verify return code: 0 (ok)") || !strings.Contains(out, "Compression: NONE") {
		t.Errorf("TLS 1.3:\n%s", out)
	}
	if out := ask("-tls1_2"); !strings.Contains(out, "Verify return code: 0 (ok)") || !strings.Contains(out, "Secure Renegotiation IS") {
		t.Errorf("TLS 1.2:\n%s", out)
	}
	for _, old := range []string{"-tls1_1", "-tls1"} {
		if out := ask(old, "-cipher", "ALL:@SECLEVEL=0"); !strings.Contains(out, "protocol version") && !strings.Contains(out, "no protocols available") {
			t.Errorf("%s:\n%s", old, out)
		}
	}
	for _, weak := range []string{"AES128-SHA", "ECDHE-ECDSA-AES128-SHA", "AES128-GCM-SHA256", "aNULL:eNULL"} {
		if out := ask("-tls1_2", "-cipher", weak+":@SECLEVEL=0"); !strings.Contains(out, "handshake failure") && !strings.Contains(out, "alert number 40") {
			t.Errorf("the suites %s:\n%s", weak, out)
		}
	}
}
