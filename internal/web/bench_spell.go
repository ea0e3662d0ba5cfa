package web

import (
	"strconv"
	"sync"
)

// spellRuns tells the spells of one run of a meter from those of another, which
// count from 1 again: where another meter was chosen, or the same one again.
// Pages that look at one spell are told the same.
type spellRuns struct {
	mu   sync.Mutex
	run  int
	name string
	last int64
	over bool // the last spell has ended, and its number doesn't come again
}

// of names the run that a spell of the meter belongs to. The lock is held from
// before the meter was asked, so that no older answer comes after a newer one.
func (s *spellRuns) of(name string, spell int64) string {
	if name != s.name || spell != 0 && (spell < s.last || spell == s.last && s.over) {
		s.run++
		s.last = 0
	}
	s.name, s.over = name, spell == 0
	if spell != 0 {
		s.last = spell
	}
	return "." + strconv.Itoa(s.run)
}
