package app

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"sync"

	"gaugewright/internal/doors"
)

// LeastPhrase is how many characters a pass phrase has at least.
const LeastPhrase = doors.LeastPhrase

// Where pass phrases are noted, and the marks by which those are known who gave
// them.
const (
	phraseNote      = "pass-phrase"
	ownerPhraseNote = "owner-pass-phrase"
	markAfter       = "-mark"
)

// notes is where pass phrases are kept.
type notes interface {
	Note(ctx context.Context, name string) (string, error)
	SetNote(ctx context.Context, name, value string) error
}

// phrases are the pass phrases of a workshop, as they are kept. They are a
// [web.Phrases].
type phrases struct {
	notes notes
	log   *slog.Logger
	cost  doors.Cost

	mu   sync.RWMutex
	kept map[doors.Role]keptPhrase
}

type keptPhrase struct {
	doors.Phrase
	mark string
}

// noteOf is where the pass phrase of a role is noted.
func noteOf(role doors.Role) string {
	if role == doors.Owner {
		return ownerPhraseNote
	}
	return phraseNote
}

var phraseRoles = [...]doors.Role{doors.Fitter, doors.Owner}

// openPhrases reads them.
func openPhrases(ctx context.Context, n notes, log *slog.Logger) (*phrases, error) {
	p := &phrases{notes: n, log: log, cost: doors.Usual, kept: map[doors.Role]keptPhrase{}}
	for _, role := range phraseRoles {
		text, err := n.Note(ctx, noteOf(role))
		if err != nil {
			return nil, err
		}
		if text == "" {
			continue
		}
		k := keptPhrase{}
		if k.Phrase, err = doors.ReadPhrase(text); err != nil {
			return nil, fmt.Errorf("the data file: %w with %s", err, flagOf(role))
		}
		if k.mark, err = n.Note(ctx, noteOf(role)+markAfter); err != nil {
			return nil, err
		}
		if k.mark == "" {
			k.mark = k.Mark() // as long as it had no mark of its own
		}
		p.kept[role] = k
	}
	return p, nil
}

func flagOf(role doors.Role) string {
	if role == doors.Owner {
		return "--new-owner-phrase"
	}
	return "--new-pass-phrase"
}

func (p *phrases) of(role doors.Role) keptPhrase {
	p.mu.RLock()
	defer p.mu.RUnlock()
	return p.kept[role]
}

// Opens says whose pass phrase a text is. All of them are tried, whichever it is,
// so that the time it takes tells nothing.
func (p *phrases) Opens(ctx context.Context, text string) (doors.Role, error) {
	found := doors.Nobody
	for _, role := range phraseRoles {
		k := p.of(role)
		if k.Opens(text) && found == doors.Nobody {
			found = role
		}
	}
	if k := p.of(found); found != doors.Nobody && k.Old(p.cost) {
		// In the present form from now on. That this can't be kept shuts nobody out.
		if err := p.keep(ctx, found, text, k.mark); err != nil {
			p.log.Warn("the pass phrase isn't kept in its present form yet", "error", err)
		}
	}
	return found, nil
}

// Mark changes when those of a role have to sign in again.
func (p *phrases) Mark(role doors.Role) string { return p.of(role).mark }

// Set sets the pass phrase of a role; "" takes the owner's away.
func (p *phrases) Set(ctx context.Context, role doors.Role, text string) error {
	if text != "" {
		return p.keep(ctx, role, text, rand.Text())
	}
	if role != doors.Owner {
		return errors.New("the fitters' pass phrase can't be taken away; set another")
	}
	if err := p.notes.SetNote(ctx, noteOf(role), ""); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.kept, role)
	return nil
}

// keep keeps a pass phrase. Its mark is noted first: where the second note fails,
// people sign in once too often and not once too seldom.
func (p *phrases) keep(ctx context.Context, role doors.Role, text, mark string) error {
	made, err := doors.NewPhrase(text, p.cost)
	if err != nil {
		return err
	}
	if err := p.notes.SetNote(ctx, noteOf(role)+markAfter, mark); err != nil {
		return err
	}
	if err := p.notes.SetNote(ctx, noteOf(role), made.String()); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.kept[role] = keptPhrase{made, mark}
	return nil
}

// EndAll has everybody sign in again.
func (p *phrases) EndAll(ctx context.Context) error {
	for _, role := range phraseRoles {
		k := p.of(role)
		if !k.Set() {
			continue
		}
		k.mark = rand.Text()
		if err := p.notes.SetNote(ctx, noteOf(role)+markAfter, k.mark); err != nil {
			return err
		}
		p.mu.Lock()
		p.kept[role] = k
		p.mu.Unlock()
	}
	return nil
}
