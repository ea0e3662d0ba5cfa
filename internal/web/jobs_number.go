package web

import (
	"context"
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// running is a number that runs through a year, with whatever a workshop puts
// before it: "2026-014", "TK-2026-014".
var running = regexp.MustCompile(`^(.*?)([0-9]{4})-([0-9]{1,9})$`)

// nextNumber suggests the next free number of the year. A list that can't be
// read suggests the first: the number is only a suggestion, and starting a job
// will say what is wrong with the store.
func (s *Site) nextNumber(ctx context.Context, now time.Time) string {
	const all = 1 << 20
	year := strconv.Itoa(now.Year())
	cards, _, err := s.o.Store.Jobs(ctx, year, all)
	if err != nil {
		return numberAfter(nil, now.Year())
	}
	next := numberAfter(cards, now.Year())
	if len(cards) == 0 || !running.MatchString(cards[0].Number) {
		// The year's first: the way in which the last ones were numbered goes on.
		if last, _, err := s.o.Store.Jobs(ctx, "", mostLines); err == nil {
			next = numberAfter(append(cards, last...), now.Year())
		}
	}
	return next
}

// numberAfter gives the number after the highest of a year, written as the job
// that was changed last is.
func numberAfter(cards []job.Card, year int) string {
	before, any := "", false
	highest, digits := 0, 3
	taken := map[string]bool{}
	for _, c := range cards {
		taken[c.Number] = true
		if m := running.FindStringSubmatch(c.Number); m != nil && !any {
			before, any = m[1], true
		}
	}
	for _, c := range cards {
		m := running.FindStringSubmatch(c.Number)
		if m == nil || m[1] != before || m[2] != strconv.Itoa(year) {
			continue
		}
		if n, err := strconv.Atoi(m[3]); err == nil && n > highest {
			highest, digits = n, max(3, len(m[3]))
		}
	}
	for n := highest + 1; ; n++ {
		if next := fmt.Sprintf("%s%d-%0*d", before, year, digits, n); !taken[next] {
			return next
		}
	}
}

// usual is what a new job begins with: what the last facts that were kept said.
type usual struct {
	Fitter string          `json:"fitter,omitempty"`
	Units  *quantity.Units `json:"units,omitempty"`
}

const usualNote = "usual"

// usual gives what a new job begins with; nothing where that can't be read.
func (s *Site) usual(ctx context.Context) usual {
	var u usual
	text, err := s.o.Store.Note(ctx, usualNote)
	if err != nil || text == "" {
		return u
	}
	if err := json.Unmarshal([]byte(text), &u); err != nil || u.Units != nil && u.Units.Valid() != nil {
		return usual{}
	}
	return u
}

// keepUsual notes it; the job itself is kept already, so a failure is only
// logged.
func (s *Site) keepUsual(ctx context.Context, u usual) {
	text, err := json.Marshal(u)
	if err == nil {
		err = s.o.Store.SetNote(ctx, usualNote, string(text))
	}
	if err != nil {
		s.o.Log.Warn("what a new job begins with isn't noted", "error", err)
	}
}
