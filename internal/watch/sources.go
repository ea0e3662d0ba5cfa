package watch

import "math"

// mostSources is how many sources of one tank are told apart; those beyond are
// counted as too late.
const mostSources = 8

func (w *Watch) track(source string) *track {
	for _, t := range w.tracks {
		if t.source == source {
			return t
		}
	}
	if len(w.tracks) == mostSources {
		return nil
	}
	t := &track{source: source}
	w.tracks = append(w.tracks, t)
	if w.shown == nil {
		w.shown = t
	}
	return t
}

// choose says which source's level is given: that of the first that isn't stale
// or broken. It also looks whether the first two agree.
func (w *Watch) choose() {
	var newest int64
	for _, t := range w.tracks {
		newest = max(newest, t.state.newest)
	}
	fresh := func(t *track) bool { return newest-t.state.newest <= int64(w.config.Stale) }
	best := w.shown
	for _, t := range w.tracks {
		if fresh(t) && !t.state.hides && t.state.begun {
			best = t
			break
		}
		if !fresh(best) && fresh(t) {
			best = t
		}
	}
	w.shown = best
	var first, second *track
	for _, t := range w.tracks {
		if fresh(t) && !t.state.hides && t.state.begun {
			if first == nil {
				first = t
			} else if second == nil {
				second = t
			}
		}
	}
	if second == nil {
		w.apart = 0
		return
	}
	a, b := &first.state.last, &second.state.last
	if math.Abs(a.points-b.points) > 2*math.Hypot(a.u, b.u)+1 {
		if w.apart == 0 {
			w.since = newest
		}
		w.apart++
	} else {
		w.apart = 0
	}
}
