package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"gaugewright/internal/job"
)

// Server-sent events (WHATWG HTML, 9.2) tell a page that something is new.
const (
	// otherProcess is how often a job is looked at for changes that another
	// program made in the same data file.
	otherProcess = time.Second
	// stillHere keeps proxies and phones from closing a stream that is quiet.
	stillHere = 15 * time.Second
	// meterPace is how often a page is told what the meter says, at the most.
	meterPace = 100 * time.Millisecond
)

// stream writes events; each write has a limit of its own, so that a browser
// that went away doesn't hold one for ever.
type stream struct {
	w http.ResponseWriter
	c *http.ResponseController
}

func newStream(w http.ResponseWriter) stream {
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	c := http.NewResponseController(w)
	_ = c.SetReadDeadline(time.Time{})
	return stream{w, c}
}

func (s stream) send(event string, data any) error {
	text, err := json.Marshal(data)
	if err != nil {
		return err
	}
	_ = s.c.SetWriteDeadline(time.Now().Add(5 * time.Second))
	if _, err := fmt.Fprintf(s.w, "event: %s\ndata: %s\n\n", event, text); err != nil {
		return err
	}
	return s.c.Flush()
}

func (s stream) breathe() error {
	_ = s.c.SetWriteDeadline(time.Now().Add(5 * time.Second))
	if _, err := fmt.Fprint(s.w, ": still here\n\n"); err != nil {
		return err
	}
	return s.c.Flush()
}

// live tells a page what is new: each new revision of the job that it names
// with ?job=, and what the meter on the bench says where it asks for ?meter=1.
// It is one stream for both, as a browser opens six to one site and no more.
func (s *Site) live(w http.ResponseWriter, r *http.Request) {
	id := job.ID(r.URL.Query().Get("job"))
	t := told{site: s, r: r, id: id, job: id != "", meter: r.URL.Query().Get("meter") != ""}
	if t.job {
		if _, err := s.o.Store.Revision(r.Context(), id); err != nil {
			f := judged(err)
			http.Error(w, f.text, f.status)
			return
		}
	}
	t.out = newStream(w)
	if t.out.breathe() != nil {
		return
	}
	poll, quiet := time.NewTicker(otherProcess), time.NewTicker(stillHere)
	defer poll.Stop()
	defer quiet.Stop()
	for {
		// Asked for before looking, so that nothing falls between.
		changed, heard := s.pulse.next(id), s.o.Meters.Heard()
		if t.tell() != nil {
			return
		}
		if !t.meter {
			heard = nil
		}
		select {
		case <-r.Context().Done():
			return
		case <-changed:
		case <-heard:
			select { // a quick meter must not flood a slow phone
			case <-r.Context().Done():
				return
			case <-time.After(meterPace):
			}
		case <-poll.C:
		case <-quiet.C:
			if t.out.breathe() != nil {
				return
			}
		}
	}
}

// told is what one page was told last.
type told struct {
	site       *Site
	r          *http.Request
	out        stream
	id         job.ID
	job, meter bool

	revision int64
	words    meterWords
	spoken   bool
}

// tell sends what has changed since.
func (t *told) tell() error {
	if t.job {
		// An error is the store's and may pass; the page keeps what it has.
		if now, err := t.site.o.Store.Revision(t.r.Context(), t.id); err == nil && now != t.revision {
			t.revision = now
			if err := t.out.send("revision", now); err != nil {
				return err
			}
		}
	}
	if t.meter {
		if now := t.site.meterIn(t.r); now != t.words || !t.spoken {
			t.words, t.spoken = now, true
			return t.out.send("meter", now)
		}
	}
	return nil
}
