package web

import (
	"gaugewright/internal/history"
	"gaugewright/internal/watch"
)

// past adds the page of a tank and its past, and that of a display which is proved
// beside a running watch.
func (g *gallery) past() {
	g.t.Helper()
	day := g.hangs(g.store, goingOn(g.t).withPast(keptDay(dayBefore)).options)
	g.add(day, "", "lefttank-day", "/left/gas")
	g.add(g.hangs(g.store, openWire(g.t, dayBefore).options), "", "lefttank-open", "/left/gas")
	g.add(day, "", "lefttank-before", "/left/fresh?for=6h&until=2025-11-01T18:00:00Z")
	g.refused(day, "", "lefttank-refused", 422, "/left/gas?for=fortnight")
	g.refused(day, "", "lefttank-unknown", 404, "/left/rum")
	g.add(g.hangs(g.store, broken(g.t).withPast(years(sunday)).options), "", "lefttank-year", "/left/gas?for=year")
	g.add(g.hangs(g.store, early(g.t).withPast(&pastOf{}).options), "", "lefttank-nothing", "/left/diesel?for=week")
	g.add(g.hangs(g.store, stall(g.t).options), "", "lefttank-unkept", "/left/fresh")
	leaks := leaking(g.t).withPast(keptDay(dayBefore))
	leaks.levels[1].Status, leaks.levels[1].Fault = watch.OutOfSpec, watch.JustBeyond
	g.add(g.hangs(g.store, leaks.options), "", "left-leaking", "/left")
	g.heard = append(g.heard, look{name: "lefttank-leaking", url: g.looks[len(g.looks)-1].url + "/gas?for=month", status: 200})
	pump := g.hangs(g.store, taught(g.t).options)
	g.add(pump, "", "docket", "/left/gas/docket/d4")
	g.answers(pump, "", "docket-refused", 422, "/left/gas/docket", "key", "k1", "form", "is-other", "what", "is-weighed", "weight", "heavy", "other_when", "is-at", "other_at", "2031-01-01T10:00")
	last := len(g.looks) - 1 // it is made up as the page is
	g.heard, g.looks = append(g.heard, g.looks[last]), g.looks[:last]
	g.heard = append(g.heard, look{name: "docket-fuel", url: pump.url + "/left/diesel/docket", status: 200})
	evil := evilWatch(g.t)
	past := keptDay(dayBefore)
	past.lines = []history.Line{{Tank: evil.labels[0].Tank, Source: breaksOut}}
	past.events = append(past.events, history.Event{Time: sunday.Add(-1e9), Kind: history.Repaired, Level: -1, Text: breaksOut})
	g.add(g.hangs(g.store, evil.withPast(past).options), "hostile", "hostile-lefttank", leftTankPath(evil.labels[0].Tank))

	w := provedLive(g.t)
	live := g.hangs(g.store, w.options)
	at := jobPath(live.start(sample(g.t)))
	g.add(live, "sample", "provelive", at+"/1/prove/live")
	g.add(live, "fed", "prove-with-feed", at+"/1/prove")
	g.answers(live, "sample", "provelive-refused", 422, at+"/1/prove/live", "key", "l1", "tank", "Gas", "mark", "40", "shown", "lots", "tolerance", "2", "when", "as left")
	gone := provedLive(g.t)
	gone.levels[0] = lost(gone.levels[0], watch.BrokenWire, 28*60*1e9)
	g.add(g.hangs(g.store, gone.options), "sample", "provelive-broken", at+"/1/prove/live?mark=60")
}
