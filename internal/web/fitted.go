package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"sync"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// How much is kept of what was worked out: so many tanks that were looked at last,
// and numbers for so many wishes.
const (
	fitsKept      = 32
	proposalsKept = 128
)

// fits keeps what was worked out of the tanks that were looked at last, for as long
// as their jobs stay as they are. Its zero value is empty and ready.
type fits struct {
	mu   sync.Mutex
	held map[fitKey]*fit
	used []fitKey // the last used at the end

	// proposals are by what they rest on and the wish, so that one outlives a
	// revision that doesn't touch it: a table may take a second to find.
	proposals map[string]proposed
}

// fitKey names a tank of a job as it was at a revision: whatever changes, the
// revision does.
type fitKey struct {
	id       job.ID
	revision int64
	n        int
}

// fit is one tank, worked out. It doesn't change and may be used from several
// goroutines.
type fit struct {
	kept *job.Kept // but for its Place, which is no part of a revision
	at   *tankAt
	base string // what numbers to key in rest on
}

// proposed is the best numbers for a wish, with what would help where they leave
// too much error.
type proposed struct {
	telling.Proposal
	remedies []finding.Finding
	err      error
}

// get gives a tank that is held; nil where it isn't.
func (f *fits) get(key fitKey) *fit {
	f.mu.Lock()
	defer f.mu.Unlock()
	found := f.held[key]
	if found != nil {
		f.use(key)
	}
	return found
}

// put holds a tank, and lets go of the one that was used longest ago.
func (f *fits) put(key fitKey, kept *job.Kept, at *tankAt) *fit {
	f.mu.Lock()
	defer f.mu.Unlock()
	if found := f.held[key]; found != nil { // somebody else was quicker
		f.use(key)
		return found
	}
	if f.held == nil {
		f.held = map[fitKey]*fit{}
	}
	made := &fit{kept: kept, at: at, base: baseOf(*at.Tank)}
	f.held[key] = made
	f.use(key)
	for len(f.used) > fitsKept {
		delete(f.held, f.used[0])
		f.used = f.used[1:]
	}
	return made
}

// use puts a key at the end; f is locked.
func (f *fits) use(key fitKey) {
	for i, k := range f.used {
		if k == key {
			f.used = append(f.used[:i:i], f.used[i+1:]...)
			break
		}
	}
	f.used = append(f.used, key)
}

// fitOf gives a tank of a job that was read, worked out. Nothing of it may be
// changed.
func (s *Site) fitOf(kept *job.Kept, n int) *fit {
	key := fitKey{kept.ID, kept.Revision, n}
	if found := s.fits.get(key); found != nil {
		return found
	}
	return s.fits.put(key, kept, tankOf(kept, n))
}

// fitNow gives the tank of an address, worked out; the job is read only where it
// has changed since.
func (s *Site) fitNow(r *http.Request) (*fit, error) {
	id := job.ID(r.PathValue("id"))
	revision, err := s.o.Store.Revision(r.Context(), id)
	if err != nil {
		return nil, err
	}
	if n, err := strconv.Atoi(r.PathValue("n")); err == nil {
		if found := s.fits.get(fitKey{id, revision, n}); found != nil {
			ownIn(r.Context(), found.kept.Job.OwnWords()...)
			return found, nil
		}
	}
	kept, err := s.job(r)
	if err != nil {
		return nil, err
	}
	n, err := tankNumber(r, kept.Job)
	if err != nil {
		return nil, err
	}
	return s.fitOf(kept, n), nil
}

// fitted gives the curve of a tank of a job that was read, or why there is none. A
// curve that was fitted for the same revision isn't fitted again.
func (s *Site) fitted(kept *job.Kept, n int) (*curve.Curve, error) {
	return s.fitOf(kept, n).at.View.Fitted()
}

// propose finds the best numbers of a tank for a wish, once for each.
func (s *Site) propose(f *fit, how job.Setting, w telling.Wish) (proposed, error) {
	key := f.base + wishKey(how, w)
	s.fits.mu.Lock()
	found, ok := s.fits.proposals[key]
	s.fits.mu.Unlock()
	if ok {
		return found, found.err
	}
	found.Proposal, found.err = telling.Propose(*f.at.Tank, how, w)
	if p := found.Proposal; found.err == nil {
		found.remedies = append(span.Remedy(p.Curve, p.Scale, p.Best), p.Best.Findings...)
	}
	if f.base == "" {
		return found, found.err
	}
	s.fits.mu.Lock()
	defer s.fits.mu.Unlock()
	if s.fits.proposals == nil || len(s.fits.proposals) >= proposalsKept {
		s.fits.proposals = map[string]proposed{}
	}
	s.fits.proposals[key] = found
	return found, found.err
}

// baseOf is all of a tank that numbers to key in may rest on: everything but what
// is keyed in and how it was proved. It is "" where the tank rests on other files,
// which may change by themselves.
func baseOf(t job.Tank) string {
	if t.Folder != "" && t.Shape != nil {
		return ""
	}
	t.Setting, t.Checks = nil, nil
	text, err := json.Marshal(t)
	if err != nil {
		return ""
	}
	return string(text)
}

// wishKey tells wishes apart.
func wishKey(how job.Setting, w telling.Wish) string {
	or := func(p *float64) string {
		if p == nil {
			return "-"
		}
		return fmt.Sprint(*p)
	}
	step := or(w.Step)
	w.Step = nil
	return fmt.Sprintf("%s|%s|%s|%s|%q", how.Scale, or(how.EmptyMark), or(how.FullMark), step, fmt.Sprint(w))
}
