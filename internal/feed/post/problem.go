package post

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/feed"
)

// problem is why a request wasn't taken.
type problem struct {
	status int
	detail string        // what was found, where, and what was expected
	why    string        // in a few fixed words, to be counted; "": it isn't
	again  time.Duration // when it may be sent again; 0: not as it is
	allow  string
	sample []byte
}

// write answers with the problem as RFC 9457 has it (from memory). Its type is
// "about:blank", which is left out: the title is the status's own. "why" is an
// extension.
func (p *problem) write(w http.ResponseWriter) {
	head := w.Header()
	head.Set("Content-Type", "application/problem+json")
	if p.again > 0 {
		head.Set("Retry-After", strconv.Itoa(int(p.again/time.Second)))
	}
	if p.allow != "" {
		head.Set("Allow", p.allow)
	}
	text, err := json.Marshal(struct {
		Title  string `json:"title"`
		Status int    `json:"status"`
		Detail string `json:"detail"`
		Why    string `json:"why,omitempty"`
	}{http.StatusText(p.status), p.status, sentence(p.detail), p.why})
	if err != nil {
		panic(err) // texts and a number can always be written
	}
	w.WriteHeader(p.status)
	_, _ = w.Write(append(text, '\n')) // a client that went away is no matter
}

func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] + "." }

func tooLong(length int64) *problem {
	found := fmt.Sprintf("more than %d", feed.MaxPayload)
	if length >= 0 {
		found = strconv.FormatInt(length, 10)
	}
	return &problem{status: http.StatusRequestEntityTooLarge, why: feed.TooLong,
		detail: fmt.Sprintf("the body has %s bytes; expected at most %d. Send fewer readings at a time", found, feed.MaxPayload)}
}

func noTank(detail string, payload []byte) *problem {
	return &problem{status: http.StatusNotFound, why: feed.NoSuchTank, detail: detail, sample: copied(payload)}
}

// cannotBeRead is for a payload that is no reading.
func cannotBeRead(err error, payload []byte) *problem {
	p := &problem{status: http.StatusBadRequest, why: feed.NotJSON, detail: err.Error(), sample: copied(payload)}
	var no *feed.Refusal
	if errors.As(err, &no) {
		p.why = no.Why()
	}
	if p.why == feed.TooLong || p.why == feed.TooMany {
		p.status = http.StatusRequestEntityTooLarge
	}
	return p
}

// copied is the beginning of a payload, for the log: the payload itself is read over
// by the next request.
func copied(payload []byte) []byte { return append([]byte(nil), payload[:min(len(payload), 200)]...) }

// quoted shows what was sent, cut short.
func quoted(s string) string {
	if len(s) > 60 {
		s = s[:60] + "…"
	}
	return strconv.Quote(s)
}
