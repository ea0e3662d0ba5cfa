package sqlite

import (
	"context"
	"fmt"
	"slices"

	"gaugewright/internal/watch"
)

const (
	// batchReadings is how many readings a hot row has at most.
	batchReadings = 4096
	// heldReadings is how many readings the hot rows hold before they are sealed
	// whatever their lines have come to; each takes 40 bytes of memory. Where there
	// are many lines it is perLine of each, as small chunks and a roll-up for every
	// few readings would cost more than they save; and heldMost at the most. Twice as
	// many are the end: nothing is kept then before they are sealed.
	heldReadings = 1 << 17
	perLine      = 1024
	heldMost     = 1 << 21
)

// Keep keeps readings, all of them or none: they are on the disk when it gives no
// error. Each is rounded first (docs/history.md says how), and one that is the same as
// one that is kept already (tank, source, signal, what was said, time and value) is
// kept once. Readings older than what was let go of (see [Readings.Prune]) are let go
// of at once. No room and a failing disk are a [job.ErrFull].
func (s *Readings) Keep(readings []watch.Reading) error {
	if len(readings) == 0 {
		return nil
	}
	s.keeping.Lock()
	defer s.keeping.Unlock()
	ctx := context.Background()
	if s.lost {
		if err := s.reopened(ctx); err != nil {
			return err
		}
	}
	if s.sure && s.held >= 2*s.bound() {
		// Sealing has failed before; memory isn't to grow for that.
		if err := s.seal(ctx, everything); err != nil {
			return err
		}
	}
	err := s.keep(ctx, readings)
	if err != nil && s.renewed(ctx, err) {
		err = s.keep(ctx, readings)
	}
	if err != nil {
		return err
	}
	if s.held >= s.bound() {
		if err := s.seal(ctx, oldestRow); err != nil {
			s.log.Warn("readings are kept, but can't be sealed for now", "file", s.path, "error", err)
		}
	}
	return nil
}

// keep keeps readings in a transaction.
func (s *Readings) keep(ctx context.Context, readings []watch.Reading) error {
	if err := s.write(ctx, "the readings", func(t *txn) error {
		if err := s.current(ctx, t); err != nil {
			return err
		}
		return s.stage(ctx, t, readings)
	}); err != nil {
		s.sure, s.staging = false, staging{}
		return err
	}
	s.publish()
	return nil
}

func (s *Readings) bound() int {
	if s.most > 0 {
		return s.most
	}
	return max(heldReadings, min(perLine*len(s.lines), heldMost))
}

// staging is what a transaction is about to keep.
type staging struct {
	touched []*line // with records for the next hot row
	all     []*line // of this transaction; some may be there twice
	n       int     // records for the next row
	rows    []rowCount
	old     int // readings that were let go of at once
}

// stage puts readings into hot rows, but for those that are there already.
func (s *Readings) stage(ctx context.Context, t *txn, readings []watch.Reading) error {
	st := &s.staging
	*st = staging{touched: st.touched[:0], all: st.all[:0], rows: st.rows[:0]}
	gone := s.gone
	if gone > milli(s.now()) {
		gone = never // it was set while the clock was wrong, or the clock is now
	}
	var l *line
	for i := range readings {
		r := &readings[i]
		if l == nil || l.key.signal != r.Signal || l.key.tank != r.Tank || l.key.source != r.Source {
			var err error
			if l, err = s.line(ctx, t, lineKey{r.Tank, r.Source, r.Signal}); err != nil {
				return err
			}
		}
		k := rounded(r)
		if k.time <= l.newest {
			if k.time < gone {
				st.old++
				continue
			}
			if l.has(&k) {
				continue
			}
			if k.time <= l.latest {
				there, err := s.sealedHas(ctx, t, l, &k)
				if err != nil {
					return err
				}
				if there {
					continue
				}
			}
		} else if k.time < gone {
			st.old++
			continue
		}
		if len(l.hot) == l.staged {
			st.touched = append(st.touched, l)
		}
		l.put(k)
		if st.n++; st.n == batchReadings {
			if err := s.hotRow(ctx, t); err != nil {
				return err
			}
		}
	}
	if st.n == 0 {
		return nil
	}
	return s.hotRow(ctx, t)
}

// line gives a line, and writes down a new one.
func (s *Readings) line(ctx context.Context, t *txn, key lineKey) (*line, error) {
	if l := s.lines[key]; l != nil {
		return l, nil
	}
	r, err := t.exec(ctx, "INSERT INTO line (tank, source, signal) VALUES (?, ?, ?)", key.tank, key.source, key.signal)
	if err != nil {
		return nil, err
	}
	l := &line{key: key, latest: never, newest: never, added: true}
	if l.number, err = r.LastInsertId(); err != nil {
		return nil, err
	}
	s.lines[key] = l
	s.staging.all = append(s.staging.all, l)
	return l, nil
}

// hotRow writes a hot row of what is staged.
func (s *Readings) hotRow(ctx context.Context, t *txn) error {
	st := &s.staging
	runs := s.runs[:0]
	for _, l := range st.touched {
		runs = append(runs, run{l.number, l.hot[l.staged:]})
	}
	s.runs = runs[:0]
	s.body = appendHot(s.body[:0], runs)
	number := s.last + int64(len(st.rows)) + 1
	if _, err := t.exec(ctx, "INSERT INTO hot (number, body) VALUES (?, ?)", number, s.body); err != nil {
		return err
	}
	now := s.now()
	for _, l := range st.touched {
		if l.first == 0 {
			l.first, l.since = number, now
		}
		l.staged = len(l.hot)
	}
	clear(runs)
	st.all = append(st.all, st.touched...)
	st.rows = append(st.rows, rowCount{number, st.n})
	st.touched, st.n = st.touched[:0], 0
	return nil
}

// publish shows readers what has been kept.
func (s *Readings) publish() {
	st := &s.staging
	s.view.Lock()
	defer s.view.Unlock()
	for _, l := range st.all {
		if l.added {
			l.added = false
			s.tanks[l.key.tank] = append(s.tanks[l.key.tank], l)
		}
		l.shown = l.hot
	}
	for _, r := range st.rows {
		s.held += r.n
	}
	s.rows = append(s.rows, st.rows...)
	s.last += int64(len(st.rows))
	if st.old > 0 {
		s.log.Warn("readings came that are older than what was let go of, and were let go of too", "file", s.path, "readings", st.old)
	}
	clear(st.all)
}

// late remembers chunks that were looked into for readings that came late.
type late struct {
	chunks  map[int64][]record
	order   []int64
	ranges  map[lateRange][]int64
	columns columns
}

// lateRange is a stretch of a line's time in which chunks were looked for.
type lateRange struct{ line, block int64 }

const (
	lateBlock  = 6 * 3_600_000 // ms
	lateChunks = 8
	lateRanges = 1024
)

func (c *late) clear() { c.chunks, c.order, c.ranges = nil, nil, nil }

// sealedHas says whether a record is among those that are sealed.
func (s *Readings) sealedHas(ctx context.Context, t *txn, l *line, k *record) (bool, error) {
	at := lateRange{l.number, floorDiv(k.time, lateBlock)}
	numbers, known := s.late.ranges[at]
	if !known {
		var err error
		if numbers, err = chunksIn(ctx, t, l.number, at.block*lateBlock, (at.block+1)*lateBlock); err != nil {
			return false, err
		}
		if s.late.ranges == nil || len(s.late.ranges) >= lateRanges {
			s.late.ranges = map[lateRange][]int64{}
		}
		s.late.ranges[at] = numbers
	}
	for _, n := range numbers {
		list, err := s.lateChunk(ctx, t, n)
		if err != nil {
			return false, err
		}
		from, _ := slices.BinarySearchFunc(list, k.time, func(r record, at int64) int {
			switch {
			case r.time < at:
				return -1
			case r.time > at:
				return 1
			}
			return 0
		})
		for ; from < len(list) && list[from].time == k.time; from++ {
			if same(&list[from], k) {
				return true, nil
			}
		}
	}
	return false, nil
}

// lateChunk gives a chunk's records. Of one that is damaged there are none: a reading
// that may be there twice is better than one that can't be kept.
func (s *Readings) lateChunk(ctx context.Context, t *txn, number int64) ([]record, error) {
	if list, known := s.late.chunks[number]; known {
		return list, nil
	}
	var body []byte
	if err := t.row(ctx, "SELECT body FROM chunk WHERE number = ?", []any{number}, &body); err != nil {
		return nil, err
	}
	list, err := s.late.columns.records(nil, body)
	if isNewer(err) {
		return nil, s.partError(fmt.Sprintf("chunk %d", number), err)
	}
	if err != nil {
		s.log.Error("a chunk of readings is damaged", "file", s.path, "chunk", fmt.Sprint(number), "error", err)
		list = nil
	}
	if s.late.chunks == nil {
		s.late.chunks = map[int64][]record{}
	}
	if len(s.late.order) >= lateChunks {
		delete(s.late.chunks, s.late.order[0])
		s.late.order = s.late.order[1:]
	}
	s.late.chunks[number] = list
	s.late.order = append(s.late.order, number)
	return list, nil
}
