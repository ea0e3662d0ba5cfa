package post

import (
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/feed"
)

// taken says what is wrong with a content type. None at all is taken: small
// controllers often send none.
func taken(h http.Header) *problem {
	wrong := func(found string) *problem {
		return &problem{status: http.StatusUnsupportedMediaType, why: wrongKind, detail: found + "; expected Content-Type: application/json, or text/plain for a number"}
	}
	if code := h.Get("Content-Encoding"); code != "" && !strings.EqualFold(code, "identity") {
		return wrong("the content is encoded as " + quoted(code))
	}
	said := h.Get("Content-Type")
	if said == "" {
		return nil
	}
	kind, more, err := mime.ParseMediaType(said)
	if set := more["charset"]; err == nil && set != "" && !strings.EqualFold(set, "utf-8") && !strings.EqualFold(set, "us-ascii") {
		return wrong("the content is written in " + quoted(set))
	}
	if err != nil || kind != "application/json" && kind != "text/plain" {
		return wrong("the content type is " + quoted(said))
	}
	return nil
}

// body is where the body of a request is read; one byte more than may be sent
// tells that there is more.
type body [feed.MaxPayload + 1]byte

var bodies = sync.Pool{New: func() any { return new(body) }}

// drained is how much of a body that is too long is read and thrown away.
const drained = 16 << 20

// drain reads what is left of a body that is too long: many clients look for the
// answer only when they have sent everything, and would find a broken connection.
func drain(w http.ResponseWriter, r *http.Request, within time.Duration) {
	w.Header().Set("Connection", "close")
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(within))
	_, _ = io.CopyN(io.Discard, r.Body, drained) // it isn't wanted
}

// read reads the body of a request into b.
func (b *body) read(w http.ResponseWriter, r *http.Request, within time.Duration) ([]byte, *problem) {
	// Where there is no connection to set it for, as in tests, there is none to hold up.
	c := http.NewResponseController(w)
	_ = c.SetReadDeadline(time.Now().Add(within))
	n, err := io.ReadFull(r.Body, b[:])
	switch {
	case err == nil:
		drain(w, r, within)
		return nil, tooLong(-1)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		// io.ErrUnexpectedEOF may also be a body that ended before its length.
		if r.ContentLength < 0 || int64(n) == r.ContentLength {
			// Left in place it would end the request while its readings are being kept.
			// With a part of the body to come it stays: the server waits for that, too.
			_ = c.SetReadDeadline(time.Time{})
			return b[:n], nil
		}
	case errors.Is(err, os.ErrDeadlineExceeded):
		return nil, &problem{status: http.StatusRequestTimeout, why: notSent, detail: fmt.Sprintf("the readings weren't sent within %v; %d bytes came", within, n)}
	}
	return nil, &problem{status: http.StatusBadRequest, why: notSent, detail: fmt.Sprintf("the request broke off after %d bytes; expected all of it", n)}
}
