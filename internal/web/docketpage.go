package web

import (
	"errors"
	"net/http"
	"net/url"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/doors"
	"gaugewright/internal/job"
)

// docketPath is the address at which receipts and other moments of a tank are
// entered.
func docketPath(tank string) string { return leftTankPath(tank) + "/docket" }

// docketRoutes are the addresses of a tank's dockets.
func (s *Site) docketRoutes(page func(pattern string, h handler)) {
	page("GET "+leftPath+"/{tank}/docket", s.docketPage)
	page("POST "+leftPath+"/{tank}/docket", s.enterDocket)
	page("POST "+leftPath+"/{tank}/docket/strike", s.strikeDocket)
	page("POST "+leftPath+"/{tank}/docket/unit", s.docketUnit)
	page("GET "+leftPath+"/{tank}/docket/{id}", s.docketPage)
	page("GET "+leftPath+"/{tank}/docket/{id}/photo", s.docketPhoto)
}

// docketAt is a tank with its dockets.
type docketAt struct {
	leftAt
	book docket.Book
}

// docketTank gives the tank of an address where dockets of it are kept.
func (s *Site) docketTank(r *http.Request) (docketAt, error) {
	at, err := s.leftTankAt(r, s.who(r))
	if err != nil {
		return docketAt{}, err
	}
	book := s.o.Watch.Dockets()
	if book == nil || !takesDockets(at.Label) {
		return docketAt{}, notFound("No receipts are kept for this tank.")
	}
	return docketAt{at, book}, nil
}

// takesDockets says whether there can be receipts for a tank: waste comes in without.
func takesDockets(l Label) bool { return l.Contents != job.Waste }

// docketLink is where receipts of a tank are entered; "" where who looks may not, or
// none are kept.
func (s *Site) docketLink(l Label, v doors.Visitor) string {
	if s.o.Watch.Dockets() == nil || !takesDockets(l) || !owners.has(v.Role) {
		return ""
	}
	return docketPath(l.Tank)
}

// docketPage is what is entered, below the one that the address names: an address of
// its own, so that the form stands there empty again.
func (s *Site) docketPage(w http.ResponseWriter, r *http.Request) error {
	at, err := s.docketTank(r)
	if err != nil {
		return err
	}
	return s.showDocket(w, r, at, nil)
}

// showDocket shows the page, with a form as it was sent where that can't be used.
func (s *Site) showDocket(w http.ResponseWriter, r *http.Request, at docketAt, sent *docketForm) error {
	learned, err := at.book.Learned(r.Context(), at.Tank)
	if err != nil {
		return s.dockedWrong(at, err)
	}
	id := r.PathValue("id")
	if _, there := verdictOf(learned, id); id != "" && !there {
		return notFound("There is no such receipt here.")
	}
	refills, err := at.book.Refills(r.Context(), at.Tank)
	if err != nil {
		return s.dockedWrong(at, err)
	}
	for _, v := range learned.Verdicts {
		ownIn(r.Context(), v.Seen.Docket.Note, v.Seen.Docket.Typed)
	}
	b := s.docketBodyOf(r, at, learned, refills, sent)
	v := view{Page: "docket", Title: b.Name + ": receipts", Body: b}
	if sent != nil {
		v.Fault = sent.fault()
	}
	return s.show(w, r, v)
}

// dockedWrong is for what is kept and can't be read.
func (s *Site) dockedWrong(at docketAt, err error) error {
	s.o.Log.Error("the dockets can't be read", "tank", at.Tank, "error", err)
	return &fault{http.StatusServiceUnavailable, "The receipts can't be read at present. Nothing was changed.", err}
}

// enterDocket keeps a receipt or another moment. One with the key of another that is
// kept already is that one, sent again.
func (s *Site) enterDocket(w http.ResponseWriter, r *http.Request) error {
	at, err := s.docketTank(r)
	if err != nil {
		return err
	}
	f, err := docketFormOf(r)
	if err != nil {
		return err
	}
	f.keepPhoto()
	d, ok := f.docket(at.Label, s.o.Now())
	if !ok {
		return s.showDocket(w, r, at, f)
	}
	if there, err := entered(r, at, d.ID); err != nil || there {
		return orGo(w, r, at, d.ID, err)
	}
	if err := at.book.Enter(r.Context(), d, f.photo); err != nil {
		return s.notEntered(w, r, at, f, err)
	}
	return goTo(w, r, docketPath(at.Tank)+"/"+url.PathEscape(d.ID))
}

// notEntered shows the form again with why it wasn't kept.
func (s *Site) notEntered(w http.ResponseWriter, r *http.Request, at docketAt, f *docketForm, err error) error {
	if errors.Is(err, job.ErrFull) {
		return err
	}
	s.o.Log.Warn("a docket wasn't kept", "tank", at.Tank, "error", err)
	f.blameAll(err.Error())
	return s.showDocket(w, r, at, f)
}

// entered says whether a docket is kept already.
func entered(r *http.Request, at docketAt, id string) (bool, error) {
	learned, err := at.book.Learned(r.Context(), at.Tank)
	_, there := verdictOf(learned, id)
	return there, err
}

func orGo(w http.ResponseWriter, r *http.Request, at docketAt, id string, err error) error {
	if err != nil {
		return err
	}
	return goTo(w, r, docketPath(at.Tank)+"/"+url.PathEscape(id))
}

// verdictOf finds the verdict on a docket.
func verdictOf(l docket.Learned, id string) (docket.Verdict, bool) {
	for _, v := range l.Verdicts {
		if v.Seen.Docket.ID == id {
			return v, true
		}
	}
	return docket.Verdict{}, false
}

// strikeDocket strikes a docket out, or takes it back in.
func (s *Site) strikeDocket(w http.ResponseWriter, r *http.Request) error {
	at, d, err := s.namedDocket(r)
	if err != nil {
		return err
	}
	struck := field(r, "struck") != "no"
	if d.Struck != struck {
		if err := at.book.Strike(r.Context(), at.Tank, d.ID, struck); err != nil {
			return err
		}
	}
	return goTo(w, r, docketPath(at.Tank))
}

// docketUnit enters a receipt once more with the same figure in another unit, and
// strikes out the one that it was.
func (s *Site) docketUnit(w http.ResponseWriter, r *http.Request) error {
	at, d, err := s.namedDocket(r)
	if err != nil {
		return err
	}
	unit, id := field(r, "unit"), d.ID+"-"+columnUnit(field(r, "unit"))
	figure, ok := figureOf(d)
	if _, there := docketUnits[unit]; !ok || !there || d.Struck {
		return refused("This receipt can't be taken in another unit. Enter it once more, and strike this one out.")
	}
	if there, err := entered(r, at, id); err != nil || there {
		return orGo(w, r, at, id, err)
	}
	other := d
	other.ID, other.Typed, other.Entered, other.Photo = id, figure+" "+unit, s.o.Now(), ""
	if other.Litres, other.Kilograms, err = docketAmount(figure, unit); err != nil {
		return refused(err.Error())
	}
	photo, _, err := at.book.Photo(r.Context(), at.Tank, d.ID)
	if d.Photo == "" || err != nil {
		photo = nil // a picture that can't be read isn't worth losing the figure for
	}
	if err := at.book.Enter(r.Context(), other, photo); err != nil {
		return refused("Not kept. " + asSentence(err.Error()))
	}
	if err := at.book.Strike(r.Context(), at.Tank, d.ID, true); err != nil {
		return err
	}
	return goTo(w, r, docketPath(at.Tank)+"/"+url.PathEscape(id))
}

// namedDocket is the docket that a form names.
func (s *Site) namedDocket(r *http.Request) (docketAt, docket.Docket, error) {
	at, err := s.docketTank(r)
	if err != nil {
		return at, docket.Docket{}, err
	}
	learned, err := at.book.Learned(r.Context(), at.Tank)
	if err != nil {
		return at, docket.Docket{}, err
	}
	v, there := verdictOf(learned, field(r, "id"))
	if !there {
		return at, docket.Docket{}, notFound("There is no such receipt here.")
	}
	return at, v.Seen.Docket, nil
}

// docketPhoto is the picture of a docket. None but a JPEG leaves here, as one is all
// that was kept.
func (s *Site) docketPhoto(w http.ResponseWriter, r *http.Request) error {
	at, err := s.docketTank(r)
	if err != nil {
		return err
	}
	data, kind, err := at.book.Photo(r.Context(), at.Tank, r.PathValue("id"))
	if err != nil || len(data) == 0 || kind != "image/jpeg" {
		return notFound("There is no picture of this receipt.")
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", "inline; filename=\"receipt.jpg\"")
	_, _ = w.Write(data) // a browser that went away is no matter
	return nil
}

// moment is the time of a form's choice: that of a refill, now, or one that was typed.
func moment(choice, typed string, now time.Time) (time.Time, error) {
	switch choice {
	case "now", "":
		return now.Truncate(time.Second), nil
	case "at":
		for _, form := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04"} {
			if at, err := time.ParseInLocation(form, typed, now.Location()); err == nil {
				return plausible(at, now)
			}
		}
		return time.Time{}, errors.New("found no day and time that can be read; expected such as 2026-11-03 14:05")
	}
	at, err := time.Parse(time.RFC3339, choice)
	if err != nil {
		return time.Time{}, errors.New("choose when it was")
	}
	return plausible(at, now)
}

// plausible refuses moments that can't be.
func plausible(at, now time.Time) (time.Time, error) {
	if at.After(now.Add(docket.Ahead)) {
		return time.Time{}, errors.New("this lies ahead; expected a time that has been")
	}
	if at.Before(oldest) {
		return time.Time{}, errors.New("this lies before 1990; expected a time since then")
	}
	return at, nil
}
