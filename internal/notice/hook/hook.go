package hook

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptrace"
	"net/url"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"gaugewright/internal/notice"
)

const (
	// within is how long a post may take, and readMost how much of an answer is read, in
	// bytes.
	within   = 30 * time.Second
	readMost = 64 << 10

	// idHeader has the notice's ID: the same however often it is posted.
	idHeader = "Gaugewright-Notice"
	label    = "notice"
	alg      = "hmac-sha256"
)

// Way posts to one address. Its Send may be called by several at once.
type Way struct {
	name   string
	c      Config
	to     *url.URL
	client http.Client
	now    func() time.Time
}

// New makes the way of a configuration. All that is wrong is told, a line each.
func New(name string, c Config) (*Way, error) {
	to, roots, err := c.settle(name)
	if err != nil {
		return nil, err
	}
	w := &Way{name: name, c: c, to: to, now: time.Now}
	w.client = http.Client{
		Transport: &http.Transport{
			Proxy: http.ProxyFromEnvironment, DisableKeepAlives: true, MaxResponseHeaderBytes: readMost,
			TLSClientConfig: &tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS12},
		},
		// Where it leads to isn't what was configured, and the signature wouldn't hold.
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	return w, nil
}

// Name is the way's name, and What the machine it leads to: what follows in the address
// may be a secret.
func (w *Way) Name() string { return w.name }

// What is the machine that the way leads to.
func (w *Way) What() string { return w.to.Host }

// Language is that of those who get it; "" is English. Only are the priorities that go
// this way; none: all.
func (w *Way) Language() string { return w.c.Language }

// Only are the priorities that go this way; none: all.
func (w *Way) Only() []string { return w.c.Only }

// Post is what is posted.
type Post struct {
	ID       string    `json:"id"`
	Time     time.Time `json:"time"` // of what it tells
	Sent     time.Time `json:"sent"`
	Late     string    `json:"late,omitempty"` // that it comes late and why
	Kind     string    `json:"kind"`
	Priority string    `json:"priority,omitempty"`
	State    string    `json:"state,omitempty"`
	Alarm    string    `json:"alarm,omitempty"`
	Tank     string    `json:"tank,omitempty"`
	Label    string    `json:"label,omitempty"`
	Again    int       `json:"again"`
	Title    string    `json:"title"`
	Text     string    `json:"text"`
	Cautions []string  `json:"cautions,omitempty"`
}

// PostOf gives what is posted of a message.
func PostOf(m notice.Message) Post {
	return Post{ID: m.ID, Time: m.Time.UTC(), Sent: m.Sent.UTC(), Late: m.Late, Kind: m.Kind, Priority: m.Priority, State: m.State, Alarm: m.Alarm,
		Tank: m.Tank, Label: m.Label, Again: m.Again, Title: m.Subject, Text: strings.TrimSpace(m.Body()), Cautions: m.Cautions}
}

// Send posts a notice. It is delivered when the answer is 2xx.
func (w *Way) Send(ctx context.Context, m notice.Message) error {
	ctx, done := context.WithTimeout(ctx, within)
	defer done()
	var reached atomic.Bool
	r, err := w.request(httptrace.WithClientTrace(ctx, &httptrace.ClientTrace{
		ConnectDone: func(_, _ string, err error) {
			if err == nil {
				reached.Store(true)
			}
		},
	}), m)
	if err != nil {
		return err
	}
	answer, err := w.client.Do(r)
	if err != nil {
		// The error has the whole address, of which a part may be a secret.
		if u, ok := err.(*url.Error); ok {
			err = u.Err
		}
		err = fmt.Errorf("%s isn't reached: %w", w.to.Host, err)
		if !reached.Load() {
			return notice.Unreached(err)
		}
		return err
	}
	defer answer.Body.Close()
	_, _ = io.CopyN(io.Discard, answer.Body, readMost) // what it says besides is no matter
	return w.judged(answer)
}

// judged says what an answer means (RFC 9110, 15).
func (w *Way) judged(answer *http.Response) error {
	code := answer.StatusCode
	if code >= 200 && code < 300 {
		return nil
	}
	f := &notice.Failure{Err: fmt.Errorf("%s answers %d %s", w.to.Host, code, http.StatusText(code)), After: retryAfter(answer.Header.Get("Retry-After"), w.now())}
	switch {
	case code >= 300 && code < 400:
		f.Err = fmt.Errorf("%s answers %d, that it is elsewhere; that isn't followed: configure the address that it is at", w.to.Host, code)
		f.Permanent = true
	case code == http.StatusRequestTimeout, code == http.StatusTooEarly, code == http.StatusTooManyRequests:
	case code >= 400 && code < 500:
		f.Permanent = true
	}
	return f
}

// retryAfter reads the field: seconds, or a date (RFC 9110, 10.2.3); 0 where it is
// neither.
func retryAfter(text string, now time.Time) time.Duration {
	if n, err := strconv.ParseUint(text, 10, 31); err == nil {
		return time.Duration(n) * time.Second
	}
	if at, err := http.ParseTime(text); err == nil {
		return max(0, at.Sub(now))
	}
	return 0
}

func (w *Way) request(ctx context.Context, m notice.Message) (*http.Request, error) {
	secret, err := w.c.secret()
	if err != nil {
		return nil, err
	}
	body, err := json.Marshal(PostOf(m))
	if err != nil {
		return nil, notice.Permanently(err)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, w.to.String(), bytes.NewReader(body))
	if err != nil {
		return nil, notice.Permanently(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Content-Digest", digest(body))
	r.Header.Set(idHeader, m.ID)
	r.Header.Set("User-Agent", "Gaugewright")
	if w.c.TokenFile != "" {
		token, err := w.c.token()
		if err != nil {
			return nil, err
		}
		r.Header.Set("Authorization", "Bearer "+token)
	}
	covered := []string{"@method", "@authority", "@path", "@query", "content-type", "content-digest", strings.ToLower(idHeader)}
	return r, sign(r, label, covered, w.now(), w.c.KeyID, alg, secret)
}
