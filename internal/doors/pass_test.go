package doors_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/doors"
)

var noon = time.Date(2026, 11, 3, 12, 0, 0, 5, time.UTC)

func TestPassNew(t *testing.T) {
	p, secret, err := doors.Pass{Kind: doors.Token, Name: " hut ", Publish: true, Tanks: []string{"fresh"}, Until: noon.AddDate(0, 0, 1)}.New(noon)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(secret, "gwt-") || !doors.SecretForm.MatchString("x="+secret+" y") || len(secret) != 4+52 {
		t.Errorf("the secret is %q", secret)
	}
	if p.Name != "hut" || len(p.ID) != 8 || p.Sum != sha256.Sum256([]byte(secret)) {
		t.Errorf("the pass is %+v", p)
	}
	if kind, sum, ok := doors.Sum(strings.ToUpper(secret)); !ok || kind != doors.Token || sum != p.Sum {
		t.Error("a secret in capitals isn't the same; QR codes have it so")
	}
	_, other, _ := doors.Pass{Kind: doors.Token, Name: "hut", Publish: true}.New(noon)
	if secret == other {
		t.Error("two secrets are alike")
	}
	if !p.Works(noon) || p.Works(noon.AddDate(0, 0, 1)) {
		t.Error("it works until its end and not after; found otherwise")
	}
	p.Revoked = noon
	if p.Works(noon) {
		t.Error("it works after it was revoked")
	}
}

func TestPassRights(t *testing.T) {
	for _, c := range []struct {
		pass                 doors.Pass
		role                 doors.Role
		sees, sends, foreign bool
	}{
		{doors.Pass{Kind: doors.Link, Name: "x", Publish: true, Tanks: []string{"fresh"}}, doors.Guest, true, false, false},
		{doors.Pass{Kind: doors.Link, Name: "x"}, doors.Guest, true, false, true},
		{doors.Pass{Kind: doors.Token, Name: "x", Read: true, Tanks: []string{"fresh"}}, doors.Program, true, false, false},
		{doors.Pass{Kind: doors.Token, Name: "x", Publish: true, Tanks: []string{"fresh"}}, doors.Program, false, true, false},
		{doors.Pass{Kind: doors.Token, Name: "x", Read: true, Publish: true}, doors.Program, true, true, true},
	} {
		p, _, err := c.pass.New(noon)
		if err != nil {
			t.Fatal(err)
		}
		v := p.Visitor()
		if v.Role != c.role || v.Sees("fresh") != c.sees || v.Looks() != c.sees || v.Publishes("fresh") != c.sends || v.Sees("grey") != (c.foreign && c.sees) || v.Publishes("grey") != (c.foreign && c.sends) {
			t.Errorf("%+v comes as %+v", c.pass, v)
		}
	}
	for role, want := range map[doors.Role][2]bool{doors.Nobody: {}, doors.Owner: {true, false}, doors.Fitter: {true, true}} {
		if v := (doors.Visitor{Role: role}); v.Sees("fresh") != want[0] || v.Publishes("fresh") != want[1] {
			t.Errorf("%q sees %v and publishes %v", role, v.Sees("fresh"), v.Publishes("fresh"))
		}
	}
}

func TestPassRefused(t *testing.T) {
	good := doors.Pass{Kind: doors.Token, Name: "hut", Read: true}
	for what, change := range map[string]func(*doors.Pass){
		"no name":      func(p *doors.Pass) { p.Name = " " },
		"long name":    func(p *doors.Pass) { p.Name = strings.Repeat("x", doors.MostName+1) },
		"new line":     func(p *doors.Pass) { p.Name = "a\nb" },
		"kind":         func(p *doors.Pass) { p.Kind = "key" },
		"no right":     func(p *doors.Pass) { p.Read = false },
		"no tank":      func(p *doors.Pass) { p.Tanks = []string{} },
		"over already": func(p *doors.Pass) { p.Until = noon.Add(-time.Hour) },
		"odd ID":       func(p *doors.Pass) { p.ID = "../../etc" },
	} {
		p := good
		change(&p)
		if _, secret, err := p.New(noon); err == nil || secret != "" {
			t.Errorf("%s: it is made", what)
		}
	}
	for _, text := range []string{"", "gwt-", "gwx-" + strings.Repeat("a", 52), "gwt-" + strings.Repeat("a", 51), "gwt-" + strings.Repeat("1", 52), strings.Repeat("gwt-", 1000)} {
		if _, _, ok := doors.Sum(text); ok {
			t.Errorf("%.60q is taken for a secret", text)
		}
	}
}

// kept is a keeper in memory.
type kept struct {
	list   []doors.Pass
	writes int
	fails  error
}

func (k *kept) find(ok func(doors.Pass) bool) int { return slices.IndexFunc(k.list, ok) }

func (k *kept) Passes(context.Context) ([]doors.Pass, error) { return k.list, k.fails }

func (k *kept) PassOf(_ context.Context, sum [sha256.Size]byte) (doors.Pass, bool, error) {
	if i := k.find(func(p doors.Pass) bool { return p.Sum == sum }); i >= 0 {
		return k.list[i], true, k.fails
	}
	return doors.Pass{}, false, k.fails
}

func (k *kept) PassNamed(_ context.Context, id string) (doors.Pass, bool, error) {
	if i := k.find(func(p doors.Pass) bool { return p.ID == id }); i >= 0 {
		return k.list[i], true, k.fails
	}
	return doors.Pass{}, false, k.fails
}

func (k *kept) AddPass(_ context.Context, p doors.Pass) error {
	k.list = append(k.list, p)
	return k.fails
}

func (k *kept) RevokePass(_ context.Context, id string, at time.Time) error {
	k.list[k.find(func(p doors.Pass) bool { return p.ID == id })].Revoked = at
	return k.fails
}

func (k *kept) UsedPass(_ context.Context, id string, at time.Time) error {
	k.writes++
	k.list[k.find(func(p doors.Pass) bool { return p.ID == id })].Used = at
	return k.fails
}

func TestRegister(t *testing.T) {
	k := &kept{}
	g := doors.NewRegister(k)
	ctx := t.Context()
	p, secret, err := g.Make(ctx, doors.Pass{Kind: doors.Link, Name: "Tidewater Kitchen", Tanks: []string{"fresh"}}, noon)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.Enter(ctx, doors.Token, secret, noon); !errors.Is(err, doors.ErrNoPass) {
		t.Errorf("a link goes as a token: %v", err)
	}
	for i := range 600 { // ten minutes, a second apart
		v, err := g.Enter(ctx, doors.Link, secret, noon.Add(time.Duration(i)*time.Second))
		if err != nil || v.Role != doors.Guest || v.Pass != p.ID {
			t.Fatalf("%+v, %v", v, err)
		}
	}
	if k.writes != 1 {
		t.Errorf("600 uses in ten minutes were written down %d times; expected once, for the card's sake", k.writes)
	}
	if _, err := g.Still(ctx, p.ID, noon.Add(2*time.Hour)); err != nil || k.writes != 2 {
		t.Errorf("%v, written down %d times; expected twice in two hours", err, k.writes)
	}
	guess := secret[:len(secret)-2] + "aa"
	if guess == secret {
		guess = secret[:len(secret)-2] + "ab"
	}
	if _, err := g.Enter(ctx, doors.Link, guess, noon); !errors.Is(err, doors.ErrNoPass) {
		t.Errorf("a guess: %v", err)
	}
	if err := g.RevokePass(ctx, p.ID, noon); err != nil {
		t.Fatal(err)
	}
	_, err1 := g.Enter(ctx, doors.Link, secret, noon)
	_, err2 := g.Still(ctx, p.ID, noon)
	if !errors.Is(err1, doors.ErrNoPass) || !errors.Is(err2, doors.ErrNoPass) {
		t.Errorf("after it was revoked: %v, %v", err1, err2)
	}
}

// A keeper that fails lets nobody in, and a use that can't be noted keeps nobody out.
func TestRegisterFails(t *testing.T) {
	k := &kept{}
	g := doors.NewRegister(k)
	p, secret, err := g.Make(t.Context(), doors.Pass{Kind: doors.Token, Name: "hut", Read: true}, noon)
	if err != nil {
		t.Fatal(err)
	}
	k.fails = errors.New("the disk")
	_, err1 := g.Enter(t.Context(), doors.Token, secret, noon)
	_, err2 := g.Still(t.Context(), p.ID, noon)
	if err1 == nil || err2 == nil {
		t.Error("someone is let in though it can't be looked up")
	}
}

func TestGuesses(t *testing.T) {
	var g doors.Guesses
	now := noon
	for range doors.FreeTries {
		g.Wrong("10.0.0.1:4000", now)
	}
	if w := g.Wait("10.0.0.1", now); w != 0 {
		t.Errorf("after %d wrong tries the wait is %s", doors.FreeTries, w)
	}
	for _, want := range []time.Duration{1, 2, 4, 8, 16, 32, 60, 60} {
		g.Wrong("10.0.0.1", now)
		if w := g.Wait("10.0.0.1:9", now); w != want*time.Second {
			t.Errorf("the wait is %s; expected %s", w, want*time.Second)
		}
	}
	if w := g.Wait("10.0.0.2", now); w != 0 {
		t.Errorf("another waits %s", w)
	}
	if w := g.Wait("10.0.0.1", now.Add(-time.Hour)); w > doors.LongestWait {
		t.Errorf("after the clock was set back it waits %s", w)
	}
	g.Right("10.0.0.1")
	if w := g.Wait("10.0.0.1", now); w != 0 {
		t.Errorf("after the right one it waits %s", w)
	}
	for i := range 500 {
		g.Wrong("2001:db8::"+string(rune('a'+i%6)), now)
	}
	if w := g.Wait("[2001:db8::ffff:1]:80", now); w != doors.LongestWait {
		t.Errorf("a device that has many addresses waits %s; expected %s", w, doors.LongestWait)
	}
	if w := g.Wait("10.9.9.9", now); w == 0 || w > time.Second {
		t.Errorf("while many guess, one that hasn't waits %s; expected up to a second", w)
	}
	if w := g.Wait("10.9.9.9", now.Add(time.Hour)); w != 0 {
		t.Errorf("an hour later it waits %s", w)
	}
}

// Guessing from ever new networks frees none that has to wait.
func TestGuessesRemembered(t *testing.T) {
	var g doors.Guesses
	for range 20 {
		g.Wrong("10.0.0.1", noon)
	}
	for i := range 3000 {
		g.Wrong("172."+itoa(16+i/256/16)+"."+itoa(i/16%256)+"."+itoa(i%16), noon.Add(time.Duration(i)*time.Millisecond))
		if i%500 == 0 {
			g.Wrong("10.0.0.1", noon.Add(time.Duration(i)*time.Millisecond))
		}
	}
	if w := g.Wait("10.0.0.1", noon.Add(3*time.Second)); w < 50*time.Second {
		t.Errorf("it waits %s; expected about a minute still", w)
	}
}

func itoa(n int) string {
	return strings.TrimLeft(string([]byte{byte('0' + n/100), byte('0' + n/10%10)}), "0") + string(byte('0'+n%10))
}

// There is an end to how many are kept.
func TestRegisterIsBounded(t *testing.T) {
	k := &kept{list: make([]doors.Pass, doors.MostPasses)}
	_, secret, err := doors.NewRegister(k).Make(t.Context(), doors.Pass{Kind: doors.Token, Name: "hut", Read: true}, noon)
	if err == nil || secret != "" || len(k.list) != doors.MostPasses {
		t.Errorf("%v: there are %d; expected no more than %d", err, len(k.list), doors.MostPasses)
	}
}
