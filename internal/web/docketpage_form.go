package web

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	"gaugewright/internal/docket"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// Limits of what is sent with a docket, in bytes: a field, the form as a whole, the
// picture as it comes.
const (
	docketField = 1 << 20 // the picture that is held in the form is one
	docketLimit = 48 << 20
	photoLimit  = 16 << 20
)

// mostNote is how long a note may be, in characters.
const mostNote = 300

// mostLitres is the most that a docket may say; a road tanker holds less.
const mostLitres = 100_000

// docketForm is a form of a docket as it was sent.
type docketForm struct {
	*typed
	raw   []byte // the picture as it came
	photo []byte // and as it is to be kept
}

var keyRule = regexp.MustCompile(`^[0-9A-Za-z-]{1,64}$`)

// coded begins what a form says of a choice. Without it a word such as "weighed" would
// be taken for one that a person wrote, wherever it stands on the page.
const coded = "is-"

// docketFormOf reads a form, of fields alone or with a picture. A picture that is too
// large is read to its end, so that the fields and a browser that sends it aren't
// lost.
func docketFormOf(r *http.Request) (*docketForm, error) {
	f := &docketForm{}
	if !strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/") {
		form, err := formOf(r)
		if err != nil {
			return nil, err
		}
		f.typed = newTyped(maps.Clone(form), nil) // what was sent is left as it is
	} else {
		f.typed = newTyped(url.Values{}, nil)
		parts, err := r.MultipartReader()
		if err == nil {
			err = f.read(parts)
		}
		if err != nil {
			return nil, &fault{http.StatusBadRequest, "What was sent can't be read to its end. Nothing was changed.", err}
		}
	}
	for _, name := range []string{"amount", "weight", "note", "other_note"} {
		ownIn(r.Context(), f.now[name]...)
	}
	for _, name := range []string{"form", "unit", "when", "other_when", "what"} {
		if v, ok := strings.CutPrefix(f.text(name), coded); ok {
			f.now.Set(name, v)
		}
	}
	if !keyRule.MatchString(f.text("key")) {
		f.now.Set("key", newKey())
	}
	return f, nil
}

func (f *docketForm) read(parts *multipart.Reader) error {
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		limit := int64(docketField)
		if part.FormName() == "photo" {
			limit = photoLimit
		}
		data, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return err
		}
		switch {
		case part.FormName() == "photo" && int64(len(data)) > limit:
			f.blame("photo", "the picture is larger than %d MB; take one of fewer points", photoLimit>>20)
		case part.FormName() == "photo":
			f.raw = data
		case int64(len(data)) > limit || !utf8.Valid(data):
			return errors.New("a field is too long, or no text")
		default:
			f.now.Add(part.FormName(), string(data))
		}
		if _, err := io.Copy(io.Discard, part); err != nil {
			return err
		}
	}
}

// keepPhoto makes the picture that is kept of what came, or of what the form held
// from before.
func (f *docketForm) keepPhoto() {
	if len(f.raw) == 0 {
		held, err := base64.StdEncoding.DecodeString(f.text("held"))
		if err != nil || len(held) == 0 {
			return
		}
		f.raw = held
	}
	var err error
	if f.photo, err = plainPhoto(f.raw); err != nil {
		f.blame("photo", "%s", err)
	}
}

// held is the picture as the form goes on holding it.
func (f *docketForm) held() string { return base64.StdEncoding.EncodeToString(f.photo) }

// docketUnits are the units in which a receipt may be: of a volume, or of a mass.
var docketUnits = map[string]bool{"L": true, "US gal": true, "imp gal": true, "kg": false, "lb": false}

// errWhichGallon asks which gallon is meant: there are two.
var errWhichGallon = errors.New("which gallon is it? Choose US gal (3.785 L) or imp gal (4.546 L) below")

var bareGallon = regexp.MustCompile(`(?i)^(.*[0-9])\s*(?:gal|gals|gallon|gallons)\.?$`)

// docketAmount reads an amount: a figure in the unit that is chosen, or with a unit
// of its own.
func docketAmount(text, unit string) (litres, kilograms float64, err error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0, 0, errors.New("no amount was given; expected such as 31.4")
	}
	if m := bareGallon.FindStringSubmatch(text); m != nil {
		if _, err := quantity.ParseNumber(m[1], true); err == nil {
			if unit != "US gal" && unit != "imp gal" {
				return 0, 0, errWhichGallon
			}
			text = m[1]
		}
	}
	if _, err := quantity.ParseNumber(text, true); err == nil {
		if _, there := docketUnits[unit]; !there {
			return 0, 0, errors.New("choose the unit that the receipt has")
		}
		text += " " + unit
	}
	text = strings.NewReplacer("litres", "L", "litre", "L", "liters", "L", "liter", "L", "Liter", "L").Replace(text)
	if v, err := quantity.ParseCubicMetre(text); err == nil {
		litres = float64(v) * 1000
	} else if v, err := quantity.ParseKilogram(text); err == nil {
		kilograms = float64(v)
	} else {
		return 0, 0, fmt.Errorf("%q is no amount; expected such as 31.4, 31.4 L, 12 kg or 7.4 US gal", cutTo(text, 60))
	}
	switch v := litres + kilograms; {
	case !(v > 0):
		return 0, 0, errors.New("the amount has to be above 0")
	case v > mostLitres:
		return 0, 0, errors.New("that is more than 100000 L or kg; look at the figure and its unit")
	}
	return litres, kilograms, nil
}

// figureOf gives the figure of a receipt without its unit; false where it has none.
func figureOf(d docket.Docket) (string, bool) {
	if d.Kind != docket.Receipt {
		return "", false
	}
	text := strings.TrimRight(strings.TrimSpace(d.Typed), "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ³ .")
	_, err := quantity.ParseNumber(text, true)
	return text, err == nil
}

// unitBehind is the unit that stands after a figure.
func unitBehind(text, figure string) string {
	return strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(text), figure))
}

// docket makes a docket of the form; false where it can't be used.
func (f *docketForm) docket(l Label, now time.Time) (docket.Docket, bool) {
	d := docket.Docket{ID: f.text("key"), Tank: l.Tank, Entered: now}
	f.labels["amount"], f.labels["weight"], f.labels["photo"] = "Amount", "Weighed", "Picture"
	f.labels["at"], f.labels["other_at"], f.labels["note"], f.labels["other_note"], f.labels["what"] = "When", "When", "Note", "Note", "What it was"
	prefix := ""
	if f.text("form") == "other" {
		prefix = "other_"
		f.other(&d, l)
	} else {
		d.Kind = docket.Receipt
		d.Stopped = f.text("stopped") != "" && l.Contents == job.LPG
		d.Typed = f.text("amount")
		var err error
		if d.Litres, d.Kilograms, err = docketAmount(d.Typed, f.text("unit")); err != nil {
			f.blame("amount", "%s", err)
		}
		if _, err := quantity.ParseNumber(d.Typed, true); err == nil {
			d.Typed += " " + f.text("unit")
		} else if m := bareGallon.FindStringSubmatch(d.Typed); m != nil {
			d.Typed = m[1] + " " + f.text("unit")
		}
	}
	var err error
	if d.Time, err = moment(f.text(prefix+"when"), f.text(prefix+"at"), now); err != nil {
		f.blame(prefix+"at", "%s", err)
	}
	d.Note = f.text(prefix + "note")
	if n := utf8.RuneCountInString(d.Note); n > mostNote {
		f.blame(prefix+"note", "it has %d characters; expected %d at the most", n, mostNote)
	}
	if len(f.photo) > 0 {
		d.Photo = "receipt.jpg"
	}
	return d, !f.wrong()
}

// other reads what is no receipt.
func (f *docketForm) other(d *docket.Docket, l Label) {
	switch d.Kind = docket.Kind(f.text("what")); {
	case d.Kind == docket.RanOut:
	case d.Kind == docket.Stopped && l.Contents == job.LPG:
	case d.Kind == docket.Weighed:
		d.Typed = f.text("weight")
		text := d.Typed
		if _, err := quantity.ParseNumber(text, true); err == nil {
			_, unit := l.Units.MassIn(0)
			text += " " + unit
			d.Typed = text
		}
		v, err := quantity.ParseKilogram(text)
		switch {
		case err != nil:
			f.blame("weight", "%q is no weight; expected such as 14.5 kg", cutTo(d.Typed, 60))
		case !(v > 0) || v > mostLitres:
			f.blame("weight", "expected what is in the tank by weight, above 0 and below 100000 kg")
		}
		d.Kilograms = float64(v)
	default:
		f.blame("what", "choose what it was")
	}
}
