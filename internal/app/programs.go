package app

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"gaugewright/internal/api"
	"gaugewright/internal/doors"
	"gaugewright/internal/station"
	"gaugewright/internal/web"
)

// programs makes what programs are answered with.
func (a *App) programs(running context.Context, site *web.Site) (*api.API, error) {
	o := api.Options{Watch: station.ForPrograms(a.o.Watch), Now: a.o.Now, Version: a.o.Version, Log: a.o.Log, Ending: running.Done()}
	if taker, ok := a.o.Watch.(api.Taker); ok {
		o.Take = taker
	}
	if a.beyond() {
		o.May = func(r *http.Request) (api.Access, error) { return a.may(site, r) }
	}
	return api.New(o)
}

// may says who a program's request comes from and what it may do: by its token, or
// without one by the session of whoever is signed in at the pages, who may only
// look then.
func (a *App) may(site *web.Site, r *http.Request) (api.Access, error) {
	said := r.Header.Get("Authorization")
	if said == "" {
		v, err := site.Visitor(r)
		return api.Access{Visitor: v, Inside: v.Role == doors.Fitter}, err
	}
	unknown := &api.Refusal{Status: http.StatusUnauthorized, Detail: "This token isn't known here, or has ended. A fitter makes one on the page \"Who may look\"."}
	scheme, secret, _ := strings.Cut(said, " ")
	if !strings.EqualFold(scheme, "Bearer") || a.o.Passes == nil {
		return api.Access{}, unknown
	}
	v, err := a.o.Passes.Enter(r.Context(), doors.Token, strings.TrimSpace(secret), a.o.Now())
	if errors.Is(err, doors.ErrNoPass) {
		return api.Access{}, unknown
	}
	// How the watch itself stands is for tokens that read all tanks.
	return api.Access{Visitor: v, Post: v.Sends, Inside: v.Looks() && v.Tanks == nil}, err
}
