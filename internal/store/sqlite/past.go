package sqlite

import (
	"context"
	"fmt"
	"slices"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/series"
)

var _ history.Past = (*Readings)(nil)

// Lines gives the runs of readings that there are of a tank, by source and signal.
func (s *Readings) Lines(_ context.Context, tank string) ([]history.Line, error) {
	s.view.RLock()
	defer s.view.RUnlock()
	var list []history.Line
	for _, l := range s.tanks[tank] {
		list = append(list, history.Line{Tank: l.key.tank, Source: l.key.source, Signal: l.key.signal})
	}
	slices.SortFunc(list, func(a, b history.Line) int {
		switch {
		case a.Source < b.Source:
			return -1
		case a.Source > b.Source:
			return 1
		}
		return int(a.Signal) - int(b.Signal)
	})
	return list, nil
}

// Since gives the time of the first reading that is kept of a tank, be it as itself or
// in a roll-up by the hour; zero where there is none.
func (s *Readings) Since(ctx context.Context, tank string) (time.Time, error) {
	s.view.RLock()
	defer s.view.RUnlock()
	first, found := int64(1<<62), false
	var r roller
	for _, l := range s.tanks[tank] {
		for i := range l.shown {
			first, found = min(first, l.shown[i].time), true
		}
		var sealed *int64
		if err := s.file.row(ctx, "the readings", "SELECT min(earliest) FROM chunk WHERE line = ?", []any{l.number}, &sealed); err != nil {
			return time.Time{}, err
		}
		if sealed != nil {
			first, found = min(first, *sealed), true
		}
		bodies, err := s.bodies(ctx, "SELECT block, body FROM roll WHERE line = ? AND step = 1 ORDER BY block LIMIT 1", l.number)
		if err != nil {
			return time.Time{}, err
		}
		for _, b := range bodies {
			list, err := r.rolled(nil, b.number, b.body)
			if err == nil && len(list) == 0 {
				err = errBody
			}
			if err != nil {
				return time.Time{}, s.partError(fmt.Sprintf("roll-ups %d/1/%d", l.number, b.number), err)
			}
			// The reading itself was somewhere in this hour; where it is there it is
			// known better.
			if at := list[0].at * rollSteps[1]; !found || at < floorDiv(first, rollSteps[1])*rollSteps[1] {
				first, found = at, true
			}
		}
	}
	if !found {
		return time.Time{}, nil
	}
	return time.UnixMilli(first).UTC(), nil
}

// rollStep says of which roll-ups the buckets of a grid can be made: the number of a step,
// -1 where it is the readings themselves.
func rollStep(g history.Grid) int {
	return slices.Index(rollSteps[:], int64(g.Coarsest())*1000)
}

// ends gives when a grid begins and ends, ms.
func ends(g history.Grid) (from, before int64) {
	return g.From * 1000, (g.From + int64(g.N)*g.Width) * 1000
}

// place gives the number of the bucket of a time, ms; -1 for one outside.
func place(g history.Grid, at int64) int {
	from, before := ends(g)
	if at < from || at >= before {
		return -1
	}
	return int((at - from) / (g.Width * 1000))
}

// body is one row's.
type body struct {
	number int64
	body   []byte
}

// eachBody gives f rows of a number and a body, under view.
func (s *Readings) eachBody(ctx context.Context, f func(body), query string, args ...any) error {
	rows, err := s.readers.QueryContext(ctx, query, args...)
	if err != nil {
		return s.readError("the history", err)
	}
	defer rows.Close()
	for rows.Next() {
		var b body
		if err := rows.Scan(&b.number, &b.body); err != nil {
			return s.readError("the history", err)
		}
		f(b)
	}
	if err := rows.Err(); err != nil {
		return s.readError("the history", err)
	}
	return nil
}

// bodies lists such rows.
func (s *Readings) bodies(ctx context.Context, query string, args ...any) (list []body, err error) {
	err = s.eachBody(ctx, func(b body) { list = append(list, b) }, query, args...)
	return list, err
}

// Readings gives a line's readings, rolled up; see [history.Past]. The first and the
// last bucket are whole ones, also where the stretch begins or ends within them.
func (s *Readings) Readings(ctx context.Context, of history.Line, stretch history.Stretch) ([]history.Bucket, error) {
	if err := stretch.Check(); err != nil {
		return nil, err
	}
	g := stretch.Grid()
	rolls, err := s.rolls(ctx, of, g, rollStep(g))
	if err != nil {
		return nil, err
	}
	return g.Buckets(of.Signal, rolls), nil
}

// rolls makes a line's buckets of roll-ups of a step, or of its readings where that is
// -1.
func (s *Readings) rolls(ctx context.Context, of history.Line, g history.Grid, step int) ([]series.Roll, error) {
	rolls := make([]series.Roll, g.N)
	if step < 0 {
		return rolls, s.full(ctx, of, g, rolls)
	}
	var found []body
	l, err := s.look(ctx, of, g, step, rolls, func(b body) { found = append(found, b) })
	if err != nil {
		return nil, err
	}
	var r roller
	var list []entry
	for _, f := range found {
		if list, err = r.rolled(list[:0], f.number, f.body); err != nil {
			return nil, s.partError(fmt.Sprintf("roll-ups %d/%d/%d", l.number, step, f.number), err)
		}
		for _, e := range list {
			if at := place(g, e.at*rollSteps[step]); at >= 0 {
				rolls[at].Merge(e.Roll)
			}
		}
	}
	return rolls, nil
}

// look reads what is needed for a line's buckets, all as it is at one moment: it adds
// the hot readings to them, and gives f blocks or chunks. There is no line where
// nothing was ever kept.
func (s *Readings) look(ctx context.Context, of history.Line, g history.Grid, step int, rolls []series.Roll, f func(body)) (*line, error) {
	s.view.RLock()
	defer s.view.RUnlock()
	i := slices.IndexFunc(s.tanks[of.Tank], func(l *line) bool { return l.key == lineKey{of.Tank, of.Source, of.Signal} })
	if i < 0 {
		return nil, nil
	}
	l := s.tanks[of.Tank][i]
	for i := range l.shown {
		if at := place(g, l.shown[i].time); at >= 0 && l.shown[i].counts() {
			rolls[at].Add(l.shown[i].value)
		}
	}
	if from, before := ends(g); step < 0 {
		return l, s.eachBody(ctx, f, "SELECT number, body FROM chunk WHERE line = ? AND latest >= ? AND earliest < ?", l.number, from, before)
	}
	first, last := blocks(g, step)
	return l, s.eachBody(ctx, f, "SELECT block, body FROM roll WHERE line = ? AND step = ? AND block BETWEEN ? AND ?", l.number, step, first, last)
}

// blocks gives the first and the last block in which the buckets are.
func blocks(g history.Grid, step int) (first, last int64) {
	from, before := ends(g)
	return floorDiv(floorDiv(from, rollSteps[step]), blockRolls), floorDiv(floorDiv(before-1, rollSteps[step]), blockRolls)
}

// Levels gives a tank's levels, rolled up: those that were kept by
// [Readings.KeepLevels]. Buckets are a minute long at the least, so that there may be
// fewer than were asked for.
func (s *Readings) Levels(ctx context.Context, tank string, stretch history.Stretch) ([]history.LevelBucket, error) {
	if err := stretch.Check(); err != nil {
		return nil, err
	}
	g := stretch.Grid()
	step := max(0, rollStep(g))
	first, last := blocks(g, step)
	s.view.RLock()
	found, err := s.bodies(ctx, "SELECT block, body FROM level WHERE tank = (SELECT number FROM tank WHERE name = ?) AND step = ? AND block BETWEEN ? AND ?", tank, step, first, last)
	s.view.RUnlock()
	if err != nil {
		return nil, err
	}
	var rolls []history.LevelRoll
	for _, f := range found {
		list, err := rolledLevels(step, f.number, f.body)
		if err != nil {
			return nil, s.partError(fmt.Sprintf("levels of %s, %d/%d", tank, step, f.number), err)
		}
		rolls = append(rolls, list...)
	}
	return g.Levels(rolls), nil
}
