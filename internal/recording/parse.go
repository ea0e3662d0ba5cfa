package recording

import (
	"bytes"
	"math"
	"strings"

	"gaugewright/internal/watch"
	"gaugewright/internal/wording"
)

// parse understands one row, or counts why it is none.
func (r *Reader) parse(line []byte, at int64, row *Row) bool {
	h := &r.header
	*row = Row{Line: at, Pitch: math.NaN(), Roll: math.NaN()}
	var timed, valued bool
	rest, more := line, true
	for i := 0; more; i++ {
		if i > h.last {
			break
		}
		var cell []byte
		cell, rest, more = cut(rest, h.separator)
		switch i {
		case h.time:
			row.Time, row.Stamp, timed = moment(cell)
			if !timed {
				why := "a time that can't be read"
				if len(cell) == 0 {
					why = "no time"
				}
				r.unusable(why, at, line)
				return false
			}
		case h.value:
			if row.Value, valued = number(cell); !valued {
				open, none := noNumber(cell)
				switch {
				case open:
					row.Value = math.Inf(1)
				case none:
					row.Value, row.Said = math.NaN(), watch.Unavailable
				default:
					r.unusable("a value that is no number", at, line)
					return false
				}
				valued = true
			}
		case h.pitch:
			row.Pitch = angle(cell)
		case h.roll:
			row.Roll = angle(cell)
		case h.source:
			row.source = r.sourceOf(cell)
		case h.tank:
			if r.tank == nil {
				r.tank = bytes.Clone(cell)
			}
			if !bytes.Equal(cell, r.tank) {
				r.other++
				return false
			}
		}
	}
	if !timed || !valued {
		r.unusable("a row that ends before its time and value", at, line)
		return false
	}
	return true
}

// angle gives degrees as radians; NaN where there are none, or they can't be.
func angle(cell []byte) float64 {
	v, ok := number(cell)
	if !ok || !(math.Abs(v) <= 180) {
		return math.NaN()
	}
	return v * math.Pi / 180
}

// mostSources is how many names of sources are kept apart.
const mostSources = 1000

func (r *Reader) sourceOf(cell []byte) uint16 {
	if i, ok := r.known[string(cell)]; ok {
		return i
	}
	if len(r.sources) >= mostSources {
		return 0
	}
	name := strings.ToValidUTF8(wording.Clip(string(cell), 100), "?")
	r.sources = append(r.sources, name)
	i := uint16(len(r.sources) - 1)
	r.known[string(cell)] = i
	return i
}
