package xdr

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Longest is the most characters that a sentence may have, with its $ and the CR
// LF after it.
const Longest = 82

// Sentence is one sentence of NMEA 0183.
type Sentence struct {
	Talker  string    // who speaks: two letters, "II"; "" of a maker's own
	Type    string    // what about: "XDR"; of a maker's own all of its address
	Fields  []string  // what stands between the commas
	Checked bool      // it had a checksum, and that is right
	Length  int       // in characters, with $ and CR LF
	Tagged  time.Time // by the tag block before it; zero: not
	Noise   bool      // something else stood before it in its line
}

// Errors of [Parse] and [Transducers]. They are the words by which lines are
// counted.
var (
	ErrNoSentence = errors.New("line without a sentence")
	ErrText       = errors.New("characters that no sentence may have")
	ErrChecksum   = errors.New("wrong checksum")
	ErrGroups     = errors.New("transducers that aren't groups of four fields")
)

// Checksum is that of a sentence: the exclusive or of all between $ and *.
func Checksum(between []byte) (sum byte) {
	for _, c := range between {
		sum ^= c
	}
	return sum
}

// Parse reads one line, with or without its end. A tag block may stand before the
// sentence. A sentence begins at the last $ of its line: what was cut off by a
// lost end of a line, and noise, stand before that.
func Parse(line []byte) (Sentence, error) {
	line = bytes.TrimRight(line, "\r\n \t\x00")
	start := bytes.LastIndexByte(line, '$')
	if start < 0 {
		return Sentence{}, ErrNoSentence
	}
	before, text := line[:start], line[start+1:]
	s := Sentence{Length: len(line) - start + 2}
	if n := len(before); n > 2 && before[0] == '\\' && before[n-1] == '\\' {
		s.Tagged = tagged(before[1 : n-1])
	} else {
		s.Noise = n > 0
	}
	for _, c := range text {
		if c < ' ' || c > '~' {
			return Sentence{}, ErrText
		}
	}
	if body, sum, ok := bytes.Cut(text, []byte("*")); ok {
		if !summed(body, sum) {
			return Sentence{}, ErrChecksum
		}
		text, s.Checked = body, true
	}
	address, rest, fields := strings.Cut(string(text), ",")
	if address == "" {
		return Sentence{}, ErrNoSentence
	}
	if s.Type = address; len(address) == 5 && address[0] != 'P' {
		s.Talker, s.Type = address[:2], address[2:]
	}
	if fields {
		s.Fields = strings.Split(rest, ",")
	}
	return s, nil
}

// summed says whether two hexadecimal digits are the checksum of a text.
func summed(text, sum []byte) bool {
	if len(sum) != 2 {
		return false
	}
	n, err := strconv.ParseUint(string(sum), 16, 8)
	return err == nil && byte(n) == Checksum(text)
}

// tagged is the time in a tag block, "c:1436509052,s:bridge*hh": seconds since
// 1970, or milliseconds where there are too many for that (NMEA 0183 version 4,
// from memory). Zero: there is none, or the block is damaged.
func tagged(block []byte) time.Time {
	body, sum, ok := bytes.Cut(block, []byte("*"))
	if !ok || !summed(body, sum) {
		return time.Time{}
	}
	for _, part := range strings.Split(string(body), ",") {
		text, ok := strings.CutPrefix(part, "c:")
		n, err := strconv.ParseUint(text, 10, 47)
		switch {
		case !ok || err != nil:
		case n >= 1e11:
			return time.UnixMilli(int64(n)).UTC()
		default:
			return time.Unix(int64(n), 0).UTC()
		}
	}
	return time.Time{}
}

// Append adds the sentence with its checksum and CR LF to b. The error says what
// can't be written.
func (s Sentence) Append(b []byte) ([]byte, error) {
	start := len(b) + 1
	b = append(append(append(b, '$'), s.Talker...), s.Type...)
	for _, f := range s.Fields {
		b = append(append(b, ','), f...)
	}
	for _, c := range b[start:] {
		if c < ' ' || c > '~' || strings.IndexByte("!$*\\^~", c) >= 0 {
			return nil, fmt.Errorf("character %q in a sentence; expected printable ASCII and none of !$*\\^~", c)
		}
	}
	sum := Checksum(b[start:])
	b = fmt.Appendf(b, "*%02X\r\n", sum)
	if n := len(b) - start + 1; n > Longest {
		return nil, fmt.Errorf("sentence of %d characters; expected at most %d", n, Longest)
	}
	return b, nil
}
