package sqlite

import (
	"context"
	"fmt"
	"sync"
	"time"

	"gaugewright/internal/watch"
)

// watched is the layout of a file of readings. Its mark is "GgWt" in ASCII.
var watched = layout{kind: "file of readings", example: "watch.db", id: 0x47675774, steps: steps(migrationFiles, "migrations/readings")}

// Readings is an open file of readings. Its methods may be called from several
// goroutines.
type Readings struct {
	file
	keeping sync.Mutex
	packer  packer
}

// OpenReadings opens the file of readings at path and makes it where there is
// none, as [Open] does with a file of jobs. Of the options, Now and Log count.
func OpenReadings(ctx context.Context, path string, o Options) (*Readings, error) {
	s := new(Readings)
	if err := s.open(ctx, path, watched, o); err != nil {
		return nil, err
	}
	return s, nil
}

const (
	// batchReadings is how many readings a row has at most. One of a thousand has
	// some 20 KB.
	batchReadings = 4096
	// batchesRead is how many rows are looked for at a time.
	batchesRead = 64
)

// Keep keeps readings, all of them or none: they are on the disk when it gives
// no error. No room and a failing disk are a [job.ErrFull].
func (s *Readings) Keep(readings []watch.Reading) error {
	if len(readings) == 0 {
		return nil
	}
	s.keeping.Lock()
	defer s.keeping.Unlock()
	ctx := context.Background()
	return s.write(ctx, "the readings", func(t *txn) error {
		for rest := readings; len(rest) > 0; {
			some := rest[:min(len(rest), batchReadings)]
			rest = rest[len(some):]
			earliest, latest := some[0].Time.Unix(), some[0].Time.Unix()
			for i := range some {
				at := some[i].Time.Unix()
				earliest, latest = min(earliest, at), max(latest, at)
			}
			if _, err := t.exec(ctx, "INSERT INTO batch (earliest, latest, readings, body) VALUES (?, ?, ?, ?)",
				earliest, latest, len(some), s.packer.pack(some)); err != nil {
				return err
			}
		}
		return nil
	})
}

// Each gives the readings of a tank, or of all where it is "", from one time up
// to but without another, in the order in which they were kept, which isn't
// quite that of their times. A time that is zero is no bound. It ends with the
// first error that f gives, and gives that.
func (s *Readings) Each(ctx context.Context, from, to time.Time, tank string, f func(watch.Reading) error) error {
	const what = "the readings"
	earliest, latest := int64(-1<<63), int64(1<<63-1)
	if !from.IsZero() {
		earliest = from.Unix()
	}
	if !to.IsZero() {
		latest = to.Unix()
	}
	type row struct {
		number int64
		body   []byte
	}
	last := int64(-1 << 63)
	for {
		// So many at a time, and none while f is at work: as long as a reader is
		// at it, the -wal file grows.
		var list []row
		rows, err := s.readers.QueryContext(ctx, "SELECT number, body FROM batch WHERE number > ? AND latest >= ? AND earliest <= ? ORDER BY number LIMIT ?",
			last, earliest, latest, batchesRead)
		if err != nil {
			return s.readError(what, err)
		}
		for rows.Next() {
			var r row
			if err := rows.Scan(&r.number, &r.body); err != nil {
				rows.Close()
				return s.readError(what, err)
			}
			list = append(list, r)
		}
		if err := rows.Err(); err != nil {
			return s.readError(what, err)
		}
		for _, r := range list {
			readings, err := unpackReadings(r.body)
			if err != nil {
				return s.damaged(fmt.Sprintf("batch %d: %v", r.number, err))
			}
			for _, one := range readings {
				if tank != "" && one.Tank != tank || one.Time.Before(from) || !to.IsZero() && !one.Time.Before(to) {
					continue
				}
				if err := f(one); err != nil {
					return err
				}
			}
			last = r.number
		}
		if len(list) < batchesRead {
			return nil
		}
	}
}

// Recent gives the readings since a time, in the order in which they were kept:
// what a watch begins with after a restart.
func (s *Readings) Recent(ctx context.Context, since time.Time) ([]watch.Reading, error) {
	var list []watch.Reading
	err := s.Each(ctx, since, time.Time{}, "", func(r watch.Reading) error {
		list = append(list, r)
		return nil
	})
	return list, err
}

// Count gives how many readings there are.
func (s *Readings) Count(ctx context.Context) (n int64, err error) {
	err = s.row(ctx, "the number of readings", "SELECT coalesce(sum(readings), 0) FROM batch", nil, &n)
	return n, err
}

// Sound looks through the whole file, every reading of it included, and gives an
// error that says what is wrong with it, nil where nothing is.
func (s *Readings) Sound(ctx context.Context) error {
	var found string
	if err := s.row(ctx, "the file", "PRAGMA integrity_check(1)", nil, &found); err != nil {
		return err
	}
	if found != "ok" {
		return s.damaged(found)
	}
	return s.Each(ctx, time.Time{}, time.Time{}, "", func(watch.Reading) error { return nil })
}
