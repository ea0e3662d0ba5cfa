package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// keepCheck takes one look at the display.
func (s *Site) keepCheck(w http.ResponseWriter, r *http.Request) error {
	b := lookTyped(r)
	if err := s.keepLook(r, b); err != nil {
		return s.proveAgain(w, r, b, err)
	}
	return goTo(w, r, jobPath(job.ID(r.PathValue("id")))+"/"+r.PathValue("n")+"/prove?when="+strings.ReplaceAll(b.When, " ", "+"))
}

// lookTyped is the form of a look as it was sent.
func lookTyped(r *http.Request) proveBody {
	return proveBody{Mark: field(r, "mark"), Shown: field(r, "shown"), Tol: field(r, "tolerance"), Step: field(r, "step"), Doubt: field(r, "doubt"), By: field(r, "by"), Note: field(r, "note"), When: field(r, "when"), Anew: field(r, "anew") != ""}
}

// keepLook puts a look at the display into the tank's checks.
func (s *Site) keepLook(r *http.Request, b proveBody) error {
	now := s.o.Now()
	_, err := s.changeTank(r, job.Change{At: now, Words: "display at " + b.Mark + " shows " + b.Shown}, func(_ *job.Job, t *job.Tank) error {
		look, err := b.look(*t, now)
		if err != nil {
			return err
		}
		if err := sitting.Check(t, look); err != nil {
			return refused(capital(err.Error()) + ".")
		}
		return nil
	})
	return err
}

// proveAgain shows the page once more, with what was typed still in its fields.
func (s *Site) proveAgain(w http.ResponseWriter, r *http.Request, b proveBody, err error) error {
	var f *fault
	if !errors.As(err, &f) || f.status != http.StatusUnprocessableEntity {
		return err
	}
	kept, at, gone := s.tank(r)
	if gone != nil {
		return gone
	}
	return s.showProof(w, r, kept, at, b, f.text)
}

// look reads the form.
func (b proveBody) look(t job.Tank, now time.Time) (sitting.Look, error) {
	l := sitting.Look{When: b.When, Date: now.Format(time.DateOnly), By: b.By, Note: b.Note, Anew: b.Anew}
	if l.When != job.AsFound && l.When != job.AsLeft {
		return l, refused("Say whether the check is made before setting or after it.")
	}
	if l.When == job.AsLeft && t.Setting == nil {
		return l, refused("Nothing has been keyed in for this tank yet; set it first.")
	}
	var err error
	if l.Mark, err = sitting.ParseMark(t.Unit(), b.Mark); err != nil {
		return l, refused(capital(err.Error()) + ".")
	}
	if l.ShownPct, err = percent(b.Shown); err != nil || !(l.ShownPct >= 0 && l.ShownPct <= 100) {
		return l, refused(fmt.Sprintf("Found %q for what the display shows; expected percent, 0 to 100, like 47.", b.Shown))
	}
	if l.TolerancePct, err = percent(b.Tol); err != nil || !(l.TolerancePct > 0 && l.TolerancePct <= 50) {
		return l, refused(fmt.Sprintf("Found %q for how far the display may be off; expected points, like 2.", b.Tol))
	}
	if b.Step != "" {
		step, err := percent(b.Step)
		if err != nil || !(step > 0 && step <= 100) {
			return l, refused(fmt.Sprintf("Found %q for the step of the display; expected points above 0, like 1 or 0.1, or an empty field where its figures tell it.", b.Step))
		}
		l.DisplayStepPct = &step
	}
	if b.Doubt != "" {
		unit := t.Unit()
		doubt, err := quantity.ParseNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(b.Doubt, "±"), unit.Symbol())), true)
		if err != nil || !(doubt >= 0 && doubt <= unit.Limit()) {
			return l, refused(fmt.Sprintf("Found %q for how far a mark may be misread; expected %s, like 1, or an empty field for what is usual.", b.Doubt, unit.Symbol()))
		}
		l.MarkDoubt = &doubt
	}
	return l, nil
}

// percent reads a figure with or without its sign.
func percent(text string) (float64, error) {
	return quantity.ParseNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%")), true)
}

// strikeCheck takes one look at the display out again.
func (s *Site) strikeCheck(w http.ResponseWriter, r *http.Request) error {
	first, second, _ := strings.Cut(field(r, "ref"), ".")
	i, errI := strconv.Atoi(first)
	k, errK := strconv.Atoi(second)
	if errors.Join(errI, errK) != nil {
		return refused("That look at the display can't be found.")
	}
	_, err := s.changeTank(r, job.Change{Words: "a look at the display taken out"}, func(_ *job.Job, t *job.Tank) error {
		// The row's words say which it was; another that has come into its place
		// is left alone.
		if i < 0 || i >= len(t.Checks) || k < 0 || k >= len(t.Checks[i].Readings) || lookWords(t.Checks[i].Readings[k]) != field(r, "was") {
			return job.ErrMoved
		}
		return sitting.Unlook(t, i, k)
	})
	if err != nil {
		return err
	}
	return goTo(w, r, jobPath(job.ID(r.PathValue("id")))+"/"+r.PathValue("n")+"/prove")
}

// lookWords names a look at the display.
func lookWords(p job.CheckPoint) string {
	mark, unit, _ := p.Mark()
	return quantity.Short(mark, 6) + unit.Symbol() + "=" + quantity.Short(p.ShownPct, 6)
}
