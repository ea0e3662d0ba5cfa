package app

import (
	"errors"
	"net/http"
	"strings"

	"gaugewright/internal/api"
	"gaugewright/internal/doors"
	"gaugewright/internal/web"
)

// may says what a program's request may do: by its token, or by the session of the
// page that sent it. Guessing tokens is slow as guessing pass phrases is.
func (a *App) may(site *web.Site) func(*http.Request) (api.Access, error) {
	var guesses doors.Guesses
	return func(r *http.Request) (api.Access, error) {
		head := r.Header.Get("Authorization")
		if head == "" {
			v, err := site.Visitor(r)
			return api.Access{Visitor: v, Post: v.Role == doors.Fitter, Act: v.Role == doors.Fitter || v.Role == doors.Owner, Inside: v.Role == doors.Fitter}, err
		}
		now := a.o.Now()
		if wait := guesses.Wait(r.RemoteAddr, now); wait > 0 {
			return api.Access{}, &api.Refusal{Status: http.StatusTooManyRequests, Detail: "Too many tokens came from there that don't let in. Expected one that does, after a while.", Again: wait}
		}
		scheme, secret, _ := strings.Cut(head, " ")
		v, err := doors.Visitor{}, doors.ErrNoPass
		if strings.EqualFold(scheme, "Bearer") && a.o.Passes != nil { // RFC 7235, 2.1
			v, err = a.o.Passes.Enter(r.Context(), doors.Token, strings.TrimSpace(secret), now)
		}
		if errors.Is(err, doors.ErrNoPass) {
			guesses.Wrong(r.RemoteAddr, now)
			a.o.Log.Warn("a token that doesn't let in", "from", r.RemoteAddr)
			return api.Access{}, nil
		}
		if err != nil {
			return api.Access{}, err
		}
		guesses.Right(r.RemoteAddr)
		return accessOf(v, r.Method)
	}
}

// accessOf is what a token may do. One that only hands in readings sees its tanks
// for that alone.
func accessOf(v doors.Visitor, method string) (api.Access, error) {
	who := api.Access{Visitor: v, Post: v.Sends, Act: v.Looks() && v.Sends, Inside: v.Looks() && v.Tanks == nil}
	switch {
	case v.Looks():
	case method == http.MethodPost:
		who.Visitor = doors.Visitor{Role: v.Role, Name: v.Name, Pass: v.Pass, Tanks: v.Tanks, Sends: v.Sends}
	default:
		return api.Access{}, &api.Refusal{Status: http.StatusForbidden, Detail: "This token may not read. Expected one with that right."}
	}
	return who, nil
}
