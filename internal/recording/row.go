package recording

import (
	"math"
	"strconv"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Row is one row of a history.
type Row struct {
	Time  int64   // when it was measured, ns since 1970-01-01 00:00 UTC
	Value float64 // in the unit of the history's column; +Inf for an open circuit
	// Pitch and Roll are in radians; NaN where the row doesn't have them.
	Pitch, Roll float64
	Line        int64 // on which the row starts, from 1
	Stamp       Stamp // how the time was written
	Said        watch.Said
	source      uint16
}

// Stamp is how a time was written, so that it can be written alike again.
type Stamp struct {
	zone   int16 // offset from UTC in minutes
	digits int8  // of the fraction
	form   form
}

type form uint8

// Ways to write a time.
const (
	zulu    form = iota // 2026-03-01T08:00:00Z
	offset              // 2026-03-01T08:00:00+00:00
	bare                // 2026-03-01T08:00:00, taken for UTC
	seconds             // 1772352000
	millis              // 1772352000000

	spaced form = 1 << 4 // a blank in the place of the T
	form0       = spaced - 1
)

// Text says whether the time was written as text, and not as a number.
func (s Stamp) Text() bool { f := s.form & form0; return f != seconds && f != millis }

// Append writes a time, in ns since 1970, in the manner of the stamp: with at
// least as many decimals, and more where the time has them.
func (s Stamp) Append(out []byte, ns int64) []byte {
	digits := int(s.digits)
	second, part := floorDiv(ns, 1e9)
	if !s.Text() {
		if s.form&form0 == millis {
			second, part = floorDiv(ns, 1e6)
			part *= 1e3
		}
		if second < 0 && part > 0 { // −0.5 is −1 and a half
			second, part = second+1, 1e9-part
			if second == 0 {
				out = append(out, '-')
			}
		}
		return appendPart(strconv.AppendInt(out, second, 10), part, digits)
	}
	local := second + int64(s.zone)*60
	days, clock := floorDiv(local, 86400)
	year, month, day := civil(days)
	out = appendPadded(out, year, 4)
	out = append(out, '-')
	out = appendPadded(out, month, 2)
	out = append(out, '-')
	out = appendPadded(out, day, 2)
	between := byte('T')
	if s.form&spaced != 0 {
		between = ' '
	}
	out = append(out, between)
	out = appendPadded(out, clock/3600, 2)
	out = append(out, ':')
	out = appendPadded(out, clock/60%60, 2)
	out = append(out, ':')
	out = appendPadded(out, clock%60, 2)
	out = appendPart(out, part, digits)
	switch s.form & form0 {
	case zulu:
		return append(out, 'Z')
	case bare:
		return out
	}
	sign, zone := byte('+'), int64(s.zone)
	if zone < 0 {
		sign, zone = '-', -zone
	}
	out = appendPadded(append(out, sign), zone/60, 2)
	return appendPadded(append(out, ':'), zone%60, 2)
}

// appendPart writes a part of a second, in ns, to at least so many decimals.
func appendPart(out []byte, ns int64, digits int) []byte {
	const most = 9
	if ns == 0 && digits == 0 {
		return out
	}
	start := len(out)
	out = appendPadded(append(out, '.'), ns, most)
	end := start + 1 + most
	for end > start+1+digits && out[end-1] == '0' {
		end--
	}
	for out = out[:end]; len(out) < start+1+digits; {
		out = append(out, '0')
	}
	return out
}

func appendPadded(out []byte, v int64, width int) []byte {
	var text [20]byte
	digits := strconv.AppendInt(text[:0], v, 10)
	for n := len(digits); n < width; n++ {
		out = append(out, '0')
	}
	return append(out, digits...)
}

func floorDiv(a, b int64) (quotient, rest int64) {
	quotient, rest = a/b, a%b
	if rest < 0 {
		quotient, rest = quotient-1, rest+b
	}
	return quotient, rest
}

// daysOf gives the days from 1970-01-01 to a day of the proleptic Gregorian
// calendar, civil the reverse. Both count from a 1st of March, so that the day
// that a leap year has more is its last (from memory).
func daysOf(year, month, day int64) int64 {
	month -= 3
	if month < 0 {
		month, year = month+12, year-1
	}
	century, inIt := floorDiv(year, 400)
	return century*146097 + inIt*365 + inIt/4 - inIt/100 + (153*month+2)/5 + day - 1 - 719468
}

func civil(days int64) (year, month, day int64) {
	century, inIt := floorDiv(days+719468, 146097)
	y := (inIt - inIt/1460 + inIt/36524 - inIt/146096) / 365
	ofYear := inIt - (365*y + y/4 - y/100)
	m := (5*ofYear + 2) / 153
	day = ofYear - (153*m+2)/5 + 1
	year, month = century*400+y, m+3
	if month > 12 {
		year, month = year+1, month-12
	}
	return year, month, day
}

// When gives the row's time.
func (r Row) When() time.Time { return time.Unix(0, r.Time).UTC() }

// tilt gives how the vehicle stood; nil where the row doesn't say it. One angle
// alone is taken with the other level.
func (r Row) tilt() *watch.Tilt {
	if r.Pitch != r.Pitch && r.Roll != r.Roll {
		return nil
	}
	t := watch.Tilt{Pitch: quantity.Radian(r.Pitch), Roll: quantity.Radian(r.Roll)}
	if math.IsNaN(r.Pitch) {
		t.Pitch = 0
	}
	if math.IsNaN(r.Roll) {
		t.Roll = 0
	}
	return &t
}
