package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/kin"
)

// mostLooked is how many jobs are looked through for a type, the last changed first.
const mostLooked = 5000

// jobTypes are the tanks of one job, as it was at a revision, whose sender is of a
// type.
type jobTypes struct {
	revision int64
	tanks    []typeTank
}

// typeTank is a tank whose sender is of a type.
type typeTank struct {
	ID                        job.ID
	N                         int // its place in the job, from 1
	Type, Number, Tank, Batch string
	Serial, Date              string
	Readings                  int
}

// Ref names the tank in a form.
func (t typeTank) Ref() string { return string(t.ID) + "/" + itoa(t.N) }

// Day is the date of its bench for people.
func (t typeTank) Day() string { return dayOrNone(t.Date) }

// typeTanks looks through the jobs for senders of types. A job that hasn't changed
// since isn't read again.
func (s *Site) typeTanks(ctx context.Context) ([]typeTank, error) {
	cards, _, err := s.o.Store.Jobs(ctx, "", mostLooked)
	if err != nil {
		return nil, err
	}
	s.types.seen.Lock()
	defer s.types.seen.Unlock()
	known := make(map[string]jobTypes, len(cards))
	var out []typeTank
	for _, card := range cards {
		found, ok := s.types.jobs[string(card.ID)]
		if !ok || found.revision != card.Revision {
			kept, err := s.o.Store.Job(ctx, card.ID)
			if err != nil {
				s.o.Log.Warn("a job isn't looked through for sender types", "job", card.ID, "error", err)
				continue
			}
			found = jobTypes{revision: kept.Revision}
			for i, t := range kept.Job.Tanks {
				if name := strings.TrimSpace(t.Sender.Type); name != "" {
					found.tanks = append(found.tanks, typeTank{card.ID, i + 1, name, kept.Job.Number, t.Name, t.Sender.Batch, t.Sender.Serial, t.Bench.Date, len(t.Bench.Readings)})
				}
			}
		}
		known[string(card.ID)] = found
		out = append(out, found.tanks...)
	}
	s.types.jobs = known
	for _, t := range out {
		ownIn(ctx, t.Type, t.Number, t.Tank, t.Batch, t.Serial)
	}
	return out, nil
}

// gatherBody is the page on which a type is gathered.
type gatherBody struct {
	Name, Words string
	Known       bool // there is such a type already
	Names       []gatherName
	Tanks       []gatherTank
	None        bool
}

// gatherName is a type that the jobs name.
type gatherName struct {
	Name, Path string
	Tanks      string
}

type gatherTank struct {
	typeTank
	Chosen bool
	Few    bool // it can't count, as too little was read
}

// gatherPage lists the types that the jobs name, or the tanks of one of them.
func (s *Site) gatherPage(w http.ResponseWriter, r *http.Request) error {
	return s.showGather(w, r, r.URL.Query().Get("name"), "", nil, "")
}

// showGather shows the page; a nil list of chosen tanks stands for all of them.
func (s *Site) showGather(w http.ResponseWriter, r *http.Request, name, words string, chosen []string, fault string) error {
	tanks, err := s.typeTanks(r.Context())
	if err != nil {
		return err
	}
	b := gatherBody{Name: name, Words: words, None: len(tanks) == 0}
	title := "Gather a sender type"
	if name != "" {
		title += ": " + cutTo(name, 60)
		old, ok, err := s.typeOf(r.Context(), name)
		if err != nil {
			return err
		}
		if b.Known = ok; ok && words == "" {
			b.Words = old.kind.Words
		}
	}
	count := map[string]int{}
	for _, t := range tanks {
		count[t.Type]++
		if t.Type == name {
			few := t.Readings < kin.FewestMarks
			b.Tanks = append(b.Tanks, gatherTank{t, !few && (chosen == nil || slices.Contains(chosen, t.Ref())), few})
		}
	}
	slices.SortStableFunc(b.Tanks, func(a, b gatherTank) int {
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(a.N, b.N))
	})
	for n, k := range count {
		b.Names = append(b.Names, gatherName{n, "/types/gather?" + url.Values{"name": {n}}.Encode(), howMany(k, "tank", "tanks")})
	}
	slices.SortFunc(b.Names, func(a, b gatherName) int {
		return cmp.Or(cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)), cmp.Compare(a.Name, b.Name))
	})
	return s.show(w, r, view{Page: "gather", Title: title, Fault: fault, Body: b})
}

// gatherType makes a type of the tanks that were chosen, or puts them to the one
// that there is.
func (s *Site) gatherType(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return &fault{http.StatusBadRequest, "What was sent can't be read. Nothing was changed.", err}
	}
	name, words, chosen := field(r, "name"), strings.TrimSpace(r.PostFormValue("words")), r.PostForm["tank"]
	again := func(text string) error {
		if chosen == nil {
			chosen = []string{}
		}
		return s.showGather(w, r, name, words, chosen, text)
	}
	if len(chosen) == 0 {
		return again("Nothing was gathered: choose the tanks whose senders are of this type.")
	}
	var units []kin.Unit
	var marks, gives string
	for _, ref := range chosen {
		u, t, err := s.unitOf(r.Context(), ref, name)
		if err != nil {
			f := judged(err)
			if f.status >= 500 {
				return err
			}
			return again("Nothing was gathered: " + f.text)
		}
		if m, g := t.Unit().Column(), t.Signal().Column(); marks == "" {
			marks, gives = m, g
		} else if m != marks || g != gives {
			return again(fmt.Sprintf("Nothing was gathered: the readings of %s are in other units than those before it; choose tanks that were read alike.", t.Name))
		}
		units = append(units, u)
	}
	err := s.changeType(r.Context(), name, func(old *kin.Type) (*kin.Type, error) {
		own := &kin.Type{Version: kin.Version, Name: name, Marks: marks, Gives: gives}
		if old != nil {
			own = copyOfType(old)
			if own.Marks != marks || own.Gives != gives {
				return nil, refused("Nothing was gathered: the units that this type has already were read in other units.")
			}
		}
		own.Words = words
		for _, u := range units {
			own.Add(u)
		}
		return own, nil
	})
	if f := judged(err); err != nil && f.status == http.StatusUnprocessableEntity {
		return again(f.text)
	} else if err != nil {
		return err
	}
	return goTo(w, r, typePath(name))
}

// unitOf makes a unit of a type of a tank that a form names.
func (s *Site) unitOf(ctx context.Context, ref, name string) (kin.Unit, *job.Tank, error) {
	id, n, _ := strings.Cut(ref, "/")
	kept, err := s.o.Store.Job(ctx, job.ID(id))
	if err != nil {
		return kin.Unit{}, nil, err
	}
	for i := range kept.Job.Tanks {
		t := &kept.Job.Tanks[i]
		if itoa(i+1) != n {
			continue
		}
		if strings.TrimSpace(t.Sender.Type) != name {
			return kin.Unit{}, nil, refused(fmt.Sprintf("the sender of %s of job %s isn’t of this type any more.", t.Name, kept.Job.Number))
		}
		// The readings alone, not what is known of the type: it would count twice.
		own := *t
		own.Sender.Known = nil
		c, err := own.Curve()
		if err != nil {
			return kin.Unit{}, nil, refused(fmt.Sprintf("no curve can be made of %s of job %s yet: %v.", t.Name, kept.Job.Number, err))
		}
		u, err := kin.NewUnit(c, kin.Unit{Job: kept.Job.Number, Tank: t.Name, Serial: t.Sender.Serial, Batch: t.Sender.Batch, Date: t.Bench.Date})
		if err != nil {
			return kin.Unit{}, nil, refused(err.Error() + ".")
		}
		return u, t, nil
	}
	return kin.Unit{}, nil, refused("a tank that was chosen is gone from its job.")
}
