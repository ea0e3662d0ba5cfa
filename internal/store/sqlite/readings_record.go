package sqlite

import (
	"math"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// record is a reading as it is kept: rounded, and in whole numbers. Which tank's it
// is, from which source and of which signal, is its line's.
type record struct {
	time        int64 // ms since 1970
	value       int64 // in steps of the signal, or the bits of a float64 where what has exact; 0 unless measured
	lag         int64 // from time to arrival, s, rounded down; where what has arrived
	pitch, roll int32 // in 0.1 mrad; where what has tilted
	what        byte
}

// Bits of record.what. Files have them.
const (
	saidBits     = 3 // 0 measured, 1 unavailable, 2 broken
	arrivalClock = 1 << (iota + 1)
	arrived
	tilted
	exact
	whatBits = saidBits | arrivalClock | arrived | tilted | exact
)

// mostSteps bounds what is rounded: a value of as many steps or more (7 GΩ) is kept
// exactly and not rolled up. The sum of 2^27 that are smaller fits into an int64:
// 1,500 a second for a day.
const mostSteps = 1 << 36

// tiltSteps are steps of 0.1 mrad in a radian.
const tiltSteps = 1e4

// Times are held to the years 1 to 9999, which any program can show.
var (
	firstMoment = time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC).UnixMilli()
	lastMoment  = time.Date(9999, 12, 31, 23, 59, 59, 999e6, time.UTC).UnixMilli()
)

// milli gives a time rounded to a millisecond.
func milli(t time.Time) int64 {
	s := t.Unix()
	if s < firstMoment/1000 || s > lastMoment/1000 {
		if s < 0 {
			return firstMoment
		}
		return lastMoment
	}
	return min(s*1000+(int64(t.Nanosecond())+500_000)/1_000_000, lastMoment)
}

// rounded gives a reading as it is kept.
func rounded(r *watch.Reading) record {
	k := record{time: milli(r.Time), what: byte(r.Said) & saidBits}
	if r.Clock == watch.ArrivalClock {
		k.what |= arrivalClock
	}
	if r.Said == watch.Measured {
		// A value of nothing measured means nothing, and isn't kept.
		if steps, ok := history.Steps(r.Signal, r.Value); ok && -mostSteps < steps && steps < mostSteps {
			k.value = steps
		} else {
			k.value, k.what = int64(math.Float64bits(r.Value)), k.what|exact
		}
	}
	if !r.Arrived.IsZero() {
		k.lag, k.what = floorDiv(milli(r.Arrived)-k.time, 1000), k.what|arrived
	}
	if r.Tilt != nil {
		pitch, roll := math.Round(float64(r.Tilt.Pitch)*tiltSteps), math.Round(float64(r.Tilt.Roll)*tiltSteps)
		if math.Abs(pitch) <= math.MaxInt32 && math.Abs(roll) <= math.MaxInt32 { // one that is no number is no tilt
			k.pitch, k.roll, k.what = int32(pitch), int32(roll), k.what|tilted
		}
	}
	return k
}

// reading gives what is kept as a reading of its line.
func (k *record) reading(l *lineKey) watch.Reading {
	r := watch.Reading{Tank: l.tank, Source: l.source, Signal: l.signal, Said: watch.Said(k.what & saidBits), Time: time.UnixMilli(k.time).UTC()}
	if k.what&arrivalClock != 0 {
		r.Clock = watch.ArrivalClock
	}
	switch {
	case k.what&exact != 0:
		r.Value = math.Float64frombits(uint64(k.value))
	case r.Said == watch.Measured:
		r.Value = history.Value(l.signal, k.value)
	}
	if k.what&arrived != 0 {
		r.Arrived = time.UnixMilli(k.time + k.lag*1000).UTC()
	}
	if k.what&tilted != 0 {
		r.Tilt = &watch.Tilt{Pitch: quantity.Radian(float64(k.pitch) / tiltSteps), Roll: quantity.Radian(float64(k.roll) / tiltSteps)}
	}
	return r
}

// counts says whether a record is rolled up: whether it is a value in steps.
func (k *record) counts() bool { return k.what&(saidBits|exact) == 0 }

// same says whether two records of one line are one that came twice.
func same(a, b *record) bool {
	return a.time == b.time && a.value == b.value && (a.what^b.what)&(saidBits|exact) == 0
}

// floorDiv divides and rounds down; b is above 0.
func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
