package station

import (
	"context"
	"fmt"
	"time"

	"gaugewright/internal/notice"
)

// dueAtOnce is how many notices are taken up by a way at once.
const dueAtOnce = 16

// sends sends what waits by one way until the context ends. Where nobody answers, the
// others aren't tried in vain: the most pressing one is, now and then, and as soon as one
// more comes.
func (s *Station) sends(ctx context.Context, d *sender) error {
	p := s.posting.pace
	var fails int // tries in a row that nobody answered
	for {
		pause, unreached := s.round(ctx, d)
		if ctx.Err() != nil {
			return nil
		}
		if unreached {
			fails++
			pause = max(p.least, min(p.policy.Back, p.policy.Pause("", d.way.Name(), fails, s.posting.seed)))
		} else {
			fails = 0
		}
		timer := time.NewTimer(pause)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil
		case <-timer.C:
			continue
		case <-d.wake:
			timer.Stop()
		}
		if unreached { // many may come at once
			select {
			case <-ctx.Done():
				return nil
			case <-time.After(min(p.least, pause)):
			}
		}
	}
}

// round sends what is due by a way, and says how long there is nothing to do then.
func (s *Station) round(ctx context.Context, d *sender) (pause time.Duration, unreached bool) {
	p := s.posting.pace
	name := d.way.Name()
	if err := s.keepTried(ctx, d); err != nil {
		s.o.Log.Warn("how notices went can't be kept for now", "way", name, "error", err)
	}
	if err := s.sumLost(ctx, d); err != nil && ctx.Err() == nil {
		s.o.Log.Warn("that notices were lost can't be told for now", "way", name, "error", err)
	}
	now := s.o.Now()
	due, next, err := s.store.DueNotices(ctx, name, now, dueAtOnce)
	if err != nil {
		if ctx.Err() == nil {
			s.o.Log.Warn("notices that wait can't be read for now", "way", name, "error", err)
		}
		return p.look, false
	}
	pause = p.look
	if !next.IsZero() {
		pause = min(pause, max(0, next.Sub(now)))
	}
	if len(due) == dueAtOnce {
		pause = 0
	}
	stuck := map[string]bool{} // alarms of which one has to go before the others
	for _, w := range due {
		if stuck[w.Notice.Alarm] {
			continue
		}
		if d.known(w) {
			pause = max(pause, p.least) // the disk takes nothing
			continue
		}
		if wait := d.gate.Wait(w.Notice.Priority, s.o.Now()); wait > 0 {
			return min(max(wait, time.Millisecond), p.look), false
		}
		tried, stop := s.try(ctx, d, w)
		if stop {
			return pause, tried.Unreached
		}
		if !tried.Next.IsZero() {
			stuck[w.Notice.Alarm] = w.Notice.Alarm != ""
			pause = min(pause, max(0, tried.Next.Sub(s.o.Now())))
		}
	}
	return pause, false
}

// known says whether it is known how a notice went, which couldn't be written.
func (d *sender) known(w notice.Waiting) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	_, ok := d.unwritten[w.Notice.ID]
	return ok
}

// try tries one notice once. stop says that no other is to be tried now.
func (s *Station) try(ctx context.Context, d *sender, w notice.Waiting) (tried notice.Waiting, stop bool) {
	within, done := context.WithTimeout(ctx, s.posting.pace.try)
	err := d.way.Send(within, s.letter(w, d))
	done()
	if err != nil && ctx.Err() != nil {
		return w, true // the watch stops; it isn't the way's fault
	}
	now := s.o.Now()
	d.tried(now, err)
	tried = s.posting.pace.policy.After(w, now, err, s.posting.seed)
	if err != nil {
		s.o.Log.Warn("a notice wasn't delivered", "notice", w.Notice.ID, "way", w.Way, "tries", tried.Tries, "next", tried.Next, "error", err)
	} else {
		s.o.Log.Info("a notice was delivered", "notice", w.Notice.ID, "way", w.Way, "tries", tried.Tries)
	}
	d.mu.Lock()
	d.unwritten[w.Notice.ID] = tried
	d.mu.Unlock()
	if err := s.keepTried(ctx, d); err != nil {
		s.o.Log.Warn("how a notice went can't be kept for now", "notice", w.Notice.ID, "way", w.Way, "error", err)
	}
	if notice.FailureOf(err).Gone && err != nil {
		s.gone(ctx, d)
		return tried, true
	}
	if !tried.Dead.IsZero() {
		s.gaveUp(ctx, tried)
	}
	s.changes.tell()
	return tried, tried.Unreached
}

// keepTried writes how notices went. It is written also when the watch is being stopped.
func (s *Station) keepTried(ctx context.Context, d *sender) error {
	ctx, done := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
	defer done()
	d.mu.Lock()
	var list []notice.Waiting
	for _, w := range d.unwritten {
		list = append(list, w)
	}
	d.mu.Unlock()
	for _, w := range list {
		if err := s.store.NoticeTried(ctx, w, !w.Done.IsZero()); err != nil {
			return err
		}
		d.mu.Lock()
		delete(d.unwritten, w.Notice.ID)
		d.mu.Unlock()
	}
	return nil
}

// sumLost tells by the way itself that there was no room for notices.
func (s *Station) sumLost(ctx context.Context, d *sender) error {
	now := s.o.Now()
	n, err := s.store.SumLost(ctx, d.way.Name(), now, func(n int, from, to time.Time) notice.Notice {
		return notice.Lost(fmt.Sprintf("lost/%d", now.UnixNano()), n, from, to, s.o.Zone)
	})
	if n > 0 && err == nil {
		s.o.Log.Error("notices were lost, as there was no room for them", "way", d.way.Name(), "notices", n)
		d.mu.Lock()
		d.lost += n
		d.mu.Unlock()
	}
	return err
}
