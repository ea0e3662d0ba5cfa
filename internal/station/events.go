package station

import (
	"context"
	"fmt"
	"slices"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

const (
	// mostEvents is how many events wait for the disk, at the most.
	mostEvents = 4096
	// mostNotes is how many notes are shown; the oldest go first.
	mostNotes = 8
	// burstEvents is how many events of a tank there may be at once, and onceEvents how
	// often one more after that: a loose contact can come and go all day.
	burstEvents = 60
	onceEvents  = time.Minute
	// checked is how long a function check has to last to be an event: a jump while
	// driving is over in seconds, again and again.
	checked = 30 * time.Second
)

// happened notes an event, which is written soon.
func (s *Station) happened(e history.Event) {
	s.telling.Lock()
	defer s.telling.Unlock()
	if len(s.events) >= mostEvents {
		s.events = slices.Delete(s.events, 0, 1)
		s.unheard++
	}
	s.events = append(s.events, e)
}

// itself notes an event of the watch itself, now.
func (s *Station) itself(kind history.Kind, text string) {
	s.happened(history.Event{Time: s.o.Now().UTC(), Kind: kind, Level: -1, Text: text})
	s.changes.tell()
}

// noted has people told something.
func (s *Station) noted(text string) {
	s.telling.Lock()
	defer s.telling.Unlock()
	if slices.Contains(s.notes, text) {
		return
	}
	if s.notes = append(s.notes, text); len(s.notes) > mostNotes {
		s.notes = slices.Delete(s.notes, 0, 1)
	}
}

// writeEvents writes what happened. What can't be written waits.
func (s *Station) writeEvents(ctx context.Context) error {
	s.telling.Lock()
	list := slices.Clone(s.events)
	s.telling.Unlock()
	if len(list) == 0 {
		return nil
	}
	if err := s.store.KeepEvents(ctx, list); err != nil {
		return err
	}
	s.telling.Lock()
	defer s.telling.Unlock()
	// Where there were too many meanwhile, some of these went already.
	n := 0
	for n < len(s.events) && n < len(list) && slices.Contains(list, s.events[n]) {
		n++
	}
	s.events = slices.Delete(s.events, 0, n)
	return nil
}

// told is what has been told of a tank's faults.
type told struct {
	fault watch.Fault
	until time.Time // events up to here are known
	room  float64   // for so many events
	at    time.Time // when that was
}

// changed gives the events that a level means, after what was told before. Not yet
// settled is no fault of its own: it stands at the start and after others.
func (t *told) changed(l watch.Level) (list []history.Event) {
	if l.Time.IsZero() || l.Fault == watch.Unsettled || l.Fault == t.fault {
		return nil
	}
	if (l.Status == watch.Check || l.Fault == watch.Jump) && t.fault == watch.NoFault && l.Time.Sub(l.Since) < checked {
		return nil
	}
	if t.fault != watch.NoFault {
		e := history.Event{Time: l.Time, Tank: l.Tank, Kind: history.FaultEnded, Fault: t.fault, Level: -1}
		if l.Shown {
			e.Level = float64(l.Share)
		}
		list = append(list, e)
	}
	if t.fault = l.Fault; l.Fault != watch.NoFault {
		e := history.Event{Time: l.Since, Tank: l.Tank, Kind: history.FaultBegan, Fault: l.Fault, Status: l.Status, Level: -1}
		switch {
		case l.Fault == watch.NoReading:
			e.Time = l.Since.Add(l.Stale) // since when that is too long
		case l.Since.IsZero():
			e.Time = l.Time
		}
		if !l.Last.Time.IsZero() {
			e.Level = float64(l.Last.Share)
		}
		list = append(list, e)
	}
	return slices.DeleteFunc(list, func(e history.Event) bool { return !t.until.IsZero() && !e.Time.After(t.until) })
}

// spend says whether there is room for one more event at a time.
func (t *told) spend(now time.Time) bool {
	if t.at.IsZero() || now.Before(t.at) {
		t.room = max(t.room, burstEvents)
	} else {
		t.room = min(burstEvents, t.room+float64(now.Sub(t.at))/float64(onceEvents))
	}
	t.at = now
	if t.room < 1 {
		return false
	}
	t.room--
	return true
}

// watches tells what a tank's level means. The tank's lock is held.
func (s *Station) watches(t *tank, l watch.Level) {
	if l.Fault == watch.NoReading && s.o.Now().Sub(s.started) < l.Stale {
		return // nobody was there to take one
	}
	for _, e := range t.told.changed(l) {
		if t.told.spend(e.Time) {
			s.happened(e)
		} else {
			s.telling.Lock()
			s.unheard++
			s.telling.Unlock()
		}
	}
}

// recall finds out what was told of the tanks before, and whether the watch before
// this one was stopped in order.
func (s *Station) recall(ctx context.Context) error {
	for _, n := range s.names {
		list, err := s.store.Events(ctx, n, time.Time{}, time.Time{}, 1)
		if err != nil {
			return err
		}
		if len(list) > 0 {
			t := s.tanks[n]
			t.told.until = list[0].Time
			if list[0].Kind == history.FaultBegan {
				t.told.fault = list[0].Fault
			}
		}
	}
	const enough = 1000
	list, err := s.store.Events(ctx, "", time.Time{}, time.Time{}, enough)
	if err != nil {
		return err
	}
	for _, e := range list {
		if e.Kind == history.Ended || e.Kind == history.Cut {
			break
		}
		if e.Kind == history.Began {
			text := fmt.Sprintf("The watch that was started on %s wasn't stopped in order: the power was cut, or the program was ended by force. %s", s.said(e.Time), s.found())
			s.o.Log.Warn("the watch before this one wasn't stopped in order", "started", e.Time)
			s.noted(text)
			s.itself(history.Cut, text)
			break
		}
	}
	return nil
}

// found says what is there of what the watch before had acknowledged.
func (s *Station) found() string {
	n, latest := s.store.Unsealed()
	if latest.IsZero() {
		return "No reading had been acknowledged."
	}
	packed := "all of it is packed"
	switch {
	case n == 1:
		packed = "1 reading wasn't packed yet"
	case n > 1:
		packed = fmt.Sprintf("%d readings weren't packed yet", n)
	}
	return fmt.Sprintf("What was acknowledged is there, the last reading of %s; %s.", s.said(latest), packed)
}

// said is a moment for people.
func (s *Station) said(t time.Time) string {
	return t.In(s.o.Zone).Format("2 January 2006 at 15:04:05")
}
