package web

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tankfile"
)

// describedBody is the page on which a tank is described.
type describedBody struct {
	*typed
	Key, Was string // the change's, and the state that it was made for
	Kept     bool
	Units    quantity.Units
	Look     tankLook
	File     string // what the shape is where it is in a file only
	Without  int    // parts taken away from the shape
	Signal   string // "ohms"
	Kin      tankType
}

func (s *Site) tankPage(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	s.left(r, kept, r.PathValue("n")+"/tank")
	q := r.URL.Query()
	v := tankValues(*at.Tank, kept.Job.Shown())
	b := describedBody{typed: newTyped(v, v), Kept: q.Get("kept") != ""}
	return s.showTank(w, r, kept, at, b, *at.Tank, q.Get("lean") != "")
}

// showTank shows the page, with the tank that is to be drawn.
func (s *Site) showTank(w http.ResponseWriter, r *http.Request, kept *job.Kept, at *tankAt, b describedBody, drawn job.Tank, lean bool) error {
	b.prepare(kept, at)
	b.Look = lookOf(drawn, lean)
	b.Kin = s.tankTypeOf(r.Context(), *at.Tank)
	v := view{Page: "tank", Title: "Tank " + at.Name, Job: kept, Tank: at, Wide: true, Body: b}
	if b.wrong() {
		v.Fault = b.fault()
	}
	return s.show(w, r, v)
}

// prepare sets what the page needs whatever was typed.
func (b *describedBody) prepare(kept *job.Kept, at *tankAt) {
	b.Key, b.Units = newKey(), kept.Job.Shown()
	b.Was = digest(tankValues(*at.Tank, b.Units))
	b.Signal = at.Signal().Figures()
	if at.Shape != nil {
		b.Without = len(at.Shape.Without)
		if keyOf(at.Shape) == fileShape {
			b.File = fromFileWords(at.Shape)
		}
	}
	b.labelled()
}

// fromFileWords says what a shape is that the page can't edit.
func fromFileWords(f *tankfile.File) string {
	switch f.Shape {
	case tankfile.Stack:
		return fmt.Sprintf("a stack of %d parts, from a file", len(f.Parts))
	case tankfile.Joined:
		return fmt.Sprintf("%d tanks joined, from a file", len(f.Parts))
	case tankfile.Mesh:
		return "a closed mesh, in a file of its own"
	}
	return "a strapping table, in a file of its own"
}

// typedTank is a tank as it was typed, over the one that is kept.
func typedTank(f *typed, t job.Tank, u quantity.Units) job.Tank {
	f.facts(&t, u)
	f.shape(&t)
	return t
}

// keepTank keeps the tank as it was typed; or only draws it, or adds a field.
func (s *Site) keepTank(w http.ResponseWriter, r *http.Request) error {
	form, err := formOf(r)
	if err != nil {
		return err
	}
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	b := describedBody{typed: newTyped(form, tankValues(*at.Tank, kept.Job.Shown()))}
	switch b.text("do") {
	case "upload":
		return s.uploadTank(w, r, kept, at)
	case "claim":
		b.now["claimed"] = append(b.now["claimed"], "")
		return s.showTank(w, r, kept, at, b, *at.Tank, false)
	case "look":
		drawn := typedTank(b.typed, *at.Tank, kept.Job.Shown())
		if b.wrong() {
			return s.tankWrong(w, r, b)
		}
		return s.showTank(w, r, kept, at, b, drawn, false)
	}
	_, err = s.changeTank(r, job.Change{Words: "tank described"}, func(j *job.Job, t *job.Tank) error {
		now := tankValues(*t, j.Shown())
		b.typed = newTyped(form, now)
		if was := b.text("was"); was != "" && was != digest(now) {
			b.blameAll("This tank was changed on another page in the meantime. Look over what stands here; keeping it again puts it in the place of that")
			return errTyped
		}
		made := typedTank(b.typed, *t, j.Shown())
		if b.wrong() {
			return errTyped
		}
		*t = made
		return nil
	})
	switch {
	case err == nil:
		return goTo(w, r, at.Path+"/tank?kept=1")
	case errors.Is(err, errTyped), b.blameFile(err, b.tankPlace):
		return s.tankWrong(w, r, b)
	}
	return err
}

// tankWrong shows the page again with what is wrong at its fields.
func (s *Site) tankWrong(w http.ResponseWriter, r *http.Request, b describedBody) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	for name, text := range b.faults {
		b.faults[name] = tapeWords.Replace(text)
	}
	drawn := newTyped(b.now, tankValues(*at.Tank, kept.Job.Shown()))
	t := typedTank(drawn, *at.Tank, kept.Job.Shown())
	if drawn.wrong() {
		t = *at.Tank
	}
	return s.showTank(w, r, kept, at, b, t, false)
}

// lookAtTank draws a tank as it is typed, and keeps nothing: a part of the page.
func (s *Site) lookAtTank(w http.ResponseWriter, r *http.Request) error {
	form, err := formOf(r)
	if err != nil {
		return err
	}
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	n, err := tankNumber(r, kept.Job)
	if err != nil {
		return err
	}
	// Nothing of the tank's readings is needed, and so nothing is worked out of them.
	at := &tankAt{Tank: &kept.Job.Tanks[n-1], N: n, Path: tankPath(kept.ID, n)}
	u := kept.Job.Shown()
	f := newTyped(form, tankValues(*at.Tank, u))
	t := *at.Tank
	f.facts(&t, u)
	// What is wrong with the facts is told when they are kept.
	f.faults, f.order, f.general = map[string]string{}, nil, nil
	f.shape(&t)
	var look tankLook
	if f.wrong() {
		(&describedBody{typed: f}).labelled()
		look.Why = "Not drawn yet. " + f.wants()
	} else {
		look = lookOf(t, form.Get("lean") != "")
	}
	var b bytes.Buffer
	if err := pageOf("tank").ExecuteTemplate(&b, "tank-look", view{Job: kept, Tank: at, Body: describedBody{typed: f, Look: look}}); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = b.WriteTo(w) // a browser that went away is no matter
	return nil
}

// wants says the first thing that is wrong.
func (f *typed) wants() string {
	if len(f.order) > 0 {
		name := f.order[0]
		return capital(f.labels[name]) + ": " + tapeWords.Replace(f.faults[name])
	}
	return tapeWords.Replace(f.general[0])
}
