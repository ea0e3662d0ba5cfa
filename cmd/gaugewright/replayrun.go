package main

import (
	"bufio"
	"errors"
	"io"
	"time"

	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

// replay is one history on its way through the watch.
type replay struct {
	v       *replayVerb
	history *recording.History
	watch   *watch.Watch
	stale   time.Duration
	about   aboutTank
	zone    *time.Location
	out     *bufio.Writer
	follow  *follower // nil: the levels themselves are told

	taken int64
	line  int64 // of the row taken last
	last  watch.Level
	at    int64 // the time of it, ns
	stamp recording.Stamp

	// With --every: the level that waits for its tick.
	waits       bool
	waiting     watch.Level
	waitingAt   int64
	waitingLike recording.Stamp
	status      watch.Status // of the level written last
	any         bool

	text    []byte
	summary summary
}

// run takes every row. Where the reading is interrupted, those are taken that came
// until then.
func (r *replay) run() error {
	r.summary.begin()
	if r.follow != nil {
		r.follow.begin()
		defer r.follow.end()
	}
	ahead := readAhead(r.history, r.about.name)
	for {
		b := <-ahead.full
		for i := range b.rows {
			r.row(&b.rows[i])
		}
		switch {
		case errors.Is(b.err, io.EOF):
			r.finish()
			return nil
		case b.err != nil:
			return b.err
		}
		ahead.empty <- b
	}
}

// row takes one row, and before it tells that nothing came for too long, where
// that was so.
func (r *replay) row(row *aheadRow) {
	if r.taken > 0 && row.time-r.at > int64(r.stale) {
		l, at := r.gap()
		r.level(&l, at, r.stamp, false)
	}
	l := r.watch.Take(row.reading)
	if !l.Time.Equal(row.reading.Time) {
		return // it doesn't count
	}
	r.taken++
	r.line, r.last, r.at, r.stamp = row.line, l, row.time, row.stamp
	r.level(&r.last, row.time, row.stamp, true)
}

// level writes a level, at once or when its tick has come.
func (r *replay) level(l *watch.Level, at int64, like recording.Stamp, reading bool) {
	r.summary.add(l, at, reading)
	if r.follow != nil {
		r.follow.take(l)
		return
	}
	every := int64(r.v.Every)
	switch {
	case every == 0:
		r.write(l, at, like)
		return
	case r.waits && floor(at, every) != floor(r.waitingAt, every):
		// What stands on a tick itself is the last at it.
		if at%every == 0 && floor(at, every) == floor(r.waitingAt, every)+1 {
			r.waits = false
			r.write(l, at, like)
			return
		}
		r.write(&r.waiting, r.waitingAt, r.waitingLike)
	}
	r.waits = true
	r.waiting, r.waitingAt, r.waitingLike = *l, at, like
	if !r.any || l.Status != r.status || at%every == 0 {
		r.waits = false
		r.write(l, at, like)
	}
}

// finish writes what still waits.
func (r *replay) finish() {
	if r.waits {
		r.waits = false
		r.write(&r.waiting, r.waitingAt, r.waitingLike)
	}
}

func (r *replay) write(l *watch.Level, at int64, like recording.Stamp) {
	r.any, r.status = true, l.Status
	switch {
	case r.v.JSON:
		r.text = appendLevel(r.text[:0], *l, at, like, r.zone)
	case r.v.Every > 0:
		r.text = append(tableLine(r.text[:0], *l, at, r.zone), '\n')
	default:
		return
	}
	_, _ = r.out.Write(r.text) // a failure stays, and Flush tells it
}

func floor(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
