package web

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"gaugewright/internal/language"
)

// languageCookie keeps the language that was chosen on a device.
const languageCookie = "language"

// languageChoice is one language that the pages can be read in.
type languageChoice struct {
	Code, Name string
	Chosen     bool
}

// book gives the language of a request: the one that was chosen on the device,
// else the one that its browser asks for; nil for English.
func (s *Site) book(r *http.Request) *language.Book {
	if c, err := r.Cookie(languageCookie); err == nil {
		if b, err := s.o.Languages.Find(c.Value); err == nil {
			return b
		}
	}
	return s.o.Languages.Choose(strings.Join(r.Header.Values("Accept-Language"), ","))
}

// languages are those to choose from; none where there is only English.
func (s *Site) languages(r *http.Request) []languageChoice {
	if len(s.o.Languages) == 0 {
		return nil
	}
	now := s.book(r)
	list := []languageChoice{{"en", "English", now == nil}}
	for _, b := range s.o.Languages {
		list = append(list, languageChoice{b.Code(), b.Name(), b == now})
	}
	return list
}

// chooseLanguage keeps the language of a device for a year.
func (s *Site) chooseLanguage(w http.ResponseWriter, r *http.Request) error {
	b, err := s.o.Languages.Find(field(r, "language"))
	if err != nil {
		return refused(asSentence(err.Error()))
	}
	code := "en"
	if b != nil {
		code = b.Code()
	}
	http.SetCookie(w, &http.Cookie{Name: languageCookie, Value: code, Path: "/", MaxAge: 365 * 24 * 60 * 60, HttpOnly: true, Secure: s.o.Secure, SameSite: http.SameSiteLaxMode})
	return goTo(w, r, backFrom(r))
}

// ownWords are the words of a request that a person wrote: they aren't put into
// another language.
type ownWords struct {
	mu   sync.Mutex
	list []string
}

type ownKey struct{}

// ownIn notes words of a person that a page will hold.
func ownIn(ctx context.Context, words ...string) {
	if o, ok := ctx.Value(ownKey{}).(*ownWords); ok {
		o.mu.Lock()
		o.list = append(o.list, words...)
		o.mu.Unlock()
	}
}

// spokenMissed is told of what the catalogue lacks, in tests.
var spokenMissed func(path string, v *language.Voice, text string)

// spokenOwn is told what a person wrote on a page that is said, in tests.
var spokenOwn func(own []string)

// spoken puts every page, and every piece of one, into the language of who asks.
// It is the one place where that is done.
func (s *Site) spoken(h http.Handler) http.Handler {
	if len(s.o.Languages) == 0 {
		return h
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Add("Vary", "Accept-Language, Cookie")
		b := s.book(r)
		if b == nil || strings.HasPrefix(r.URL.Path, staticPath) {
			h.ServeHTTP(w, r)
			return
		}
		own := &ownWords{}
		// What was typed comes back in what is said of it.
		for _, values := range r.URL.Query() {
			own.list = append(own.list, values...)
		}
		for _, m := range s.o.Meters.List() {
			own.list = append(own.list, m.Setup.Name, m.Identity)
		}
		held := &heldAnswer{ResponseWriter: w}
		r = r.WithContext(context.WithValue(r.Context(), ownKey{}, own))
		h.ServeHTTP(held, r)
		for name, values := range r.PostForm {
			if name != "phrase" {
				own.list = append(own.list, values...)
			}
		}
		v := b.Voice(own.list)
		if spokenOwn != nil {
			spokenOwn(own.list)
		}
		if spokenMissed != nil {
			v.Missed = func(text string) { spokenMissed(r.URL.Path, v, text) }
		}
		held.finish(v)
	})
}

// heldAnswer holds back what is to be put into another language: pages, and the
// plain words of an error.
type heldAnswer struct {
	http.ResponseWriter
	begun, held, page bool
	status            int
	text              bytes.Buffer
}

// Unwrap lets streams through (see [http.ResponseController]).
func (a *heldAnswer) Unwrap() http.ResponseWriter { return a.ResponseWriter }

func (a *heldAnswer) WriteHeader(status int) {
	if a.begun {
		return
	}
	a.begun, a.status = true, status
	kind, _, _ := strings.Cut(a.Header().Get("Content-Type"), ";")
	a.page = kind == "text/html"
	a.held = a.page || kind == "text/plain" && status >= 400
	if !a.held {
		a.ResponseWriter.WriteHeader(status)
	}
}

func (a *heldAnswer) Write(text []byte) (int, error) {
	if !a.begun {
		a.WriteHeader(http.StatusOK)
	}
	if a.held {
		return a.text.Write(text)
	}
	return a.ResponseWriter.Write(text)
}

// finish writes what was held back.
func (a *heldAnswer) finish(v *language.Voice) {
	if !a.held {
		return
	}
	text := a.text.Bytes()
	switch {
	case !a.page:
		said, all := v.Say(strings.TrimSpace(string(text)))
		if !all && v.Missed != nil {
			v.Missed(strings.TrimSpace(string(text)))
		}
		text = []byte(said + "\n")
	case !bytes.Contains(text[:min(len(text), 300)], []byte(`<html lang="`)) || bytes.Contains(text[:min(len(text), 300)], []byte(`<html lang="en"`)):
		// A record is in its language already.
		text = v.Page(text)
	}
	a.Header().Del("Content-Length")
	a.ResponseWriter.WriteHeader(a.status)
	_, _ = a.ResponseWriter.Write(text) // a browser that went away is no matter
}

// meterIn is what the meter says now, in the words of who asks.
func (s *Site) meterIn(r *http.Request) meterWords {
	w := s.meterNow()
	if b := s.book(r); b != nil {
		w.Words, _ = b.Voice([]string{w.Name}).Say(w.Words)
	}
	return w
}

var saidInScript = regexp.MustCompile(`\bsaid\("((?:[^"\\]|\\.)*)"`)

// scriptTexts are the texts that the scripts say to people.
var scriptTexts = sync.OnceValue(func() []string {
	var list []string
	for name, a := range assets() {
		if path.Ext(name) != ".js" {
			continue
		}
		for _, m := range saidInScript.FindAllSubmatch(a.data, -1) {
			list = append(list, string(m[1]))
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
})

// scriptWords gives what the scripts say, in the language of a request, as JSON
// that a page carries; "" for English.
func (s *Site) scriptWords(r *http.Request) string {
	b := s.book(r)
	if b == nil {
		return ""
	}
	if text, ok := s.said.Load(b); ok {
		return text.(string)
	}
	words := map[string]string{"1.5": ""}
	words["1.5"], _ = b.Say("1.5")
	for _, text := range scriptTexts() {
		words[text], _ = b.Say(text)
	}
	data, err := json.Marshal(words)
	if err != nil {
		return "" // texts always can be written
	}
	s.said.Store(b, string(data))
	return string(data)
}
