package app

import (
	"context"

	"gaugewright/internal/api"
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
		o.May = a.may(site)
	}
	return api.New(o)
}
