package browser

import (
	"context"
	"net/url"
	"slices"
	"sync"

	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// Requests lists the addresses that pages in this browser asked the network
// for since [Open], in order, the pages' own included. What is inside a page
// already, such as a data: address, isn't a request, and the icon at
// /favicon.ico is left out: a browser asks for that whatever the page says. A
// page may ask for more after it has loaded.
func Requests(ctx context.Context) []string {
	return logOf(ctx).copy(func(l *requestLog) []string { return l.asked })
}

// Blocked lists those of the [Requests] that would have left this machine.
// They were refused.
func Blocked(ctx context.Context) []string {
	return logOf(ctx).copy(func(l *requestLog) []string { return l.blocked })
}

type logKey struct{}

// requestLog is what one browser asked for.
type requestLog struct {
	guards sync.WaitGroup

	mu             sync.Mutex
	asked, blocked []string
}

func logOf(ctx context.Context) *requestLog {
	l, ok := ctx.Value(logKey{}).(*requestLog)
	if !ok {
		panic("browser: the context is not one of Open's")
	}
	return l
}

func (l *requestLog) copy(list func(*requestLog) []string) []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clone(list(l))
}

// event writes down a request. It runs on the goroutine that reads the
// browser's messages, so a request is in the list before any action that was
// answered after it returns.
func (l *requestLog) event(ev any) {
	var address string
	switch ev := ev.(type) {
	case *network.EventRequestWillBeSent:
		address = ev.Request.URL
	case *network.EventWebSocketCreated:
		address = ev.URL
	case *network.EventWebTransportCreated:
		address = ev.URL
	default:
		return
	}
	where := placeOf(address)
	if where == within || unasked(address) {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.asked = append(l.asked, address)
	if where == outside {
		l.blocked = append(l.blocked, address)
	}
}

// guard has every request held until it is looked at here, and lets through
// those to this machine. It returns when that is so.
func (l *requestLog) guard(ctx context.Context) error {
	paused := chromedp.Events(ctx, fetch.RequestPaused)
	l.guards.Go(func() {
		for ev, err := range paused {
			if err != nil {
				return // the browser is gone, or the test over
			}
			// An error here means the same, or that the page dropped the
			// request while it was held.
			if placeOf(ev.Request.URL) == outside {
				_, _ = chromedp.Call(ctx, fetch.FailRequest, fetch.FailRequestParams{
					RequestID: ev.RequestID, ErrorReason: network.ErrorReasonBlockedByClient})
				continue
			}
			_, _ = chromedp.Call(ctx, fetch.ContinueRequest, fetch.ContinueRequestParams{RequestID: ev.RequestID})
		}
	})
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		return err
	}
	_, err := chromedp.Call(ctx, fetch.Enable, fetch.EnableParams{})
	return err
}

// unasked tells of an address on this machine that a browser asks for by
// itself.
func unasked(address string) bool {
	u, err := url.Parse(address)
	return err == nil && u.Path == "/favicon.ico" && placeOf(address) == machine
}

// place is how far away something asked for is.
type place int

const (
	within  place = iota // in the page or the browser: nothing is asked
	machine              // on this machine: loopback, or a file
	outside              // anywhere else
)

// placeOf tells how far away an address is. One that can't be understood
// counts as outside.
func placeOf(address string) place {
	u, err := url.Parse(address)
	if err != nil {
		return outside
	}
	switch u.Scheme {
	case "data", "blob", "about", "chrome":
		return within
	case "file":
		if u.Host == "" {
			return machine
		}
		return outside
	}
	switch u.Hostname() {
	case "localhost", "127.0.0.1", "::1": // the same as in options
		return machine
	}
	return outside
}
