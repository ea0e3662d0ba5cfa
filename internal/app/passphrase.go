package app

import (
	"context"
	"crypto/hkdf"
	"crypto/pbkdf2"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// LeastPhrase is how many characters a pass phrase has at least: what NIST
// SP 800-63B-4, 3.1.1.2, asks of a password that stands alone. Four words do.
const LeastPhrase = 15

// mostPhrase keeps whoever asks from making the program hash a book.
const mostPhrase = 1024

// rounds of PBKDF2 with HMAC-SHA-256, as OWASP's Password Storage Cheat Sheet
// advises (2023).
const rounds = 600_000

const (
	phraseNote = "pass-phrase"
	phraseKind = "pbkdf2-sha256"
)

// notes is where the pass phrase is kept.
type notes interface {
	Note(ctx context.Context, name string) (string, error)
	SetNote(ctx context.Context, name, value string) error
}

// ErrNoPhrase says that no pass phrase has been set.
var ErrNoPhrase = errors.New("no pass phrase has been set")

// lock is a pass phrase as it is kept.
type lock struct {
	rounds     int
	salt, hash []byte
}

// setPhrase keeps a pass phrase. Who knew the one before is asked again.
func setPhrase(ctx context.Context, n notes, text string) error {
	if got := utf8.RuneCountInString(text); got < LeastPhrase {
		return fmt.Errorf("the pass phrase has %d characters; expected %d or more: four words will do", got, LeastPhrase)
	}
	if len(text) > mostPhrase {
		return fmt.Errorf("the pass phrase has %d bytes; expected %d at the most", len(text), mostPhrase)
	}
	l := lock{rounds: rounds, salt: make([]byte, 16)}
	_, _ = rand.Read(l.salt) // never fails
	var err error
	if l.hash, err = l.derive(text); err != nil {
		return err
	}
	e := base64.RawStdEncoding
	return n.SetNote(ctx, phraseNote, strings.Join([]string{phraseKind, strconv.Itoa(l.rounds), e.EncodeToString(l.salt), e.EncodeToString(l.hash)}, "$"))
}

// phrase gives the pass phrase that is set, or ErrNoPhrase.
func phrase(ctx context.Context, n notes) (lock, error) {
	text, err := n.Note(ctx, phraseNote)
	if err != nil {
		return lock{}, err
	}
	if text == "" {
		return lock{}, ErrNoPhrase
	}
	parts := strings.Split(text, "$")
	damaged := errors.New("the pass phrase in the data file can't be read; set it again with --new-pass-phrase")
	if len(parts) != 4 || parts[0] != phraseKind {
		return lock{}, damaged
	}
	var l lock
	var errs [3]error
	l.rounds, errs[0] = strconv.Atoi(parts[1])
	l.salt, errs[1] = base64.RawStdEncoding.DecodeString(parts[2])
	l.hash, errs[2] = base64.RawStdEncoding.DecodeString(parts[3])
	if errors.Join(errs[:]...) != nil || l.rounds < 1 || l.rounds > 100*rounds || len(l.hash) != sha256.Size {
		return lock{}, damaged
	}
	return l, nil
}

func (l lock) derive(text string) ([]byte, error) {
	return pbkdf2.Key(sha256.New, text, l.salt, l.rounds, sha256.Size)
}

// opens says whether a text is the pass phrase.
func (l lock) opens(text string) bool {
	if len(text) > mostPhrase {
		return false
	}
	got, err := l.derive(text)
	return err == nil && subtle.ConstantTimeCompare(got, l.hash) == 1
}

// mark names the pass phrase without telling anything of it.
func (l lock) mark() string {
	m, err := hkdf.Key(sha256.New, l.hash, l.salt, "gaugewright session", 9)
	if err != nil {
		panic(err) // the length above is impossible
	}
	return base64.RawURLEncoding.EncodeToString(m)
}
