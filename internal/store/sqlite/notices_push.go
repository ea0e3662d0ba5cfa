package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// Subscription is a browser that is told by Web Push.
type Subscription struct {
	Endpoint string
	Label    string    // of the device, for people
	Made     time.Time // to a millisecond
	Body     []byte    // what the browser gave, JSON
}

// Subscriptions gives all there are, the earliest first.
func (s *Readings) Subscriptions(ctx context.Context) ([]Subscription, error) {
	const what = "who is told by Web Push"
	rows, err := s.reading().QueryContext(ctx, "SELECT endpoint, label, made, body FROM subscription ORDER BY made, endpoint")
	if err != nil {
		return nil, s.readError(what, err)
	}
	defer rows.Close()
	var list []Subscription
	for rows.Next() {
		var one Subscription
		var made int64
		var body string
		if err := rows.Scan(&one.Endpoint, &one.Label, &made, &body); err != nil {
			return nil, s.readError(what, err)
		}
		one.Made, one.Body = instantOf(made), []byte(body)
		list = append(list, one)
	}
	if err := rows.Err(); err != nil {
		return nil, s.readError(what, err)
	}
	return list, nil
}

// KeepSubscription keeps one, in the place of one with the same endpoint. ok is false,
// and nothing is kept, where there are as many as there may be.
func (s *Readings) KeepSubscription(ctx context.Context, one Subscription, most int) (ok bool, err error) {
	err = s.write(ctx, "who is told by Web Push", func(t *txn) error {
		var others int
		if err := t.row(ctx, "SELECT count(*) FROM subscription WHERE endpoint <> ?", []any{one.Endpoint}, &others); err != nil || others >= most {
			return err
		}
		ok = true
		_, err := t.exec(ctx, "INSERT INTO subscription (endpoint, label, made, body) VALUES (?, ?, ?, ?) ON CONFLICT (endpoint) DO UPDATE SET label = excluded.label, made = excluded.made, body = excluded.body",
			one.Endpoint, one.Label, instant(one.Made), string(one.Body))
		return err
	})
	return ok && err == nil, err
}

// DropSubscription lets go of one, and of what waits for it by the way of that name; ok
// is false where there is none.
func (s *Readings) DropSubscription(ctx context.Context, endpoint, way string) (ok bool, err error) {
	err = s.write(ctx, "who is told by Web Push", func(t *txn) error {
		r, err := t.exec(ctx, "DELETE FROM subscription WHERE endpoint = ?", endpoint)
		if err != nil {
			return err
		}
		n, err := r.RowsAffected()
		if err != nil {
			return err
		}
		ok = n > 0
		for _, query := range []string{"DELETE FROM notice WHERE way = ? AND next > 0", "DELETE FROM notice_lost WHERE way = ?"} {
			if _, err := t.exec(ctx, query, way); err != nil {
				return err
			}
		}
		return nil
	})
	return ok && err == nil, err
}

// PushKey gives the private key by which push services know this watch; where there is
// none yet, the one that made makes is kept.
func (s *Readings) PushKey(ctx context.Context, made func() ([]byte, error)) (key []byte, err error) {
	err = s.write(ctx, "the key for push services", func(t *txn) error {
		err := t.row(ctx, "SELECT private FROM push_key", nil, &key)
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if key, err = made(); err != nil {
			return err
		}
		_, err = t.exec(ctx, "INSERT INTO push_key (number, private) VALUES (1, ?)", key)
		return err
	})
	return key, err
}
