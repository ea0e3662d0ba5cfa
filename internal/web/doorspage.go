package web

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/doors"
)

const doorsPath = "/doors"

// doorsBody is the page of who may look.
type doorsBody struct {
	Watch, Guarded bool // there are links; everybody is asked for a pass phrase
	Owner          bool // the owner has a pass phrase
	Phrases        bool // pass phrases can be set
	Links, Tokens  []passLine
	Tanks          []doorsTank
	Link, Token    passForm
	Whose          doors.Role // as chosen in the form of pass phrases
	BadPhrase      string     // the field of it that is wrong
	Least          int
	Said           string // what was done
}

// doorsTank is a tank to choose.
type doorsTank struct{ Name, Label string }

// passLine is a link or a token as the page lists it.
type passLine struct {
	ID, Name string
	What     string // what it is for, in a sentence
	Ends     string // until when, and when it was used last
	Over     bool   // it doesn't work any more
}

// passForm is the form of a new one.
type passForm struct {
	Key           string
	Name          string
	Read, Publish bool
	All           bool
	Tanks         []string
	Until         string
	Bad           string // the field that is wrong
}

// Has says whether a tank is chosen.
func (f passForm) Has(tank string) bool { return slices.Contains(f.Tanks, tank) }

func (s *Site) doorsPage(w http.ResponseWriter, r *http.Request) error {
	return s.showDoors(w, r, "", doorsBody{Said: doorsSaid[r.URL.Query().Get("said")]})
}

// doorsSaid is what the page says after something was done.
var doorsSaid = map[string]string{
	"is-revoked":    "It doesn’t work any more, from this moment on.",
	"is-set-fitter": "The fitters’ pass phrase is another now. All other fitters have to sign in again.",
	"is-set-owner":  "The owner’s pass phrase is set. Whoever gave an earlier one has to sign in again.",
	"is-gone-owner": "The owner’s pass phrase is taken away. Whoever gave it has to sign in again.",
}

// showDoors shows the page, with what is wrong with a form that was sent.
func (s *Site) showDoors(w http.ResponseWriter, r *http.Request, wrong string, b doorsBody) error {
	b.Watch, b.Guarded, b.Phrases, b.Least = s.o.Passes != nil, s.o.Guarded, s.o.Phrases != nil, doors.LeastPhrase
	if b.Phrases {
		b.Owner = s.o.Phrases.Mark(doors.Owner) != ""
	}
	if b.Whose == doors.Nobody {
		b.Whose = doors.Owner
	}
	year := s.o.Now().AddDate(1, 0, 0).Format(time.DateOnly)
	for _, f := range []*passForm{&b.Link, &b.Token} {
		if f.Key == "" {
			*f = passForm{Key: doors.NewID(), All: true, Until: year, Read: f == &b.Link, Publish: f == &b.Token}
		}
	}
	for _, l := range s.labels() {
		b.Tanks = append(b.Tanks, doorsTank{l.Tank, orName(l.Label, l.Tank)})
		ownIn(r.Context(), l.Tank, l.Label)
	}
	if b.Watch {
		all, err := s.o.Passes.Passes(r.Context())
		if err != nil {
			return err
		}
		for _, p := range all {
			ownIn(r.Context(), p.Name)
			ownIn(r.Context(), p.Tanks...)
			if p.Kind == doors.Link {
				b.Links = append(b.Links, s.passLine(p))
			} else {
				b.Tokens = append(b.Tokens, s.passLine(p))
			}
		}
	}
	return s.show(w, r, view{Page: "doors", Title: "Who may look", Fault: wrong, Body: b})
}

// labels are the tanks that are watched.
func (s *Site) labels() []Label {
	if s.o.Watch == nil {
		return nil
	}
	return s.o.Watch.Labels()
}

func orName(label, name string) string {
	if label == "" {
		return name
	}
	return label
}

// passLine says what a link or token is for and how it stands.
func (s *Site) passLine(p doors.Pass) passLine {
	l := passLine{ID: p.ID, Name: p.Name, Over: !p.Works(s.o.Now())}
	switch {
	case p.Read && p.Publish:
		l.What = "Reads levels and history and hands in readings"
	case p.Publish:
		l.What = "Hands in readings"
	default:
		l.What = "Looks at levels and history"
	}
	if p.Tanks == nil {
		l.What += ", of all tanks."
	} else {
		var names []string
		for _, name := range p.Tanks {
			for _, label := range s.labels() {
				if label.Tank == name {
					name = orName(label.Label, name)
					break
				}
			}
			names = append(names, name)
		}
		l.What += ", of " + strings.Join(names, ", ") + "."
	}
	switch {
	case !p.Revoked.IsZero():
		l.Ends = "Revoked on " + dayOf(p.Revoked) + "."
	case l.Over:
		l.Ends = "It ended on " + dayOf(p.Until.Add(-time.Second)) + "."
	case p.Until.IsZero():
		l.Ends = "It works until it is revoked."
	default:
		l.Ends = "It works until " + dayOf(p.Until.Add(-time.Second)) + "."
	}
	switch {
	case p.Used.IsZero():
		l.Ends += " Not used yet."
	default:
		l.Ends += " Used last on " + dayOf(p.Used) + "."
	}
	return l
}

// dayOf is the day of a moment, where this machine is: "2 May 2027".
func dayOf(t time.Time) string { return dayWords(t.Local().Format(time.DateOnly)) }
