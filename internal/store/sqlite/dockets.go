package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"gaugewright/internal/docket"
)

// Limits of what is kept of dockets: of one watch, and of their pictures in bytes.
const (
	mostDockets = 20_000
	mostPhotos  = 256 << 20
)

const docketColumns = "id, tank, kind, time, litres, kilograms, typed, stopped, note, photo, entered, struck, seen"

// AddDocket keeps a docket with its picture, if there is one. The same again is kept
// once; docket.ErrOther where its ID is another's, docket.ErrRoom where there are too
// many. Times are rounded to a millisecond.
func (s *Readings) AddDocket(ctx context.Context, d docket.Docket, photo []byte) error {
	kind := ""
	if len(photo) > 0 {
		var err error
		if kind, err = docket.PhotoType(photo); err != nil {
			return err
		}
	}
	return s.write(ctx, "the docket", func(t *txn) error {
		row := []any{d.ID, d.Tank, string(d.Kind), milli(d.Time), d.Litres, d.Kilograms, d.Typed, d.Stopped, d.Note, kind, milli(d.Entered), d.Struck, ""}
		var there, same, n, bytes int64
		if err := t.row(ctx, `SELECT (SELECT count(*) FROM docket WHERE id = ?1),
			(SELECT count(*) FROM docket WHERE id = ?1 AND tank = ?2 AND kind = ?3 AND time = ?4 AND litres = ?5 AND kilograms = ?6 AND stopped = ?7),
			(SELECT count(*) FROM docket), (SELECT coalesce(sum(length(image)), 0) FROM docket_photo)`,
			[]any{d.ID, d.Tank, string(d.Kind), milli(d.Time), d.Litres, d.Kilograms, d.Stopped}, &there, &same, &n, &bytes); err != nil {
			return err
		}
		switch {
		case same > 0:
			return nil
		case there > 0:
			return docket.ErrOther
		case n >= mostDockets, bytes+int64(len(photo)) > mostPhotos:
			return docket.ErrRoom
		}
		if _, err := t.exec(ctx, "INSERT INTO docket ("+docketColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", row...); err != nil {
			return err
		}
		if len(photo) == 0 {
			return nil
		}
		_, err := t.exec(ctx, "INSERT INTO docket_photo (id, image) VALUES (?, ?)", d.ID, photo)
		return err
	})
}

// StrikeDocket strikes one out, or takes it back in; docket.ErrNone where there is none.
func (s *Readings) StrikeDocket(ctx context.Context, tank, id string, struck bool) error {
	return s.changeDocket(ctx, "UPDATE docket SET struck = ? WHERE tank = ? AND id = ?", struck, tank, id)
}

// SawDocket keeps what the watch saw about one; docket.ErrNone where there is none.
func (s *Readings) SawDocket(ctx context.Context, seen docket.Seen) error {
	tank, id := seen.Docket.Tank, seen.Docket.ID
	seen.Docket = docket.Docket{}
	text, err := json.Marshal(seen)
	if err != nil {
		return err
	}
	return s.changeDocket(ctx, "UPDATE docket SET seen = ? WHERE tank = ? AND id = ?", string(text), tank, id)
}

func (s *Readings) changeDocket(ctx context.Context, query string, args ...any) error {
	return s.write(ctx, "the docket", func(t *txn) error {
		r, err := t.exec(ctx, query, args...)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, docket.ErrNone)
		}
		return nil
	})
}

// Dockets gives those of a tank by their time, those struck out too. What wasn't looked
// for has neither levels nor a time of looking.
func (s *Readings) Dockets(ctx context.Context, tank string) ([]docket.Seen, error) {
	const what = "the dockets"
	rows, err := s.reading().QueryContext(ctx, "SELECT "+docketColumns+" FROM docket WHERE tank = ? ORDER BY time, id", tank)
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []docket.Seen
	for rows.Next() {
		var d docket.Docket
		var at, entered int64
		var seen, photo string
		if err := rows.Scan(&d.ID, &d.Tank, &d.Kind, &at, &d.Litres, &d.Kilograms, &d.Typed, &d.Stopped, &d.Note, &photo, &entered, &d.Struck, &seen); err != nil {
			return nil, s.readError(what, err)
		}
		o := docket.Seen{Before: -1, After: -1}
		if seen != "" {
			if err := json.Unmarshal([]byte(seen), &o); err != nil {
				return nil, s.damaged(fmt.Sprintf("what was seen of the docket %s can't be read", d.ID))
			}
		}
		if photo != "" {
			d.Photo = d.ID
		}
		d.Time, d.Entered = time.UnixMilli(at).UTC(), time.UnixMilli(entered).UTC()
		o.Docket = d
		list = append(list, o)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}

// DocketPhoto gives the picture of one with its media type; docket.ErrNone where there
// is none.
func (s *Readings) DocketPhoto(ctx context.Context, tank, id string) (data []byte, kind string, err error) {
	err = s.row(ctx, "the picture", "SELECT d.photo, p.image FROM docket d JOIN docket_photo p ON p.id = d.id WHERE d.tank = ? AND d.id = ?", []any{tank, id}, &kind, &data)
	if errors.Is(err, sql.ErrNoRows) {
		err = docket.ErrNone
	}
	return data, kind, err
}
