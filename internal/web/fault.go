package web

import (
	"context"
	"errors"
	"net/http"

	"gaugewright/internal/job"
)

// handler answers a request, or says why it can't.
type handler func(http.ResponseWriter, *http.Request) error

// fault is an error with its status and its words for the person at the page.
type fault struct {
	status int
	text   string // what is the matter and what to do
	cause  error  // for the log; may be nil
}

func (f *fault) Error() string {
	if f.cause != nil {
		return f.text + ": " + f.cause.Error()
	}
	return f.text
}

func (f *fault) Unwrap() error { return f.cause }

func notFound(text string) error { return &fault{http.StatusNotFound, text, nil} }

// refused is for input that can't be used; the text says what was found and
// what was expected.
func refused(text string) error { return &fault{http.StatusUnprocessableEntity, text, nil} }

// judged gives an error its status and its words.
func judged(err error) *fault {
	var f *fault
	switch {
	case errors.As(err, &f):
		return f
	case errors.Is(err, job.ErrNoJob):
		return &fault{http.StatusNotFound, "There is no such job here. It may be in another data file.", err}
	case errors.Is(err, job.ErrMoved):
		return &fault{http.StatusConflict, "This job was changed on another page in the meantime. Look at it again, then do this once more.", err}
	case errors.Is(err, job.ErrFull):
		return &fault{http.StatusInsufficientStorage, "Not kept: " + err.Error() + ". Make room on the disk, then send it again; it is still on this page.", err}
	case errors.Is(err, context.Canceled):
		return &fault{499, "The browser went away before the answer was ready.", err}
	}
	if problems(err) != nil {
		return &fault{http.StatusUnprocessableEntity, err.Error(), err}
	}
	return &fault{http.StatusInternalServerError, "Something went wrong here, and nothing was changed. The log of the program says more.", err}
}

// problems gives what is wrong with a job that was refused, place by place; nil
// for an error of any other kind.
func problems(err error) job.FileErrors {
	var list job.FileErrors
	var one *job.FileError
	switch {
	case errors.As(err, &list):
	case errors.As(err, &one):
		list = job.FileErrors{one}
	}
	return list
}

// page makes a handler of pages of one that may fail.
func (s *Site) page(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		err := h(w, r)
		if err == nil {
			return
		}
		f := judged(err)
		if f.status >= 500 {
			s.o.Log.Error("page", "address", addressOf(r), "status", f.status, "error", err)
		}
		if err := s.faultPage(w, r, f); err != nil {
			http.Error(w, f.text, f.status)
		}
	})
}

func (s *Site) faultPage(w http.ResponseWriter, r *http.Request, f *fault) error {
	return s.showAs(w, r, f.status, view{Page: "fault", Title: "This can't be done", Body: struct {
		Text, Back string
	}{f.text, backFrom(r)}})
}

// backFrom is the page that a refused form was sent from, where that is known.
func backFrom(r *http.Request) string {
	if back := localPath(r.Header.Get("Referer"), r.Host); back != "" && back != r.URL.Path {
		return back
	}
	return "/"
}
