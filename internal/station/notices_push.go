package station

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/history"
	"gaugewright/internal/notice"
	"gaugewright/internal/notice/push"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/wording"
)

// mostDevices is how many browsers are told, at the most.
const mostDevices = 50

// mostByLink is how many are told by one link, at the most.
const mostByLink = 8

// devicesOf counts the devices by a link, but for the one with an endpoint.
func (p *posting) devicesOf(pass, but string) (n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, d := range p.senders {
		if d.sub != nil && d.sub.Pass == pass && d.sub.endpoint != but {
			n++
		}
	}
	return n
}

// subscribed is a browser that is told, as it is kept.
type subscribed struct {
	Subscription json.RawMessage `json:"subscription"`
	Language     string          `json:"language,omitempty"`
	Pass         string          `json:"pass,omitempty"`

	endpoint string
	made     time.Time
}

// buildPush makes the ways to the browsers that are told.
func (s *Station) buildPush(ctx context.Context) error {
	if s.config.Push == nil {
		return nil
	}
	if err := s.config.Push.Check(); err != nil {
		return fmt.Errorf("[push]: %w", err)
	}
	private, err := s.store.PushKey(ctx, push.NewKey)
	if err != nil {
		return err
	}
	if s.posting.key, err = push.ParseKey(private); err != nil {
		return err
	}
	list, err := s.store.Subscriptions(ctx)
	if err != nil {
		return err
	}
	for _, one := range list {
		d, err := s.device(one)
		if err != nil { // the configuration may be stricter than it was
			s.o.Log.Warn("a device isn't told", "device", one.Label, "error", err)
			continue
		}
		s.posting.senders = append(s.posting.senders, d)
	}
	return nil
}

// device makes the sender to a browser.
func (s *Station) device(one sqlite.Subscription) (*sender, error) {
	sub := &subscribed{endpoint: one.Endpoint, made: one.Made}
	if err := json.Unmarshal(one.Body, sub); err != nil {
		return nil, err
	}
	to, err := push.ParseSubscription(sub.Subscription, s.config.Push.Private)
	if err != nil {
		return nil, err
	}
	book, err := s.bookOf(sub.Language)
	if err != nil {
		book = nil // a language that was taken out of the program
	}
	way := &deviceWay{push.New(*s.config.Push, s.posting.key, one.Label, to), s, sub.Pass}
	d := s.newSender(way, book, nil)
	d.sub, d.sees = sub, way.sees
	return d, nil
}

// deviceWay is the way to a browser, for as long as the link works by which it came.
type deviceWay struct {
	*push.Way
	s    *Station
	pass string
}

// sees says whether a notice is for whoever has the device.
func (w *deviceWay) sees(n notice.Notice) bool {
	if w.pass == "" {
		return true
	}
	v, err := w.s.passes.Still(context.Background(), w.pass, w.s.o.Now())
	return err == nil && (n.Tank == "" || v.Sees(n.Tank))
}

// Send sends to the browser, unless its link doesn't work any more.
func (w *deviceWay) Send(ctx context.Context, m notice.Message) error {
	if w.pass != "" {
		_, err := w.s.passes.Still(ctx, w.pass, w.s.o.Now())
		if errors.Is(err, doors.ErrNoPass) {
			return &notice.Failure{Err: errors.New("the link by which the device came was revoked, or is over"), Permanent: true, Gone: true}
		} else if err != nil {
			return err
		}
	}
	return w.Way.Send(ctx, m)
}

// gone lets go of a device that can't be told any more, and tells that.
func (s *Station) gone(ctx context.Context, d *sender) {
	ctx, done := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
	defer done()
	d.mu.Lock()
	why := d.why
	d.mu.Unlock()
	if err := s.letGo(ctx, d); err != nil {
		s.o.Log.Warn("a device that can't be told any more can't be let go of for now", "device", d.way.What(), "error", err)
		return
	}
	s.o.Log.Warn("a device isn't told any more", "device", d.way.What(), "why", why)
	s.itself(history.Lost, fmt.Sprintf("The device %s isn't told of alarms any more: %s.", d.way.What(), why))
}

// letGo takes a device out.
func (s *Station) letGo(ctx context.Context, d *sender) error {
	if d.sub == nil {
		return errNoWay(d.way.Name())
	}
	if _, err := s.store.DropSubscription(ctx, d.sub.endpoint, d.way.Name()); err != nil {
		return err
	}
	if s.posting.without(d.way.Name()) != nil {
		s.posting.mu.Lock()
		stop := d.stop
		s.posting.mu.Unlock()
		if stop != nil {
			stop()
		}
	}
	s.changes.tell()
	return nil
}

// Key is the public key that a browser has to be given.
func (p poster) Key() string {
	if p.s.posting.key == nil {
		return ""
	}
	return p.s.posting.key.Public()
}

// Subscribe keeps a browser's subscription.
func (p poster) Subscribe(ctx context.Context, v notice.Device) (string, error) {
	s := p.s
	if s.posting.key == nil {
		return "", fmt.Errorf("%w: nothing is sent to browsers by this watch", notice.ErrUnusable)
	}
	to, err := push.ParseSubscription(v.Subscription, s.config.Push.Private)
	if err != nil {
		return "", fmt.Errorf("%w: %w", notice.ErrUnusable, err)
	}
	body, err := json.Marshal(subscribed{Subscription: v.Subscription, Language: v.Language, Pass: v.Pass})
	if err != nil {
		return "", err
	}
	label := wording.Clip(strings.Join(strings.Fields(v.Label), " "), 60)
	if label == "" {
		label = "Device"
	}
	if v.Pass != "" && s.posting.devicesOf(v.Pass, to.Endpoint) >= mostByLink {
		return "", fmt.Errorf("%w: %d devices are told by this link already; a fitter has to take one away first", notice.ErrUnusable, mostByLink)
	}
	one := sqlite.Subscription{Endpoint: to.Endpoint, Label: label, Made: s.o.Now(), Body: body}
	ok, err := s.store.KeepSubscription(ctx, one, mostDevices)
	if err != nil {
		return "", err
	}
	if !ok {
		return "", fmt.Errorf("%w: %d devices are told already; a fitter has to take one away first", notice.ErrUnusable, mostDevices)
	}
	d, err := s.device(one)
	if err != nil {
		return "", err
	}
	if old := s.posting.without(d.way.Name()); old != nil && old.stop != nil {
		old.stop()
	}
	s.posting.mu.Lock()
	s.posting.senders = append(s.posting.senders, d)
	running := s.posting.running
	s.posting.mu.Unlock()
	if running != nil && running.Err() == nil {
		s.startSender(running, d)
	}
	s.o.Log.Info("a device is told of alarms", "device", label, "way", d.way.Name())
	s.changes.tell()
	return d.way.Name(), nil
}

// Unsubscribe lets go of the subscription with an endpoint.
func (p poster) Unsubscribe(ctx context.Context, endpoint string) error {
	return p.Remove(ctx, push.NameOf(endpoint))
}

// Remove lets go of the one that is a way.
func (p poster) Remove(ctx context.Context, way string) error {
	d, err := p.s.posting.sender(way)
	if err != nil {
		return err
	}
	return p.s.letGo(ctx, d)
}
