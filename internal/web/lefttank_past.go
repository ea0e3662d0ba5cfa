package web

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// errNothingKept says that there is no past to ask.
var errNothingKept = errors.New("nothing is kept")

// mostEvents is how many events a page lists, the latest; mostSources is of how many
// sources it draws what they said.
const mostEvents, mostSources = 200, 6

// tankPast is what is known of a tank in a time.
type tankPast struct {
	label  Label
	place  int         // of the tank among those that are watched, from 0
	level  watch.Level // now
	now    time.Time
	fitter bool // who looks may see what the watch says of itself
	raw    bool // what was read is asked for

	from, to time.Time
	width    time.Duration // of a bucket
	bridge   time.Duration // so long a level stands without another reading
	levels   []history.LevelBucket
	lines    []history.Line
	read     [][]history.Bucket // of the lines
	unread   int                // lines that were left out
	events   []happening        // the earliest first
	follows  bool               // what came in and went out is among them
	drawn    []string           // spells of use, a sentence each, the latest first
	drew     bool               // there are earlier ones that were left out
	more     bool               // there are earlier ones that were left out
	since    time.Time          // the first reading that is kept; zero: none
}

// recallPast asks for a tank's past in the time that is asked for.
func (s *Site) recallPast(ctx context.Context, p *tankPast, ask pastAsk) error {
	zone := p.now.Location()
	p.from, p.to, p.bridge = ask.from(), ask.until, p.level.Stale
	if ask.live {
		p.to = p.now.Truncate(time.Second).Add(time.Second) // what came this second belongs to it
	}
	past := s.o.Watch.Past()
	if past == nil {
		return errNothingKept
	}
	var err error
	if p.since, err = past.Since(ctx, p.label.Tank); err != nil {
		return err
	}
	if ask.all {
		p.from = p.to.AddDate(0, 0, -1)
		if !p.since.IsZero() && p.since.Before(p.to) {
			p.from = p.since.In(zone)
		}
	}
	span := history.Stretch{From: p.from, To: p.to, Buckets: mostBuckets}
	if err := span.Check(); err != nil {
		return err
	}
	p.width = time.Duration(span.Grid().Width) * time.Second
	if p.levels, err = past.Levels(ctx, p.label.Tank, span); err != nil {
		return err
	}
	if err := p.recallEvents(ctx, past); err != nil {
		return err
	}
	if err := p.recallFlows(ctx, s.o.Watch); err != nil || !p.raw {
		return err
	}
	return p.recallRead(ctx, past, span)
}

// recallRead asks for what was read.
func (p *tankPast) recallRead(ctx context.Context, past history.Past, span history.Stretch) error {
	lines, err := past.Lines(ctx, p.label.Tank)
	if err != nil {
		return err
	}
	lines = slices.Clone(lines)
	slices.SortFunc(lines, func(a, b history.Line) int {
		return cmp.Or(cmp.Compare(a.Signal, b.Signal), cmp.Compare(a.Source, b.Source))
	})
	for _, l := range lines {
		buckets, err := past.Readings(ctx, l, span)
		if err != nil {
			return err
		}
		switch {
		case len(buckets) == 0: // it was silent all the time
		case len(p.lines) == mostSources:
			p.unread++
		default:
			p.lines, p.read = append(p.lines, l), append(p.read, buckets)
		}
	}
	return nil
}

// recallEvents asks for what happened: to the tank, and to the watch itself as far
// as it tells why nothing is known. What else the watch says of itself is for the
// fitter.
func (p *tankPast) recallEvents(ctx context.Context, past history.Past) error {
	own, err := past.Events(ctx, p.label.Tank, p.from, p.to, mostEvents+1)
	if err != nil {
		return err
	}
	all, err := past.Events(ctx, "", p.from, p.to, 5*mostEvents)
	if err != nil {
		return err
	}
	for _, e := range own {
		if e.Tank == p.label.Tank {
			p.events = append(p.events, happening{at: e.Time, text: e.Sentence(p.now.Location()), own: e.Text})
		}
	}
	for _, e := range all {
		if e.Tank == "" && (p.fitter || e.Kind == history.Began || e.Kind == history.Ended || e.Kind == history.Cut) {
			p.events = append(p.events, happening{at: e.Time, text: e.Sentence(p.now.Location()), own: e.Text})
		}
	}
	p.inOrder()
	return nil
}

// inOrder puts what happened in order, and keeps the latest.
func (p *tankPast) inOrder() {
	slices.SortStableFunc(p.events, func(a, b happening) int { return a.at.Compare(b.at) })
	if n := len(p.events); n > mostEvents {
		p.events, p.more = p.events[n-mostEvents:], true
	}
}

// mostDrawn is how many spells of use a page lists, the latest. They stand apart, and on
// no flag: there are many, and they would hide everything else.
const mostDrawn = 100

// notDrawn are the kinds of what came in and went out but for use. Faults are told of as
// what happened already.
var notDrawn = []flow.Kind{flow.Refill, flow.Drain, flow.Leak, flow.Drop, flow.Stuck}

// recallFlows asks what came in and what went out.
func (p *tankPast) recallFlows(ctx context.Context, w Watched) error {
	a := aheadOf(w, p.now)
	if a.flows == nil {
		return nil
	}
	list, err := a.flows.Flows(ctx, p.label.Tank, p.from, p.to, 5*mostEvents, notDrawn...)
	if err != nil {
		return err
	}
	spells, err := a.flows.Flows(ctx, p.label.Tank, p.from, p.to, mostDrawn+1, flow.Use)
	if err != nil {
		return err
	}
	p.follows = true
	m := measureOf(p.label, a.use(p.place))
	for _, e := range list {
		text := flowWords(p.label, m, e, p.now)
		if text == "" || !worthTelling(e) || !e.Start.Before(p.to) || !e.Open() && e.End.Before(p.from) {
			continue
		}
		h := happening{at: e.Start, to: e.End, text: text, way: wayOf(p.label, e.Kind)}
		if h.at.Before(p.from) {
			h.at = p.from // it stands at the edge
		}
		if e.Open() {
			h.to = p.to
		}
		if p.fitter {
			h.why = e.Why
		}
		p.events = append(p.events, h)
	}
	for _, e := range spells {
		if text := flowWords(p.label, m, e, p.now); text != "" && worthTelling(e) {
			p.drawn = append(p.drawn, text)
		}
	}
	if p.drew = len(p.drawn) > mostDrawn; p.drew {
		p.drawn = p.drawn[:mostDrawn]
	}
	p.inOrder()
	return nil
}
