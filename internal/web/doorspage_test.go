package web

import (
	"context"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/doors"
	"gaugewright/internal/tag"
)

var secretOnPage = regexp.MustCompile(`(http://localhost/see/)?gw[lt]-[a-z2-7]{52}`)

// A link is made, shown once with its code, listed without its secret, and revoked.
func TestDoorsPageLink(t *testing.T) {
	y := newYard(t)
	fitter := y.as(doors.Fitter)
	form := url.Values{"key": {"abcd2345"}, "name": {"<script>alert(1)</script>"}, "all": {"some"}, "tank": {"fresh", "gas"}, "until": {"2026-05-31"}}.Encode()
	a := y.ask("POST", "/doors/links", form, fitter)
	text := body(t, a)
	address := secretOnPage.FindString(text)
	if a.StatusCode != 200 || !strings.HasPrefix(address, "http://localhost/see/gwl-") || strings.Contains(text, "<script>alert") {
		t.Fatalf("%d\n%s", a.StatusCode, text)
	}
	if !strings.Contains(text, "from this machine alone") || !strings.Contains(text, "<svg") {
		t.Error("that the address leads here from this machine alone isn't said, or there is no code")
	}
	all, err := y.passes.Passes(t.Context())
	if err != nil || len(all) != 1 || all[0].Kind != doors.Link || strings.Join(all[0].Tanks, " ") != "fresh gas" || all[0].Works(sunday.AddDate(0, 7, 0)) || !all[0].Works(sunday.AddDate(0, 6, 26)) {
		t.Errorf("%v: kept is %+v", err, all)
	}
	if a := y.ask("POST", "/doors/links", form, fitter); a.StatusCode != 422 || secretOnPage.MatchString(body(t, a)) {
		t.Errorf("the same form again: %d; expected 422 and no secret", a.StatusCode)
	}
	text = body(t, y.ask("GET", "/doors", "", fitter))
	if secretOnPage.MatchString(text) || !strings.Contains(text, "Looks at levels and history, of Fresh water, Gas.") && !strings.Contains(text, "of Fresh water, Gas.") || !strings.Contains(text, "It works until 31 May 2026. Not used yet.") {
		t.Errorf("the list:\n%s", text)
	}
	guest := y.ask("GET", strings.TrimPrefix(address, "http://localhost"), "", nil).Cookies()
	if a := y.ask("POST", "/doors/revoke", url.Values{"id": {"abcd2345"}}.Encode(), fitter); a.Header.Get("Location") != "/doors?said=is-revoked" {
		t.Errorf("revoking: %d", a.StatusCode)
	}
	if y.ask("GET", "/left", "", guest).StatusCode != 401 {
		t.Error("a guest is still in")
	}
	text = body(t, y.ask("GET", "/doors?said=is-revoked", "", fitter))
	if !strings.Contains(text, "Revoked on") || strings.Contains(text, "Revoke the link for") || !strings.Contains(text, "It doesn’t work any more") {
		t.Errorf("after revoking:\n%s", text)
	}
}

func TestDoorsPageToken(t *testing.T) {
	y := newYard(t)
	fitter := y.as(doors.Fitter)
	text := body(t, y.ask("POST", "/doors/tokens", url.Values{"key": {"abcd2345"}, "name": {"hut"}, "publish": {"yes"}, "all": {"yes"}}.Encode(), fitter))
	secret := secretOnPage.FindString(text)
	v, err := y.passes.Enter(t.Context(), doors.Token, secret, sunday)
	if err != nil || !v.Publishes("fresh") || v.Sees("fresh") {
		t.Errorf("%q lets in %+v, %v", secret, v, err)
	}
}

// What can't be used is said, and what was typed stands in the form still.
func TestDoorsPageRefuses(t *testing.T) {
	y := newYard(t)
	fitter := y.as(doors.Fitter)
	for _, c := range []struct {
		to, field, want string
		form            url.Values
	}{
		{"/doors/links", `id="link-name"`, "Nothing says for whom it is", url.Values{"key": {"abcd2345"}, "all": {"yes"}}},
		{"/doors/links", `id="link-until"`, "The last day can&#39;t be read", url.Values{"key": {"abcd2345"}, "name": {"typed"}, "until": {"tomorrow"}}},
		{"/doors/links", `id="link-until"`, "has gone by", url.Values{"key": {"abcd2345"}, "name": {"typed"}, "until": {"2024-05-31"}}},
		{"/doors/links", "bad-field", "It is for no tank", url.Values{"key": {"abcd2345"}, "name": {"typed"}, "all": {"some"}}},
		{"/doors/links", "bad-field", "isn&#39;t watched here any more", url.Values{"key": {"abcd2345"}, "name": {"typed"}, "all": {"some"}, "tank": {"nonesuch"}}},
		{"/doors/tokens", "bad-field", "neither read nor publish", url.Values{"key": {"abcd2345"}, "name": {"typed"}, "all": {"yes"}}},
		{"/doors/phrase", `id="phrase"`, "expected 15 or more", url.Values{"phrase": {"short"}, "again": {"short"}}},
		{"/doors/phrase", `id="again"`, "The two differ", url.Values{"phrase": {"a wholly new set of words"}, "again": {"other"}}},
		{"/doors/phrase", `id="present"`, "That isn&#39;t the fitters&#39; present", url.Values{"phrase": {"a wholly new set of words"}, "again": {"a wholly new set of words"}, "present": {ownerPhrase}}},
		{"/doors/phrase", `id="phrase"`, "That is the other pass phrase", url.Values{"whose": {"owner-phrase"}, "phrase": {phrase}, "again": {phrase}, "present": {phrase}}},
	} {
		a := y.ask("POST", c.to, c.form.Encode(), fitter)
		text := body(t, a)
		if a.StatusCode != 422 || !strings.Contains(text, c.want) || !strings.Contains(text, c.field) || !strings.Contains(text, `aria-invalid="true"`) && !strings.Contains(text, "bad-field") {
			t.Errorf("%s with %v: %d\n%s", c.to, c.form, a.StatusCode, text)
		}
		if c.form.Get("name") != "" && !strings.Contains(text, `value="typed"`) {
			t.Errorf("%s with %v: what was typed is gone", c.to, c.form)
		}
		for _, secret := range []string{phrase, ownerPhrase, "a wholly new"} {
			if strings.Contains(text, secret) {
				t.Errorf("%s: a pass phrase comes back on the page", c.to)
			}
		}
	}
	if all, err := y.passes.Passes(t.Context()); err != nil || len(all) != 0 {
		t.Errorf("%d were made, %v", len(all), err)
	}
	if y.ask("POST", "/doors/revoke", "id=nonesuch", fitter).StatusCode != 404 {
		t.Error("revoking what isn't there is no 404")
	}
}

// Guessing the present pass phrase on the page of an open session is slow too.
func TestPhrasePageGuessingIsSlow(t *testing.T) {
	y := newYard(t)
	fitter := y.as(doors.Fitter)
	form := url.Values{"phrase": {"a wholly new set of words"}, "again": {"a wholly new set of words"}, "present": {"guess"}}.Encode()
	last := 0
	for range doors.FreeTries + 2 {
		last = y.ask("POST", "/doors/phrase", form, fitter).StatusCode
	}
	if last != 429 {
		t.Errorf("the sixth guess: %d; expected 429", last)
	}
}

func TestOwnersPhraseTakenAway(t *testing.T) {
	y := newYard(t)
	fitter, owner := y.as(doors.Fitter), y.as(doors.Owner)
	if a := y.ask("POST", "/doors/phrase", url.Values{"take": {"yes"}, "present": {phrase}}.Encode(), fitter); a.Header.Get("Location") != "/doors?said=is-gone-owner" {
		t.Fatalf("%d", a.StatusCode)
	}
	if y.ask("GET", "/left", "", owner).StatusCode != 401 || y.phrases.Mark(doors.Owner) != "" {
		t.Error("the owner is still in")
	}
}

// On this machine alone nobody is asked, and pass phrases can be set for later.
func TestDoorsPageUnguarded(t *testing.T) {
	p := newPhrases()
	b := open(t, func(o *Options) { o.Phrases = p })
	status, text := b.get("/doors")
	if status != 200 || !strings.Contains(text, "nobody is asked who they are") || strings.Contains(text, `name="present"`) || strings.Contains(text, "Sign everybody out") || !strings.Contains(text, "none runs here") {
		t.Errorf("%d\n%s", status, text)
	}
	if _, text := b.post("/doors/phrase", "whose", "owner-phrase", "phrase", "a wholly new set of words", "again", "a wholly new set of words"); !strings.Contains(text, "The owner’s pass phrase is set.") {
		t.Errorf("%s", text)
	}
	if role, _ := p.Opens(context.Background(), "a wholly new set of words"); role != doors.Owner {
		t.Errorf("it opens to %q", role)
	}
}

// The code of a link is coarse enough for a telephone to read it from a screen:
// 41 modules on 240 pixels are six pixels each. That codes say what they hold, the
// tests of package tag find out with another's reader.
func TestLinkCode(t *testing.T) {
	m, err := tag.Modules("HTTPS://192.168.100.200:8765/SEE/GWL-ABCDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRST")
	if err != nil || m.Size > 41 {
		t.Errorf("%v, %d modules on a side; expected at most 41", err, m.Size)
	}
}

// Fields of pass phrases hide what is typed, and let browsers and their keepers of
// passwords put it in.
func TestPhraseFields(t *testing.T) {
	y := newYard(t)
	fitter := y.as(doors.Fitter)
	for path, want := range map[string][]string{"/sign-in": {"phrase current-password"}, "/doors": {"phrase new-password", "again new-password", "present current-password"}} {
		c := fitter
		if path == "/sign-in" {
			c = nil
		}
		text := body(t, y.ask("GET", path, "", c))
		var found []string
		for _, m := range regexp.MustCompile(`<input type="password" id="(\w+)" name="\w+" autocomplete="([\w-]+)"([^>]*)>`).FindAllStringSubmatch(text, -1) {
			found = append(found, m[1]+" "+m[2])
			if strings.Contains(m[3], "maxlength") || strings.Contains(m[3], "readonly") {
				t.Errorf("%s: the field %s takes less than a pass phrase: %s", path, m[1], m[3])
			}
		}
		if strings.Join(found, ", ") != strings.Join(want, ", ") {
			t.Errorf("%s has the fields %q; expected %q", path, found, want)
		}
	}
}

// Where others on the network can read along, the page of a new link says so.
func TestDoorsPageOpenNetwork(t *testing.T) {
	for secure, want := range map[bool]bool{false: true, true: false} {
		y := newYard(t, func(o *Options) { o.Secure = secure })
		r := httptest.NewRequest("POST", "/doors/links", strings.NewReader(url.Values{"key": {doors.NewID()}, "name": {"x"}, "all": {"yes"}}.Encode()))
		r.Host = "192.0.2.7:8765"
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for _, c := range y.as(doors.Fitter) {
			r.AddCookie(c)
		}
		w := httptest.NewRecorder()
		y.site.ServeHTTP(w, r)
		text := w.Body.String()
		if w.Code != 200 || strings.Contains(text, "can read along") != want || strings.Contains(text, "from this machine alone") {
			t.Errorf("over TLS %v: %d\n%s", secure, w.Code, text)
		}
	}
}
