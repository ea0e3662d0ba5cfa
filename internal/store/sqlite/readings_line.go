package sqlite

import (
	"context"
	"fmt"
	"math"
	"sort"
	"time"

	"gaugewright/internal/watch"
)

// lineKey says which line it is.
type lineKey struct {
	tank, source string
	signal       watch.Signal
}

// line is a run of readings of one source, with those that aren't sealed yet.
type line struct {
	number int64
	key    lineKey
	sealed int64 // up to this hot row its readings are in chunks
	latest int64 // time of the latest that was ever sealed

	// What the writer knows, under Readings.keeping. It only ever appends to hot.
	hot     []record
	newest  int64 // time of the latest of all
	ordered bool  // hot is in the order of time
	first   int64 // the hot row with the first of hot
	since   time.Time
	staged  int  // so many of hot are on disk, or in a row that is to be
	added   bool // it is in the file only once this commit is

	// What readers see, under Readings.view: a part of hot.
	shown []record
}

const never = math.MinInt64

// put appends a record.
func (l *line) put(k record) {
	if n := len(l.hot); n == 0 {
		l.ordered = true
	} else if l.ordered && k.time < l.hot[n-1].time {
		l.ordered = false
	}
	l.hot = append(l.hot, k)
	l.newest = max(l.newest, k.time)
}

// has says whether a record is among those that aren't sealed.
func (l *line) has(k *record) bool {
	list := l.hot
	if l.ordered {
		from := sort.Search(len(list), func(i int) bool { return list[i].time >= k.time })
		for i := from; i < len(list) && list[i].time == k.time; i++ {
			if same(&list[i], k) {
				return true
			}
		}
		return false
	}
	for i := range list {
		if same(&list[i], k) {
			return true
		}
	}
	return false
}

// rowCount is how many readings a hot row has.
type rowCount struct {
	number int64
	n      int
}

// current sees to it that what the writer knows is what is in the file: another
// process may have written to it, and after a failure it isn't sure what is there.
func (s *Readings) current(ctx context.Context, t *txn) error {
	var version int64
	if err := t.row(ctx, "PRAGMA data_version", nil, &version); err != nil {
		return err
	}
	if s.sure && version == s.version {
		return nil
	}
	s.sure = false
	if err := s.load(ctx, t); err != nil {
		return err
	}
	s.sure, s.version = true, version
	return nil
}

// load reads the lines and the hot rows.
func (s *Readings) load(ctx context.Context, t *txn) error {
	lines, byNumber := map[lineKey]*line{}, map[int64]*line{}
	rows, err := t.conn.QueryContext(ctx, "SELECT number, tank, source, signal, sealed, latest FROM line")
	if err != nil {
		return t.s.readError(t.what, err)
	}
	defer rows.Close()
	for rows.Next() {
		l := &line{newest: never}
		var latest *int64
		if err := rows.Scan(&l.number, &l.key.tank, &l.key.source, &l.key.signal, &l.sealed, &latest); err != nil {
			return t.s.readError(t.what, err)
		}
		if l.latest = never; latest != nil {
			l.latest = *latest
		}
		l.newest = l.latest
		lines[l.key], byNumber[l.number] = l, l
	}
	if err := rows.Err(); err != nil {
		return t.s.readError(t.what, err)
	}
	var counts []rowCount
	var bad []int64
	held, now, last := 0, s.now(), int64(0)
	for _, l := range lines {
		last = max(last, l.sealed) // a number isn't used again
	}
	if err := eachHot(ctx, t, func(number int64, body []byte) error {
		c := rowCount{number: number}
		err := eachRun(body, func(r run) {
			c.n += len(r.records)
			l := byNumber[r.line]
			if l == nil || number <= l.sealed {
				return
			}
			if len(l.hot) == 0 {
				l.first, l.since = number, now
			}
			for i := range r.records {
				l.put(r.records[i])
			}
		})
		if isNewer(err) {
			return s.partError(fmt.Sprintf("hot row %d", number), err)
		}
		if err != nil {
			// What was before the damage in it is there; the rest is put aside.
			bad = append(bad, number)
			s.log.Error("a row of readings is damaged", "file", s.path, "row", number, "error", err)
			return nil
		}
		counts, held, last = append(counts, c), held+c.n, max(last, number)
		return nil
	}); err != nil {
		return err
	}
	for _, number := range bad {
		for _, query := range []string{"INSERT OR IGNORE INTO aside (what, number, body) SELECT 'hot', number, body FROM hot WHERE number = ?", "DELETE FROM hot WHERE number = ?"} {
			if _, err := t.exec(ctx, query, number); err != nil {
				return err
			}
		}
	}
	var gone *int64
	if err := t.row(ctx, "SELECT max(value) FROM mark WHERE name = 'gone'", nil, &gone); err != nil {
		return err
	}
	s.lines, s.rows, s.held, s.last, s.gone = lines, counts, held, last, never
	if gone != nil {
		s.gone = *gone
	}
	s.late.clear()
	s.view.Lock()
	defer s.view.Unlock()
	if len(bad) > 0 {
		s.repairs = append(s.repairs, fmt.Sprintf("Some of the readings that were kept last are damaged and were put aside. Commits left out: %d.", len(bad)))
	}
	s.tanks = map[string][]*line{}
	for _, l := range lines {
		l.staged, l.shown = len(l.hot), l.hot
		s.tanks[l.key.tank] = append(s.tanks[l.key.tank], l)
	}
	return nil
}

// eachHot gives f the hot rows in their order.
func eachHot(ctx context.Context, t *txn, f func(number int64, body []byte) error) error {
	rows, err := t.conn.QueryContext(ctx, "SELECT number, body FROM hot ORDER BY number")
	if err != nil {
		return t.s.readError(t.what, err)
	}
	defer rows.Close()
	for rows.Next() {
		var number int64
		var body []byte
		if err := rows.Scan(&number, &body); err != nil {
			return t.s.readError(t.what, err)
		}
		if err := f(number, body); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return t.s.readError(t.what, err)
	}
	return nil
}
