package feed

import (
	"fmt"
	"strconv"
)

// Reasons for which a payload is no reading, as [Refusal.Why] gives them. They
// are few, so that they can be counted.
const (
	TooLong       = "too long"
	TooMany       = "too many readings at once"
	Empty         = "nothing in it"
	NotJSON       = "neither a number nor JSON"
	WrongKind     = "a field of the wrong kind"
	UnknownField  = "an unknown field"
	FieldTwice    = "a field twice"
	NoValue       = "no value"
	SeveralValues = "several values"
	OutOfRange    = "a number out of range"
	NotATime      = "a time that can't be read"
	NoTank        = "no tank named"
	NoSuchTank    = "no tank of that name"
)

// Refusal says why a payload is no reading.
type Refusal struct{ why, text string }

// Error says what was found and what was expected, in one sentence.
func (r *Refusal) Error() string { return r.text }

// Why gives the reason in a few fixed words, for [Sink].Refused.
func (r *Refusal) Why() string { return r.why }

func refuse(why, format string, args ...any) *Refusal {
	return &Refusal{why, fmt.Sprintf(format, args...)}
}

// shown is how many bytes of what a source sent an error repeats.
const shown = 40

// short quotes what a source sent, cut short.
func short(b []byte) string {
	if len(b) > shown {
		return strconv.Quote(string(b[:shown]) + "…")
	}
	return strconv.Quote(string(b))
}
