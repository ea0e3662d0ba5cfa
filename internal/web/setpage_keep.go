package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// keepBody is the form that keeps what was keyed in.
type keepBody struct {
	Key, By, Date string
	BadDate       string
	Checks        string // what it does to the checks that were made
}

// keepOf begins the form: by whoever keyed in last, or did the job, and today.
func (s *Site) keepOf(f *fit, sent url.Values) keepBody {
	k := keepBody{Key: newKey(), By: f.kept.Job.Fitter, Date: s.o.Now().Format(time.DateOnly), Checks: checksWords(f.at.Tank)}
	if set := f.at.Setting; set != nil && set.By != "" {
		k.By = set.By
	}
	if sent.Has("by") {
		k.By = sent.Get("by")
	}
	if sent.Has("date") {
		k.Date = sent.Get("date")
		k.BadDate = dateFault(k.Date)
	}
	return k
}

func dateFault(text string) string {
	if _, err := time.Parse(time.DateOnly, text); text == "" || err == nil {
		return ""
	}
	return fmt.Sprintf("Date: %q isn’t a date; write it like 2026-11-03.", text)
}

// errOther says that what was keyed in isn't what the job would give now.
var errOther = errors.New("the readings or the tank have been changed since the page was shown, and with them the table")

// keepSetting stores what was keyed in: the best numbers, or end values of
// somebody's own.
func (s *Site) keepSetting(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return refused("The form can’t be read. Load the page again.")
	}
	sent := r.PostForm
	f, err := s.fitNow(r)
	if err != nil {
		return err
	}
	c, err := f.at.View.Fitted()
	if err != nil {
		return s.showSet(w, r, sent, telling.Sentence(err.Error()))
	}
	wish := wishOf(f.at, c.Signal(), sent)
	wrong := wish.faultOf(wishFields...)
	if bad := dateFault(field(r, "date")); wrong == "" {
		wrong = bad
	}
	if wrong != "" {
		return s.showSet(w, r, sent, wrong)
	}
	how := wish.how
	how.By, how.Date = field(r, "by"), field(r, "date")
	if how.Date == "" {
		how.Date = s.o.Now().Format(time.DateOnly)
	}
	keyed := field(r, "keyed")
	kept, err := s.changeTank(r, job.Change{Words: setChangeWords(keyed, c)}, func(_ *job.Job, t *job.Tank) error {
		return keepKeyed(t, how, wish.wish, keyed)
	})
	switch {
	case err == nil:
		return goTo(w, r, fmt.Sprintf("%s/set?%s", tankPath(kept.ID, f.at.N), wish.query()))
	case errors.Is(err, errOther):
		return &fault{http.StatusConflict, "Not kept: " + err.Error() + ". Look at it again, and key in what stands there now.", err}
	}
	var cant *cantKeep
	if errors.As(err, &cant) {
		return s.showSet(w, r, sent, plainWords(f.at.Name, cant.Error()))
	}
	if f := judged(err); f.status == http.StatusUnprocessableEntity {
		return s.showSet(w, r, sent, f.text)
	}
	return err
}

// cantKeep is for numbers that can't be kept, whatever the reason.
type cantKeep struct{ error }

func (e *cantKeep) Unwrap() error { return e.error }

// keepKeyed keys into a tank what the page calls by its exact value.
func keepKeyed(t *job.Tank, how job.Setting, w telling.Wish, keyed string) error {
	p, err := telling.Propose(*t, how, w)
	if err != nil {
		return &cantKeep{err}
	}
	var own *span.Ends
	if keyed != exactSetting(p.Best.Setting) {
		if w.Readout != telling.TwoPoint {
			return errOther
		}
		ends, err := span.ParseEnds(keyed)
		if err != nil {
			return &cantKeep{err}
		}
		own = &ends
	}
	if err := p.Store(t, own); err != nil {
		return &cantKeep{err}
	}
	return nil
}

// setChangeWords is the change in the job's history.
func setChangeWords(keyed string, c *curve.Curve) string {
	if ends, err := span.ParseEnds(keyed); err == nil {
		return fmt.Sprintf("keyed in: %s %s", ends, c.Signal().Unit())
	}
	if ends, _, both := strings.Cut(keyed, " "); both && strings.Contains(keyed, ">") {
		if e, err := span.ParseEnds(ends); err == nil {
			return fmt.Sprintf("keyed in: %s %s, then a table", e, c.Signal().Unit())
		}
	}
	return "keyed in: a table"
}
