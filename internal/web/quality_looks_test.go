package web

import (
	"bytes"
	"cmp"
	"context"
	"flag"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/doors"
	"gaugewright/internal/job"
	"gaugewright/internal/language"
	"gaugewright/internal/sitting"
	"gaugewright/internal/tankfile"
)

// look is one page of the site in one of its states, as a browser can open it.
type look struct {
	name   string
	url    string
	status int
	job    string // "sample", "hostile" or another; "" for a page of no job
	bare   bool   // it is a sheet of paper, without the head that pages have
}

// again says that a look differs from another in its texts and fields, not in how
// its page is made up or coloured: one pass of axe-core tells of it what two would.
func (l look) again() bool {
	return l.status != http.StatusOK || l.name == "past-paper" || slices.Contains([]string{"hostile", "known", "few", "shapes"}, l.job)
}

// gallery is every page of the site in every state that looks different. The
// sites in it share their jobs and differ in their meters.
type gallery struct {
	t     *testing.T
	store *memory
	kinds *memory // of another workshop, which has sender types
	looks []look
	heard []look // pages that differ from one of these in their sentences alone

	change []func(*Options) // of every site in it
}

// hangs serves a site. What only comes as the answer to a form stands there
// under an address of its own, so that it can be opened as any other page:
// /answer?to=/jobs&customer=x is what a browser gets for that form.
func (g *gallery) hangs(store job.Store, change ...func(*Options)) *bench {
	g.t.Helper()
	b := open(g.t, slices.Concat([]func(*Options){func(o *Options) { o.Store = store }}, g.change, change)...)
	return g.serves(b, func(*http.Request) {})
}

// serves serves a site whose requests are something more first.
func (g *gallery) serves(b *bench, more func(*http.Request)) *bench {
	g.t.Helper()
	own := *b
	b = &own
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		more(r)
		if r.URL.Path != "/answer" {
			b.site.ServeHTTP(w, r)
			return
		}
		form := r.URL.Query()
		to := form.Get("to")
		form.Del("to")
		if form.Get("key") == "*" { // another each time, for what is made once only
			form.Set("key", doors.NewID())
		}
		post := httptest.NewRequest("POST", to, strings.NewReader(form.Encode()))
		post.Host, post.RemoteAddr = cmp.Or(form.Get("host"), r.Host), r.RemoteAddr
		post.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		post.Header.Set("Accept-Language", r.Header.Get("Accept-Language"))
		more(post)
		if files := form["file"]; len(files) > 0 {
			asUpload(g.t, post, files)
		}
		b.site.ServeHTTP(w, post)
	}))
	g.t.Cleanup(server.Close)
	b.url = server.URL
	return b
}

func (g *gallery) add(b *bench, job, name, path string) {
	g.looks = append(g.looks, look{name: name, url: b.url + path, status: 200, job: job, bare: strings.Contains(path, "/paper")})
}

func (g *gallery) refused(b *bench, job, name string, status int, path string) {
	g.looks = append(g.looks, look{name: name, url: b.url + path, status: status, job: job})
}

// answers adds the answer to a form.
func (g *gallery) answers(b *bench, job, name string, status int, to string, fields ...string) {
	form := url.Values{"to": {to}}
	for i := 0; i+1 < len(fields); i += 2 {
		form.Add(fields[i], fields[i+1])
	}
	g.looks = append(g.looks, look{name: name, url: b.url + "/answer?" + form.Encode(), status: status, job: job})
}

// everyLook is the list that the audit goes through.
func everyLook(t *testing.T, change ...func(*Options)) *gallery {
	t.Helper()
	g := &gallery{t: t, store: newMemory(), kinds: newMemory(), change: change}
	m := newBenchMeters()
	m.stands(36.2, 3)
	over := newBenchMeters()
	over.says(sitting.Overload, 0, 0, "The circuit is open: look at the leads and at the sender’s wires.")
	typed := g.hangs(g.store)
	metered := g.hangs(g.store, func(o *Options) {
		o.Meters, o.Hand, o.Invented = m, func(job.Tank, float64) {}, "A demonstration: every job in it, and the sender on the bench, is invented."
	})
	open := g.hangs(g.store, func(o *Options) { o.Meters = over })
	locked := g.hangs(g.store, func(o *Options) {
		o.Guarded, o.Phrases = true, newPhrases()
	})
	empty := g.hangs(newMemory())
	several := newOnBench("bench meter", "the other one")
	several.says(sitting.Reading, 36.2, 3, "")
	workshop := g.hangs(g.store, func(o *Options) { o.Meters = several })

	g.add(empty, "", "jobs-none", "/")
	g.add(typed, "", "meters-none", "/meters")
	g.add(workshop, "", "meters", "/meters")
	g.answers(workshop, "", "meters-refused", 422, "/meters", "name", "third", "kind", "lines-serial", "address", "port", "baud", "fast")
	g.add(typed, "", "words", "/words")
	if len(change) == 0 {
		books, err := language.BuiltIn()
		if err != nil {
			t.Fatal(err)
		}
		several := g.hangs(g.store, func(o *Options) { o.Languages = books })
		g.add(several, "", "words-languages", "/words")
	}
	g.add(locked, "", "signin", "/sign-in?next=%2Fwords")
	g.answers(locked, "", "signin-refused", 422, "/sign-in", "phrase", "a guess", "next", "/words")
	g.refused(typed, "", "fault", 404, "/jobs/j1/9/bench")

	g.sample(typed, metered, open)
	g.records(typed)
	g.shapes(typed)
	g.hostile(typed, metered)
	g.later(typed, metered)
	g.senderTypes(g.hangs(g.kinds), empty)
	g.levels()
	g.past()
	g.doors()

	bare := typed.start(&job.Job{Version: job.Version, Number: "TK-2026-015", Customer: "The hut on the hill", Vehicle: "hut", Tanks: []job.Tank{}})
	g.add(typed, "bare", "card-no-tank", jobPath(bare))
	g.add(typed, "bare", "record-no-tank", jobPath(bare)+"/record")
	g.add(typed, "", "jobs-many", "/")
	g.add(typed, "", "jobs-found", "/?find=tidewater+gas")
	g.add(typed, "", "jobs-not-found", "/?find=nobody")
	g.answers(typed, "", "exchange", 200, "/jobs/import", "file", "a.json", "file", fileOf(t, sample(t)), "file", "b.json", "file", "{}", "file", "lonely.csv", "file", "height_mm,volume_l\n0,0\n")
	if !*everyTwin {
		g.twins()
	}
	return g
}

var everyTwin = flag.Bool("twins", false, "look at pages in a browser too that are made up as others are")

// twins are looks made up of the same parts as others that are looked at: of
// another tank, or with another sentence in the place of one. They are heard, and
// looked at in a browser with -twins alone.
func (g *gallery) twins() {
	twins := map[string]bool{}
	for _, name := range strings.Fields(`
		known-few-1-bench known-few-1-contents known-few-1-tank known-few-1-prove known-few-1-set
		known-1-contents known-1-tank known-1-prove contents-2 prove-2
		tank-frustum tank-ring tank-sphere tank-upright-cylinder tank-extrusion tank-joined
		hostile-2-bench hostile-2-curve hostile-2-prove hostile-2-set hostile-2-later hostile-2-later-1-check hostile-2-tank
		hostile-3-bench hostile-3-contents hostile-3-later-1-check latercheck-replace latercheck-series
		curve-type-not card-type-not bench-type-not set-type-not tank-type-not
		lefttank-before jobs-found levels-cut-off owner-turned-away`) {
		twins[name] = true
	}
	var seen []look
	for _, l := range g.looks {
		if twins[l.name] {
			delete(twins, l.name)
			g.heard = append(g.heard, l)
		} else {
			seen = append(seen, l)
		}
	}
	if g.looks = seen; len(twins) > 0 {
		g.t.Errorf("there are no looks %v", slices.Sorted(maps.Keys(twins)))
	}
}

// sample adds the pages of the sample, and of it with less done.
func (g *gallery) sample(typed, metered, open *bench) {
	t := g.t
	id := typed.start(sample(t))
	at := jobPath(id)
	for name, path := range map[string]string{"card": "", "facts": "/facts", "history": "/history", "newtank": "/tanks", "record": "/record"} {
		g.add(typed, "sample", name, at+path)
	}
	g.add(typed, "sample", "record-paper", at+"/record/paper")
	g.answers(typed, "sample", "facts-refused", 422, at+"/facts", "key", "k1", "number", "", "customer", "x", "date", "3 November")
	g.answers(typed, "sample", "newtank-refused", 422, at+"/tanks", "key", "k2", "name", "Gas", "contents", "lpg", "water_capacity_l", "lots")
	for n := 1; n <= 3; n++ {
		own := fmt.Sprintf("%s/%d/", at, n)
		for _, page := range []string{"bench", "curve", "set", "prove", "tank", "contents"} {
			g.add(typed, "sample", fmt.Sprintf("%s-%d", page, n), own+page)
		}
	}
	g.add(metered, "sample", "bench-meter", at+"/1/bench")
	g.add(open, "sample", "bench-overload", at+"/1/bench")
	g.answers(typed, "sample", "bench-refused", 422, at+"/1/bench/take", "key", "k3", "tank", "Gas", "mark", "40", "sweep", "up", "ohm", "12..4", "from", "typed")
	g.add(typed, "sample", "correct", at+"/1/bench/correct?ref="+url.QueryEscape(sitting.Ref(typed.job(id).Tanks[0], 2)))
	g.add(typed, "sample", "curve-asked", at+"/1/curve?value=36.2&mark=55")
	g.refused(typed, "sample", "curve-asked-badly", 422, at+"/1/curve?value=lots&mark=x")
	g.add(typed, "sample", "set-own", at+"/1/set?lower=3&upper=98")
	g.refused(typed, "sample", "set-refused", 422, at+"/1/set?lower=x&upper=98&margin=lots")
	g.refused(typed, "sample", "set-no-scale", 422, at+"/3/set?scale=usable")
	g.add(typed, "sample", "prove-found", at+"/1/prove?when=as+found&mark=60")
	g.answers(typed, "sample", "prove-refused", 422, at+"/1/prove", "key", "k4", "tank", "Gas", "mark", "40", "shown", "lots", "when", "as left")

	struck := sample(t)
	struck.Number = "TK-2026-016"
	sid := typed.start(struck)
	typed.post(jobPath(sid)+"/1/bench/undo", "tank", "Gas")
	typed.post(jobPath(sid)+"/1/bench/strike", "tank", "Gas", "ref", sitting.Ref(typed.job(sid).Tanks[0], 3), "reason", "the magnet slipped")
	typed.takes(sid, "ohm", "70")
	g.add(typed, "struck", "bench-struck", jobPath(sid)+"/1/bench")
	g.add(typed, "struck", "history-struck", jobPath(sid)+"/history")

	for name, marks := range map[string]string{"bench-made": "", "bench-begun": "mark_pct", "bench-begun-mm": "mark_mm"} {
		j := fresh(t, marks)
		j.Number = "TK-2026-" + name
		own := jobPath(typed.start(j))
		g.add(typed, name, name, own+"/1/bench")
		if marks == "mark_pct" {
			for _, page := range []string{"curve", "set", "prove"} {
				g.add(typed, name, page+"-nothing", own+"/1/"+page)
			}
			g.add(typed, name, "card-begun", own)
		}
	}
	unproved := sample(t)
	unproved.Number, unproved.Tanks[0].Checks = "TK-2026-017", nil
	g.add(typed, "unproved", "prove-before", jobPath(typed.start(unproved))+"/1/prove")
}

// levels adds the page of what is watched, beside the others and as the only one.
func (g *gallery) levels() {
	g.t.Helper()
	for _, s := range []struct {
		name string
		w    *watches
	}{{"good", stall(g.t)}, {"broken", broken(g.t)}, {"silent", silent(g.t)}, {"none-yet", early(g.t)}, {"cut-off", cutOff(g.t)}, {"many", twelve(g.t)}, {"nothing", &watches{}}} {
		g.add(g.hangs(g.store, s.w.options), "", "levels-"+s.name, watchedPath)
	}
	g.add(g.hangs(g.store, evilWatch(g.t).options), "hostile", "hostile-levels", watchedPath)
	for _, s := range leftStates(g.t) {
		g.add(g.hangs(g.store, s.w.options), "", "left-"+s.name, leftPath)
	}
	g.add(g.hangs(g.store, evilWatch(g.t).options), "hostile", "hostile-left", leftPath)
	g.add(g.hangs(g.store, called(g.t).options), "", "alarms", alarmsPath)
	g.add(g.hangs(g.store, called(g.t).options), "", "left-alarms", leftPath)
	g.add(g.hangs(g.store, posted(g.t).options), "", "sent", sentPath)
	alone := onlyWatched(g.t, broken(g.t), g.change...)
	g.add(&bench{url: alone}, "", "left-away", leftAway)
	g.add(&bench{url: alone}, "", "levels-alone", watchedPath)
	g.refused(&bench{url: alone}, "", "levels-alone-fault", 404, "/jobs")
}

// shapes adds the page of a tank of each shape.
func (g *gallery) shapes(b *bench) {
	g.t.Helper()
	files, err := filepath.Glob("../tankfile/testdata/*.tank.json")
	if err != nil || len(files) < 8 {
		g.t.Fatalf("%d tank files, %v", len(files), err)
	}
	j := &job.Job{Version: job.Version, Number: "TK-2026-018", Customer: "Tidewater Kitchen", Vehicle: "one tank of each shape", Tanks: []job.Tank{}}
	for _, path := range files {
		name := strings.TrimSuffix(filepath.Base(path), ".tank.json")
		if name == "mesh" || name == "strapping-csv" {
			continue // they name a file beside the job, which a store hasn't
		}
		shape, err := tankfile.ReadFile(path)
		if err != nil {
			g.t.Fatal(err)
		}
		shape.Version = 0 // it stands once, at the top of the job file
		j.Tanks = append(j.Tanks, job.Tank{Name: name, Contents: job.Water, Shape: shape})
	}
	id := b.start(j)
	for i, t := range j.Tanks {
		g.add(b, "shapes", "tank-"+t.Name, fmt.Sprintf("%s/%d/tank", jobPath(id), i+1))
	}
	g.add(b, "shapes", "card-shapes", jobPath(id))
}

// Texts that a page could trip over.
const (
	breaksOut = `"><img class=evil src=x onerror=alert(1)></title></textarea></script><b class=evil>'`
	runs      = `<script>alert(1)</script>`
)

// hostileJob is the sample with texts that try to become parts of the page, that
// don't end, and that run from right to left.
func hostileJob(t *testing.T) *job.Job {
	j := sample(t)
	most := func(parts ...string) string { // as long as a text may be
		text := []rune(strings.Join(parts, ""))
		return string(text[:min(len(text), 300)])
	}
	endless := strings.Repeat("Donaudampfschiff", 20)
	signs := "עגלת אוכל 🚐 " + strings.Repeat("ארוך", 60)
	j.Number, j.Customer, j.Vehicle = runs, most(breaksOut, endless), most(signs, runs)
	j.Fitter, j.Note = most(runs, endless), endless+breaksOut+signs
	for i := range j.Tanks {
		tank := &j.Tanks[i]
		tank.Name = []string{most(runs, endless), breaksOut, signs}[i]
		tank.Sender.Description = most(breaksOut, endless)
		tank.Bench.By, tank.Bench.Meter = most(runs, endless), most(breaksOut, signs)
		for k := range tank.Bench.Readings {
			tank.Bench.Readings[k].Note = []string{"", runs, breaksOut, most(endless), signs}[k%5]
		}
		for k := range tank.Loads {
			tank.Loads[k].Name = runs + endless[:100+k]
		}
		tank.Currency = "<b class=evil>E"
		if tank.PricePerL == 0 {
			tank.Currency = ""
		}
		if tank.Shape != nil {
			tank.Shape.Name, tank.Shape.Note = runs, most(breaksOut, endless)
		}
		tank.Sender.Type, tank.Sender.Batch, tank.Sender.Serial = most(runs, endless), most(breaksOut, signs), most(signs)
		service := job.Service{Bench: job.Bench{Date: "2027-05-02", By: most(runs, endless), Meter: most(breaksOut, signs)}, Note: most(endless, breaksOut)}
		for k, r := range tank.Bench.Readings {
			if k%5 == 0 {
				r.Ohm *= 1.04
				service.Readings = append(service.Readings, r)
			}
		}
		tank.Services = []job.Service{service}
		if tank.Setting != nil {
			tank.Setting.By = most(breaksOut, endless)
		}
		for k := range tank.Checks {
			c := &tank.Checks[k]
			c.By, c.Note = most(runs, endless), most(breaksOut, signs)
			for n := range c.Readings {
				c.Readings[n].Note = most(breaksOut, endless)
			}
		}
	}
	return j
}

func (g *gallery) hostile(typed, metered *bench) {
	t := g.t
	j := hostileJob(t)
	id, err := g.store.Start(context.Background(), breaksOut, j, sunday)
	if err != nil {
		t.Fatal(err)
	}
	at := jobPath(id)
	for _, n := range []int{1, 2, 3} {
		typed.post(fmt.Sprintf("%s/%d/bench/strike", at, n), "tank", j.Tanks[n-1].Name, "ref", sitting.Ref(typed.job(id).Tanks[n-1], 1), "reason", (breaksOut + j.Note)[:200])
	}
	for _, page := range []string{"", "/facts", "/history", "/tanks", "/record", "/record/paper", "/record/paper?as=card", "/at/1/card", "/history?from=1&to=4", "/1/bench", "/1/curve", "/1/set", "/1/prove", "/1/tank", "/1/contents",
		"/1/later", "/1/later/1/check", "/2/later", "/2/later/1/check", "/3/later/1/check", "/2/bench", "/2/curve", "/2/set", "/2/prove", "/2/tank", "/3/bench", "/3/contents"} {
		g.add(typed, "hostile", "hostile"+strings.NewReplacer("/", "-", "?", "-", "=", "-", "&", "-").Replace(page), at+page)
	}
	g.refused(typed, "hostile", "hostile-set-own", 422, at+"/1/set?lower=3&upper="+url.QueryEscape(breaksOut))
	g.add(metered, "hostile", "hostile-bench-meter", at+"/1/bench")
	g.add(typed, "hostile", "hostile-found", "/?find="+url.QueryEscape(runs))
	g.answers(typed, "hostile", "hostile-facts-refused", 422, at+"/facts", "key", "k5", "customer", breaksOut, "note", breaksOut, "date", breaksOut)
	g.answers(typed, "hostile", "hostile-newtank-refused", 422, at+"/tanks", "key", "k6", "name", breaksOut, "contents", breaksOut, "water_capacity_l", breaksOut)
	g.answers(typed, "hostile", "hostile-bench-refused", 422, at+"/1/bench/take", "key", "k7", "tank", j.Tanks[0].Name, "mark", breaksOut, "sweep", "up", "ohm", breaksOut, "from", "typed")
	g.answers(typed, "hostile", "hostile-prove-refused", 422, at+"/1/prove", "key", "k8", "tank", j.Tanks[0].Name, "mark", breaksOut, "shown", breaksOut, "when", "as left", "note", breaksOut)
	g.answers(typed, "hostile", "hostile-exchange", 422, "/jobs/import", "file", breaksOut+".json", "file", `{"`+runs+`":1}`)
}

// asUpload makes a form of files of a request, of names and texts in turn.
func asUpload(t *testing.T, r *http.Request, files []string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i+1 < len(files); i += 2 {
		part, err := w.CreateFormFile("files", files[i])
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.WriteString(part, files[i+1])
	}
	w.Close()
	r.Body, r.ContentLength = io.NopCloser(&body), int64(body.Len())
	r.Header.Set("Content-Type", w.FormDataContentType())
}
