package web

import (
	"bytes"
	"embed"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"

	"gaugewright/internal/chart"
	"gaugewright/internal/doors"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
	"gaugewright/internal/wording"
)

//go:embed pages
var pageFiles embed.FS

// view is what every page is given.
type view struct {
	Page  string // the template in pages/, without its ending
	Title string // of the window
	Wide  bool   // it makes use of a wide screen
	Fault string // what was wrong with the form that was sent
	Meter bool   // it is told what the meter says
	Body  any    // the page's own

	// Set where the page belongs to a job, and to one of its tanks.
	Job  *job.Kept
	Tank *tankAt

	Invented  string           // set by show
	Said      string           // what the scripts say in the page's language, as JSON; "" for English
	Languages []languageChoice // set by show
	SignedIn  bool             // there is someone to sign out; set by show
	Role      doors.Role       // who looks; set by show
	Doors     bool             // there is a page of who may look, for this one; set by show
	Watch     bool             // tanks are watched; set by show
	Alone     bool             // the page of what is watched is the only one; set by show
}

// JobPath is the address of the view's job.
func (v view) JobPath() string { return jobPath(v.Job.ID) }

// templates are the pages, each read when it is first shown: a watch that shows
// two of them needn't have forty in memory, nor wait for them. A test reads all.
var templates = sync.OnceValue(func() map[string]func() *template.Template {
	names, err := fs.Glob(pageFiles, "pages/*.gohtml")
	if err != nil {
		panic(err)
	}
	all := map[string]func() *template.Template{}
	for _, name := range names {
		page := strings.TrimSuffix(path.Base(name), ".gohtml")
		if page == "layout" || page == "parts" {
			continue
		}
		all[page] = sync.OnceValue(func() *template.Template {
			return template.Must(template.Must(around().Clone()).ParseFS(pageFiles, name))
		})
	}
	return all
})

// around is the layout around every page, and the parts that pages share.
var around = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(functions).ParseFS(pageFiles, "pages/layout.gohtml", "pages/parts.gohtml"))
})

// pageOf gives a page's template.
func pageOf(name string) *template.Template {
	t := templates()[name]
	if t == nil {
		panic("web: there is no page " + name) // of those in pages/
	}
	return t()
}

var functions = template.FuncMap{
	"asset":   assetPath,
	"has":     func(name string) bool { _, ok := assets()[name]; return ok },
	"drawing": drawing,
	"accent":  func(a chart.Accent) string { return a.Class() },
	"nb":      wording.Together,
	"words":   func(list ...any) []any { return list },
	"wordOf":  meaningOf,
	"capital": capital,
}

// drawing writes a drawing into a page. Everything in it is written by chart,
// which escapes what it was given.
func drawing(d chart.Drawing, id string) (template.HTML, error) {
	var b bytes.Buffer
	if err := d.Inline(&b, id); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}

// sentences makes findings sentences of a page.
func sentences(list []finding.Finding) []record.Sentence {
	out := make([]record.Sentence, len(list))
	for i, f := range list {
		out[i] = record.SentenceOf(f)
	}
	return out
}

// show writes a page.
func (s *Site) show(w http.ResponseWriter, r *http.Request, v view) error {
	status := http.StatusOK
	if v.Fault != "" {
		status = http.StatusUnprocessableEntity
	}
	return s.showAs(w, r, status, v)
}

func (s *Site) showAs(w http.ResponseWriter, r *http.Request, status int, v view) error {
	v.Invented, v.Watch, v.Alone = s.o.Invented, s.o.Watch != nil, s.o.Store == nil
	if v.Job != nil {
		ownIn(r.Context(), v.Job.Job.OwnWords()...)
	}
	v.Said, v.Languages = s.scriptWords(r), s.languages(r)
	v.Role = s.who(r).Role
	v.SignedIn = s.o.Guarded && v.Role != doors.Nobody
	v.Doors = v.Role == doors.Fitter && !v.Alone && (s.o.Guarded || s.o.Passes != nil)
	var b bytes.Buffer
	if err := pageOf(v.Page).ExecuteTemplate(&b, "layout", v); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = b.WriteTo(w) // a browser that went away is no matter
	return nil
}

// showPart writes a part of a page by itself.
func (s *Site) showPart(w http.ResponseWriter, name, part string, data any) error {
	var b bytes.Buffer
	if err := pageOf(name).ExecuteTemplate(&b, part, data); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = b.WriteTo(w) // a browser that went away is no matter
	return nil
}

// goTo sends a browser on after a form, so that loading the page again sends
// nothing twice.
func goTo(w http.ResponseWriter, r *http.Request, address string) error {
	http.Redirect(w, r, address, http.StatusSeeOther)
	return nil
}
