package sqlite

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/quantity"
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
	var c columns
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
			list, err := c.rolled(nil, b.number, b.body)
			if err != nil || len(list) == 0 {
				return time.Time{}, s.damaged(fmt.Sprintf("roll-ups %d/1/%d: %v", l.number, b.number, err))
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

// buckets are the equal parts of a stretch, ms.
type buckets struct{ from, length, n int64 }

// parts says into what a stretch is divided: into as many parts as are asked for or
// fewer, each of a length that minutes, hours or days divide as soon as it can be.
func parts(s history.Stretch) (buckets, error) {
	from, to := floorDiv(milli(s.From), 1000), floorDiv(milli(s.To)+999, 1000)
	if s.Buckets < 1 || s.Buckets > 10_000 {
		return buckets{}, fmt.Errorf("a stretch of time is divided into 1 to 10,000 buckets; found %d", s.Buckets)
	}
	if to <= from {
		return buckets{}, fmt.Errorf("a stretch of time ends after it begins; found %v to %v", s.From, s.To)
	}
	length := (to - from + int64(s.Buckets) - 1) / int64(s.Buckets)
	for {
		length = rounder(length)
		first := floorDiv(from, length)
		n := floorDiv(to-1, length) - first + 1
		if n <= int64(s.Buckets) || s.Buckets == 1 {
			// One bucket alone can't always begin at a multiple and hold it all; there
			// are two then.
			return buckets{first * length * 1000, length * 1000, n}, nil
		}
		length++
	}
}

// rounder gives the next length, s, that divides a minute, or that a minute, an hour
// or a day divides.
func rounder(length int64) int64 {
	const minute, hour, day = 60, 3600, 86400
	up := func(to int64) int64 { return (length + to - 1) / to * to }
	switch {
	case length > day-hour:
		return up(day)
	case length > hour-minute:
		return up(hour)
	case length > minute/2:
		return up(minute)
	}
	for minute%length != 0 {
		length++
	}
	return length
}

// step gives the coarsest roll-up that the buckets can be made of, -1 where it is the
// readings themselves.
func (b buckets) step() int {
	for i := len(rollSteps) - 1; i >= 0; i-- {
		if b.length%rollSteps[i] == 0 {
			return i
		}
	}
	return -1
}

// of gives the number of the bucket of a time, ms; -1 for one outside.
func (b buckets) of(at int64) int64 {
	if at < b.from || at >= b.from+b.n*b.length {
		return -1
	}
	return (at - b.from) / b.length
}

// body is one row's.
type body struct {
	number int64
	body   []byte
}

// bodies reads rows of a number and a body, under view.
func (s *Readings) bodies(ctx context.Context, query string, args ...any) ([]body, error) {
	rows, err := s.readers.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.readError("the history", err)
	}
	defer rows.Close()
	var list []body
	for rows.Next() {
		var b body
		if err := rows.Scan(&b.number, &b.body); err != nil {
			return nil, s.readError("the history", err)
		}
		list = append(list, b)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError("the history", err)
	}
	return list, nil
}

// Readings gives a line's readings, rolled up; see [history.Past]. The first and the
// last bucket are whole ones, also where the stretch begins or ends within them.
func (s *Readings) Readings(ctx context.Context, of history.Line, stretch history.Stretch) ([]history.Bucket, error) {
	b, err := parts(stretch)
	if err != nil {
		return nil, err
	}
	rolls, err := s.rolls(ctx, of, b, b.step())
	if err != nil {
		return nil, err
	}
	var list []history.Bucket
	steps := signalSteps[of.Signal&3]
	for i, r := range rolls {
		if r.N > 0 {
			list = append(list, history.Bucket{
				From: time.UnixMilli(b.from + int64(i)*b.length).UTC(), N: r.N,
				Min: float64(r.Min) / steps, Mean: r.Mean() / steps, Max: float64(r.Max) / steps,
			})
		}
	}
	return list, nil
}

// rolls makes a line's buckets of roll-ups of a step, or of its readings where that is
// -1.
func (s *Readings) rolls(ctx context.Context, of history.Line, b buckets, step int) ([]series.Roll, error) {
	rolls := make([]series.Roll, b.n)
	l, hot, found, err := s.look(ctx, of, b, step)
	if err != nil || l == nil {
		return rolls, err
	}
	for i := range hot {
		if at := b.of(hot[i].time); at >= 0 && hot[i].counts() {
			rolls[at].Add(hot[i].value)
		}
	}
	if step < 0 {
		return rolls, s.full(found, b, rolls)
	}
	var c columns
	var list []entry
	for _, f := range found {
		if list, err = c.rolled(list[:0], f.number, f.body); err != nil {
			return nil, s.damaged(fmt.Sprintf("roll-ups %d/%d/%d: %v", l.number, step, f.number, err))
		}
		for _, e := range list {
			if at := b.of(e.at * rollSteps[step]); at >= 0 {
				rolls[at].Merge(e.Roll)
			}
		}
	}
	return rolls, nil
}

// look reads what is needed for a line's buckets: its hot readings, and blocks or
// chunks, all as they are at one moment. There is no line where nothing was ever kept.
func (s *Readings) look(ctx context.Context, of history.Line, b buckets, step int) (*line, []record, []body, error) {
	s.view.RLock()
	defer s.view.RUnlock()
	i := slices.IndexFunc(s.tanks[of.Tank], func(l *line) bool { return l.key == lineKey{of.Tank, of.Source, of.Signal} })
	if i < 0 {
		return nil, nil, nil, nil
	}
	l := s.tanks[of.Tank][i]
	var found []body
	var err error
	if end := b.from + b.n*b.length; step < 0 {
		found, err = s.bodies(ctx, "SELECT number, body FROM chunk WHERE line = ? AND latest >= ? AND earliest < ?", l.number, b.from, end)
	} else {
		first, last := blocks(b, step)
		found, err = s.bodies(ctx, "SELECT block, body FROM roll WHERE line = ? AND step = ? AND block BETWEEN ? AND ?", l.number, step, first, last)
	}
	return l, l.shown, found, err
}

// blocks gives the first and the last block in which the buckets are.
func blocks(b buckets, step int) (first, last int64) {
	return floorDiv(floorDiv(b.from, rollSteps[step]), blockRolls), floorDiv(floorDiv(b.from+b.n*b.length-1, rollSteps[step]), blockRolls)
}

// full rolls up chunks, on as many processors as there are.
func (s *Readings) full(chunks []body, b buckets, rolls []series.Roll) error {
	workers := min(runtime.GOMAXPROCS(0), 1+len(chunks)/8)
	parts := make([][]series.Roll, workers)
	errs := make([]error, workers)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			parts[w] = make([]series.Roll, len(rolls))
			var c columns
			for i := w; i < len(chunks); i += workers {
				if err := c.addTo(parts[w], b, chunks[i].body); err != nil {
					errs[w] = s.damaged(fmt.Sprintf("chunk %d: %v", chunks[i].number, err))
					return
				}
			}
		})
	}
	wait.Wait()
	for w := range workers {
		if errs[w] != nil {
			return errs[w]
		}
		for i := range rolls {
			rolls[i].Merge(parts[w][i])
		}
	}
	return nil
}

// addTo adds a chunk's values to buckets.
func (c *columns) addTo(rolls []series.Roll, b buckets, body []byte) error {
	if _, err := c.open(body); err != nil {
		return err
	}
	values := c.values
	var roll *series.Roll
	from, before := int64(0), int64(0) // of the bucket that roll is
	for i, at := range c.times {
		if c.whats[i]&exact != 0 || c.whats[i]&saidBits != 0 {
			continue
		}
		if len(values) == 0 {
			return errBody
		}
		v := values[0]
		values = values[1:]
		if at < from || at >= before {
			n := b.of(at)
			if n < 0 {
				continue
			}
			roll, from = &rolls[n], b.from+n*b.length
			before = from + b.length
		}
		roll.Add(v)
	}
	return nil
}

// Levels gives a tank's levels, rolled up: those that were kept by
// [Readings.KeepLevels]. Buckets are a minute long at the least.
func (s *Readings) Levels(ctx context.Context, tank string, stretch history.Stretch) ([]history.LevelBucket, error) {
	b, err := levelParts(stretch)
	if err != nil {
		return nil, err
	}
	step := b.step()
	first, last := blocks(b, step)
	s.view.RLock()
	found, err := s.bodies(ctx, "SELECT block, body FROM level WHERE tank = (SELECT number FROM tank WHERE name = ?) AND step = ? AND block BETWEEN ? AND ?", tank, step, first, last)
	s.view.RUnlock()
	if err != nil {
		return nil, err
	}
	rolls := make([]history.LevelRoll, b.n)
	for _, f := range found {
		list, err := rolledLevels(step, f.number, f.body)
		if err != nil {
			return nil, s.damaged(fmt.Sprintf("levels of %s, %d/%d: %v", tank, step, f.number, err))
		}
		for _, e := range list {
			if at := b.of(e.at * rollSteps[step]); at >= 0 {
				rolls[at].Merge(e.LevelRoll)
			}
		}
	}
	var buckets []history.LevelBucket
	for i, r := range rolls {
		if r.Share.N > 0 || r.Without > 0 {
			r.From = time.UnixMilli(b.from + int64(i)*b.length).UTC()
			buckets = append(buckets, levelBucket(r))
		}
	}
	return buckets, nil
}

// levelParts is parts for levels, which are there by the minute.
func levelParts(s history.Stretch) (buckets, error) {
	b, err := parts(s)
	if err == nil && b.length < rollSteps[0] {
		end := b.from + b.n*b.length
		b.length = rollSteps[0]
		b.from = floorDiv(b.from, b.length) * b.length
		b.n = (end - b.from + b.length - 1) / b.length
	}
	return b, err
}

func levelBucket(r history.LevelRoll) history.LevelBucket {
	b := history.LevelBucket{From: r.From, N: r.Share.N, Without: r.Without, Worst: r.Worst}
	if r.Share.N > 0 {
		share := func(sum, n int64) quantity.Share { return quantity.Share(float64(sum) / float64(n) / 1e4) }
		b.Min, b.Max = share(r.Share.Min, 1), share(r.Share.Max, 1)
		b.Mean, b.Low, b.High = share(r.Share.Sum, r.Share.N), share(r.Low, r.Share.N), share(r.High, r.Share.N)
	}
	return b
}
