package web

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
	"gaugewright/internal/sitting"
)

// benchLine is one reading on the strip.
type benchLine struct {
	N          int // the how manieth it was taken, from 1
	Mark, Ohm  string
	Sweep, Way string // "▲", "up"
	Note       string
	Doubt      string // why the curve leaves it out
	Struck     bool
	Reason     string
	Ref, Key   string // for the forms under it
}

// benchUndo is what the last reading was, for the button that takes it back.
type benchUndo struct{ Ref, Key, Words string }

// strip lists the readings, the newest first, with the figures of the record,
// and says at once where the last one wants to be taken again.
func (b *takeBody) strip(kept *job.Kept, at *tankAt) {
	own := at.View.Strip()
	b.StripNote = own.Notes
	for i, taken := range sitting.Strip(*at.Tank) {
		e := own.Entries[i]
		l := benchLine{N: i + 1, Mark: e.Mark, Ohm: e.Ohm, Way: taken.Sweep, Note: taken.Note,
			Struck: taken.Struck, Reason: taken.Reason, Doubt: taken.Doubt, Ref: taken.Ref}
		l.Sweep = map[string]string{curve.Up.String(): "▲", curve.Down.String(): "▽"}[taken.Sweep]
		// One change of this reading at this revision, whoever asks for it.
		l.Key = fmt.Sprintf("%d-%s", kept.Revision, l.Ref)
		b.Strip = append(b.Strip, l)
		if taken.Struck || taken.Index != len(at.Bench.Readings)-1 {
			continue
		}
		words := sitting.Words(taken.Reading)
		b.Undo = &benchUndo{l.Ref, "undo-" + l.Key, words}
		if l.Doubt != "" {
			said := record.SentenceOf(finding.Finding{Weight: finding.Doubt, Text: words + ": " + l.Doubt + "."})
			b.Doubtful = &said
		}
	}
	slices.Reverse(b.Strip)
}

// undo takes the last reading back. The form names it, so that one which
// somebody else took in the meantime stays.
func (s *Site) undo(w http.ResponseWriter, r *http.Request) error {
	return s.changeReading(w, r, "undone", func(t *job.Tank, ref string) (string, error) {
		if ref == "" {
			last, err := sitting.Undo(t, s.o.Now())
			return sitting.Words(last), err
		}
		i, err := sitting.Find(*t, ref)
		if err != nil {
			return "", err
		}
		return sitting.Words(t.Bench.Readings[i]), sitting.Strike(t, ref, "undone", s.o.Now())
	})
}

func (s *Site) strike(w http.ResponseWriter, r *http.Request) error {
	return s.changeReading(w, r, "struck out", func(t *job.Tank, ref string) (string, error) {
		i, err := sitting.Find(*t, ref)
		if err != nil {
			return "", err
		}
		return sitting.Words(t.Bench.Readings[i]), sitting.Strike(t, ref, field(r, "reason"), s.o.Now())
	})
}

func (s *Site) restore(w http.ResponseWriter, r *http.Request) error {
	return s.changeReading(w, r, "put back", func(t *job.Tank, ref string) (string, error) {
		i, err := sitting.FindStruck(*t, ref)
		if err != nil {
			return "", err
		}
		return sitting.Words(t.Bench.Struck[i].Reading), sitting.Restore(t, ref)
	})
}

// changeReading makes a change of one reading and shows the bench again. The
// change is put into words once it is known which reading it is.
func (s *Site) changeReading(w http.ResponseWriter, r *http.Request, done string, do func(*job.Tank, string) (string, error)) error {
	d, err := s.desk(r)
	if err != nil {
		return err
	}
	ref := field(r, "ref")
	words := d.words(done + ": " + s.wordsOf(d.own, ref))
	var refusal error
	_, err = s.changeTank(r, job.Change{Words: words}, func(_ *job.Job, t *job.Tank) error {
		return d.change(t, func(own *job.Tank) error {
			_, refusal = do(own, ref)
			return refusal
		})
	})
	sweep, _ := curve.ParseSweep(field(r, "sweep"))
	switch {
	case err == nil:
		return goTo(w, r, d.address(sweep, ""))
	case refusal != nil:
		return d.show(w, r, http.StatusUnprocessableEntity, benchAsk{Sweep: field(r, "sweep")}, &benchWrong{Text: "Nothing was changed: " + refusal.Error() + "."})
	}
	return s.deskFailed(w, r, err, benchAsk{Sweep: field(r, "sweep")})
}

// wordsOf says which reading a reference names, for a job's history.
func (s *Site) wordsOf(t job.Tank, ref string) string {
	if i, err := sitting.Find(t, ref); err == nil {
		return sitting.Words(t.Bench.Readings[i])
	}
	if i, err := sitting.FindStruck(t, ref); err == nil {
		return sitting.Words(t.Bench.Struck[i].Reading)
	}
	if n := len(t.Bench.Readings); ref == "" && n > 0 {
		return sitting.Words(t.Bench.Readings[n-1])
	}
	return "a reading"
}

// deskFailed shows the page with what was typed where the store couldn't keep it,
// or what was typed can't be in a job.
func (s *Site) deskFailed(w http.ResponseWriter, r *http.Request, err error, ask benchAsk) error {
	f := judged(err)
	if f.status != http.StatusUnprocessableEntity && !errors.Is(err, job.ErrFull) {
		return err
	}
	d, missing := s.desk(r)
	if missing != nil {
		return err
	}
	if f.status >= http.StatusInternalServerError {
		s.o.Log.Error("page", "address", r.URL.Path, "status", f.status, "error", err)
	}
	return d.show(w, r, f.status, ask, &benchWrong{Text: f.text})
}
