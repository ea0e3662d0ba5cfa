package feed

import (
	"math"
	"strconv"

	"gaugewright/internal/watch"
)

// plain reads what almost every payload is: a number, a flat object without
// escapes, or a list of these. It tells whether it could; where it couldn't, the
// payload may still be right, and thorough finds out.
func plain(into []watch.Reading, payload []byte, d *Defaults) ([]watch.Reading, bool) {
	s := scanner{b: payload}
	n := len(into)
	s.space()
	if s.next() != '[' {
		out, ok := s.one(into, d)
		if s.space(); !ok || s.i != len(payload) {
			return into, false
		}
		return out, true
	}
	out := into
	for ok := true; ; {
		s.i++ // '[' or ','
		s.space()
		if out, ok = s.one(out, d); !ok || len(out)-n > MaxReadings {
			return into, false
		}
		s.space()
		switch s.next() {
		case ',':
		case ']':
			s.i++
			if s.space(); s.i != len(payload) {
				return into, false
			}
			return out, true
		default:
			return into, false
		}
	}
}

type scanner struct {
	b []byte
	i int
}

// next gives the next byte, 0 at the end.
func (s *scanner) next() byte {
	if s.i < len(s.b) {
		return s.b[s.i]
	}
	return 0
}

func (s *scanner) space() {
	for s.i < len(s.b) && (s.b[s.i] == ' ' || s.b[s.i] == '\n' || s.b[s.i] == '\t' || s.b[s.i] == '\r') {
		s.i++
	}
}

// one reads a reading.
func (s *scanner) one(into []watch.Reading, d *Defaults) ([]watch.Reading, bool) {
	var f fields
	if s.next() == '{' {
		if !s.object(&f, d) {
			return into, false
		}
	} else {
		t, ok := s.value()
		if !ok || t.kind == text {
			return into, false
		}
		f.value, f.signal, f.seen = t, d.Signal, 1<<theOhm
	}
	r, no := f.reading(d)
	if no != nil {
		return into, false
	}
	return append(into, r), true
}

// object reads a flat object.
func (s *scanner) object(f *fields, d *Defaults) bool {
	for {
		s.i++ // '{' or ','
		s.space()
		name, ok := s.string()
		if s.space(); !ok || s.next() != ':' {
			return false
		}
		s.i++
		s.space()
		t, ok := s.value()
		if !ok || f.put(name, t, d) != nil {
			return false
		}
		s.space()
		switch s.next() {
		case ',':
		case '}':
			s.i++
			return true
		default:
			return false
		}
	}
}

// value reads a number, text or null.
func (s *scanner) value() (token, bool) {
	switch c := s.next(); {
	case c == '"':
		b, ok := s.string()
		return token{kind: text, text: b}, ok
	case c == 'n':
		if len(s.b)-s.i < 4 || string(s.b[s.i:s.i+4]) != "null" {
			return token{}, false
		}
		s.i += 4
		return token{kind: null}, true
	default:
		v, ok := s.number()
		return token{kind: number, num: v}, ok
	}
}

// string reads a string of plain ASCII.
func (s *scanner) string() ([]byte, bool) {
	if s.next() != '"' {
		return nil, false
	}
	for j := s.i + 1; j < len(s.b); j++ {
		switch c := s.b[j]; {
		case c == '"':
			b := s.b[s.i+1 : j]
			s.i = j + 1
			return b, true
		case c < ' ' || c > '~' || c == '\\':
			return nil, false
		}
	}
	return nil, false
}

// tens are the powers of ten that a float64 has exactly.
var tens = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads a number as JSON has it: no plus sign, no leading zeros, a digit
// on either side of the point.
func (s *scanner) number() (float64, bool) {
	b, i := s.b, s.i
	start := i
	if i < len(b) && b[i] == '-' {
		i++
	}
	var whole uint64
	first := i
	for i < len(b) && b[i]-'0' <= 9 {
		whole = whole*10 + uint64(b[i]-'0')
		i++
	}
	digits, decimals := i-first, 0
	if digits == 0 || b[first] == '0' && digits > 1 {
		return 0, false
	}
	if i < len(b) && b[i] == '.' {
		i++
		point := i
		for i < len(b) && b[i]-'0' <= 9 {
			whole = whole*10 + uint64(b[i]-'0')
			i++
		}
		if decimals = i - point; decimals == 0 {
			return 0, false
		}
	}
	power := i < len(b) && b[i]|0x20 == 'e'
	if power {
		i++
		if i < len(b) && (b[i] == '+' || b[i] == '-') {
			i++
		}
		begun := i
		for i < len(b) && b[i]-'0' <= 9 {
			i++
		}
		if i == begun {
			return 0, false
		}
	}
	s.i = i
	// Up to fifteen digits are exact as they are, and so is a power of ten up to
	// 22: one division then rounds once, and right (W. Clinger, How to Read
	// Floating Point Numbers Accurately, 1990).
	if !power && digits+decimals <= 15 {
		v := float64(whole) / tens[decimals]
		if b[start] == '-' {
			v = math.Copysign(v, -1)
		}
		return v, true
	}
	v, err := strconv.ParseFloat(string(b[start:i]), 64)
	return v, err == nil
}
