package sqlite

import (
	"context"
	"slices"
	"time"
)

const (
	// sealAfter is how long readings stay hot at the most where Seal is called often
	// enough.
	sealAfter = 12 * time.Hour
	// sealGap is how long no reading may have come within a chunk, ms: a time that is
	// wrong by years is to be by itself.
	sealGap = 24 * 3_600_000
)

// Seal packs the readings of lines that have come to a chunk, or have waited for half
// a day, and rolls them up by minute, hour and day. It is to be called every ten
// minutes or so; it does nothing where there is nothing to do. Either all of it is
// done, or nothing.
func (s *Readings) Seal(ctx context.Context) error {
	s.keeping.Lock()
	defer s.keeping.Unlock()
	return s.seal(ctx, whatIsDue)
}

// extent is how much is sealed.
type extent int

const (
	whatIsDue extent = iota
	oldestRow        // the lines that have readings in the oldest hot row, so that it can go
	everything
)

// due says whether a line is to be sealed.
func (l *line) due(now time.Time) bool {
	if len(l.hot) == 0 {
		return false
	}
	if now.Before(l.since) {
		l.since = now // the clock was set back
	}
	return len(l.hot) >= chunkReadings || now.Sub(l.since) >= sealAfter
}

// seal seals so much.
func (s *Readings) seal(ctx context.Context, much extent) error {
	var due []*line
	viewed := false
	defer func() {
		if viewed {
			s.view.Unlock()
		}
	}()
	var gone []rowCount
	err := s.write(ctx, "the sealed readings", func(t *txn) error {
		if err := s.current(ctx, t); err != nil {
			return err
		}
		now := s.now()
		least := int64(1<<63 - 1) // the first hot row that is still needed
		for _, l := range s.lines {
			switch {
			case len(l.hot) > 0 && (much == everything || much == oldestRow && l.first <= s.rows[0].number) || l.due(now):
				due = append(due, l)
			case len(l.hot) > 0:
				least = min(least, l.first)
			}
		}
		if len(due) == 0 {
			return nil
		}
		slices.SortFunc(due, func(a, b *line) int { return int(a.number - b.number) })
		for _, l := range due {
			if err := s.sealLine(ctx, t, l); err != nil {
				return err
			}
		}
		for len(gone) < len(s.rows) && s.rows[len(gone)].number < least {
			gone = s.rows[:len(gone)+1]
		}
		if len(gone) > 0 {
			if _, err := t.exec(ctx, "DELETE FROM hot WHERE number <= ?", gone[len(gone)-1].number); err != nil {
				return err
			}
		}
		// Readers see what was sealed either in memory or in the file.
		s.view.Lock()
		viewed = true
		return nil
	})
	if err != nil {
		s.sure = false
		return err
	}
	if len(due) == 0 {
		return nil
	}
	for _, l := range due {
		for i := range l.hot {
			l.latest = max(l.latest, l.hot[i].time)
		}
		l.sealed, l.first, l.hot, l.shown, l.staged = s.last, 0, nil, nil, 0
	}
	for _, r := range gone {
		s.held -= r.n
	}
	s.rows = slices.Clone(s.rows[len(gone):])
	s.late.clear()
	return nil
}

// sealLine writes a line's hot readings as chunks, and rolls them up.
func (s *Readings) sealLine(ctx context.Context, t *txn, l *line) error {
	list := append(s.sorted[:0], l.hot...)
	s.sorted = list
	if !l.ordered {
		slices.SortStableFunc(list, func(a, b record) int {
			switch {
			case a.time < b.time:
				return -1
			case a.time > b.time:
				return 1
			}
			return 0
		})
	}
	for _, piece := range pieces(list) {
		s.body = s.roller.appendChunk(s.body[:0], piece)
		if _, err := t.exec(ctx, "INSERT INTO chunk (line, earliest, latest, readings, body) VALUES (?, ?, ?, ?, ?)",
			l.number, piece[0].time, piece[len(piece)-1].time, len(piece), s.body); err != nil {
			return err
		}
	}
	if err := s.roller.add(ctx, t, l.number, list); err != nil {
		return err
	}
	_, err := t.exec(ctx, "UPDATE line SET sealed = ?1, latest = max(coalesce(latest, ?2), ?2) WHERE number = ?3", s.last, list[len(list)-1].time, l.number)
	return err
}

// pieces divides ordered records into those of a chunk each: of one length as far as
// can be, and at gaps.
func pieces(list []record) [][]record {
	var all [][]record
	for len(list) > 0 {
		n := 1
		for n < len(list) && list[n].time-list[n-1].time <= sealGap {
			n++
		}
		chunks := max(1, n/chunkReadings)
		for rest := list[:n]; chunks > 0; chunks-- {
			some := (len(rest) + chunks - 1) / chunks
			all, rest = append(all, rest[:some]), rest[some:]
		}
		list = list[n:]
	}
	return all
}
