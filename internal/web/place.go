package web

import (
	"fmt"
	"net/http"
	"strconv"

	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

// tankAt is one tank of a job, where a page stands on it.
type tankAt struct {
	*job.Tank
	N      int // its place in the job, from 1
	Path   string
	Words  string // for what is in it
	Accent chart.Accent
	View   record.View
}

func jobPath(id job.ID) string { return "/jobs/" + string(id) }

func tankPath(id job.ID, n int) string { return fmt.Sprintf("%s/%d", jobPath(id), n) }

// job gives the job of an address.
func (s *Site) job(r *http.Request) (*job.Kept, error) {
	kept, err := s.o.Store.Job(r.Context(), job.ID(r.PathValue("id")))
	if err == nil {
		ownIn(r.Context(), kept.Job.OwnWords()...)
	}
	return kept, err
}

// tank gives the job and the tank of an address, and notes that the job was
// left there.
func (s *Site) tank(r *http.Request) (*job.Kept, *tankAt, error) {
	kept, err := s.job(r)
	if err != nil {
		return nil, nil, err
	}
	n, err := tankNumber(r, kept.Job)
	if err != nil {
		return nil, nil, err
	}
	return kept, tankOf(kept, n), nil
}

// tankOf works out a tank of a job.
func tankOf(kept *job.Kept, n int) *tankAt {
	t := &kept.Job.Tanks[n-1]
	at := &tankAt{Tank: t, N: n, Path: tankPath(kept.ID, n)}
	at.View = record.ViewOf(*t, kept.Job.Shown(), "tank-"+strconv.Itoa(n))
	at.Words, at.Accent = at.View.Contents()
	return at
}

func tankNumber(r *http.Request, j *job.Job) (int, error) {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil || n < 1 || n > len(j.Tanks) {
		return 0, notFound(fmt.Sprintf("This job has no tank %q; it has %d.", r.PathValue("n"), len(j.Tanks)))
	}
	return n, nil
}

// changeTank makes one change of the tank of an address. The form says the name
// of the tank that it was made for, in the field "tank": another that has taken
// its place is left alone.
func (s *Site) changeTank(r *http.Request, c job.Change, do func(*job.Job, *job.Tank) error) (*job.Kept, error) {
	name := r.PostFormValue("tank")
	c.Key, c.By = r.PostFormValue("key"), device(r)
	c.Do = func(j *job.Job) error {
		n, err := tankNumber(r, j)
		if err != nil {
			return err
		}
		if t := &j.Tanks[n-1]; name == "" || name == t.Name {
			return do(j, t)
		}
		return job.ErrMoved
	}
	return s.change(r.Context(), job.ID(r.PathValue("id")), c)
}

// left notes on which page a job was left.
func (s *Site) left(r *http.Request, kept *job.Kept, place string) {
	if kept.Place == place {
		return
	}
	if err := s.o.Store.Leave(r.Context(), kept.ID, place); err != nil {
		s.o.Log.Warn("where the job was left isn't noted", "job", kept.ID, "error", err)
	}
}
