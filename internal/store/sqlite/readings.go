package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"sync"
	"time"

	"gaugewright/internal/watch"
)

// watched is the layout of a file of readings. Its mark is "GgWt" in ASCII.
//
// Its pages are of 1 KiB: a commit writes one page to the -wal file, and the kernel
// counts the 4 KiB pages of its own that this touches: mostly one, where a page of
// 4 KiB and its frame's 24 bytes touch two. The -wal file is folded into the main one
// when it has 4 MiB, and is used again from its beginning, so that no room has to be
// found on the disk. There is no auto_vacuum: it changes further pages, and pages that
// are free are used again.
var watched = layout{
	kind: "file of readings", example: "watch.db", id: 0x47675774, steps: steps(migrationFiles, "migrations/readings"),
	pragmas: "&_pragma=page_size(1024)&_pragma=wal_autocheckpoint(4096)&_pragma=journal_size_limit(8388608)",
}

// Readings is an open file of readings: history, as [history.Past] asks for it, and
// what a watch keeps. Its methods may be called from several goroutines.
type Readings struct {
	file
	options Options
	most    int // readings in hot rows; 0: as usual

	// What the writer knows of the file, and room that it uses again.
	keeping sync.Mutex
	sure    bool  // it is so
	version int64 // PRAGMA data_version when it was
	lines   map[lineKey]*line
	rows    []rowCount
	held    int             // readings in these rows
	last    int64           // number of the last hot row there ever was
	gone    int64           // readings from before are let go of
	lost    bool            // the file is closed because it was damaged, and is to be opened anew
	saved   []watch.Reading // of the damaged one
	staging staging
	late    late
	runs    []run
	body    []byte
	sorted  []record
	roller  roller

	// What readers see besides what is in the file's chunks and roll-ups.
	view    sync.RWMutex
	tanks   map[string][]*line
	repairs []string
}

// OpenReadings opens the file of readings at path and makes it where there is
// none, as [Open] does with a file of jobs. Of the options, Now, Log and Backups count.
//
// A file that is damaged is put aside, and a new one is begun; see [Readings.Repairs].
// One of another program, or of a newer version of this one, is refused.
func OpenReadings(ctx context.Context, path string, o Options) (*Readings, error) {
	s := &Readings{options: o, tanks: map[string][]*line{}}
	err := s.openOnce(ctx, path)
	if found := s.damage(err); found != "" {
		if err = s.putAside(found); err != nil {
			return nil, err
		}
		again := &Readings{options: o, tanks: map[string][]*line{}, repairs: s.repairs}
		s, err = again, again.openOnce(ctx, path)
	}
	if err != nil {
		return nil, err
	}
	return s, nil
}

func (s *Readings) openOnce(ctx context.Context, path string) error {
	err := s.open(ctx, path, watched, s.options)
	if err == nil {
		if err = s.begin(ctx); err != nil {
			s.Close()
		}
	}
	return err
}

// begin reads what isn't sealed, and brings readings of the layout before forward.
func (s *Readings) begin(ctx context.Context) error {
	s.keeping.Lock()
	defer s.keeping.Unlock()
	if err := s.write(ctx, "nothing", func(t *txn) error {
		if err := s.current(ctx, t); err != nil {
			return err
		}
		return s.readable(ctx, t)
	}); err != nil {
		return err
	}
	return s.bringForward(ctx)
}

// Count gives how many readings there are.
func (s *Readings) Count(ctx context.Context) (n int64, err error) {
	s.view.RLock()
	defer s.view.RUnlock()
	err = s.file.row(ctx, "the number of readings", "SELECT coalesce(sum(readings), 0) FROM chunk", nil, &n)
	for _, lines := range s.tanks {
		for _, l := range lines {
			n += int64(len(l.shown))
		}
	}
	return n, err
}

// Unsealed gives how many readings there are that aren't sealed yet, and the time of the
// latest reading of all, zero where there is none. It looks at no disk.
func (s *Readings) Unsealed() (n int, latest time.Time) {
	s.view.RLock()
	defer s.view.RUnlock()
	last := int64(never)
	for _, lines := range s.tanks {
		for _, l := range lines {
			n, last = n+len(l.shown), max(last, l.latest)
			for i := range l.shown {
				last = max(last, l.shown[i].time)
			}
		}
	}
	if last == never {
		return n, time.Time{}
	}
	return n, time.UnixMilli(last).UTC()
}

// Sound looks through the whole file, every reading of it and every roll-up included,
// and gives an error that says what is wrong with it, nil where nothing is.
func (s *Readings) Sound(ctx context.Context) error {
	var found string
	if err := s.row(ctx, "the file", "PRAGMA integrity_check(1)", nil, &found); err != nil {
		return err
	}
	if found != "ok" {
		return s.checkFailed(found)
	}
	if err := s.Each(ctx, time.Time{}, time.Time{}, "", func(watch.Reading) error { return nil }); err != nil {
		return err
	}
	var r roller
	for _, q := range []struct {
		what, query string
		check       func(block int64, body []byte) error
	}{
		{"hot row", "SELECT number, 0, 0, body FROM hot", func(_ int64, body []byte) error { return eachRun(body, func(run) {}) }},
		{"roll-ups", "SELECT line, step, block, body FROM roll", func(block int64, body []byte) error { _, err := r.rolled(nil, block, body); return err }},
	} {
		if err := s.checkRows(ctx, q.what, q.query, q.check); err != nil {
			return err
		}
	}
	return nil
}

func (s *Readings) checkRows(ctx context.Context, what, query string, check func(int64, []byte) error) error {
	rows, err := s.reading().QueryContext(ctx, query)
	if err != nil {
		return s.readError("the file", err)
	}
	defer rows.Close()
	for rows.Next() {
		var of, step, block int64
		var body sql.RawBytes
		if err := rows.Scan(&of, &step, &block, &body); err != nil {
			return s.readError("the file", err)
		}
		if err := check(block, body); err != nil {
			return s.partError(fmt.Sprintf("%s %d/%d/%d", what, of, step, block), err)
		}
	}
	if err := rows.Err(); err != nil {
		return s.readError("the file", err)
	}
	return nil
}
