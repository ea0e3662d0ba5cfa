package doors

import (
	"net/netip"
	"sync"
	"time"
)

// Guesses slows down whoever guesses: after a few wrong tries from one network
// each costs twice the wait of the one before, and after many from wherever all
// who haven't been let in before wait a little. Nobody is locked out: no wait is
// longer than LongestWait, and those who are signed in never wait.
type Guesses struct {
	mu     sync.Mutex
	wrongs map[netip.Prefix]wrong
	all    wrong
}

type wrong struct {
	n    int
	last time.Time
}

const (
	// FreeTries is how many wrong tries a network has before it waits.
	FreeTries = 4
	// LongestWait is the longest wait of one network.
	LongestWait = time.Minute
	// freeOfAll is how many wrong tries all have together in forgetAll before each
	// try of anyone costs allWait.
	freeOfAll = 100
	allWait   = time.Second
	forgetAll = 10 * time.Minute
	// mostGuessers is how many networks are remembered; a workshop has a few.
	mostGuessers = 1000
)

// Wait says how long someone has to wait before the next try counts; 0: not at
// all. from is an address with or without a port.
func (g *Guesses) Wait(from string, now time.Time) time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	wait := g.wrongs[Network(from)].wait(now, FreeTries, LongestWait)
	if g.all.n > freeOfAll && now.Sub(g.all.last).Abs() < forgetAll {
		wait = max(wait, g.all.wait(now, freeOfAll, allWait))
	}
	return wait
}

func (w wrong) wait(now time.Time, free int, longest time.Duration) time.Duration {
	if w.n <= free {
		return 0
	}
	pause := min(longest, time.Second<<min(w.n-free-1, 10))
	left := pause - now.Sub(w.last)
	return min(pause, max(0, left)) // a clock set back makes nobody wait longer
}

// Wrong counts a wrong try.
func (g *Guesses) Wrong(from string, now time.Time) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.wrongs == nil {
		g.wrongs = map[netip.Prefix]wrong{}
	}
	at := Network(from)
	w, known := g.wrongs[at]
	if !known && len(g.wrongs) >= mostGuessers {
		g.forget(now)
	}
	g.wrongs[at] = wrong{w.n + 1, now}
	if now.Sub(g.all.last).Abs() >= forgetAll {
		g.all.n = 0
	}
	g.all = wrong{g.all.n + 1, now}
}

// forget makes room: those go that need not wait any more, and else the one that
// tried longest ago, so that many new networks don't set an old one free at once.
func (g *Guesses) forget(now time.Time) {
	var oldest netip.Prefix
	first := true
	for at, w := range g.wrongs {
		if w.wait(now, FreeTries, LongestWait) == 0 && now.Sub(w.last) > LongestWait {
			delete(g.wrongs, at)
			continue
		}
		if first || w.last.Before(g.wrongs[oldest].last) {
			oldest, first = at, false
		}
	}
	if len(g.wrongs) >= mostGuessers {
		delete(g.wrongs, oldest)
	}
}

// Right forgets the wrong tries of a network.
func (g *Guesses) Right(from string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	delete(g.wrongs, Network(from))
}

// Network is what counts as one guesser: an IPv4 address, or the first 64 bits of
// an IPv6 one, of which a single device has as many as it likes. What is no
// address is one guesser together.
func Network(from string) netip.Prefix {
	a, err := netip.ParseAddr(from)
	if err != nil {
		ap, err := netip.ParseAddrPort(from)
		if err != nil {
			return netip.Prefix{}
		}
		a = ap.Addr()
	}
	a = a.Unmap().WithZone("")
	bits := 32
	if a.Is6() {
		bits = 64
	}
	p, err := a.Prefix(bits)
	if err != nil {
		return netip.Prefix{}
	}
	return p
}
