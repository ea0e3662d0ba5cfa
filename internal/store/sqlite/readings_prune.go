package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"time"
)

// Retention says what may be let go of.
type Retention struct {
	// Before lets go of readings that are older; zero: of none for their age. Their
	// roll-ups by minute go too, and what came in and went out before; those by hour and
	// day stay.
	Before time.Time
	// Most is how many bytes may be in use in the file; 0: any number. Where there are
	// more, the oldest readings go first, then the oldest roll-ups by minute.
	Most int64
}

// Pruned is what was let go of.
type Pruned struct {
	Readings int64
	// Until is the time before which readings are gone; zero: none were.
	Until time.Time
	// Minutes says that roll-ups by minute went for want of room.
	Minutes bool
	// Bytes are in use in the file now; the file itself stays as large as it was, and
	// is used again.
	Bytes int64
}

// pruneChunks are how many chunks go in one transaction: the pages are looked for
// one after the other, and a commit is to be quick.
const pruneChunks = 256

// goneMargin is how old a reading is at the least, ms, that is let go of at once
// because others of its age are gone.
const goneMargin = 24 * 3_600_000

// Prune lets go of what needn't be kept. What isn't sealed isn't touched.
func (s *Readings) Prune(ctx context.Context, o Retention) (Pruned, error) {
	s.keeping.Lock()
	defer s.keeping.Unlock()
	var p Pruned
	if !o.Before.IsZero() {
		if err := s.pruneBefore(ctx, milli(o.Before), &p); err != nil {
			return p, err
		}
	}
	var err error
	if p.Bytes, err = s.used(ctx); err != nil {
		return p, err
	}
	for o.Most > 0 && p.Bytes > o.Most {
		some, err := s.pruneOldest(ctx, &p)
		if err != nil {
			return p, err
		}
		if !some {
			break
		}
		if p.Bytes, err = s.used(ctx); err != nil {
			return p, err
		}
	}
	return p, nil
}

// used gives how many bytes of the file are in use.
func (s *Readings) used(ctx context.Context) (n int64, err error) {
	err = s.row(ctx, "the size", "SELECT (c.page_count - f.freelist_count) * s.page_size FROM pragma_page_count c, pragma_freelist_count f, pragma_page_size s", nil, &n)
	return n, err
}

// pruneBefore lets go of what is older than a time.
func (s *Readings) pruneBefore(ctx context.Context, before int64, p *Pruned) error {
	for {
		var list []chunkRef
		if err := s.pruning(ctx, p, func(t *txn) error {
			var err error
			if list, err = oldest(ctx, t, "SELECT number, latest, readings FROM chunk WHERE latest < ? LIMIT ?", before, pruneChunks); err != nil || len(list) > 0 {
				return err
			}
			if _, err := t.exec(ctx, "DELETE FROM roll WHERE step = 0 AND (block + 1) * ? <= ?", blockRolls*rollSteps[0], before); err != nil {
				return err
			}
			if _, err := t.exec(ctx, "DELETE FROM level WHERE step = 0 AND (block + 1) * ? <= ?", blockRolls*rollSteps[0], before); err != nil {
				return err
			}
			_, err = t.exec(ctx, "DELETE FROM flow WHERE finish < ?", before)
			return err
		}, &list); err != nil {
			return err
		}
		if len(list) == 0 {
			return nil
		}
	}
}

// pruneOldest lets go of the oldest chunks, or where there are none of the oldest
// minutes, false where there is neither.
func (s *Readings) pruneOldest(ctx context.Context, p *Pruned) (some bool, err error) {
	var list []chunkRef
	err = s.pruning(ctx, p, func(t *txn) error {
		var err error
		if list, err = oldest(ctx, t, "SELECT number, latest, readings FROM chunk ORDER BY latest LIMIT ?", pruneChunks/8); err != nil || len(list) > 0 {
			some = true
			return err
		}
		var block int64
		err = t.row(ctx, "SELECT block FROM roll WHERE step = 0 UNION SELECT block FROM level WHERE step = 0 ORDER BY block LIMIT 1", nil, &block)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		some, p.Minutes = true, true
		for _, table := range []string{"roll", "level"} {
			if _, err := t.exec(ctx, "DELETE FROM "+table+" WHERE step = 0 AND block <= ?", block); err != nil {
				return err
			}
		}
		return nil
	}, &list)
	return some, err
}

// pruning runs a step that picks chunks, and lets go of these.
func (s *Readings) pruning(ctx context.Context, p *Pruned, pick func(*txn) error, list *[]chunkRef) error {
	gone := s.gone
	err := s.write(ctx, "what is let go of", func(t *txn) error {
		if err := s.current(ctx, t); err != nil {
			return err
		}
		if err := pick(t); err != nil || len(*list) == 0 {
			return err
		}
		now := milli(s.now())
		if gone = s.gone; gone > now {
			gone = never // it was set while the clock was wrong
		}
		for _, c := range *list {
			gone = max(gone, min(c.latest+1, now-goneMargin))
			if _, err := t.exec(ctx, "DELETE FROM chunk WHERE number = ?", c.number); err != nil {
				return err
			}
		}
		_, err := t.exec(ctx, "INSERT INTO mark (name, value) VALUES ('gone', ?) ON CONFLICT DO UPDATE SET value = excluded.value", gone)
		return err
	})
	if err != nil {
		s.sure = false
		return err
	}
	for _, c := range *list {
		p.Readings += int64(c.readings)
	}
	if len(*list) > 0 {
		s.gone, p.Until = gone, time.UnixMilli(gone).UTC()
	}
	s.late.clear()
	return nil
}

func oldest(ctx context.Context, t *txn, query string, args ...any) ([]chunkRef, error) {
	rows, err := t.conn.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, t.s.readError(t.what, err)
	}
	defer rows.Close()
	var list []chunkRef
	for rows.Next() {
		var c chunkRef
		if err := rows.Scan(&c.number, &c.latest, &c.readings); err != nil {
			return nil, t.s.readError(t.what, err)
		}
		list = append(list, c)
	}
	if err := rows.Err(); err != nil {
		return nil, t.s.readError(t.what, err)
	}
	return slices.Clip(list), nil
}

// Backup writes the readings and all else in the file as they are at this moment to a
// new file, while others go on; see [Store.Backup].
func (s *Readings) Backup(ctx context.Context, path string) error { return s.backup(ctx, path) }
