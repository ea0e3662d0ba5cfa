package watch

import (
	"math"
	"slices"
)

// mostSources is how many sources of one tank are told apart. One more takes the
// place of the one that has been silent for longest, if that is stale; otherwise
// its readings are counted and left out.
const mostSources = 8

// track gives what is known of a source, for a reading of a time.
func (w *Watch) track(source string, at int64) *track {
	for _, t := range w.tracks {
		if t.source == source {
			return t
		}
	}
	if len(w.tracks) == mostSources && !w.forget(at) {
		return nil
	}
	t := &track{source: source}
	w.tracks = append(w.tracks, t)
	if w.shown == nil {
		w.shown = t
	}
	return t
}

// forget forgets the source that has been silent for longest, if at a time it is
// stale and its level isn't the one that is given. Its counts stay.
func (w *Watch) forget(at int64) bool {
	oldest := -1
	for i, t := range w.tracks {
		if t != w.shown && (oldest < 0 || t.state.newest < w.tracks[oldest].state.newest) {
			oldest = i
		}
	}
	t := w.tracks[oldest]
	if at-t.state.newest <= int64(w.config.Stale) {
		return false
	}
	w.other = w.other.plus(t.state.counts).plus(t.extra)
	w.tracks = slices.Delete(w.tracks, oldest, oldest+1)
	return true
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
