package api

import (
	"encoding/json"
	"net/http"
	"time"
)

// Ready is whether the program does what it is there for.
type Ready struct {
	Ready   bool     `json:"ready"`
	Reasons []Reason `json:"reasons"` // why not; none where it is
}

// Reason is why a program isn't ready. It names no places of this machine:
// whoever can reach the address may ask.
type Reason struct {
	What  string     `json:"what"`  // "disk", "feed"
	Text  string     `json:"text"`  // a sentence
	Since *time.Time `json:"since"` // UTC; null: that isn't known
}

// alive says that the program runs.
func (a *API) alive(w http.ResponseWriter, r *http.Request) {
	a.health(w, r, http.StatusOK, struct {
		Alive bool `json:"alive"`
	}{true})
}

// ready says whether readings come in and are kept.
func (a *API) ready(w http.ResponseWriter, r *http.Request) {
	out := Ready{Reasons: []Reason{}}
	if s := a.o.Watch.Standing(); s.Failing != "" {
		out.Reasons = append(out.Reasons, Reason{What: "disk", Text: "Readings can't be kept, and aren't acknowledged until they can.", Since: when(s.Since)})
	}
	for _, f := range a.o.Watch.Feeds() {
		if !f.Up && f.Since.IsZero() {
			out.Reasons = append(out.Reasons, Reason{What: "feed", Text: "The feed " + f.Name + " hasn't begun yet."})
		}
	}
	status := http.StatusOK
	if out.Ready = len(out.Reasons) == 0; !out.Ready {
		status = http.StatusServiceUnavailable
	}
	a.health(w, r, status, out)
}

func (a *API) health(w http.ResponseWriter, r *http.Request, status int, body any) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		writeProblem(w, &Refusal{Status: http.StatusMethodNotAllowed, Detail: "This address is asked by GET."})
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("X-Content-Type-Options", "nosniff")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(body) // a client that went away is no matter
}
