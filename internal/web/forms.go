package web

import (
	"crypto/rand"
	"net"
	"net/http"
	"strings"
	"unicode"
	"unicode/utf8"
)

// newKey makes the name of a change that hasn't been asked for yet; see
// [job.Change].
func newKey() string { return rand.Text() }

// device says from where a change came, for the job's history.
func device(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// field gives one line of a form, without white space around it.
func field(r *http.Request, name string) string { return strings.TrimSpace(r.PostFormValue(name)) }

// capital begins a sentence.
func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + s[size:]
}
