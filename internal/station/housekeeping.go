package station

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/store/sqlite"
)

// pace is how often things are done.
type pace struct {
	look  time.Duration // at the clock, and whether events wait
	seal  time.Duration // readings and levels
	prune time.Duration // what is too old, or too much
	again time.Duration // after something broke down
}

var usualPace = pace{look: time.Second, seal: 10 * time.Minute, prune: time.Hour, again: time.Second}

// housekeeping does what has to be done now and then, until the context ends.
func (s *Station) housekeeping(ctx context.Context) error {
	ticks := time.NewTicker(s.pace.look)
	defer ticks.Stop()
	var lost uint64
	sealed, pruned, wrote := s.o.Passed(), s.o.Passed()-s.pace.prune+s.pace.seal, s.o.Passed()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-ticks.C:
		}
		s.minds(ctx)
		now := s.o.Passed()
		if now-wrote >= time.Duration(s.config.CommitEvery) {
			wrote = now
			if err := s.writeEvents(ctx); err != nil {
				s.o.Log.Warn("what happened can't be written for now", "error", err)
			}
		}
		if now-sealed >= s.pace.seal {
			sealed = now
			s.lostSince(&lost)
			if err := s.seal(ctx); err != nil {
				s.o.Log.Warn("readings and levels can't be sealed for now", "error", err)
			}
		}
		if now-pruned >= s.pace.prune {
			pruned = now
			if err := s.prune(ctx); err != nil {
				s.o.Log.Warn("what is old can't be let go of for now", "error", err)
			}
		}
	}
}

// lostSince tells how many readings were lost for want of room since so many were.
func (s *Station) lostSince(before *uint64) {
	var all uint64
	for _, l := range s.intake.Lost() {
		all += l.N
	}
	if all > *before {
		s.o.Log.Error("readings were lost, as there was no room for them", "readings", all-*before)
		s.itself(history.Lost, fmt.Sprintf("%d readings that nobody could be asked for again were lost: they couldn't be kept on disk for long.", all-*before))
	}
	*before = all
}

// seal has readings packed, and the levels of minutes that are over written.
func (s *Station) seal(ctx context.Context) error {
	var faults []error
	for _, n := range s.names {
		faults = append(faults, s.sealLevels(ctx, s.tanks[n]), s.sealFlows(ctx, s.tanks[n], false))
	}
	return errors.Join(append(faults, s.store.Seal(ctx))...)
}

// sealLevels writes a tank's levels of the minutes before that of its last reading.
func (s *Station) sealLevels(ctx context.Context, t *tank) error {
	t.sealing.Lock()
	defer t.sealing.Unlock()
	t.mu.Lock()
	until := t.level.Time.Truncate(time.Minute)
	rolls := t.rolls.Take(until)
	t.mu.Unlock()
	if len(rolls) == 0 {
		return nil
	}
	mark := until
	if t.kept.After(mark) {
		mark = t.kept // the clock was set back: what was counted isn't to be counted again
	}
	err := s.store.KeepLevels(ctx, t.about.Label.Tank, rolls, mark)
	t.mu.Lock()
	defer t.mu.Unlock()
	if err != nil {
		for _, r := range rolls {
			t.rolls.Merge(r)
		}
		return err
	}
	t.kept = mark
	if until.After(t.until) {
		t.until = until
	}
	return nil
}

// prune lets go of what is older than is to be kept, or more.
func (s *Station) prune(ctx context.Context) error {
	if s.config.KeepFor == 0 && s.config.KeepMost == 0 {
		return nil
	}
	o := sqlite.Retention{Most: int64(s.config.KeepMost)}
	if s.config.KeepFor > 0 && s.tellsAge() {
		o.Before = s.o.Now().Add(-time.Duration(s.config.KeepFor))
	}
	p, err := s.store.Prune(ctx, o)
	if p.Readings > 0 || p.Minutes {
		s.o.Log.Info("old readings were let go of", "readings", p.Readings, "before", p.Until, "bytes", p.Bytes)
	}
	if (p.Readings > 0 || p.Minutes) && o.Most > 0 && p.Until.After(o.Before) {
		s.itself(history.Lost, fmt.Sprintf("The file of readings came to more than %s, so %d readings from before %s were let go of.", s.config.KeepMost, p.Readings, s.said(p.Until)))
	}
	return err
}
