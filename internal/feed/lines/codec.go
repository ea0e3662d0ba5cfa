package lines

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/watch"
)

// longestLine is the most bytes that a line may have.
const longestLine = 4096

// cutter cuts a stream of bytes, however it is split on its way, into lines.
// LF, CR and CR LF end a line.
type cutter struct {
	part []byte
	skip bool // until the next end of a line
}

// push takes bytes and gives every line that is whole to each. A line that is
// too long is given once to long, as far as it goes, and passed over. Neither may
// keep the bytes.
func (c *cutter) push(bytes []byte, each, long func(line []byte)) {
	for _, b := range bytes {
		switch {
		case b == '\n' || b == '\r':
			if !c.skip {
				each(c.part)
			}
			c.skip, c.part = false, c.part[:0]
		case c.skip:
		case len(c.part) == longestLine:
			long(c.part)
			c.skip, c.part = true, c.part[:0]
		default:
			c.part = append(c.part, b)
		}
	}
}

// partial says whether a line has begun and not ended.
func (c *cutter) partial() bool { return len(c.part) > 0 || c.skip }

// layout is how a line is to be read. Exactly one of tank, columns and keys is
// set.
type layout struct {
	tank      string
	columns   []string // tanks, from the left; "-" is a column that nobody wants
	keys      map[string]string
	separator string // between columns or pairs; " " is any number of blanks and tabs
	between   string // between a name and its number
	comma     bool   // the decimal sign is a comma
	signal    watch.Signal
}

// value is what a line says of one tank.
type value struct {
	tank string
	said watch.Said
	v    float64
}

// Few fixed words for what can't be read.
const (
	notText    = "not text"
	notNumber  = "not a number"
	otherUnit  = "another unit"
	tooLarge   = "too large"
	tooFew     = "too few columns"
	tooMany    = "too many columns"
	halfPair   = "a name without a number"
	noName     = "no known name"
	tooLong    = "a line too long"
	halfLine   = "half a line"
	remarkSign = "#"
)

// read reads a line. Empty lines and those that begin with # say nothing. What
// can't be read is given to refuse; the rest of the line counts all the same.
func (l *layout) read(line []byte, into []value, refuse func(why string)) []value {
	text := strings.TrimSpace(string(line))
	switch {
	case text == "" || strings.HasPrefix(text, remarkSign):
		return into
	case !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) && r != '\t' }):
		refuse(notText)
		return into
	}
	one := func(tank, text string) {
		v, said, why := l.number(text)
		if why != "" {
			refuse(why)
			return
		}
		into = append(into, value{tank, said, v})
	}
	switch {
	case l.tank != "":
		one(l.tank, text)
	case l.columns != nil:
		fields := l.split(text)
		switch {
		case len(fields) < len(l.columns):
			refuse(tooFew)
			return into
		case len(fields) > len(l.columns):
			refuse(tooMany)
			return into
		}
		for n, tank := range l.columns {
			if tank != "-" {
				one(tank, fields[n])
			}
		}
	default:
		known := false
		fields := l.split(text)
		for n := 0; n < len(fields); n++ {
			name, number, whole := strings.Cut(fields[n], l.between)
			if l.between == l.separator {
				name = fields[n]
				if n++; n < len(fields) {
					number, whole = fields[n], true
				}
			}
			tank, is := l.keys[strings.TrimSpace(name)]
			known = known || is
			switch {
			case is && whole:
				one(tank, number)
			case is:
				refuse(halfPair)
			}
		}
		if !known {
			refuse(noName)
		}
	}
	return into
}

func (l *layout) split(text string) []string {
	if l.separator == " " {
		return strings.Fields(text)
	}
	return strings.Split(text, l.separator)
}
