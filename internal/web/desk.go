package web

import (
	"net/http"
	"strconv"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/sitting"
)

// desk is where readings are taken: the bench of a tank, or one of its later
// checks.
type desk struct {
	site *Site
	kept *job.Kept
	at   *tankAt
	own  job.Tank // the tank as it stands there: its bench is the one that is read
	path string   // of its page
	k    int      // of the later check, from 0; -1: the bench
	on   string   // the day of the check, as the page that asks knows it
}

// desk gives the one of an address: /jobs/k3f/1/bench or /jobs/k3f/1/later/2/check.
func (s *Site) desk(r *http.Request) (*desk, error) {
	kept, at, err := s.tank(r)
	if err != nil {
		return nil, err
	}
	d := &desk{site: s, kept: kept, at: at, own: *at.Tank, path: at.Path + "/bench", k: -1}
	if text := r.PathValue("k"); text != "" {
		k, err := strconv.Atoi(text)
		if err != nil || k < 1 || k > len(at.Services) {
			return nil, notFound("This tank has no later check " + strconv.Quote(cutTo(text, 20)) + ". The ones that it has stand on its page of later checks.")
		}
		d.k, d.path, d.on = k-1, laterPath(at, k-1), r.URL.Query().Get("on")
		if d.own, err = sitting.Later(*at.Tank, d.k); err != nil {
			return nil, err
		}
	}
	return d, nil
}

// words begin what the job's history says of a change there.
func (d *desk) words(text string) string {
	if d.k < 0 {
		return text
	}
	return "later check of " + dayWords(d.at.Services[d.k].Date) + ", " + text
}

// change does something with what is read there, in the tank as the store has it.
func (d *desk) change(t *job.Tank, do func(*job.Tank) error) error {
	if d.k < 0 {
		return do(t)
	}
	if err := d.still(t); err != nil {
		return err
	}
	return sitting.OnLater(t, d.k, do)
}

// still says whether the check that the page was made for stands in its place.
func (d *desk) still(t *job.Tank) error {
	if d.k >= len(t.Services) || d.on != "" && d.on != t.Services[d.k].Date {
		return job.ErrMoved
	}
	return nil
}

// address is the page with the direction that it is worked in.
func (d *desk) address(sweep curve.Sweep, said string) string {
	return takeAddress(d.path, sweep, said)
}

// show shows the page of a desk, with what was typed and couldn't be used still in
// its fields.
func (d *desk) show(w http.ResponseWriter, r *http.Request, status int, ask benchAsk, wrong *benchWrong) error {
	if d.k < 0 {
		return d.site.showBench(w, r, status, d.kept, d.at, ask, wrong)
	}
	return d.site.showCheck(w, r, status, d, checkAsk{benchAsk: ask}, wrong)
}
