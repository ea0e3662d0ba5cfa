package web

import (
	"errors"
	"net/http"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// contentsBody is the page of what is inside a tank and what draws from it.
type contentsBody struct {
	*typed
	Key, Was string
	Kept     bool
	Units    quantity.Units
	Contents job.Contents
	Says     string // what its figures rest on
	Left     leftLook
}

func (s *Site) contentsPage(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	s.left(r, kept, r.PathValue("n")+"/contents")
	q := r.URL.Query()
	v := contentsValues(*at.Tank, kept.Job.Shown())
	b := contentsBody{typed: newTyped(v, v), Kept: q.Get("kept") != ""}
	b.Left = s.leftIn(kept, at, q.Get("by"), q.Get("now"), q.Get("at"))
	return s.showContents(w, r, kept, at, b)
}

func (s *Site) showContents(w http.ResponseWriter, r *http.Request, kept *job.Kept, at *tankAt, b contentsBody) error {
	b.Key, b.Units, b.Contents = newKey(), kept.Job.Shown(), at.Contents
	b.Was = digest(contentsValues(*at.Tank, b.Units))
	if sub, err := at.Substance(); err == nil {
		b.Says = sub.Words
	}
	if b.Left.Bys == nil {
		b.Left = s.leftIn(kept, at, "", "", "")
	}
	b.labelled()
	v := view{Page: "contents", Title: "Contents of " + at.Name, Job: kept, Tank: at, Wide: true, Body: b}
	if b.wrong() {
		v.Fault = b.fault()
	}
	status := http.StatusOK
	if b.wrong() || b.Left.Bad != "" {
		status = http.StatusUnprocessableEntity
	}
	return s.showAs(w, r, status, v)
}

// keepContents keeps what was typed; or adds a load to the form, or takes one out.
func (s *Site) keepContents(w http.ResponseWriter, r *http.Request) error {
	form, err := formOf(r)
	if err != nil {
		return err
	}
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	b := contentsBody{typed: newTyped(form, contentsValues(*at.Tank, kept.Job.Shown()))}
	do := b.text("do")
	if do == "add" {
		b.addLoad()
		return s.showContents(w, r, kept, at, b)
	}
	if n, ok := rowOf(do, "remove"); ok {
		b.removeLoad(n)
		return s.showContents(w, r, kept, at, b)
	}
	_, err = s.changeTank(r, job.Change{Words: "contents and loads described"}, func(j *job.Job, t *job.Tank) error {
		now := contentsValues(*t, j.Shown())
		b.typed = newTyped(form, now)
		if was := b.text("was"); was != "" && was != digest(now) {
			b.blameAll("What is in this tank was changed on another page in the meantime. Look over what stands here; keeping it again puts it in the place of that")
			return errTyped
		}
		made := *t
		b.contents(&made, j.Shown())
		b.loads(&made)
		if b.wrong() {
			return errTyped
		}
		*t = made
		return nil
	})
	switch {
	case err == nil:
		return goTo(w, r, at.Path+"/contents?kept=1")
	case errors.Is(err, errTyped), b.blameFile(err, b.contentsPlace):
		for name, text := range b.faults {
			b.faults[name] = tapeWords.Replace(text)
		}
		if kept, at, err = s.tank(r); err != nil {
			return err
		}
		return s.showContents(w, r, kept, at, b)
	}
	return err
}
