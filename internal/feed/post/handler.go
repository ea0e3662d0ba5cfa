package post

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"gaugewright/internal/feed"
)

// Reasons for which a request is refused, besides those of [feed.Refusal].
const (
	wrongKind    = "a content type that isn't taken"
	anotherSite  = "a page of another site"
	tooManyAsked = "too many requests at once"
	notSent      = "a request that broke off"
)

// ServeHTTP takes the readings of one request. All of them are on disk when it
// answers 200, and none of them counts when it answers anything else.
func (f *Feed) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("X-Content-Type-Options", "nosniff")
	kept, p := f.take(w, r)
	if p != nil {
		if p.why != "" {
			f.refused(p.why, p.sample)
		}
		p.write(w)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	fmt.Fprintf(w, "{\"kept\":%d}\n", kept)
}

func (f *Feed) take(w http.ResponseWriter, r *http.Request) (int, *problem) {
	tank, ok := place(r.URL.Path)
	switch {
	case !ok:
		return 0, &problem{status: http.StatusNotFound, detail: fmt.Sprintf("nothing is at %s; expected %s for readings that name their tank, or %s/TANK for those of one tank", quoted(r.URL.Path), Path, Path)}
	case r.Method != http.MethodPost:
		return 0, &problem{status: http.StatusMethodNotAllowed, allow: http.MethodPost, detail: fmt.Sprintf("the method is %s; expected POST", quoted(r.Method))}
	}
	if f.origin.Check(r) != nil {
		return 0, &problem{status: http.StatusForbidden, why: anotherSite, detail: "a page of another site sent this; expected a program, or a page from this address"}
	}
	if p := taken(r.Header); p != nil {
		return 0, p
	}
	select {
	case f.slots <- struct{}{}:
		defer func() { <-f.slots }()
	default:
		return 0, &problem{status: http.StatusTooManyRequests, why: tooManyAsked, again: time.Second,
			detail: fmt.Sprintf("%d requests are under way; expected no more at once. Nothing of this one was kept: send it again", cap(f.slots))}
	}
	if r.ContentLength > feed.MaxPayload {
		if r.Header.Get("Expect") == "" { // who asks first needn't send it at all
			drain(w, r, time.Duration(f.config.Within))
		}
		return 0, tooLong(r.ContentLength)
	}
	b := bodies.Get().(*body)
	defer bodies.Put(b)
	payload, p := b.read(w, r, time.Duration(f.config.Within))
	if p != nil {
		return 0, p
	}
	return f.keep(r.Context(), tank, payload)
}

// keep hands the readings of a payload over.
func (f *Feed) keep(ctx context.Context, tank string, payload []byte) (int, *problem) {
	to, release := f.sink()
	defer release()
	if to == nil {
		return 0, &problem{status: http.StatusServiceUnavailable, again: 5 * time.Second, detail: "the watch doesn't run at the moment. Nothing of this was kept: send it again"}
	}
	d := feed.Defaults{Tank: tank, Source: f.name, Arrived: time.Now(), TankInside: tank == "",
		Doubted: func(why string) { to.Refused(f.name, why, payload) }}
	if tank != "" {
		if !to.Knows(tank) {
			return 0, noTank(fmt.Sprintf("no tank is called %s; expected the name of one that is watched", quoted(tank)), payload)
		}
		d.Signal = f.config.Signal(tank)
	}
	// The sink may hold on to the readings: they are this request's own.
	readings, err := feed.Decode(nil, payload, d)
	if err != nil {
		return 0, cannotBeRead(err, payload)
	}
	for i := range readings {
		if t := readings[i].Tank; tank == "" && !to.Knows(t) {
			return 0, noTank(fmt.Sprintf("reading %d of %d is for the tank %s, and none is called that; expected the name of one that is watched", i+1, len(readings), quoted(t)), payload)
		}
	}
	ctx, cancel := context.WithTimeout(ctx, time.Duration(f.config.Within))
	defer cancel()
	if to.Take(ctx, readings) != nil {
		// Why is for the log of the station, which knows it; a disk's paths are
		// nobody's business.
		return 0, &problem{status: http.StatusServiceUnavailable, again: 5 * time.Second, detail: "the readings couldn't be kept on disk. Send them again later: what was kept all the same counts once"}
	}
	return len(readings), nil
}

// place gives the tank of an address, "" where the readings name their own; false
// where it is no address of readings.
func place(path string) (tank string, ok bool) {
	rest, ok := strings.CutPrefix(path, Path)
	if !ok || rest == "" {
		return "", ok
	}
	tank, ok = strings.CutPrefix(rest, "/")
	return tank, ok && tank != "" && !strings.Contains(tank, "/")
}
