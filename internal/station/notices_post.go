package station

import (
	"context"
	"fmt"

	"gaugewright/internal/notice"
)

// Notices sends what is to be told.
func (s *Station) Notices() notice.Post { return poster{s} }

type poster struct{ s *Station }

// shownNotices is how many notices a page shows of each kind, at the most.
const shownNotices = 200

// Ways says how each way stands.
func (p poster) Ways(ctx context.Context) ([]notice.WayState, error) {
	waiting, dead, err := p.s.store.NoticesOf(ctx)
	if err != nil {
		return nil, err
	}
	p.s.posting.mu.Lock()
	defer p.s.posting.mu.Unlock()
	var list []notice.WayState
	for _, d := range p.s.posting.senders {
		d.mu.Lock()
		st := notice.WayState{Name: d.way.Name(), What: d.way.What(), Sent: d.sent, Waiting: waiting[d.way.Name()], Dead: dead[d.way.Name()], Last: d.last, Why: d.why, Lost: d.lost}
		d.mu.Unlock()
		if d.sub != nil {
			st.Device, st.Since = true, d.sub.made
		}
		list = append(list, st)
	}
	return list, nil
}

// Dead are those that were given up, the latest first.
func (p poster) Dead(ctx context.Context) ([]notice.Waiting, error) {
	return p.s.store.DeadNotices(ctx, shownNotices)
}

// Waiting are those under way.
func (p poster) Waiting(ctx context.Context) ([]notice.Waiting, error) {
	return p.s.store.WaitingNotices(ctx, shownNotices)
}

// Again tries one that was given up once more.
func (p poster) Again(ctx context.Context, id, way string) error {
	d, err := p.s.posting.sender(way)
	if err != nil {
		return err
	}
	if err := p.s.store.AgainNotice(ctx, id, way, p.s.o.Now()); err != nil {
		return err
	}
	d.poke()
	return nil
}

// Drop lets go of one that waits or was given up.
func (p poster) Drop(ctx context.Context, id, way string) error {
	return p.s.store.DropNotice(ctx, id, way)
}

// Test sends a test by one way, from end to end.
func (p poster) Test(ctx context.Context, way string) error {
	d, err := p.s.posting.sender(way)
	if err != nil {
		return err
	}
	now := p.s.o.Now()
	p.s.posting.mu.Lock()
	p.s.posting.made++
	id := fmt.Sprintf("test/%d/%d", now.UnixNano(), p.s.posting.made)
	p.s.posting.mu.Unlock()
	ctx, done := context.WithTimeout(ctx, p.s.posting.pace.try)
	defer done()
	err = d.way.Send(ctx, p.s.letter(notice.Waiting{Notice: notice.Trial(id, now), Way: way, Queued: now}, d))
	d.tried(now, err)
	if err == nil {
		d.poke() // what waits may be sent now as well
	} else if notice.FailureOf(err).Gone {
		p.s.gone(ctx, d)
	}
	return err
}
