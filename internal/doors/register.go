package doors

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"sync"
	"time"
)

// Keeper keeps passes.
type Keeper interface {
	// Passes gives all of them, the latest first; those that were revoked too.
	Passes(ctx context.Context) ([]Pass, error)
	// PassOf gives the one with that sum; ok is false where there is none.
	PassOf(ctx context.Context, sum [sha256.Size]byte) (p Pass, ok bool, err error)
	// PassNamed gives the one with that ID.
	PassNamed(ctx context.Context, id string) (p Pass, ok bool, err error)
	// AddPass keeps a new one; ErrThere where the ID is taken.
	AddPass(ctx context.Context, p Pass) error
	// RevokePass revokes one; ErrNoPass where there is none, and nothing happens
	// where it was revoked before.
	RevokePass(ctx context.Context, id string, at time.Time) error
	// UsedPass notes when one was used.
	UsedPass(ctx context.Context, id string, at time.Time) error
}

// Errors of passes.
var (
	ErrNoPass = errors.New("there is no such link or token, or it has ended")
	ErrThere  = errors.New("it was made already")
)

// MostPasses is how many may be kept, those that ended included.
const MostPasses = 1000

// UsedEvery is how often at most it is written down that a pass was used: a flash
// card wears out by writing.
const UsedEvery = time.Hour

// Register is the passes of a watch. It may be asked by many at once, and the
// file that they are kept in may be changed by another program: each question
// goes to the keeper.
type Register struct {
	Keeper
	mu    sync.Mutex
	noted map[string]time.Time // when it was last written down that one was used
}

// NewRegister makes one.
func NewRegister(k Keeper) *Register { return &Register{Keeper: k, noted: map[string]time.Time{}} }

// Make makes a pass, keeps it, and gives its secret, which nobody can find out
// again.
func (g *Register) Make(ctx context.Context, p Pass, now time.Time) (made Pass, secret string, err error) {
	all, err := g.Passes(ctx)
	if err != nil {
		return Pass{}, "", err
	}
	if len(all) >= MostPasses {
		return Pass{}, "", errors.New("there are a thousand links and tokens already; no more can be made")
	}
	if made, secret, err = p.New(now); err != nil {
		return Pass{}, "", err
	}
	return made, secret, g.AddPass(ctx, made)
}

// Enter lets in whoever has a secret of a kind, or gives ErrNoPass. Any other
// error is the keeper's.
func (g *Register) Enter(ctx context.Context, kind Kind, secret string, now time.Time) (Visitor, error) {
	is, sum, ok := Sum(secret)
	if !ok || is != kind {
		return Visitor{}, ErrNoPass
	}
	p, ok, err := g.PassOf(ctx, sum)
	if err != nil {
		return Visitor{}, err
	}
	if !ok || p.Kind != kind || subtle.ConstantTimeCompare(p.Sum[:], sum[:]) != 1 || !p.Works(now) {
		return Visitor{}, ErrNoPass
	}
	g.used(ctx, p, now)
	return p.Visitor(), nil
}

// Still gives who comes with a pass that was let in before, as the pass stands
// now, or ErrNoPass.
func (g *Register) Still(ctx context.Context, id string, now time.Time) (Visitor, error) {
	p, ok, err := g.PassNamed(ctx, id)
	if err != nil {
		return Visitor{}, err
	}
	if !ok || !p.Works(now) {
		return Visitor{}, ErrNoPass
	}
	g.used(ctx, p, now)
	return p.Visitor(), nil
}

// used notes that a pass was used, now and then. That it can't be noted keeps
// nobody out: a full disk must not hide a level.
func (g *Register) used(ctx context.Context, p Pass, now time.Time) {
	now = now.UTC().Truncate(time.Second)
	g.mu.Lock()
	last := p.Used
	if noted := g.noted[p.ID]; noted.After(last) {
		last = noted
	}
	due := now.Sub(last) >= UsedEvery || now.Before(last.Add(-UsedEvery))
	if due {
		g.noted[p.ID] = now
	}
	g.mu.Unlock()
	if due {
		_ = g.UsedPass(context.WithoutCancel(ctx), p.ID, now)
	}
}
