package doors

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// Kind says what a pass is: a token of a program, or a link for a person.
type Kind string

// Kinds of passes. Files have the names, so none may change.
const (
	Token Kind = "token"
	Link  Kind = "link"
)

// Pass lets in whoever has its secret, which isn't kept: only the SHA-256 of it
// is. The secret has 256 random bits, so a slow hash would add nothing.
type Pass struct {
	ID   string // eight signs, by which people and forms name it
	Kind Kind
	Name string // for whom or what it is, 1 to 80 characters
	// Read says that levels and history may be read, Publish that readings may be
	// handed in. A link reads.
	Read, Publish bool
	Tanks         []string  // what it is for; nil: all
	Made          time.Time // in whole seconds, as all of these
	Until         time.Time // it works before that; zero: for as long as it isn't revoked
	Revoked       time.Time // zero: it isn't
	Used          time.Time // about when last, to an hour; zero: never
	Sum           [sha256.Size]byte
}

// A secret begins with what it is, so that one that got where it shouldn't be can
// be searched for, and goes on with 256 bits in base 32 (RFC 4648, 6), which is
// read in either case and stands in a QR code with few modules.
const (
	tokenBegins = "gwt-"
	linkBegins  = "gwl-"
	secretBits  = 256
)

var base = base32.StdEncoding.WithPadding(base32.NoPadding)

// secretSigns is how many signs of base 32 a secret has.
const secretSigns = (secretBits + 4) / 5

// SecretForm is what a secret looks like, for whoever searches for one that leaked.
var SecretForm = regexp.MustCompile(`(?i)\bgw[tl]-[a-z2-7]{52}\b`)

// Limits of a pass.
const (
	MostName  = 80
	MostTanks = 200
)

// New makes a pass and its secret, which is to be shown once and then forgotten.
// What is wrong with the pass is an error. Its ID, Sum and Made are set here.
func (p Pass) New(now time.Time) (made Pass, secret string, err error) {
	p.Name = strings.TrimSpace(p.Name)
	if p.Kind == Link {
		p.Read, p.Publish = true, false
	}
	if p.ID == "" {
		p.ID = NewID()
	}
	p.Made, p.Until = now.UTC().Truncate(time.Second), p.Until.UTC().Truncate(time.Second)
	p.Revoked, p.Used = time.Time{}, time.Time{}
	if err := p.check(); err != nil {
		return Pass{}, "", err
	}
	if !p.Until.IsZero() && !p.Until.After(p.Made) {
		return Pass{}, "", errors.New("the day on which it ends has gone by; choose a later one")
	}
	raw := make([]byte, secretBits/8)
	_, _ = rand.Read(raw) // never fails
	secret = tokenBegins
	if p.Kind == Link {
		secret = linkBegins
	}
	secret += strings.ToLower(base.EncodeToString(raw))
	_, p.Sum, _ = Sum(secret)
	return p, secret, nil
}

// NewID names a pass that is about to be made.
func NewID() string { return strings.ToLower(rand.Text()[:8]) }

var idForm = regexp.MustCompile(`^[a-z2-7]{8}$`)

func (p Pass) check() error {
	switch n := utf8.RuneCountInString(p.Name); {
	case !idForm.MatchString(p.ID):
		return fmt.Errorf("%.20q can't name a pass; expected eight signs of a to z and 2 to 7", p.ID)
	case p.Kind != Token && p.Kind != Link:
		return fmt.Errorf("there is no pass of the kind %.20q; expected %s or %s", string(p.Kind), Token, Link)
	case n == 0:
		return errors.New("nothing says for whom it is; write a name")
	case n > MostName || !utf8.ValidString(p.Name):
		return fmt.Errorf("the name has %d characters; expected %d at the most", n, MostName)
	case strings.ContainsFunc(p.Name, func(r rune) bool { return r < ' ' || r == 0x7f }):
		return errors.New("the name has signs that can't be shown; write it in letters and digits")
	case !p.Read && !p.Publish:
		return errors.New("it may neither read nor publish, so it would be good for nothing; choose one of the two or both")
	case p.Tanks != nil && len(p.Tanks) == 0:
		return errors.New("it is for no tank; choose at least one, or all")
	case len(p.Tanks) > MostTanks:
		return fmt.Errorf("it is for %d tanks; expected %d at the most, or all", len(p.Tanks), MostTanks)
	}
	return nil
}

// Sum gives what is kept of a secret. It isn't ok where the text can't be one,
// which is found out without asking anyone.
func Sum(secret string) (kind Kind, sum [sha256.Size]byte, ok bool) {
	if len(secret) != len(tokenBegins)+secretSigns {
		return "", sum, false
	}
	secret = strings.ToLower(secret)
	switch secret[:len(tokenBegins)] {
	case tokenBegins:
		kind = Token
	case linkBegins:
		kind = Link
	default:
		return "", sum, false
	}
	if _, err := base.DecodeString(strings.ToUpper(secret[len(tokenBegins):])); err != nil {
		return "", sum, false
	}
	return kind, sha256.Sum256([]byte(secret)), true
}

// Works says whether the pass lets anyone in at a moment.
func (p Pass) Works(now time.Time) bool {
	return p.Revoked.IsZero() && (p.Until.IsZero() || now.Before(p.Until))
}

// Visitor is who comes with the pass.
func (p Pass) Visitor() Visitor {
	v := Visitor{Role: Program, Name: p.Name, Pass: p.ID, Tanks: slices.Clone(p.Tanks), Sends: p.Publish, blind: !p.Read}
	if p.Kind == Link {
		v.Role, v.Sends, v.blind = Guest, false, false
	}
	return v
}
