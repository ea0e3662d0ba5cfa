package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"gaugewright/internal/notice"
)

const (
	noticeColumns = "way, body, queued, tries, next, last, why, unreached, done, dead"
	theNotices    = "the notices"
)

func instantOf(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

// instant is a time as rows of notices have it; no time but the zero one is 0.
func instant(t time.Time) int64 {
	switch ms := t.UnixMilli(); {
	case t.IsZero():
		return 0
	case ms == 0:
		return 1
	default:
		return ms
	}
}

// QueueNotice keeps a notice for each of the ways: when there is no error it is on the
// disk. One that a way has already, delivered or not, is left as it is. Where most wait
// already, the least pressing one of the longest ago goes, be it this one, and is
// counted; see [Readings.SumLost].
func (s *Readings) QueueNotice(ctx context.Context, n notice.Notice, ways []string, now time.Time, most int) error {
	body, err := json.Marshal(n)
	if err != nil {
		return err
	}
	return s.write(ctx, "a notice", func(t *txn) error {
		for _, way := range ways {
			if err := queueNotice(ctx, t, n, string(body), way, now); err != nil {
				return err
			}
		}
		return makeRoom(ctx, t, most)
	})
}

func queueNotice(ctx context.Context, t *txn, n notice.Notice, body, way string, now time.Time) error {
	r, err := t.exec(ctx, "INSERT INTO notice (way, id, rank, time, queued, tries, next, last, why, unreached, done, dead, body) VALUES (?, ?, ?, ?, ?, 0, ?, 0, '', 0, 0, 0, ?) ON CONFLICT DO NOTHING",
		way, n.ID, notice.Rank(n.Priority), instant(n.Time), instant(now), instant(now), body)
	if err != nil || n.Alarm == "" {
		return err
	}
	if added, err := r.RowsAffected(); err != nil || added == 0 {
		return err
	}
	// It would be tried now, and goes after those of its alarm that wait.
	_, err = t.exec(ctx, "UPDATE notice SET next = ? WHERE way = ? AND id >= ? AND id < ? AND next > ?", instant(now), way, n.Alarm+"@", n.Alarm+"A", instant(now))
	return err
}

// behindOlder says of a row of notices that an older one of the same alarm waits and isn't
// due: of one alarm they go in order. What stands before the "@" of an ID is the alarm's.
const behindOlder = `instr(notice.id, '@') > 0 AND EXISTS (SELECT 1 FROM notice AS older WHERE older.way = notice.way
AND older.id >= substr(notice.id, 1, instr(notice.id, '@')) AND older.id < substr(notice.id, 1, instr(notice.id, '@') - 1) || 'A'
AND older.next > ? AND (older.time, older.queued) < (notice.time, notice.queued))`

// makeRoom lets go of what waits beyond so many, and counts it.
func makeRoom(ctx context.Context, t *txn, most int) error {
	for {
		var n int
		if err := t.row(ctx, "SELECT count(*) FROM notice WHERE next > 0", nil, &n); err != nil || n <= most {
			return err
		}
		var way, id string
		var at int64
		if err := t.row(ctx, "SELECT way, id, time FROM notice INDEXED BY notice_least WHERE next > 0 ORDER BY rank DESC, time, way, id LIMIT 1", nil, &way, &id, &at); err != nil {
			return err
		}
		if _, err := t.exec(ctx, "DELETE FROM notice WHERE way = ? AND id = ?", way, id); err != nil {
			return err
		}
		if err := countLost(ctx, t, way, at); err != nil {
			return err
		}
	}
}

func countLost(ctx context.Context, t *txn, way string, at int64) error {
	_, err := t.exec(ctx, "INSERT INTO notice_lost (way, n, first, last) VALUES (?, 1, ?, ?) ON CONFLICT (way) DO UPDATE SET n = n + 1, first = min(first, excluded.first), last = max(last, excluded.last)", way, at, at)
	return err
}

// SumLost has the notices by a way for which there was no room told by one notice,
// which word makes; n is 0 where there are none.
func (s *Readings) SumLost(ctx context.Context, way string, now time.Time, word func(n int, from, to time.Time) notice.Notice) (n int, err error) {
	// Mostly there is nothing, which is found out without writing.
	if err := s.row(ctx, theNotices, "SELECT count(*) FROM notice_lost WHERE way = ?", []any{way}, &n); err != nil || n == 0 {
		return 0, err
	}
	err = s.write(ctx, "a notice", func(t *txn) error {
		var from, to int64
		err := t.row(ctx, "DELETE FROM notice_lost WHERE way = ? RETURNING n, first, last", []any{way}, &n, &from, &to)
		if errors.Is(err, sql.ErrNoRows) {
			n = 0
			return nil
		} else if err != nil {
			return err
		}
		sum := word(n, instantOf(from), instantOf(to))
		body, err := json.Marshal(sum)
		if err != nil {
			return err
		}
		return queueNotice(ctx, t, sum, string(body), way, now)
	})
	return n, err
}

// DueNotices gives what is to be tried by a way at a moment, the most pressing first and
// of those the oldest, and when the next after that is due; zero where there is none. What
// an older one of the same alarm is waited for isn't due.
func (s *Readings) DueNotices(ctx context.Context, way string, now time.Time, most int) (list []notice.Waiting, next time.Time, err error) {
	list, err = s.noticesBy(ctx, "INDEXED BY notice_due WHERE way = ? AND next > 0 AND next <= ? AND NOT ("+behindOlder+") ORDER BY rank, time, id LIMIT ?", way, instant(now), instant(now), most)
	if err != nil {
		return nil, next, err
	}
	var at sql.NullInt64
	if err := s.row(ctx, theNotices, "SELECT min(next) FROM notice WHERE way = ? AND next > ?", []any{way, instant(now)}, &at); err != nil {
		return nil, next, err
	}
	return list, instantOf(at.Int64), nil
}

// NoticeTried keeps how a notice stands after a try. One that was let go of meanwhile
// stays so. Where awake is set, all others of the way that failed for want of somebody
// who answers are due now.
func (s *Readings) NoticeTried(ctx context.Context, w notice.Waiting, awake bool) error {
	return s.write(ctx, "how a notice went", func(t *txn) error {
		if _, err := t.exec(ctx, "UPDATE notice SET tries = ?, next = ?, last = ?, why = ?, unreached = ?, done = ?, dead = ? WHERE way = ? AND id = ?",
			w.Tries, instant(w.Next), instant(w.Last), w.Why, w.Unreached, instant(w.Done), instant(w.Dead), w.Way, w.Notice.ID); err != nil || !awake {
			return err
		}
		_, err := t.exec(ctx, "UPDATE notice SET next = ? WHERE way = ? AND next > ? AND unreached = 1", instant(w.Last), w.Way, instant(w.Last))
		return err
	})
}

// WaitingNotices gives what is under way, the most pressing first; DeadNotices what was
// given up, the latest first; at most so many of each.
func (s *Readings) WaitingNotices(ctx context.Context, most int) ([]notice.Waiting, error) {
	return s.noticesBy(ctx, "WHERE next > 0 ORDER BY rank, time, way, id LIMIT ?", most)
}

// DeadNotices gives what was given up; see [Readings.WaitingNotices].
func (s *Readings) DeadNotices(ctx context.Context, most int) ([]notice.Waiting, error) {
	return s.noticesBy(ctx, "WHERE dead > 0 ORDER BY dead DESC, way, id LIMIT ?", most)
}

// NoticesSince gives what was queued at a moment or later, or tried then, the longest
// ago first.
func (s *Readings) NoticesSince(ctx context.Context, from time.Time) ([]notice.Waiting, error) {
	return s.noticesBy(ctx, "WHERE queued >= ? OR last >= ? ORDER BY queued, way, id", instant(from), instant(from))
}

// NoticesOf counts what waits and what was given up, by the way.
func (s *Readings) NoticesOf(ctx context.Context) (waiting, dead map[string]int, err error) {
	waiting, dead = map[string]int{}, map[string]int{}
	for _, c := range []struct {
		query string
		into  map[string]int
	}{{"SELECT way, count(*) FROM notice WHERE next > 0 GROUP BY way", waiting}, {"SELECT way, count(*) FROM notice WHERE dead > 0 GROUP BY way", dead}} {
		rows, err := s.reading().QueryContext(ctx, c.query)
		if err != nil {
			return nil, nil, s.readError(theNotices, err)
		}
		defer rows.Close()
		for rows.Next() {
			var way string
			var n int
			if err := rows.Scan(&way, &n); err != nil {
				return nil, nil, s.readError(theNotices, err)
			}
			c.into[way] = n
		}
		if err := rows.Err(); err != nil {
			return nil, nil, s.readError(theNotices, err)
		}
	}
	return waiting, dead, nil
}

func (s *Readings) noticesBy(ctx context.Context, rest string, args ...any) ([]notice.Waiting, error) {
	rows, err := s.reading().QueryContext(ctx, "SELECT "+noticeColumns+" FROM notice "+rest, args...)
	if err != nil {
		return nil, s.readError(theNotices, err)
	}
	defer rows.Close()
	var list []notice.Waiting
	for rows.Next() {
		var w notice.Waiting
		var body string
		var queued, next, last, done, dead int64
		if err := rows.Scan(&w.Way, &body, &queued, &w.Tries, &next, &last, &w.Why, &w.Unreached, &done, &dead); err != nil {
			return nil, s.readError(theNotices, err)
		}
		if err := json.Unmarshal([]byte(body), &w.Notice); err != nil {
			return nil, s.damaged(fmt.Sprintf("a notice by %s can't be read", w.Way))
		}
		w.Queued, w.Next, w.Last, w.Done, w.Dead = instantOf(queued), instantOf(next), instantOf(last), instantOf(done), instantOf(dead)
		list = append(list, w)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(theNotices, err)
	}
	return list, nil
}

// AgainNotice has one that was given up tried again, as if it came now;
// notice.ErrNoNotice where none was.
func (s *Readings) AgainNotice(ctx context.Context, id, way string, now time.Time) error {
	return s.changeNotice(ctx, "UPDATE notice SET queued = ?, next = ?, tries = 0, dead = 0 WHERE way = ? AND id = ? AND dead > 0", instant(now), instant(now), way, id)
}

// DropNotice lets go of one that waits or was given up; notice.ErrNoNotice where there
// is none.
func (s *Readings) DropNotice(ctx context.Context, id, way string) error {
	return s.changeNotice(ctx, "DELETE FROM notice WHERE way = ? AND id = ? AND done = 0", way, id)
}

func (s *Readings) changeNotice(ctx context.Context, query string, args ...any) error {
	return s.write(ctx, "a notice", func(t *txn) error {
		r, err := t.exec(ctx, query, args...)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, notice.ErrNoNotice)
		}
		return nil
	})
}

// PruneNotices lets go of those that were delivered before a time, and of what was
// given up beyond so many, the oldest first; that is counted, and told by SumLost.
func (s *Readings) PruneNotices(ctx context.Context, before time.Time, mostDead int) error {
	return s.write(ctx, theNotices, func(t *txn) error {
		if _, err := t.exec(ctx, "DELETE FROM notice WHERE done > 0 AND done < ?", instant(before)); err != nil {
			return err
		}
		if _, err := t.exec(ctx, `INSERT INTO notice_lost (way, n, first, last)
SELECT way, count(*), min(time), max(time) FROM (SELECT way, time FROM notice WHERE dead > 0 ORDER BY dead DESC, way, id LIMIT -1 OFFSET ?) WHERE true GROUP BY way
ON CONFLICT (way) DO UPDATE SET n = n + excluded.n, first = min(first, excluded.first), last = max(last, excluded.last)`, mostDead); err != nil {
			return err
		}
		_, err := t.exec(ctx, "DELETE FROM notice WHERE (way, id) IN (SELECT way, id FROM notice WHERE dead > 0 ORDER BY dead DESC, way, id LIMIT -1 OFFSET ?)", mostDead)
		return err
	})
}
