package web

import (
	"errors"
	"io"
	"net/http"
	"slices"

	"gaugewright/internal/job"
	"gaugewright/internal/kin"
)

// typeFile gives a type as a file.
func (s *Site) typeFile(w http.ResponseWriter, r *http.Request) error {
	t, err := s.aType(r, r.URL.Query().Get("name"))
	if err != nil {
		return err
	}
	data, err := t.kind.Encode()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Disposition", attachment(&job.Job{Number: t.kind.Name}, ".type.json"))
	w.Header().Set("Content-Length", itoa(len(data)))
	_, _ = w.Write(data) // a browser that went away is no matter
	return nil
}

// importType takes in a file of a type. Units that are there already aren't
// counted twice.
func (s *Site) importType(w http.ResponseWriter, r *http.Request) error {
	if _, err := formOf(r); err != nil {
		return err
	}
	file, head, err := r.FormFile("file")
	if err != nil {
		return s.showTypes(w, r, "No file was chosen. Choose a file of a sender type, then press Take in.")
	}
	defer file.Close()
	kind, err := kin.Read(io.LimitReader(file, formLimit), cutTo(baseName(head.Filename), 60))
	if err != nil {
		return s.showTypes(w, r, "Not taken in: "+err.Error())
	}
	err = s.changeType(r.Context(), kind.Name, func(old *kin.Type) (*kin.Type, error) {
		if old == nil {
			return kind, nil
		}
		merged, _, err := kin.Merge(old, kind)
		if err != nil {
			return nil, refused("Not taken in: " + err.Error() + ".")
		}
		return merged, nil
	})
	var f *fault
	if errors.As(err, &f) && f.status == http.StatusUnprocessableEntity {
		return s.showTypes(w, r, f.text)
	} else if err != nil {
		return err
	}
	return goTo(w, r, typePath(kind.Name))
}

// removeType forgets a type. Tanks that begin with it keep what they know of it.
func (s *Site) removeType(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	if _, err := s.aType(r, name); err != nil {
		return err
	}
	if err := s.changeType(r.Context(), name, func(*kin.Type) (*kin.Type, error) { return nil, nil }); err != nil {
		return err
	}
	return goTo(w, r, "/types")
}

// removeUnit leaves one unit out of a type. The form says which it was.
func (s *Site) removeUnit(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	if _, err := s.aType(r, name); err != nil {
		return err
	}
	err := s.changeType(r.Context(), name, func(old *kin.Type) (*kin.Type, error) {
		if old == nil {
			return nil, notFound("This sender type is gone.")
		}
		for i, u := range old.Units {
			if itoa(i) == field(r, "n") && u.Job == r.PostFormValue("job") && u.Tank == r.PostFormValue("unit-tank") && u.Serial == r.PostFormValue("serial") {
				own := copyOfType(old)
				own.Units = slices.Delete(own.Units, i, i+1)
				return own, nil
			}
		}
		return nil, &fault{http.StatusConflict, "The units of this type were changed on another page in the meantime. Look at them again.", nil}
	})
	if err != nil {
		return err
	}
	return goTo(w, r, typePath(name))
}
