package can

import (
	"bytes"
	"errors"
	"time"
)

// Errors of a line of a log. They are the words by which lines are counted.
var (
	errNoFrame  = errors.New("line without a frame")
	errTime     = errors.New("time that is no number of seconds")
	errZone     = errors.New("date without a time zone; record with candump -L")
	errID       = errors.New("identifier that isn't 3 or 8 hexadecimal digits")
	errData     = errors.New("data that aren't pairs of hexadecimal digits")
	errTooMany  = errors.New("more data than a frame can hold")
	errCount    = errors.New("not so many bytes as the line says")
	errOverlong = errors.New("line too long")
)

// Entry is one line of a log.
type Entry struct {
	Time      time.Time // zero: the line has none
	Interface string    // which bus: "can0"
	Frame     Frame
}

// parse reads one line, in either of two forms: that of a log file of can-utils,
// (1436509052.249713) can0 18FEFC23#FF4BFFFFFFFF7DFF, perhaps with an R or T at
// its end, or that for people, with the length in brackets and the bytes apart.
// The entry is filled anew; its interface's name is kept where it is the same.
func (e *Entry) parse(line []byte) error {
	e.Time, e.Frame = time.Time{}, Frame{}
	rest := bytes.TrimSpace(line)
	if len(rest) > 0 && rest[0] == '(' {
		end := bytes.IndexByte(rest, ')')
		if end < 0 {
			return errTime
		}
		var err error
		if e.Time, err = seconds(bytes.TrimSpace(rest[1:end])); err != nil {
			return err
		}
		rest = rest[end+1:]
	}
	name, rest := field(rest)
	id, rest := field(rest)
	if len(name) == 0 || len(id) == 0 {
		return errNoFrame
	}
	if e.Interface != string(name) {
		e.Interface = string(name)
	}
	if i := bytes.IndexByte(id, '#'); i >= 0 {
		return e.Frame.compact(id[:i], id[i+1:], rest)
	}
	if string(id) == "RX" || string(id) == "TX" { // candump -x: direction and two flags
		for range 3 {
			id, rest = field(rest)
		}
	}
	return e.Frame.spaced(id, rest)
}

// compact reads what stands before and after the # of a log file's line.
func (f *Frame) compact(id, data, after []byte) error {
	if after = bytes.TrimSpace(after); len(after) > 1 || len(after) == 1 && !bytes.ContainsAny(after, "RTrt") {
		return errNoFrame
	}
	if err := f.identifier(id); err != nil {
		return err
	}
	most := 8
	switch {
	case len(data) > 0 && data[0] == '#':
		if len(data) < 2 || nibble(data[1]) > 0xF {
			return errData
		}
		f.Kind, f.Flags, most = FD, nibble(data[1]), 64
		data = data[2:]
	case len(data) > 0 && (data[0] == 'R' || data[0] == 'r'):
		f.Kind = Remote
		if len(data) > 1 {
			f.Length = data[1] - '0' // what follows is a raw length code of a newer can-utils
			if f.Length > 8 {
				return errCount
			}
		}
		return nil
	}
	if i := bytes.IndexByte(data, '_'); i >= 0 {
		data = data[:i]
	}
	for len(data) > 0 {
		if data[0] == '.' { // may stand between bytes
			data = data[1:]
			continue
		}
		if err := f.take(data, most); err != nil {
			return err
		}
		data = data[2:]
	}
	return nil
}

// spaced reads what candump prints for people after the interface's name: the
// identifier, [8], and the bytes; the ASCII column after an apostrophe is passed
// over. [16], or [08] with a leading zero, is CAN FD.
func (f *Frame) spaced(id, rest []byte) error {
	if err := f.identifier(id); err != nil {
		return err
	}
	length, rest := field(rest)
	if len(length) < 3 || length[0] != '[' || length[len(length)-1] != ']' {
		return errNoFrame
	}
	length = length[1 : len(length)-1]
	want, most := 0, 8
	for _, d := range length {
		if d < '0' || d > '9' || len(length) > 2 {
			return errCount
		}
		want = 10*want + int(d-'0')
	}
	if len(length) == 2 {
		f.Kind, most = FD, 64
	}
	for {
		var word []byte
		if word, rest = field(rest); len(word) == 0 || word[0] == '\'' || string(word) == "ERRORFRAME" {
			break
		}
		if string(word) == "remote" {
			if want > 8 {
				return errCount
			}
			f.Kind, f.Length = Remote, uint8(want)
			return nil
		}
		if len(word) != 2 {
			return errData
		}
		if err := f.take(word, most); err != nil {
			return err
		}
	}
	if int(f.Length) != want {
		return errCount
	}
	return nil
}

// identifier reads 3 digits of an 11-bit identifier or 8 of a 29-bit one, or of
// an error frame.
func (f *Frame) identifier(text []byte) error {
	if len(text) != 3 && len(text) != 8 {
		return errID
	}
	for _, c := range text {
		d := nibble(c)
		if d > 0xF {
			return errID
		}
		f.ID = f.ID<<4 | uint32(d)
	}
	switch {
	case len(text) == 3:
		if f.ID > mostID {
			return errID
		}
	case f.ID&^mostExtendedID == faultFlag:
		f.Kind, f.ID = Fault, f.ID&^faultFlag
	case f.ID > mostExtendedID:
		return errID
	default:
		f.Extended = true
	}
	return nil
}

// take adds a byte of data.
func (f *Frame) take(text []byte, most int) error {
	if len(text) < 2 || nibble(text[0]) > 0xF || nibble(text[1]) > 0xF {
		return errData
	}
	if int(f.Length) == most {
		return errTooMany
	}
	f.Data[f.Length] = nibble(text[0])<<4 | nibble(text[1])
	f.Length++
	return nil
}

// nibble is the value of a hexadecimal digit, or 0xFF.
func nibble(c byte) uint8 {
	switch {
	case c >= '0' && c <= '9':
		return c - '0'
	case c >= 'A' && c <= 'F':
		return c - 'A' + 10
	case c >= 'a' && c <= 'f':
		return c - 'a' + 10
	}
	return 0xFF
}

// seconds reads a number of seconds since 1970 with up to nine decimals.
func seconds(text []byte) (time.Time, error) {
	whole, fraction, _ := bytes.Cut(text, []byte("."))
	if bytes.ContainsAny(whole, "-:") {
		return time.Time{}, errZone
	}
	if len(whole) == 0 || len(whole) > 12 || len(fraction) > 9 {
		return time.Time{}, errTime
	}
	var s, ns int64
	for _, c := range whole {
		if c < '0' || c > '9' {
			return time.Time{}, errTime
		}
		s = 10*s + int64(c-'0')
	}
	for i := range 9 {
		c := byte('0')
		if i < len(fraction) {
			c = fraction[i]
		}
		if c < '0' || c > '9' {
			return time.Time{}, errTime
		}
		ns = 10*ns + int64(c-'0')
	}
	return time.Unix(s, ns).UTC(), nil
}

// field cuts the first word off a text.
func field(text []byte) (word, rest []byte) {
	text = bytes.TrimLeft(text, " \t")
	end := bytes.IndexAny(text, " \t")
	if end < 0 {
		return text, nil
	}
	return text[:end], text[end:]
}
