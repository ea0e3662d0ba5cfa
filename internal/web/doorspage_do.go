package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/doors"
	"gaugewright/internal/tag"
)

// madeBody is a link or a token, shown once.
type madeBody struct {
	Link    bool
	Name    string
	Secret  string
	Address string // of a link
	Code    *chart.Drawing
	Open    bool // what goes over the network can be read by others on it
	Alone   bool // the address leads to this machine from this machine alone
	Publish bool
	Read    bool
}

// passAsked reads the form of a new link or token.
func passAsked(r *http.Request, kind doors.Kind) (f passForm, p doors.Pass, err error) {
	if err := r.ParseForm(); err != nil {
		return f, p, err
	}
	f = passForm{Key: field(r, "key"), Name: field(r, "name"), Read: kind == doors.Link || field(r, "read") != "", Publish: field(r, "publish") != "",
		All: field(r, "all") != "some", Tanks: r.PostForm["tank"], Until: field(r, "until")}
	p = doors.Pass{ID: f.Key, Kind: kind, Name: f.Name, Read: f.Read, Publish: f.Publish}
	if !f.All {
		p.Tanks = append([]string{}, f.Tanks...)
	}
	if f.Until != "" {
		day, err := time.ParseInLocation(time.DateOnly, f.Until, time.Local)
		if err != nil {
			f.Bad = "until"
			return f, p, refused("The last day can't be read. Write it as year, month and day, such as 2027-05-31.")
		}
		p.Until = day.AddDate(0, 0, 1) // the day itself is the last
	}
	return f, p, nil
}

func (s *Site) makeLink(w http.ResponseWriter, r *http.Request) error {
	return s.makePass(w, r, doors.Link)
}

func (s *Site) makeToken(w http.ResponseWriter, r *http.Request) error {
	return s.makePass(w, r, doors.Token)
}

// makePass makes a link or a token and shows it, once.
func (s *Site) makePass(w http.ResponseWriter, r *http.Request, kind doors.Kind) error {
	if s.o.Passes == nil {
		return notFound("Links and tokens belong to a watch, and none runs here.")
	}
	f, p, err := passAsked(r, kind)
	known := map[string]bool{}
	for _, l := range s.labels() {
		known[l.Tank] = true
	}
	for _, name := range p.Tanks {
		if err == nil && !known[name] {
			f.Bad, err = "tanks", refused("One of the tanks isn't watched here any more. Choose again.")
		}
	}
	var secret string
	if err == nil {
		p, secret, err = s.o.Passes.Make(r.Context(), p, s.o.Now())
		if err != nil {
			f.Bad = badOf(f)
		}
	}
	if errors.Is(err, doors.ErrThere) {
		return refused("It was made already, and is shown once only. Where it wasn't noted, revoke it and make another.")
	}
	if err != nil {
		b := doorsBody{}
		if kind == doors.Link {
			b.Link = f
		} else {
			b.Token = f
		}
		return s.showDoors(w, r, asSentence(err.Error()), b)
	}
	s.o.Log.Info("a pass was made", "kind", kind, "id", p.ID, "from", device(r))
	ownIn(r.Context(), p.Name, secret)
	b := madeBody{Link: kind == doors.Link, Name: p.Name, Secret: secret, Open: !s.o.Secure, Read: p.Read, Publish: p.Publish}
	if b.Link {
		s.address(r, &b)
		ownIn(r.Context(), b.Address)
	}
	title := "A new token"
	if b.Link {
		title = "A new link"
	}
	return s.show(w, r, view{Page: "doorsmade", Title: title, Body: b})
}

// badOf names the field in which what is wrong stands.
func badOf(f passForm) string {
	switch {
	case f.Name == "" || len([]rune(f.Name)) > doors.MostName:
		return "name"
	case !f.Read && !f.Publish:
		return "rights"
	case !f.All && len(f.Tanks) == 0:
		return "tanks"
	}
	return "until"
}

// address gives the address of a link and its code.
func (s *Site) address(r *http.Request, b *madeBody) {
	scheme := "http"
	if s.o.Secure {
		scheme = "https"
	}
	u := url.URL{Scheme: scheme, Host: r.Host, Path: "/" + seeRoom + "/" + b.Secret}
	b.Address = u.String()
	host := strings.ToLower(u.Hostname())
	b.Alone = host == "localhost" || strings.HasSuffix(host, ".localhost") || strings.HasPrefix(host, "127.") || host == "::1"
	b.Open = b.Open && !b.Alone
	// In capitals a code has fewer modules; scheme, host, room and secret are read in
	// either case. An address in brackets has signs that such a code lacks.
	if m, err := tag.Modules(strings.ToUpper(b.Address)); err == nil {
		d := chart.Code("Code of the link", "A square of dark and light modules that a telephone’s camera reads. What it holds stands as text beside it.", m.Rows(), 240)
		b.Code = &d
	}
}

// revokePass ends a link or a token at once.
func (s *Site) revokePass(w http.ResponseWriter, r *http.Request) error {
	if s.o.Passes == nil {
		return notFound("Links and tokens belong to a watch, and none runs here.")
	}
	id := field(r, "id")
	err := s.o.Passes.RevokePass(r.Context(), id, s.o.Now())
	if errors.Is(err, doors.ErrNoPass) {
		return notFound("There is no such link or token.")
	}
	if err != nil {
		return err
	}
	s.o.Log.Info("a pass was revoked", "id", id, "from", device(r))
	return goTo(w, r, doorsPath+"?said=is-revoked")
}

// setPhrase sets a pass phrase, or takes the owner's away. Who does so gives the
// fitters' present one, where anyone is asked for it.
func (s *Site) setPhrase(w http.ResponseWriter, r *http.Request) error {
	if s.o.Phrases == nil {
		return notFound("There are no pass phrases here.")
	}
	b := doorsBody{Whose: doors.Owner}
	if field(r, "whose") == "fitter-phrase" {
		b.Whose = doors.Fitter
	}
	wrong := func(field, text string) error {
		b.BadPhrase = field
		return s.showDoors(w, r, text, b)
	}
	text := r.PostFormValue("phrase")
	if field(r, "take") != "" {
		b.Whose, text = doors.Owner, ""
	} else if err := doors.CheckPhrase(text); err != nil {
		return wrong("phrase", asSentence(err.Error()))
	} else if text != r.PostFormValue("again") {
		return wrong("again", "The two differ. Nothing was set; write both again.")
	}
	if s.o.Guarded {
		role, err := s.asked(w, r, r.PostFormValue("present"))
		if f := (*fault)(nil); errors.As(err, &f) && f.status == http.StatusTooManyRequests {
			return err
		} else if err != nil && !errors.As(err, &f) {
			return err
		}
		if role != doors.Fitter {
			return wrong("present", "That isn't the fitters' present pass phrase. Nothing was set.")
		}
	}
	if text != "" {
		other, err := s.o.Phrases.Opens(r.Context(), text)
		if err != nil {
			return err
		}
		if other != doors.Nobody && other != b.Whose {
			return wrong("phrase", "That is the other pass phrase. Fitters and the owner need one each, or nobody could tell who comes.")
		}
	}
	if err := s.o.Phrases.Set(r.Context(), b.Whose, text); err != nil {
		return err
	}
	s.o.Log.Info("a pass phrase was set", "role", b.Whose, "from", device(r))
	said := "is-set-" + string(b.Whose)
	if text == "" {
		said = "is-gone-owner"
	}
	if s.o.Guarded && b.Whose == doors.Fitter { // who set it stays signed in
		if err := s.begin(w, r, s.sessions, doors.Fitter, sessionMark, "in "+s.o.Phrases.Mark(doors.Fitter)); err != nil {
			return err
		}
	}
	return goTo(w, r, doorsPath+"?said="+said)
}

// endAll has everybody sign in again, who asks for it too.
func (s *Site) endAll(w http.ResponseWriter, r *http.Request) error {
	if s.o.Phrases == nil || !s.o.Guarded {
		return notFound("Nobody is signed in here.")
	}
	if err := s.o.Phrases.EndAll(r.Context()); err != nil {
		return err
	}
	s.o.Log.Info("everybody was signed out", "from", device(r))
	if err := s.end(w, r, s.sessions); err != nil {
		return err
	}
	return goTo(w, r, signInPath)
}
