package web

import (
	"fmt"
	"net/http"

	"gaugewright/internal/job"
	"gaugewright/internal/tankfile"
)

// uploadTank takes the shape of a tank file.
func (s *Site) uploadTank(w http.ResponseWriter, r *http.Request, kept *job.Kept, at *tankAt) error {
	v := tankValues(*at.Tank, kept.Job.Shown())
	b := describedBody{typed: newTyped(v, v)}
	again := func(text string) error {
		b.blameAll(text)
		return s.showTank(w, r, kept, at, b, *at.Tank, false)
	}
	file, head, err := r.FormFile("file")
	if err != nil {
		return again("No file was chosen")
	}
	defer file.Close()
	made, err := tankfile.Read(file, head.Filename)
	if err != nil {
		return again("That isn't a tank file that can be used. " + err.Error())
	}
	if name := otherFile(made.Body); name != "" {
		return again(fmt.Sprintf("The tank file names another file, %q, which can't be sent with it. Make a strapping table of it on a machine that has both (gaugewright tank %s --strap 10mm), and paste that here", name, head.Filename))
	}
	made.Version = 0
	_, err = s.changeTank(r, job.Change{Words: "shape from a tank file"}, func(_ *job.Job, t *job.Tank) error {
		t.Shape = made
		return nil
	})
	switch {
	case err == nil:
		return goTo(w, r, at.Path+"/tank?kept=1")
	case b.blameFile(err, func([]string) string { return "" }):
		return again("The tank file was read, but its tank doesn't go with what is stated here")
	}
	return err
}

// otherFile gives the first file that a shape names; "" where it names none.
func otherFile(b tankfile.Body) string {
	if b.CSV != "" || b.MeshFile != "" {
		return b.CSV + b.MeshFile
	}
	for _, list := range [][]tankfile.Part{b.Parts, b.Without} {
		for _, p := range list {
			if name := otherFile(p.Body); name != "" {
				return name
			}
		}
	}
	return ""
}
