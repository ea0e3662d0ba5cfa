package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"strconv"

	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

// pastBody is a job as it was after one of its changes: to be read, taken along
// or put back, and nothing of it to be changed.
type pastBody struct {
	N, Last, Since int64 // its number, the present one, and how many came after
	When           string
	By, Words      string // of the change that made it so
	Path           string // of this revision
	Facts          []record.Fact
	Tanks          []pastTank
	Changed        []string // what is otherwise now
	Same           bool     // nothing is
	Key            string
}

// pastTank is a tank as it was.
type pastTank struct {
	Name, Words, Accent string
	Steps               []job.Step
}

// past is a revision of a job beside the job as it is now.
type past struct {
	now  *job.Kept
	was  *job.Job
	n    int64
	path string
}

func pastPath(id job.ID, n int64) string { return fmt.Sprintf("%s/at/%d", jobPath(id), n) }

// past gives the revision of an address.
func (s *Site) past(r *http.Request) (*past, error) {
	now, err := s.job(r)
	if err != nil {
		return nil, err
	}
	n, err := strconv.ParseInt(r.PathValue("revision"), 10, 64)
	if err != nil || n < 1 || n > now.Revision {
		return nil, notFound(fmt.Sprintf("This job has no change %q; its changes are numbered from 1 to %d.", cutTo(r.PathValue("revision"), 40), now.Revision))
	}
	was, err := s.o.Store.At(r.Context(), now.ID, n)
	if err != nil {
		return nil, err
	}
	return &past{now, was, n, pastPath(now.ID, n)}, nil
}

// pastPage is the job as it was.
func (s *Site) pastPage(w http.ResponseWriter, r *http.Request) error {
	p, err := s.past(r)
	if err != nil {
		return err
	}
	return s.showPast(w, r, p, "")
}

func (s *Site) showPast(w http.ResponseWriter, r *http.Request, p *past, fault string) error {
	j := p.was
	b := pastBody{N: p.n, Last: p.now.Revision, Since: p.now.Revision - p.n, Path: p.path, Key: newKey(),
		Facts:   cardFacts(j),
		Changed: whatChanged(r.Context(), j, p.now.Job)}
	b.Facts = append([]record.Fact{{Name: "Customer", Value: j.Customer}, {Name: "Vehicle", Value: j.Vehicle}}, b.Facts...)
	for i := range b.Facts[:2] {
		if b.Facts[i].Value == "" {
			b.Facts[i].Value, b.Facts[i].Missing = "not stated", true
		}
	}
	b.Same = len(b.Changed) == 0
	for _, t := range j.Tanks {
		in := looksOf(t.Contents)
		b.Tanks = append(b.Tanks, pastTank{t.Name, in.words, in.accent.Class(), t.Summary()})
	}
	c, err := s.changeThatMade(r.Context(), p)
	if err != nil {
		return err
	}
	b.By, b.Words, b.When = c.By, c.Words, c.At.In(s.o.Now().Location()).Format("2 January 2006, 15:04:05")
	return s.show(w, r, view{Page: "past", Title: fmt.Sprintf("Job %s as it was after change %d", cutTo(p.now.Job.Number, 60), p.n), Job: p.now, Fault: fault, Body: b})
}

// changeThatMade gives the change that made the job what it was.
func (s *Site) changeThatMade(ctx context.Context, p *past) (job.Change, error) {
	list, err := s.o.Store.History(ctx, p.now.ID, int(min(p.now.Revision-p.n+1, 1<<20)))
	if err != nil {
		return job.Change{}, err
	}
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].Revision+1 == p.n {
			return list[i], nil
		}
	}
	return job.Change{At: p.now.Made, Words: "started"}, nil
}

// pastChanges is what one change did: the part of the history that is unfolded.
func (s *Site) pastChanges(w http.ResponseWriter, r *http.Request) error {
	p, err := s.past(r)
	if err != nil {
		return err
	}
	var list []string
	if p.n > 1 {
		before, err := s.o.Store.At(r.Context(), p.now.ID, p.n-1)
		if err != nil {
			return err
		}
		list = whatChanged(r.Context(), before, p.was)
	}
	return s.showPart(w, "history", "changes", list)
}

// pastFile is the job file of a revision.
func (s *Site) pastFile(w http.ResponseWriter, r *http.Request) error {
	p, err := s.past(r)
	if err != nil {
		return err
	}
	return s.giveFile(w, p.was, fmt.Sprintf(".as-after-change-%d.job.json", p.n))
}

// pastPaper is the record of a revision, as a page of its own.
func (s *Site) pastPaper(w http.ResponseWriter, r *http.Request) error {
	p, err := s.past(r)
	if err != nil {
		return err
	}
	d, err := s.documentOf(p.was)
	if err != nil {
		return err
	}
	return s.givePaper(w, p.marked(d).In(s.book(r)), paperOf(r))
}

// pastPDF is the record of a revision as a PDF. It isn't handed over by that.
func (s *Site) pastPDF(w http.ResponseWriter, r *http.Request) error {
	p, err := s.past(r)
	if err != nil {
		return err
	}
	d, err := s.documentOf(p.was)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := p.marked(d).In(s.book(r)).PDF(&b, paperOf(r)); err != nil {
		return err
	}
	return givePDF(w, p.was, &b, fmt.Sprintf(".as-after-change-%d.record.pdf", p.n))
}

// marked says in a record itself that it is of the past, unless nothing came
// after.
func (p *past) marked(d *record.Document) *record.Document {
	if p.n == p.now.Revision {
		return d
	}
	own := *d
	own.Title = fmt.Sprintf("%s, as it was after change %d of %d", d.Title, p.n, p.now.Revision)
	own.Terms = append([]string{fmt.Sprintf("This is the job as it was after change %d. It has been changed since, up to change %d, and the record of it now says otherwise.", p.n, p.now.Revision)}, d.Terms...)
	return &own
}

// putBack makes the job what it was, by a change of its own: what came between
// stays in the history.
func (s *Site) putBack(w http.ResponseWriter, r *http.Request) error {
	p, err := s.past(r)
	if err != nil {
		return err
	}
	seen, err := strconv.ParseInt(field(r, "last"), 10, 64)
	if err != nil || seen < 1 {
		return refused("The form doesn’t say which state of the job it was made for. Load the page again.")
	}
	kept, err := s.change(r.Context(), p.now.ID, job.Change{Key: field(r, "key"), Revision: seen, By: device(r),
		Words: fmt.Sprintf("put back as it was after change %d", p.n),
		Do: func(j *job.Job) error {
			history := j.History
			*j = *p.was
			// What came between isn't undone by putting back what was before it.
			j.History, j.Signature = history, nil
			return nil
		}})
	if err != nil {
		return err
	}
	return goTo(w, r, jobPath(kept.ID)+"/history")
}
