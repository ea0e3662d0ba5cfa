package station

import (
	"cmp"
	"log/slog"
	"slices"
	"strconv"
	"sync"
	"time"
)

const (
	// refusedKinds is how many kinds of refusals are told apart; any more are
	// counted together.
	refusedKinds = 256
	// refusedEvery is how often a kind of refusal is logged, at most.
	refusedEvery = time.Minute
	// sampleBytes is how much of a sample is logged.
	sampleBytes = 60
)

// Refusals are what a source sent that is no reading, for one reason.
type Refusals struct {
	Source, Why string
	N           uint64
	Last        time.Time
}

// refusals counts them.
type refusals struct {
	log *slog.Logger
	now func() time.Time

	mu    sync.Mutex
	kinds map[[2]string]*refusal
}

type refusal struct {
	n, logged uint64
	last, at  time.Time // of the last, and of the last that was logged
}

func (r *refusals) add(source, why string, sample []byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.kinds == nil {
		r.kinds = make(map[[2]string]*refusal)
	}
	kind := [2]string{source, why}
	if r.kinds[kind] == nil {
		if len(r.kinds) >= refusedKinds {
			kind = [2]string{"others", "others"}
		}
		if r.kinds[kind] == nil {
			r.kinds[kind] = new(refusal)
		}
	}
	k := r.kinds[kind]
	k.n++
	k.last = r.now()
	if !k.at.IsZero() && k.last.Sub(k.at) < refusedEvery {
		return
	}
	r.log.Warn("what a source sent is no reading", "source", source, "why", why, "sample", sampled(sample), "since the last line", k.n-k.logged)
	k.logged, k.at = k.n, k.last
}

// sampled quotes a sample, cut short.
func sampled(b []byte) string {
	if len(b) > sampleBytes {
		return strconv.Quote(string(b[:sampleBytes])) + " and " + strconv.Itoa(len(b)-sampleBytes) + " bytes more"
	}
	return strconv.Quote(string(b))
}

func (r *refusals) list() []Refusals {
	r.mu.Lock()
	defer r.mu.Unlock()
	list := make([]Refusals, 0, len(r.kinds))
	for k, v := range r.kinds {
		list = append(list, Refusals{k[0], k[1], v.n, v.last})
	}
	slices.SortFunc(list, func(a, b Refusals) int {
		return cmp.Or(cmp.Compare(b.N, a.N), cmp.Compare(a.Source, b.Source), cmp.Compare(a.Why, b.Why))
	})
	return list
}
