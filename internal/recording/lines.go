package recording

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// Limits of one line, or of one row of several lines in quotes.
const (
	longestLine = 64 << 10
	block       = 256 << 10
)

// lines gives a file line by line without holding more of it than a block.
type lines struct {
	from   io.Reader
	buf    []byte
	at     int // of what wasn't given yet
	err    error
	number int64 // of the line given last
	end    byte  // '\n', or '\r' for the text of an old Macintosh
}

// newLines begins a file, in UTF-8 or in UTF-16 with its mark. Other encodings
// have the same digits and separators, so they do too.
func newLines(from io.Reader) *lines {
	l := &lines{from: from, buf: make([]byte, 0, block), end: '\n'}
	for len(l.buf) < 3 && l.err == nil {
		l.fill()
	}
	switch {
	case bytes.HasPrefix(l.buf, []byte{0xEF, 0xBB, 0xBF}):
		l.at = 3
	case bytes.HasPrefix(l.buf, []byte{0xFF, 0xFE}), bytes.HasPrefix(l.buf, []byte{0xFE, 0xFF}):
		wide := &fromUTF16{from: io.MultiReader(bytes.NewReader(bytes.Clone(l.buf[2:])), &rest{l.from, l.err}), big: l.buf[0] == 0xFE}
		l.from, l.err, l.buf = wide, nil, l.buf[:0]
	}
	l.end = l.lineEnd()
	return l
}

// lineEnd tells by the first line how lines end: a CR with no LF behind it is an
// end by itself.
func (l *lines) lineEnd() byte {
	for {
		i := bytes.IndexAny(l.buf, "\r\n")
		if i >= 0 && l.buf[i] == '\n' {
			return '\n'
		}
		if i >= 0 && i+1 < len(l.buf) {
			if l.buf[i+1] == '\n' {
				return '\n'
			}
			return '\r'
		}
		if l.err != nil || len(l.buf) == cap(l.buf) {
			return '\n'
		}
		l.fill()
	}
}

// rest is what is left of a reader that may have ended already.
type rest struct {
	from io.Reader
	err  error
}

func (r *rest) Read(p []byte) (int, error) {
	if r.err != nil {
		return 0, r.err
	}
	return r.from.Read(p)
}

// fill moves what wasn't given yet to the front and reads on behind it.
func (l *lines) fill() {
	n := copy(l.buf[:cap(l.buf)], l.buf[l.at:])
	l.buf, l.at = l.buf[:n], 0
	for tries := 0; n < cap(l.buf) && l.err == nil && len(l.buf) == n; tries++ {
		m, err := l.from.Read(l.buf[n:cap(l.buf)])
		l.buf = l.buf[:n+m]
		l.err = err
		if m == 0 && tries > 100 {
			l.err = io.ErrNoProgress
		}
	}
}

// next gives the next line without its end; it stays as it is until the line
// after it is asked for. A line that is too long is given as its first part,
// with long. At the end of the file it gives io.EOF.
func (l *lines) next() (line []byte, long bool, err error) {
	looked := 0
	for {
		if i := bytes.IndexByte(l.buf[l.at+looked:], l.end); i >= 0 {
			line = l.buf[l.at : l.at+looked+i]
			l.at += looked + i + 1
			break
		}
		looked = len(l.buf) - l.at
		if looked > longestLine {
			line, long = l.buf[l.at:l.at+longestLine], true
			line = bytes.Clone(line)
			l.skip()
			break
		}
		if l.err != nil {
			if looked == 0 || l.err != io.EOF {
				return nil, false, l.err
			}
			line = l.buf[l.at:]
			l.at = len(l.buf)
			break
		}
		l.fill()
	}
	l.number++
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	return line, long, nil
}

// skip passes over the rest of a line.
func (l *lines) skip() {
	for {
		if i := bytes.IndexByte(l.buf[l.at:], l.end); i >= 0 {
			l.at += i + 1
			return
		}
		l.at = len(l.buf)
		if l.err != nil {
			return
		}
		l.fill()
	}
}

// fromUTF16 turns UTF-16 into UTF-8 as it is read. Half a pair becomes the
// replacement character; it can only stand in a column that isn't a number.
type fromUTF16 struct {
	from  io.Reader
	big   bool
	raw   [8 << 10]byte
	have  int
	units []uint16
	out   []byte
	err   error
}

func (f *fromUTF16) Read(p []byte) (int, error) {
	for len(f.out) == 0 {
		if f.err != nil {
			return 0, f.err
		}
		n, err := f.from.Read(f.raw[f.have:])
		f.have += n
		f.err = err
		if err == io.EOF && f.have%2 == 1 {
			f.err = fmt.Errorf("UTF-16 text of an odd number of bytes, so its end is missing; save the file again as CSV in UTF-8")
		}
		f.turn()
	}
	n := copy(p, f.out)
	f.out = f.out[n:]
	return n, nil
}

// turn turns the whole units that are there; the first half of a pair waits.
func (f *fromUTF16) turn() {
	f.units = f.units[:0]
	i := 0
	for ; i+1 < f.have; i += 2 {
		low, high := f.raw[i], f.raw[i+1]
		if f.big {
			low, high = high, low
		}
		f.units = append(f.units, uint16(low)|uint16(high)<<8)
	}
	if n := len(f.units); n > 0 && f.err == nil && f.units[n-1]>>10 == 0xD800>>10 {
		f.units = f.units[:n-1]
		i -= 2
	}
	f.have = copy(f.raw[:], f.raw[i:f.have])
	f.out = f.out[:0]
	for _, r := range utf16.Decode(f.units) {
		f.out = utf8.AppendRune(f.out, r)
	}
}
