package xdr

import (
	"strconv"
	"strings"
	"time"
)

// clockLasts is how long a time that was sent tells what time it is.
const clockLasts = 10 * time.Second

// clock is that of a source which sends the time now and then.
type clock struct {
	said    time.Time
	arrived time.Time
}

// hear takes the time of a sentence that tells one.
func (c *clock) hear(s Sentence, arrived time.Time) {
	if at := TimeOf(s); !at.IsZero() {
		c.said, c.arrived = at, arrived
	}
}

// at is what the source's clock showed when something arrived; zero: not known.
func (c *clock) at(arrived time.Time) time.Time {
	if c.said.IsZero() || arrived.Sub(c.arrived).Abs() > clockLasts {
		return time.Time{}
	}
	return c.said.Add(arrived.Sub(c.arrived))
}

// TimeOf is the date and time that a ZDA or RMC sentence tells (fields of NMEA
// 0183, from memory; the tests compare with pynmea2); zero: none, or it is called
// not valid. ZDA has time, day, month, year; RMC time, validity (A), and in its
// ninth field the date as ddmmyy.
func TimeOf(s Sentence) time.Time {
	switch f := s.Fields; {
	case s.Type == "ZDA" && len(f) >= 4:
		return moment(f[0], f[1], f[2], f[3])
	case s.Type == "RMC" && len(f) >= 9 && f[1] == "A" && len(f[8]) == 6:
		century := "20"
		if f[8][4] >= '8' { // clocks that were never set begin at 1980
			century = "19"
		}
		return moment(f[0], f[8][:2], f[8][2:4], century+f[8][4:])
	}
	return time.Time{}
}

// moment puts a date together with a time hhmmss.ss; zero: there is none such.
func moment(clock, day, month, year string) time.Time {
	whole, fraction, _ := strings.Cut(clock, ".")
	if len(whole) != 6 || len(day) != 2 || len(month) != 2 || len(year) != 4 {
		return time.Time{}
	}
	at, err := time.Parse("20060102150405", year+month+day+whole)
	if err != nil {
		return time.Time{}
	}
	if fraction != "" {
		n, err := strconv.ParseUint(fraction, 10, 32)
		if err != nil || len(fraction) > 9 {
			return time.Time{}
		}
		d := time.Duration(n)
		for range 9 - len(fraction) {
			d *= 10
		}
		at = at.Add(d)
	}
	return at
}
