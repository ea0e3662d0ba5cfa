package push

import (
	"bytes"
	"context"
	"crypto/ecdh"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"gaugewright/internal/notice"
)

// Config is how browsers are told. docs/notices.md says each key.
type Config struct {
	// Contact is by which whoever runs a push service reaches whoever runs the watch:
	// "mailto:…" or "https://…" (RFC 8292, 2.1).
	Contact string `toml:"contact"`
	// Private lets push services be in a network that isn't public.
	Private bool `toml:"private"`
}

// Check says what is wrong with a configuration.
func (c Config) Check() error {
	u, err := url.Parse(c.Contact)
	mail := err == nil && u.Scheme == "mailto" && strings.Contains(u.Opaque, "@")
	page := err == nil && u.Scheme == "https" && u.Hostname() != ""
	if !mail && !page {
		return fmt.Errorf(`contact is %q; expected where whoever runs the watch is reached, like "mailto:watch@example.org"`, c.Contact)
	}
	return nil
}

const (
	within   = 30 * time.Second
	readMost = 64 << 10
	tokenFor = 12 * time.Hour // of the 24 at the most (RFC 8292, 2)
	mostBody = 1200           // of a message's text, in bytes
)

// Way sends to one browser.
type Way struct {
	c      Config
	key    *Key
	label  string
	sub    *Subscription
	client http.Client
	now    func() time.Time
}

// NameOf is what the way of an endpoint is called: the endpoint itself is a secret.
func NameOf(endpoint string) string {
	sum := sha256.Sum256([]byte(endpoint))
	return "push/" + hex.EncodeToString(sum[:6])
}

// New makes the way to a browser. The label is for people.
func New(c Config, key *Key, label string, sub *Subscription) *Way {
	dialer := &net.Dialer{}
	if !c.Private {
		dialer.Control = outsideOnly
	}
	return &Way{c: c, key: key, label: label, sub: sub, now: time.Now, client: http.Client{
		// No proxy: what it connects to couldn't be looked at.
		Transport:     &http.Transport{DialContext: dialer.DialContext, DisableKeepAlives: true, MaxResponseHeaderBytes: readMost, TLSClientConfig: &tls.Config{MinVersion: tls.VersionTLS12}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

// Name is the way's name, and What the device it leads to.
func (w *Way) Name() string { return NameOf(w.sub.Endpoint) }

// What is the device that the way leads to.
func (w *Way) What() string { return w.label }

// shown is what the page's service worker gets.
type shown struct {
	ID       string    `json:"id"`
	Tag      string    `json:"tag"` // of those with the same, the latest is shown
	Title    string    `json:"title"`
	Body     string    `json:"body"`
	Time     time.Time `json:"time"`
	Critical bool      `json:"critical"`
	Test     bool      `json:"test"`
}

// Send hands a message to the push service of the browser. Delivered is what the
// service has taken; when the browser gets it is the service's matter.
func (w *Way) Send(ctx context.Context, m notice.Message) error {
	ctx, done := context.WithTimeout(ctx, within)
	defer done()
	var reached atomic.Bool
	r, err := w.request(httptrace.WithClientTrace(ctx, &httptrace.ClientTrace{ConnectDone: func(_, _ string, err error) {
		if err == nil {
			reached.Store(true)
		}
	}}), m)
	if err != nil {
		return notice.Permanently(err)
	}
	answer, err := w.client.Do(r)
	if err != nil {
		// The error has the whole endpoint, which is a secret.
		if u, ok := err.(*url.Error); ok {
			err = u.Err
		}
		if errors.Is(err, errInside) {
			return &notice.Failure{Err: fmt.Errorf("the push service %s: %w", w.sub.at.Host, err), Permanent: true}
		}
		err = fmt.Errorf("the push service %s isn't reached: %w", w.sub.at.Host, err)
		if !reached.Load() {
			return notice.Unreached(err)
		}
		return err
	}
	defer answer.Body.Close()
	_, _ = io.CopyN(io.Discard, answer.Body, readMost) // what it says besides is no matter
	return w.judged(answer)
}

// judged says what an answer means (RFC 8030, 5 and 7.3; RFC 8292, 4.2).
func (w *Way) judged(answer *http.Response) error {
	code := answer.StatusCode
	f := &notice.Failure{Err: fmt.Errorf("the push service %s answers %d %s", w.sub.at.Host, code, http.StatusText(code))}
	switch {
	case code >= 200 && code < 300:
		return nil
	case code == http.StatusNotFound, code == http.StatusGone:
		f.Err = errors.New("the device has taken its subscription back, or its push service has forgotten it")
		f.Permanent, f.Gone = true, true
	case code == http.StatusBadRequest, code == http.StatusRequestEntityTooLarge, code >= 300 && code < 400:
		f.Permanent = true
	}
	if n, err := strconv.ParseUint(answer.Header.Get("Retry-After"), 10, 31); err == nil {
		f.After = time.Duration(n) * time.Second
	} else if at, err := http.ParseTime(answer.Header.Get("Retry-After")); err == nil {
		f.After = max(0, at.Sub(w.now()))
	}
	return f
}

func (w *Way) request(ctx context.Context, m notice.Message) (*http.Request, error) {
	about := m.Alarm
	if about == "" {
		about = m.ID
	}
	sum := sha256.Sum256([]byte(about))
	topic := b64.EncodeToString(sum[:18]) // RFC 8030, 5.4: 32 characters at the most
	see := shown{ID: m.ID, Tag: topic, Title: m.Subject, Time: m.Time.UTC(), Critical: m.Priority == notice.Critical, Test: m.Kind == notice.KindTest}
	// Signs that are written longer in JSON may make it too long.
	plain := make([]byte, mostPlain+1)
	for most := mostBody; len(plain) > mostPlain && most > 0; most /= 2 {
		see.Body = clip(strings.TrimSpace(m.Body()), most)
		var err error
		if plain, err = json.Marshal(see); err != nil {
			return nil, err
		}
	}
	from, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	salt := make([]byte, saltSize)
	if _, err := rand.Read(salt); err != nil {
		return nil, err
	}
	body, err := encrypt(plain, w.sub.to, w.sub.auth, from, salt)
	if err != nil {
		return nil, err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, w.sub.Endpoint, bytes.NewReader(body))
	if err != nil {
		return nil, errors.New("the endpoint can't be asked")
	}
	token, err := w.key.authorization(w.sub.at.Scheme+"://"+w.sub.at.Host, w.c.Contact, w.now().Add(tokenFor))
	if err != nil {
		return nil, err
	}
	ttl, urgency := lasts(m.Notice)
	for name, value := range map[string]string{
		"Authorization": token, "Content-Encoding": "aes128gcm", "Content-Type": "application/octet-stream", "User-Agent": "Gaugewright",
		"TTL": strconv.Itoa(int(ttl / time.Second)), "Urgency": urgency, "Topic": topic,
	} {
		r.Header.Set(name, value)
	}
	return r, nil
}

// lasts gives how long the push service is to keep a notice for a browser that isn't
// there, and how urgent it is (RFC 8030, 5.2 and 5.3).
func lasts(n notice.Notice) (ttl time.Duration, urgency string) {
	switch {
	case n.Kind == notice.KindTest:
		return 10 * time.Minute, "high" // whoever asked for it waits
	case n.Priority == notice.Critical:
		return 3 * 24 * time.Hour, "high"
	case n.Priority == notice.High:
		return 24 * time.Hour, "high"
	case n.Priority == notice.Low:
		return 24 * time.Hour, "low"
	}
	return 24 * time.Hour, "normal"
}

// clip shortens a text to so many bytes at the most.
func clip(text string, most int) string {
	if len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + " …"
}
