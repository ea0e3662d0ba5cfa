package outlook

import (
	"math"
	"time"
)

// day is what was seen of one day of the zone.
type day struct {
	n      int32   // days from 1970-01-01 by the calendar
	amount float64 // drawn
	u2     float64 // variance of what had been drawn since the run began, at the end of what was seen of the day
	slip   float64 // variance that the beginnings and ends of runs within it add
	// from and to are between what parts of the day it was seen, by the clock on the
	// wall, 0..1, and lost is what is missing between them.
	from, to, lost float64
}

// seen is how much of the day was seen, 0..1.
func (d *day) seen() float64 { return max(0, d.to-d.from-d.lost) }

// whole says that the day was seen from its beginning to its end. Ten minutes may be
// missing at each end, and an hour within (a refill).
func (d *day) whole() bool { return d.from < 0.007 && d.to > 0.993 && d.lost < 0.042 }

// clock is a day's number, beginning and end.
type clock struct {
	n          int32
	begin, end int64 // Unix seconds
}

// civil is the number of a calendar day.
func civil(t time.Time) int32 {
	y, mo, d := t.Date()
	return int32(time.Date(y, mo, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// beginning is when a day of the zone begins. Where clocks are put forward at
// midnight it is the first moment of the day.
func beginning(n int32, zone *time.Location) time.Time {
	y, mo, d := time.Unix(int64(n)*86400, 0).UTC().Date()
	t := time.Date(y, mo, d, 0, 0, 0, 0, zone)
	if civil(t) != n { // midnight doesn't exist, and it was taken an hour early
		t = t.Add(time.Hour)
	}
	return t
}

// within finds the day of a moment.
func (m *Model) within(t time.Time) clock {
	s := t.Unix()
	if m.at.end > 0 && s >= m.at.begin && s < m.at.end {
		return m.at
	}
	n := civil(t.In(m.zone))
	m.at = clock{n, beginning(n, m.zone).Unix(), beginning(n+1, m.zone).Unix()}
	return m.at
}

// wall is what part of its day has gone at a moment, by the clock on the wall.
func (m *Model) wall(t time.Time, c clock) float64 {
	if c.end-c.begin == 86400 {
		return (float64(t.Unix()-c.begin) + float64(t.Nanosecond())*1e-9) / 86400
	}
	h, mi, s := t.In(m.zone).Clock()
	return (float64(h)*3600 + float64(mi)*60 + float64(s)) / 86400
}

// Days gives the use of the last days, at most so many, by rising day. Days of which
// nothing was seen are left out.
func (m *Model) Days(most int) []Day {
	from := max(0, len(m.days)-max(0, most))
	out := make([]Day, 0, len(m.days)-from)
	for i := from; i < len(m.days); i++ {
		d := &m.days[i]
		out = append(out, Day{
			Day:    beginning(d.n, m.zone),
			Amount: max(0, d.amount),
			U:      math.Sqrt(m.doubt(i)),
			Whole:  d.whole(),
		})
	}
	return out
}

// doubt is the variance of a day's amount: the doubts of the levels at its two ends,
// and of those where runs began and ended within it.
func (m *Model) doubt(i int) float64 {
	v := m.days[i].u2 + m.days[i].slip
	if i > 0 && m.days[i-1].n == m.days[i].n-1 && m.days[i].from == 0 {
		v += m.days[i-1].u2
	}
	return v
}
