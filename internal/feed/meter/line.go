package meter

import (
	"strings"

	"gaugewright/internal/curve"
)

// lineOf reads one whole line of a device that sends a number per line, in the
// signal's shown unit (so milliamps are milliamps) unless it brings its unit.
// A comma is a decimal comma. A true minus sign is a minus.
func lineOf(text string, signal curve.Signal) answer {
	text = strings.TrimSpace(text)
	if rest, ok := strings.CutPrefix(text, "\u2212"); ok {
		text = "-" + strings.TrimSpace(rest)
	}
	v, unit, _, ok := scan(text, true)
	if unit != "" || !ok {
		if u, over := overloadText(text); over {
			return overloaded(u, signal)
		}
	}
	if !ok {
		return garbled(text)
	}
	return judge(v, unit, signal, 1)
}

// longestLine is the most bytes that a line may have: the reply to *IDN? may
// have 72 (IEEE 488.2, 10.14, from memory), values far fewer.
const longestLine = 256

// cutter cuts a stream of bytes, however it is split on its way, into lines.
// LF, CR and CR LF end a line, and empty lines are none.
type cutter struct {
	lines   []string
	part    []byte
	skip    bool // until the next end of a line
	toolong bool // the line being skipped was too long, and is told of
}

// overlong stands for a line that was too long: no number, however it is read.
const overlong = "(a line too long)"

func (c *cutter) push(bytes []byte) {
	for _, b := range bytes {
		switch {
		case b == '\n' || b == '\r':
			switch {
			case c.toolong:
				c.lines = append(c.lines, overlong)
			case !c.skip && strings.TrimSpace(string(c.part)) != "":
				c.lines = append(c.lines, string(c.part))
			}
			c.skip, c.toolong, c.part = false, false, c.part[:0]
		case c.skip:
		case len(c.part) == longestLine:
			c.skip, c.toolong, c.part = true, true, c.part[:0]
		default:
			c.part = append(c.part, b)
		}
	}
}

// next gives the oldest line that is whole.
func (c *cutter) next() (string, bool) {
	if len(c.lines) == 0 {
		return "", false
	}
	line := c.lines[0]
	c.lines = c.lines[1:]
	return line, true
}

// partial says whether a line has begun and not ended.
func (c *cutter) partial() bool { return len(c.part) > 0 || c.toolong }

// skipRest throws away the line that has begun, and the rest of it whenever
// that arrives.
func (c *cutter) skipRest() {
	c.skip = c.skip || c.partial()
	c.part, c.toolong = c.part[:0], false
}

// skipFirst drops everything up to the next end of a line.
func (c *cutter) skipFirst() { c.skip = true }
