package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"time"

	"gaugewright/internal/doors"
)

// doors adds the pages of who may look, to a fitter, and what owners and guests are
// told.
func (g *gallery) doors() {
	t := g.t
	t.Helper()
	none := g.hangs(g.store)
	passes := newPasses(t)
	for i, p := range []doors.Pass{
		{Kind: doors.Link, Name: "Tidewater Kitchen", Tanks: []string{"fresh", "gas"}, Until: sunday.AddDate(1, 0, 0)},
		{Kind: doors.Link, Name: "The hut on the hill"},
		{Kind: doors.Link, Name: "a visitor", Until: sunday.AddDate(0, 0, -3)},
		{Kind: doors.Token, Name: "hut", Publish: true, Tanks: []string{"fresh"}},
		{Kind: doors.Token, Name: "display in the galley", Read: true, Publish: true},
	} {
		made, _, err := passes.Make(context.Background(), p, sunday.AddDate(0, 0, i-20))
		if err == nil && i == 1 {
			err = passes.UsedPass(context.Background(), made.ID, sunday.Add(-time.Hour))
		}
		if err == nil && i == 3 {
			err = passes.RevokePass(context.Background(), made.ID, sunday)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	full := g.hangs(g.store, stall(t).options, func(o *Options) { o.Passes, o.Phrases = passes, newPhrases() })
	g.add(full, "", "doors", doorsPath)
	g.add(full, "", "levels-doorway", watchedPath)
	g.answers(full, "", "doors-link-refused", 422, "/doors/links", "key", "aaaa2222", "all", "some", "name", "typed", "until", "2027-05-31")
	// What differs in a sentence is heard, and not looked at again.
	seen := len(g.looks)
	g.add(none, "", "doors-nothing", doorsPath)
	for name, said := range map[string]string{"doors-revoked": "?said=is-revoked", "doors-fitter": "?said=is-set-fitter", "doors-owner": "?said=is-set-owner", "doors-taken": "?said=is-gone-owner"} {
		g.add(full, "", name, doorsPath+said)
	}
	g.answers(full, "", "doors-day-refused", 422, "/doors/links", "key", "aaaa2222", "name", "typed", "until", "tomorrow")
	g.answers(full, "", "doors-past-refused", 422, "/doors/links", "key", "aaaa2222", "name", "typed", "until", "2024-05-31")
	g.answers(full, "", "doors-tank-refused", 422, "/doors/links", "key", "aaaa2222", "name", "typed", "all", "some", "tank", "nonesuch")
	g.answers(full, "", "doors-token-refused", 422, "/doors/tokens", "key", "aaaa2222", "name", "typed", "all", "yes")
	g.answers(full, "", "doors-name-refused", 422, "/doors/tokens", "key", "aaaa2222", "name", "", "read", "yes")
	g.answers(full, "", "doors-short-refused", 422, "/doors/phrase", "phrase", "short", "again", "short")
	g.answers(full, "", "doors-usual-refused", 422, "/doors/phrase", "phrase", "gaugewright gaugewright", "again", "x")
	g.answers(full, "", "doors-again-refused", 422, "/doors/phrase", "phrase", "a wholly new set of words", "again", "other")
	g.answers(full, "", "doors-other-refused", 422, "/doors/phrase", "whose", "owner-phrase", "phrase", phrase, "again", phrase)
	g.answers(full, "", "doors-revoke-nothing", 404, "/doors/revoke", "id", "nonesuch")
	g.refused(full, "", "doors-link-over", 404, "/see/nonesuch")
	g.heard, g.looks = append(g.heard, g.looks[seen:]...), g.looks[:seen]
	once := g.hangs(g.store, stall(t).options, func(o *Options) { o.Passes = newPasses(t) })
	g.answers(once, "", "doors-made-link", 200, "/doors/links", "key", "*", "name", "Tidewater Kitchen", "all", "yes")
	seen = len(g.looks)
	g.answers(once, "", "doors-made-link-network", 200, "/doors/links", "key", "*", "name", "Tidewater Kitchen", "all", "yes", "host", "192.0.2.7:8765")
	g.heard, g.looks = append(g.heard, g.looks[seen:]...), g.looks[:seen]
	g.answers(once, "", "doors-made-token", 200, "/doors/tokens", "key", "*", "name", "hut", "all", "yes", "publish", "yes")
	guarded := g.hangs(g.store, stall(t).options, func(o *Options) { o.Guarded, o.Phrases, o.Passes = true, newPhrases(), passes })
	fitter := g.comes(guarded, phrase)
	g.add(fitter, "", "doors-guarded", doorsPath)
	seen = len(g.looks)
	g.answers(fitter, "", "doors-present-refused", 422, "/doors/phrase", "phrase", "a wholly new set of words", "again", "a wholly new set of words", "present", ownerPhrase)
	g.heard, g.looks = append(g.heard, g.looks[seen:]...), g.looks[:seen]
	g.refused(g.comes(guarded, ownerPhrase), "", "owner-turned-away", 403, "/meters")
}

// comes serves a site to someone who has signed in.
func (g *gallery) comes(b *bench, phrase string) *bench {
	g.t.Helper()
	w := httptest.NewRecorder()
	r := httptest.NewRequest("POST", "/sign-in", strings.NewReader(url.Values{"phrase": {phrase}}.Encode()))
	r.Host = "localhost"
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	b.site.ServeHTTP(w, r)
	cookies := w.Result().Cookies()
	if len(cookies) == 0 {
		g.t.Fatalf("nobody is signed in: %d", w.Code)
	}
	return g.serves(b, func(r *http.Request) {
		for _, c := range cookies {
			r.AddCookie(c)
		}
	})
}
