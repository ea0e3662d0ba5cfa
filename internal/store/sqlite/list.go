package sqlite

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"gaugewright/internal/job"
)

// maxWords is how many different words may be searched for at once: far more
// than anyone types, far fewer than make a query too deep for SQLite.
const maxWords = 100

// Jobs lists jobs; see [job.Store]. Of the tanks, the names and what is in them
// are searched. The last changed is the one whose change came last, whatever
// the clocks said.
func (s *Store) Jobs(ctx context.Context, find string, limit int) ([]job.Card, int, error) {
	const what = "the list of jobs"
	words := searchWords(find)
	if len(words) > maxWords {
		return nil, 0, fmt.Errorf("found %d words to search for; expected at most %d: leave some out", len(words), maxWords)
	}
	where, args := "", []any{}
	for i, w := range words {
		where += []string{" WHERE ", " AND "}[min(i, 1)] + "instr(search, ?) > 0"
		args = append(args, w)
	}
	// Both questions in one transaction, so that they are asked of the same jobs.
	tx, err := s.readers.BeginTx(ctx, nil)
	if err != nil {
		return nil, 0, s.readError(what, err)
	}
	defer tx.Rollback()
	var all int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM job"+where, args...).Scan(&all); err != nil {
		return nil, 0, s.readError(what, err)
	}
	rows, err := tx.QueryContext(ctx, `SELECT id, revision, place, number, customer, vehicle, date, tanks, changed
		FROM job`+where+" ORDER BY last DESC LIMIT ?", append(args, max(0, limit))...)
	if err != nil {
		return nil, 0, s.readError(what, err)
	}
	defer rows.Close()
	var cards []job.Card
	for rows.Next() {
		var c job.Card
		var tanks []byte
		var changed string
		if err := rows.Scan(&c.ID, &c.Revision, &c.Place, &c.Number, &c.Customer, &c.Vehicle, &c.Date, &tanks, &changed); err != nil {
			return nil, 0, s.readError(what, err)
		}
		if err := json.Unmarshal(tanks, &c.Tanks); err != nil {
			return nil, 0, fmt.Errorf("the tanks of job %s in %s: %w", c.ID, s.path, err)
		}
		if c.Changed, err = moment(changed); err != nil {
			return nil, 0, fmt.Errorf("job %s in %s: %w", c.ID, s.path, err)
		}
		cards = append(cards, c)
	}
	if err := rows.Err(); err != nil {
		return nil, 0, s.readError(what, err)
	}
	return cards, all, nil
}

// searched gives the text that a search looks at: a field to a line, so that no
// word is found across two of them.
func searched(j *job.Job) string {
	fields := []string{j.Number, j.Customer, j.Vehicle, j.Date}
	for _, t := range j.Tanks {
		fields = append(fields, t.Name, string(t.Contents))
	}
	return folded(strings.Join(fields, "\n"))
}

// searchWords gives the words to look for, each once.
func searchWords(find string) []string {
	words := strings.Fields(folded(find))
	slices.Sort(words)
	return slices.Compact(words)
}

// folded gives text in which capitals are as small letters, of any script. By
// way of the capital, letters with two small forms (the Greek sigma, the long s)
// become one.
func folded(text string) string {
	return strings.Map(func(r rune) rune { return unicode.ToLower(unicode.ToUpper(r)) }, text)
}
