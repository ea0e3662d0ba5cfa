package sqlite

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/job"
)

// Start keeps a new job; see [job.Store]. Its list of changes begins empty.
func (s *Store) Start(ctx context.Context, key string, j *job.Job, at time.Time) (job.ID, error) {
	const what = "the new job"
	const started = "SELECT job FROM start WHERE key = ?"
	var id job.ID
	if key != "" {
		if err := s.row(ctx, what, started, []any{key}, &id); !errors.Is(err, sql.ErrNoRows) {
			return id, err
		}
	}
	id = newID()
	k, err := s.keeping(j, id, at)
	if err != nil {
		return "", err
	}
	err = s.write(ctx, what, func(t *txn) error {
		if key != "" { // another may have been faster
			var earlier job.ID
			if err := t.row(ctx, started, []any{key}, &earlier); !errors.Is(err, sql.ErrNoRows) {
				id = earlier
				return err
			}
		}
		last, err := t.addRevision(ctx, k, 1, job.Change{})
		if err != nil {
			return err
		}
		if _, err := t.exec(ctx, `INSERT INTO job (id, revision, number, customer, vehicle, date, search, tanks, made, changed, last)
			VALUES (?, 1, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			id, k.job.Number, k.job.Customer, k.job.Vehicle, k.job.Date, k.search, k.tanks, k.at, k.at, last); err != nil {
			return err
		}
		if _, err := t.exec(ctx, "INSERT INTO document (job, text) VALUES (?, ?)", id, k.text); err != nil {
			return err
		}
		if key != "" {
			_, err = t.exec(ctx, "INSERT INTO start (key, job) VALUES (?, ?)", key, id)
		}
		return err
	})
	if err != nil {
		return "", err
	}
	return id, nil
}

// Change changes a job; see [job.Store]. While Do runs, the file waits: it must
// not call the store's methods that write. A panic in Do leaves all as it was.
func (s *Store) Change(ctx context.Context, id job.ID, c job.Change) (*job.Kept, error) {
	var out *job.Kept
	err := s.write(ctx, "the change", func(t *txn) error {
		r, err := t.load(ctx, id, c.Key)
		if err != nil {
			return err
		}
		if out, err = s.kept(id, r); err != nil || r.used {
			return err
		}
		if c.Revision != 0 && c.Revision != out.Revision {
			return fmt.Errorf("job %s is at revision %d and the change was meant for %d: %w", id, out.Revision, c.Revision, job.ErrMoved)
		}
		signed := out.Job.Signature
		if err := c.Do(out.Job); err != nil {
			return err
		}
		if err := s.unsign(id, r.text, signed, out.Job); err != nil {
			return err
		}
		k, err := s.keeping(out.Job, id, c.At)
		if err != nil {
			return err
		}
		last, err := t.addRevision(ctx, k, out.Revision+1, c)
		if err != nil {
			return err
		}
		if _, err := t.exec(ctx, `UPDATE job SET revision = revision + 1, number = ?, customer = ?, vehicle = ?, date = ?, search = ?, tanks = ?, changed = ?, last = ?
			WHERE id = ?`,
			k.job.Number, k.job.Customer, k.job.Vehicle, k.job.Date, k.search, k.tanks, k.at, last, id); err != nil {
			return err
		}
		out.Revision, out.Changed, out.Job = out.Revision+1, k.changed, k.job
		_, err = t.exec(ctx, "UPDATE document SET text = ? WHERE job = ?", k.text, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// unsign takes the signature off a job that says something else than what was
// signed, unless it was signed anew.
func (s *Store) unsign(id job.ID, before string, signed *job.Signature, now *job.Job) error {
	if signed == nil || now.Signature == nil || *now.Signature != *signed {
		return nil
	}
	was, err := s.decode(id, before)
	if err == nil && !was.SameContent(now) {
		now.Unsign()
	}
	return err
}

// keeping is a job made ready to be kept.
type keeping struct {
	id            job.ID
	job           *job.Job // as it will be read
	text          string   // its job file
	packed        []byte   // the same, smaller
	search, tanks string
	at            string
	changed       time.Time
}

// keeping makes a job ready. The caller's own is left alone.
func (s *Store) keeping(j *job.Job, id job.ID, at time.Time) (keeping, error) {
	k := keeping{id: id}
	if at.IsZero() {
		at = s.now()
	}
	var err error
	if k.at, err = stamp(at); err != nil {
		return k, fmt.Errorf("the time of the change: %w", err)
	}
	k.changed = at.UTC().Round(0)
	data, err := j.Encode()
	if err != nil {
		return k, err
	}
	k.text = string(data)
	if k.job, err = s.decode(id, k.text); err != nil {
		return k, err
	}
	k.search = searched(k.job)
	if k.tanks, err = lines(s.summarise(k.job)); err != nil {
		return k, err
	}
	k.packed, err = pack(data)
	return k, err
}

// addRevision adds to the history and gives the row's number.
func (t *txn) addRevision(ctx context.Context, k keeping, revision int64, c job.Change) (int64, error) {
	r, err := t.exec(ctx, "INSERT INTO revision (job, revision, at, by, words, key, document) VALUES (?, ?, ?, ?, ?, ?, ?)",
		k.id, revision, k.at, c.By, c.Words, c.Key, k.packed)
	if err != nil {
		return 0, err
	}
	return r.LastInsertId()
}

// newID makes an ID of 80 random bits.
func newID() job.ID { return job.ID(strings.ToLower(rand.Text()[:16])) }
