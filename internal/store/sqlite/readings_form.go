package sqlite

import (
	"context"
	"errors"
	"fmt"
)

// newestForm is the newest form of a body that this version knows. Every form begins
// with its number and ends with the CRC-32C of the rest, those to come included, so
// that a newer one can be told from a damaged one.
const newestForm = flowForm

// newerForm is the error of a body that is whole, and of a form that a newer version of
// the program has. It isn't damage: nothing is put aside or made again for it.
type newerForm byte

func (e newerForm) Error() string {
	return fmt.Sprintf("its form is %d, this one knows up to %d", byte(e), newestForm)
}

// isNewer says whether an error is that of a newer form.
func isNewer(err error) bool {
	var e newerForm
	return errors.As(err, &e)
}

// ofForm says what is wrong with the form of a body whose checksum is right.
func ofForm(found, want byte) error {
	switch {
	case found > newestForm:
		return newerForm(found)
	case found != want:
		return fmt.Errorf("its form is %d; expected %d", found, want)
	}
	return nil
}

// partError words an error of a part of the file that can't be unpacked: "chunk 12".
func (s *file) partError(part string, err error) error {
	if isNewer(err) {
		return fmt.Errorf("the %s %s was written by a newer version of this program (%s: %w); nothing was changed in it: use the newer version", s.kind, s.path, part, err)
	}
	return s.damagedAs("what is kept in it doesn't make sense", fmt.Sprintf("%s: %v", part, err))
}

// readable refuses a file in which a newer version of the program has sealed or rolled
// up something lately, before anything is kept in it that can't be sealed then.
func (s *Readings) readable(ctx context.Context, t *txn) error {
	rows, err := t.conn.QueryContext(ctx, `SELECT 'chunk', ?1, (SELECT body FROM chunk ORDER BY number DESC LIMIT 1)
		UNION ALL SELECT 'roll-ups', ?2, (SELECT body FROM roll WHERE line = l.number AND step = 2 ORDER BY block DESC LIMIT 1) FROM line l
		UNION ALL SELECT 'levels', ?3, (SELECT body FROM level WHERE tank = t.number AND step = 2 ORDER BY block DESC LIMIT 1) FROM tank t`,
		chunkForm, rollForm, levelForm)
	if code(err) == corrupt {
		return nil
	}
	if err != nil {
		return s.readError(t.what, err)
	}
	defer rows.Close()
	for rows.Next() {
		var part string
		var form byte
		var body []byte
		if err := rows.Scan(&part, &form, &body); err != nil {
			return s.readError(t.what, err)
		}
		if _, err := checked(body, form); isNewer(err) {
			return s.partError("the newest "+part, err)
		}
	}
	// A page of these that doesn't make sense is found when it is needed, and is no
	// reason to put all else aside.
	if err := rows.Err(); err != nil && code(err) != corrupt {
		return s.readError(t.what, err)
	}
	return nil
}
