package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"gaugewright/internal/watch"
)

// chunkRef says where a chunk is, or the hot readings of a line.
type chunkRef struct {
	line             *line
	number           int64
	earliest, latest int64
	readings         int
	hot              []record // in no order; nil: a chunk
}

// Each gives the readings of a tank, or of all where it is "", from one time up
// to but without another, in the order of their times; those of one time line by line,
// as the lines began, and within a line as they were kept. What is kept or sealed
// meanwhile makes no difference to it. A time that is zero is no bound. It ends with
// the first error that f gives, and gives that.
func (s *Readings) Each(ctx context.Context, from, to time.Time, tank string, f func(watch.Reading) error) error {
	earliest, before := int64(-1<<62), int64(1<<62)
	if !from.IsZero() {
		earliest = ceilMilli(from)
	}
	if !to.IsZero() {
		before = ceilMilli(to)
	}
	if earliest >= before {
		return nil
	}
	refs, err := s.refs(ctx, earliest, before, tank)
	if err != nil {
		return err
	}
	e := each{s: s, refs: refs, from: earliest, before: before}
	return e.run(ctx, f)
}

// ceilMilli gives the first whole millisecond that isn't before a time.
func ceilMilli(t time.Time) int64 {
	ms := t.UnixMilli()
	if t.Nanosecond()%1_000_000 != 0 {
		ms++
	}
	return ms
}

// refs gives where a stretch of time is, as it is at this moment, by the earliest
// readings.
func (s *Readings) refs(ctx context.Context, from, before int64, tank string) ([]chunkRef, error) {
	s.view.RLock()
	defer s.view.RUnlock()
	var lines []*line
	if tank != "" {
		lines = s.tanks[tank]
	} else {
		for _, some := range s.tanks {
			lines = append(lines, some...)
		}
	}
	var refs []chunkRef
	if len(lines) == 0 {
		return nil, nil
	}
	query, err := s.readers.PrepareContext(ctx, "SELECT number, earliest, latest, readings FROM chunk WHERE line = ? AND latest >= ? AND earliest < ?")
	if err != nil {
		return nil, s.readError("the readings", err)
	}
	defer query.Close()
	for _, l := range lines {
		if refs, err = s.refsOf(ctx, query, refs, l, from, before); err != nil {
			return nil, err
		}
		if r := hotRef(l); r.readings > 0 && r.latest >= from && r.earliest < before {
			refs = append(refs, r)
		}
	}
	slices.SortFunc(refs, func(a, b chunkRef) int { return cmp.Compare(a.earliest, b.earliest) })
	return refs, nil
}

func (s *Readings) refsOf(ctx context.Context, query *sql.Stmt, refs []chunkRef, l *line, from, before int64) ([]chunkRef, error) {
	rows, err := query.QueryContext(ctx, l.number, from, before)
	if err != nil {
		return nil, s.readError("the readings", err)
	}
	defer rows.Close()
	for rows.Next() {
		r := chunkRef{line: l}
		if err := rows.Scan(&r.number, &r.earliest, &r.latest, &r.readings); err != nil {
			return nil, s.readError("the readings", err)
		}
		refs = append(refs, r)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError("the readings", err)
	}
	return refs, nil
}

// hotRef gives a line's hot readings as if they were the last chunk.
func hotRef(l *line) chunkRef {
	r := chunkRef{line: l, number: 1<<63 - 1, readings: len(l.shown), hot: l.shown}
	for i := range l.shown {
		at := l.shown[i].time
		if i == 0 {
			r.earliest, r.latest = at, at
		}
		r.earliest, r.latest = min(r.earliest, at), max(r.latest, at)
	}
	return r
}

// each goes through readings, one window of time after the other, so that no more is
// in memory than one window and one chunk.
type each struct {
	s            *Readings
	refs         []chunkRef // to come
	active       []chunkRef // that may be in the window
	from, before int64
	width        int64 // of the window, ms
	found        []found
	list         []record
	columns      columns
}

type found struct {
	record
	line   *line
	number int64
}

const (
	// A window has some ten thousands of readings; where it has to look into many
	// chunks, more, or each would be taken apart too often.
	leastFound = 1 << 15
	mostFound  = 1 << 20
	windowMost = 1 << 50 // ms
)

func (e *each) run(ctx context.Context, f func(watch.Reading) error) error {
	e.width = 3_600_000
	for at := e.from; at < e.before; {
		e.active = slices.DeleteFunc(e.active, func(r chunkRef) bool { return r.latest < at })
		if len(e.active) == 0 {
			if len(e.refs) == 0 {
				return nil
			}
			at = max(at, e.refs[0].earliest)
		}
		end := min(at+e.width, e.before)
		for len(e.refs) > 0 && e.refs[0].earliest < end {
			e.active, e.refs = append(e.active, e.refs[0]), e.refs[1:]
		}
		within := 0
		for i := range e.active {
			within += e.active[i].readings
		}
		limit := min(max(leastFound, within/8), mostFound)
		fits, err := e.collect(ctx, at, end, limit)
		if err != nil {
			return err
		}
		if !fits && e.width > 1 {
			e.width = max(1, e.width/4)
			continue
		}
		for i := range e.found {
			if err := f(e.found[i].reading(&e.found[i].line.key)); err != nil {
				return err
			}
		}
		if len(e.found) < limit/4 && e.width < windowMost {
			e.width *= 2
		}
		at = end
	}
	return nil
}

// collect puts together what there is from one time up to but without another, false
// where that is too much.
func (e *each) collect(ctx context.Context, from, before int64, limit int) (fits bool, err error) {
	e.found = e.found[:0]
	for _, r := range e.active {
		if r.earliest >= before {
			continue // since the window became narrower
		}
		list := r.hot
		if list == nil {
			if list, err = e.chunk(ctx, r); err != nil {
				return false, err
			}
		}
		for i := range list {
			if at := list[i].time; at >= from && at < before {
				e.found = append(e.found, found{list[i], r.line, r.number})
			}
		}
		if len(e.found) > limit && e.width > 1 {
			return false, nil
		}
	}
	slices.SortStableFunc(e.found, func(a, b found) int {
		if c := cmp.Compare(a.time, b.time); c != 0 {
			return c
		}
		if c := cmp.Compare(a.line.number, b.line.number); c != 0 {
			return c
		}
		return cmp.Compare(a.number, b.number)
	})
	return true, nil
}

// chunk gives a chunk's records; none where it has been let go of meanwhile.
func (e *each) chunk(ctx context.Context, r chunkRef) ([]record, error) {
	var body []byte
	err := e.s.row(ctx, "the readings", "SELECT body FROM chunk WHERE number = ?", []any{r.number}, &body)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	e.list, err = e.columns.records(e.list[:0], body)
	if err != nil {
		return nil, e.s.partError(fmt.Sprintf("chunk %d", r.number), err)
	}
	return e.list, nil
}

// Recent gives the readings since a time, in the order of [Readings.Each]: what a
// watch begins with after a restart.
func (s *Readings) Recent(ctx context.Context, since time.Time) ([]watch.Reading, error) {
	var list []watch.Reading
	err := s.Each(ctx, since, time.Time{}, "", func(r watch.Reading) error {
		list = append(list, r)
		return nil
	})
	return list, err
}
