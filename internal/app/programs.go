package app

import (
	"context"
	"net/http"

	"gaugewright/internal/api"
	"gaugewright/internal/station"
)

// programs makes what programs are answered with.
func (a *App) programs(running context.Context) (*api.API, error) {
	o := api.Options{Watch: station.ForPrograms(a.o.Watch), Now: a.o.Now, Version: a.o.Version, Log: a.o.Log, May: a.o.May, Ending: running.Done()}
	if taker, ok := a.o.Watch.(api.Taker); ok {
		o.Take = taker
	}
	if o.May == nil && a.beyond() {
		o.May = func(*http.Request) (api.Access, error) { return api.Access{}, nil }
	}
	return api.New(o)
}
