package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"gaugewright/internal/job"
)

// stored is a job as the file has it.
type stored struct {
	revision            int64
	place               string
	made, changed, text string
	used                bool // the key that was asked for
}

// loadQuery takes the key of a change and the job's ID.
const loadQuery = `SELECT j.revision, j.place, j.made, j.changed, d.text,
	EXISTS (SELECT 1 FROM revision r WHERE r.job = j.id AND r.key = ?1 AND r.key <> '')
	FROM job j JOIN document d ON d.job = j.id WHERE j.id = ?2`

func (r *stored) into() []any {
	return []any{&r.revision, &r.place, &r.made, &r.changed, &r.text, &r.used}
}

func (t *txn) load(ctx context.Context, id job.ID, key string) (r stored, err error) {
	err = t.row(ctx, loadQuery, []any{key, id}, r.into()...)
	if errors.Is(err, sql.ErrNoRows) {
		err = noJob(id)
	}
	return r, err
}

// kept gives the stored job as the caller's own.
func (s *Store) kept(id job.ID, r stored) (*job.Kept, error) {
	k := &job.Kept{ID: id, Revision: r.revision, Place: r.place}
	var err error
	if k.Job, err = s.decode(id, r.text); err != nil {
		return nil, err
	}
	if k.Made, err = moment(r.made); err != nil {
		return nil, fmt.Errorf("job %s in %s: %w", id, s.path, err)
	}
	if k.Changed, err = moment(r.changed); err != nil {
		return nil, fmt.Errorf("job %s in %s: %w", id, s.path, err)
	}
	return k, nil
}

// moment reads what stamp wrote.
func moment(text string) (time.Time, error) { return time.Parse(time.RFC3339Nano, text) }

// Job gives one job; see [job.Store].
func (s *Store) Job(ctx context.Context, id job.ID) (*job.Kept, error) {
	var r stored
	err := s.row(ctx, "the job", loadQuery, []any{"", id}, r.into()...)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, noJob(id)
	}
	if err != nil {
		return nil, err
	}
	return s.kept(id, r)
}

// Revision gives the present revision of a job; see [job.Store].
func (s *Store) Revision(ctx context.Context, id job.ID) (int64, error) {
	var n int64
	err := s.row(ctx, "the job", "SELECT revision FROM job WHERE id = ?", []any{id}, &n)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, noJob(id)
	}
	return n, err
}

// History gives the last changes of a job, the newest first; see [job.Store].
// The Revision of each is the one that it was made on, so that it made the next
// one.
func (s *Store) History(ctx context.Context, id job.ID, limit int) ([]job.Change, error) {
	const what = "the history of the job"
	if _, err := s.Revision(ctx, id); err != nil {
		return nil, err
	}
	rows, err := s.readers.QueryContext(ctx, `SELECT key, revision - 1, at, by, words FROM revision
		WHERE job = ? AND revision > 1 ORDER BY revision DESC LIMIT ?`, id, max(0, limit))
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []job.Change
	for rows.Next() {
		var c job.Change
		var at string
		if err := rows.Scan(&c.Key, &c.Revision, &at, &c.By, &c.Words); err != nil {
			return nil, s.readError(what, err)
		}
		if c.At, err = moment(at); err != nil {
			return nil, fmt.Errorf("job %s in %s: %w", id, s.path, err)
		}
		list = append(list, c)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}

// Leave notes where a job was left; see [job.Store].
func (s *Store) Leave(ctx context.Context, id job.ID, place string) error {
	return s.write(ctx, "where the job was left", func(t *txn) error {
		r, err := t.exec(ctx, "UPDATE job SET place = ? WHERE id = ?", place, id)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, noJob(id))
		}
		return nil
	})
}

// Note gives what was noted under a name; see [job.Store].
func (s *Store) Note(ctx context.Context, name string) (string, error) {
	var value string
	err := s.row(ctx, "the note", "SELECT value FROM note WHERE name = ?", []any{name}, &value)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return value, err
}

// SetNote notes it; see [job.Store].
func (s *Store) SetNote(ctx context.Context, name, value string) error {
	return s.write(ctx, "the note", func(t *txn) error {
		_, err := t.exec(ctx, `INSERT INTO note (name, value) VALUES (?, ?)
			ON CONFLICT (name) DO UPDATE SET value = excluded.value`, name, value)
		return err
	})
}
