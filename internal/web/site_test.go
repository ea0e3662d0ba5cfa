package web

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
)

// sunday is when tests take place.
var sunday = time.Date(2025, 11, 2, 9, 30, 0, 0, time.UTC)

// bench is a site over a store, served on this machine.
type bench struct {
	t     *testing.T
	store job.Store
	site  *Site
	url   string
}

// open serves pages over a store that forgets; with changes its options first.
func open(t *testing.T, change ...func(*Options)) *bench {
	t.Helper()
	o := Options{Store: newMemory(), Now: func() time.Time { return sunday }}
	for _, c := range change {
		c(&o)
	}
	s, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(s)
	t.Cleanup(func() {
		server.CloseClientConnections() // a page that follows something holds one open
		server.Close()
	})
	return &bench{t: t, store: o.Store, site: s, url: server.URL}
}

// sample is an invented job: the sample that the command line has.
func sample(t *testing.T) *job.Job {
	t.Helper()
	j, err := job.ReadFile("testdata/sample.job.json")
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// start keeps a job and gives its ID.
func (b *bench) start(j *job.Job) job.ID {
	b.t.Helper()
	id, err := b.store.Start(context.Background(), newKey(), j, sunday)
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

// get asks for a page and gives its status and text.
func (b *bench) get(path string) (int, string) {
	b.t.Helper()
	return b.answer(http.Get(b.url + path))
}

// post sends a form, follows to where it leads, and gives status and text.
func (b *bench) post(path string, fields ...string) (int, string) {
	b.t.Helper()
	form := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		form.Add(fields[i], fields[i+1])
	}
	return b.answer(http.Post(b.url+path, "application/x-www-form-urlencoded", strings.NewReader(form.Encode())))
}

func (b *bench) answer(r *http.Response, err error) (int, string) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	// A figure and its unit are kept together by U+00A0.
	return r.StatusCode, strings.ReplaceAll(string(text), "\u00a0", " ")
}

// job gives a job as it is kept.
func (b *bench) job(id job.ID) *job.Job {
	b.t.Helper()
	k, err := b.store.Job(context.Background(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	return k.Job
}
