package web

import (
	"fmt"

	"gaugewright/internal/job"
)

// serviced is a later check of a tank: some of the bench's readings, changed.
func serviced(t job.Tank, day string, every int, change func(float64) float64) job.Service {
	s := job.Service{Bench: job.Bench{Date: day, By: "A. Fitter", Meter: "hand multimeter, 0.1 ohm steps", Readings: []job.Reading{}}, Note: "the display is said to read low"}
	for i, r := range t.Bench.Readings {
		if every > 0 && i%every == 0 {
			r.Ohm = float64(int(10*change(r.Ohm))) / 10
			r.Time, r.Note = "", ""
			s.Readings = append(s.Readings, r)
		}
	}
	return s
}

// later adds the pages of later checks.
func (g *gallery) later(typed, metered *bench) {
	same := func(v float64) float64 { return v }
	id := typed.start(sample(g.t))
	own := jobPath(id) + "/1/later"
	g.add(typed, "to check", "later-none", own)
	g.answers(typed, "to check", "later-refused", 422, own, "key", "k1", "tank", "Gas", "date", "2001-01-01", "note", "x")

	j := sample(g.t)
	j.Number = "TK-2026-020"
	for n, list := range [][]job.Service{
		{serviced(j.Tanks[0], "2027-11-02", 2, same), serviced(j.Tanks[0], "2028-11-02", 1, func(v float64) float64 { return v + 6 }), serviced(j.Tanks[0], "2029-11-02", 0, same)},
		{serviced(j.Tanks[1], "2028-05-02", 8, func(v float64) float64 { return 1.07 * v })},
		{serviced(j.Tanks[2], "2028-05-02", 2, func(v float64) float64 { return 1.05 * v })},
	} {
		j.Tanks[n].Services = list
	}
	j.Tanks[2].Checks = append(j.Tanks[2].Checks, job.Check{When: job.AsFound, Date: "2028-05-02", TolerancePct: 2, Readings: []job.CheckPoint{{MarkL: new(30.0), ShownPct: 41}}})
	at := jobPath(typed.start(j))
	g.add(typed, "checked", "card-later", at)
	g.add(typed, "checked", "later", at+"/1/later")
	for _, c := range []struct {
		name string
		n, k int
	}{{"unchanged", 1, 1}, {"series", 1, 2}, {"begun", 1, 3}, {"replace", 2, 1}, {"re-key", 3, 1}} {
		g.add(typed, "checked", "latercheck-"+c.name, fmt.Sprintf("%s/%d/later/%d/check", at, c.n, c.k))
	}
	g.add(metered, "checked", "latercheck-meter", at+"/1/later/3/check?mark=40&sweep=up")
	check := at + "/3/later/1"
	g.answers(typed, "checked", "latercheck-reading-refused", 422, check+"/take", "key", "k2", "tank", "Diesel", "mark", "10", "sweep", "up", "ohm", "OL", "from", "typed")
	g.answers(typed, "checked", "latercheck-found-refused", 422, check+"/found", "key", "k3", "tank", "Diesel", "mark", "lots", "shown", "x")
	g.answers(typed, "checked", "latercheck-made-refused", 422, check+"/check", "key", "k4", "tank", "Diesel", "date", "2001-01-01")
	g.refused(typed, "checked", "latercheck-none", 404, at+"/1/later/9/check")
}

// senderTypes adds the pages of sender types.
func (g *gallery) senderTypes(b, empty *bench) {
	g.add(empty, "", "types-none", "/types")
	g.add(empty, "", "gather-none", "/types/gather")
	g.answers(empty, "", "types-refused", 422, "/types/import", "x", "y")
	b.gatherHut("hut dial")
	b.gatherHut(breaksOut)
	few := oneOfType("one of a kind", 40, 0, 0)
	fid := b.start(few)
	if status, text := b.post("/types/gather", "name", "one of a kind", "tank", string(fid)+"/1"); status != 200 {
		g.t.Fatalf("%d\n%s", status, text)
	}
	g.add(b, "types", "types", "/types")
	g.add(b, "types", "type", typePath("hut dial"))
	g.add(b, "types", "type-few", typePath("one of a kind"))
	g.add(b, "hostile", "hostile-type", typePath(breaksOut))
	g.add(b, "types", "gather", "/types/gather")
	g.add(b, "types", "gather-tanks", "/types/gather?name=hut+dial")
	g.add(b, "hostile", "hostile-gather", "/types/gather?"+typePath(breaksOut)[len("/types/type?"):])
	g.answers(b, "types", "gather-refused", 422, "/types/gather", "name", "hut dial", "words", "none chosen")
	for name, off := range map[string]float64{"fits": 0.4, "not": 14} {
		j := oneOfType("", 60, off, off/100)
		j.Number = "HUT-" + name
		all := j.Tanks[0].Bench.Readings
		j.Tanks[0].Bench.Readings, j.Tanks[0].Sender = []job.Reading{all[1], all[6], all[9]}, job.Sender{}
		id := b.start(j)
		if status, text := b.post(jobPath(id)+"/1/type", "key", newKey(), "tank", "Water", "type", "hut dial"); status != 200 {
			g.t.Fatalf("%d\n%s", status, text)
		}
		for _, page := range []string{"bench", "curve", "tank", "set"} {
			g.add(b, "type "+name, page+"-type-"+name, jobPath(id)+"/1/"+page)
		}
		g.add(b, "type "+name, "card-type-"+name, jobPath(id))
	}
	j := oneOfType("", 61, 0, 0)
	j.Tanks[0].Bench, j.Tanks[0].Sender = job.Bench{Readings: []job.Reading{}}, job.Sender{}
	id := b.start(j)
	if status, text := b.post(jobPath(id)+"/1/type", "key", newKey(), "tank", "Water", "type", "hut dial"); status != 200 {
		g.t.Fatalf("%d\n%s", status, text)
	}
	for _, page := range []string{"bench", "curve"} {
		g.add(b, "type alone", page+"-type-alone", jobPath(id)+"/1/"+page)
	}
}
