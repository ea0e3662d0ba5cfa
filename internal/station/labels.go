package station

import (
	"errors"
	"io/fs"
	"slices"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
	"gaugewright/internal/web"
)

// The page of the levels sees a station through these.

// Labels says what each tank is called, in the order of Levels.
func (s *Station) Labels() []web.Label {
	labels := make([]web.Label, 0, len(s.names))
	for _, n := range s.names {
		labels = append(labels, s.tanks[n].label())
	}
	return labels
}

// Counts says what came in for each tank, in the order of Levels.
func (s *Station) Counts() []watch.Counts {
	counts := make([]watch.Counts, 0, len(s.names))
	for _, n := range s.names {
		t := s.tanks[n]
		t.mu.Lock()
		counts = append(counts, t.watch.Counts())
		t.mu.Unlock()
	}
	return counts
}

// columnParts is into how many parts the litres beside a sight column are laid out.
const columnParts = 40

// jobLabel says of a job's tank what a page says of it.
func jobLabel(j *job.Job, t *job.Tank) web.Label {
	l := web.Label{Label: t.Name, Contents: t.Contents, Cautions: t.Cautions(), Job: j.Number, JobTank: t.Name}
	if j.Units != nil {
		l.Units = *j.Units
	}
	scale, err := t.Scale()
	if err != nil {
		return l
	}
	l.Sentence = scale.Sentence()
	inside, err := t.Inside()
	if err != nil || inside.Capacity() == 0 {
		return l
	}
	for i := range columnParts + 1 {
		share := quantity.Share(i) / columnParts
		part, _ := inside.OfLevel(share, 0)
		l.Shares = append(l.Shares, share)
		l.Volumes = append(l.Volumes, quantity.CubicMetre(part)*inside.Capacity())
	}
	if permitted := t.PermittedPct(); permitted > 0 {
		if at := inside.LevelOf(quantity.Share(permitted / 100)); at < 1 {
			l.Permitted = at
		}
	}
	return l
}

// usualPermitted is how far a tank of LPG in a vehicle may be filled, where nothing else
// is known of it: UN Regulation 67's automatic stop.
const usualPermitted = 0.8

// endsLabel says the same of a tank that is known by its end values.
func endsLabel(contents job.Contents, capacity quantity.CubicMetre) web.Label {
	l := web.Label{Contents: contents, Cautions: job.Tank{Contents: contents}.Cautions()}
	if capacity > 0 {
		l.Shares, l.Volumes = []quantity.Share{0, 1}, []quantity.CubicMetre{0, capacity}
		if contents == job.LPG {
			l.Permitted = usualPermitted
		}
	}
	return l
}

// Levels gives the level of each tank at a moment, in the order of their names. One
// of which nothing came yet has the zero time.
func (s *Station) Levels(now time.Time) []watch.Level {
	levels := make([]watch.Level, 0, len(s.names))
	for _, n := range s.names {
		levels = append(levels, s.tanks[n].at(now))
	}
	return levels
}

// at gives a tank's level at a moment.
func (t *tank) at(now time.Time) watch.Level {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.watch.At(now)
}

// Changed gives a channel that is closed at the next change.
func (s *Station) Changed() <-chan struct{} { return s.changes.next() }

// Standing says how the station itself stands.
func (s *Station) Standing() web.Standing {
	state := s.intake.State()
	standing := web.Standing{Started: s.started, Waiting: state.Waiting, Lost: s.intake.Lost()}
	if state.Failing != nil {
		standing.Failing, standing.Disk, standing.Since = state.Failing.Error(), diskOf(state.Failing), state.Since
	}
	var levels uint64
	for _, n := range s.names { // before telling is held, which comes after a tank's lock
		t := s.tanks[n]
		t.mu.Lock()
		levels += t.rolls.Lost()
		t.mu.Unlock()
	}
	s.telling.Lock()
	defer s.telling.Unlock()
	standing.Notes = slices.Clone(s.notes)
	if s.unheard > 0 {
		standing.Lost = append(standing.Lost, web.FeedCount{Why: "events, of which there were too many at once", N: s.unheard})
	}
	if levels > 0 {
		standing.Lost = append(standing.Lost, web.FeedCount{Why: "levels of minutes that couldn't be written", N: levels})
	}
	return standing
}

// diskOf says what kind of failing of a disk an error is.
func diskOf(err error) web.Disk {
	switch {
	case errors.Is(err, sqlite.ErrNoRoom):
		return web.DiskFull
	case errors.Is(err, sqlite.ErrFaulty):
		return web.DiskFaulty
	case errors.Is(err, sqlite.ErrReadOnly), errors.Is(err, fs.ErrPermission):
		return web.DiskReadOnly
	}
	return web.DiskFails
}
