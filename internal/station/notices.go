package station

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/history"
	"gaugewright/internal/language"
	"gaugewright/internal/notice"
	"gaugewright/internal/notice/push"
	"gaugewright/internal/wording"
)

const (
	// mostNotices is how many notices wait, at the most, and mostDead how many that were
	// given up are kept.
	mostNotices = 10_000
	mostDead    = 1_000
	// keepSent is how long it is remembered that a notice was delivered: one of the same
	// ID isn't sent again meanwhile.
	keepSent = 30 * 24 * time.Hour
)

// noticePace is how soon things are done about notices.
type noticePace struct {
	policy notice.Policy
	rate   notice.Rate
	look   time.Duration // how often it is looked what waits, at the least
	least  time.Duration // between two tries where nobody answers, at the least
	try    time.Duration // how long one try may take
}

var usualNoticePace = noticePace{policy: notice.Usual, rate: notice.UsualRate, look: 30 * time.Second, least: 5 * time.Second, try: 90 * time.Second}

// posting is all that has to do with notices.
type posting struct {
	pace noticePace
	seed uint64

	mu      sync.Mutex
	senders []*sender // in the order of the page
	running context.Context
	made    uint64    // tests, to tell them apart
	key     *push.Key // by which push services know this watch; nil: nothing is sent to browsers
}

// sender sends by one way.
type sender struct {
	way  notice.Way
	book *language.Book // nil: English
	only []string
	sees func(notice.Notice) bool // of a device whose owner sees some tanks only; nil: all
	sub  *subscribed              // of a device
	gate *notice.Gate
	wake chan struct{}
	stop context.CancelFunc // of one that may be taken away

	mu        sync.Mutex
	sent      int
	lost      int
	last      time.Time
	why       string
	unwritten map[string]notice.Waiting // how notices went that couldn't be kept yet
}

// buildNotices makes the ways by which people and programs are told.
func (s *Station) buildNotices(ctx context.Context) error {
	s.posting = &posting{pace: usualNoticePace, seed: uint64(s.begun.UnixNano())}
	list, err := s.config.outwards()
	if err != nil {
		return err
	}
	for _, o := range list {
		book, err := s.bookOf(o.language)
		if err != nil {
			return fmt.Errorf("%s: %w", o.way.Name(), err)
		}
		s.addSender(o.way, book, o.only)
	}
	s.addPublished()
	if err := s.buildPush(ctx); err != nil {
		return err
	}
	return s.recallNotices(ctx)
}

// recallNotices has what went out before a restart count on: how many may in an hour
// about a tank, and how many in a row by a way.
func (s *Station) recallNotices(ctx context.Context) error {
	now, rate := s.o.Now(), s.posting.pace.rate
	list, err := s.store.NoticesSince(ctx, now.Add(-max(time.Hour, rate.Memory())))
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, w := range list { // the longest ago first
		if n := w.Notice; n.Alarm != "" && !known[n.ID] { // once, however many ways it goes by
			known[n.ID] = true
			s.caller.Recall(n.Tank, n.ID, alarm.Priority(n.Priority), w.Queued)
		}
	}
	slices.SortFunc(list, func(a, b notice.Waiting) int { return a.Last.Compare(b.Last) })
	for _, w := range list {
		if d, err := s.posting.sender(w.Way); err == nil && !w.Last.IsZero() && !w.Last.After(now) {
			d.gate.Recall(w.Notice.Priority, w.Last)
		}
	}
	return nil
}

// bookOf gives a language by its code; nil for English.
func (s *Station) bookOf(code string) (*language.Book, error) {
	if code == "" || code == "en" {
		return nil, nil
	}
	return s.o.Languages.Find(code)
}

func (s *Station) addSender(way notice.Way, book *language.Book, only []string) *sender {
	d := s.newSender(way, book, only)
	s.posting.mu.Lock()
	defer s.posting.mu.Unlock()
	s.posting.senders = append(s.posting.senders, d)
	return d
}

func (s *Station) newSender(way notice.Way, book *language.Book, only []string) *sender {
	return &sender{way: way, book: book, only: only, wake: make(chan struct{}, 1), unwritten: map[string]notice.Waiting{}, gate: notice.NewGate(s.posting.pace.rate)}
}

// startNotices begins to send.
func (s *Station) startNotices(ctx context.Context) {
	s.posting.mu.Lock()
	s.posting.running = ctx
	list := slices.Clone(s.posting.senders)
	s.posting.mu.Unlock()
	for _, d := range list {
		s.startSender(ctx, d)
	}
	s.keepGoing(ctx, "The letting go of old notices", s.pruneNotices)
}

func (s *Station) startSender(ctx context.Context, d *sender) {
	ctx, stop := context.WithCancel(ctx)
	s.posting.mu.Lock()
	d.stop = stop
	s.posting.mu.Unlock()
	s.keepGoing(ctx, "The sending of notices", func(ctx context.Context) error { return s.sends(ctx, d) })
}

// tell hands on a notice, which is on the disk when there is no error, for each way that
// it is to go by. One of the same ID counts once.
func (s *Station) tell(ctx context.Context, n notice.Notice) error {
	n.Title, n.Text = wording.Clip(n.Title, notice.TitleLength), wording.Clip(n.Text, notice.TextLength)
	if err := n.Check(); err != nil {
		return err
	}
	return s.queue(ctx, n, func(d *sender) bool { return d.takes(n) })
}

func (s *Station) queue(ctx context.Context, n notice.Notice, to func(*sender) bool) error {
	s.posting.mu.Lock()
	var list []*sender
	var ways []string
	for _, d := range s.posting.senders {
		if to(d) {
			list, ways = append(list, d), append(ways, d.way.Name())
		}
	}
	s.posting.mu.Unlock()
	if len(ways) == 0 {
		return nil
	}
	if err := s.store.QueueNotice(ctx, n, ways, s.o.Now(), mostNotices); err != nil {
		return err
	}
	for _, d := range list {
		d.poke()
	}
	return nil
}

// takes says whether a notice is to go by this way.
func (d *sender) takes(n notice.Notice) bool {
	return (len(d.only) == 0 || n.Priority == "" || slices.Contains(d.only, n.Priority)) && (d.sees == nil || d.sees(n))
}

// poke has it looked at once what waits.
func (d *sender) poke() {
	select {
	case d.wake <- struct{}{}:
	default:
	}
}

// tried notes how a try went.
func (d *sender) tried(at time.Time, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.last, d.why = at, ""
	if err != nil {
		d.why = err.Error()
	} else {
		d.sent++
	}
}

// letter puts a notice into the words of those who get it.
func (s *Station) letter(w notice.Waiting, d *sender) notice.Message {
	m := notice.Words(w, s.o.Now(), s.o.Zone)
	if d.book == nil {
		return m
	}
	v := d.book.Voice(append([]string{m.Label, m.Tank}, m.Own...))
	say := func(text string) string { said, _ := v.Say(text); return said }
	m.Subject, m.Late = say(m.Subject), say(m.Late)
	for i := range m.Paragraphs {
		m.Paragraphs[i] = say(m.Paragraphs[i])
	}
	m.Cautions = slices.Clone(m.Cautions)
	for i := range m.Cautions {
		m.Cautions[i] = say(m.Cautions[i])
	}
	return m
}

// gaveUp tells that a notice was given up. A critical one is told by the other ways as
// well: whoever was to know of it doesn't.
func (s *Station) gaveUp(ctx context.Context, w notice.Waiting) {
	s.o.Log.Error("a notice was given up", "notice", w.Notice.ID, "way", w.Way, "tries", w.Tries, "error", w.Why)
	s.itself(history.Lost, fmt.Sprintf("A notice by %s was given up after %d tries: %s", w.Way, w.Tries, w.Notice.Title))
	if w.Notice.Priority != notice.Critical || w.Notice.Kind == notice.KindUndelivered {
		return
	}
	s.noted(fmt.Sprintf("A critical notice by %s couldn't be delivered and was given up. It stands under what was sent of the alarms.", w.Way))
	if err := s.queue(ctx, notice.Undelivered(w), func(d *sender) bool { return d.way.Name() != w.Way }); err != nil {
		s.o.Log.Error("that a critical notice was given up can't be told by the other ways", "error", err)
	}
}

// pruneNotices lets go of what is old, once an hour.
func (s *Station) pruneNotices(ctx context.Context) error {
	for {
		if err := s.store.PruneNotices(ctx, s.o.Now().Add(-keepSent), mostDead); err != nil && ctx.Err() == nil {
			s.o.Log.Warn("old notices can't be let go of for now", "error", err)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(s.pace.prune):
		}
	}
}

// errNoWay names a way that isn't there.
func errNoWay(name string) error { return fmt.Errorf("%w as %q", notice.ErrNoWay, name) }

func (p *posting) sender(name string) (*sender, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, d := range p.senders {
		if d.way.Name() == name {
			return d, nil
		}
	}
	return nil, errNoWay(name)
}

// without takes a sender out.
func (p *posting) without(name string) *sender {
	p.mu.Lock()
	defer p.mu.Unlock()
	for i, d := range p.senders {
		if d.way.Name() == name {
			p.senders = slices.Delete(p.senders, i, i+1)
			return d
		}
	}
	return nil
}
