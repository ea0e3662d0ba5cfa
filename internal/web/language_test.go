package web

import (
	"flag"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"

	"gaugewright/internal/doors"
	"gaugewright/internal/language"
)

// german is the German of the program.
func german(t testing.TB) (language.Books, *language.Book) {
	t.Helper()
	books, err := language.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	b, err := books.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	return books, b
}

// fetch gets a page as a browser of a language does.
func fetch(t testing.TB, address, accept string) (int, string, http.Header) {
	t.Helper()
	r, err := http.NewRequest("GET", address, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Accept-Language", accept)
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(text), answer.Header
}

// fillIn is "-fill": what the German lacks is added to its files, to be translated.
var fillIn = flag.Bool("fill", false, "add what the German lacks to ../language/catalogues/de, without a translation")

const germanFiles = "../language/catalogues/de"

// Every page in every state is in the language whole: nothing on it is left in
// English but what a person wrote, and its figures are those of the English page
// (Unicode CLDR for how they are written).
func TestEveryPageInGerman(t *testing.T) {
	books, b := german(t)
	if *fillIn {
		draft, err := language.Draft(germanFiles)
		if err != nil {
			t.Fatal(err)
		}
		books, b = language.Books{draft}, draft
	}
	missing := map[string]string{}
	var mu sync.Mutex
	hostile := false // its pages are those of the sample, with texts that nobody could call words
	spokenMissed = func(path string, v *language.Voice, text string) {
		mu.Lock()
		defer mu.Unlock()
		if hostile {
			return
		}
		for _, form := range v.Lacking(text) {
			if _, ok := missing[form]; !ok {
				missing[form] = path
			}
		}
	}
	var own []string
	spokenOwn = func(list []string) {
		mu.Lock()
		defer mu.Unlock()
		own = list
	}
	defer func() { spokenMissed, spokenOwn = nil, nil }()
	g := everyLook(t, func(o *Options) { o.Languages = books })
	for _, l := range slices.Concat(g.looks, g.heard) {
		status, english, _ := fetch(t, l.url, "en")
		if status != l.status {
			t.Fatalf("%s: %d in English; expected %d", l.name, status, l.status)
		}
		mu.Lock()
		hostile = l.job == "hostile"
		mu.Unlock()
		status, page, _ := fetch(t, l.url, "de")
		if status != l.status || !strings.Contains(page, `<html lang="de"`) {
			t.Errorf("%s: %d, and the page's language isn't German", l.name, status)
		}
		mu.Lock()
		if a, b := figuresOf(english, "en", own), figuresOf(page, "de", own); !slices.Equal(a, b) {
			t.Errorf("%s: the figures differ: %v", l.name, firstOther(a, b))
		}
		mu.Unlock()
	}
	for _, text := range scriptTexts() {
		if _, all := b.Say(text); !all {
			missing[text] = "scripts"
		}
	}
	list := slices.Sorted(maps.Keys(missing))
	if *fillIn {
		parts := map[string][]string{}
		for _, form := range list {
			part := "web"
			for _, page := range []string{"bench", "contents", "curve", "prove", "set", "tank", "words", "watched", "left", "scripts"} {
				if strings.HasSuffix(missing[form], page) || strings.HasPrefix(missing[form], "/"+page) {
					part = "web-" + page
				}
			}
			parts[part] = append(parts[part], form)
		}
		for part, forms := range parts {
			n, err := language.Fill(germanFiles, part, forms)
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%s: %d added", part, n)
		}
	}
	for i, form := range list {
		if i == 40 {
			t.Errorf("and %d more; -fill adds them to %s", len(list)-i, germanFiles)
			break
		}
		t.Errorf("%s: the German lacks %q", missing[form], form)
	}
}

// firstOther gives the first place where two lists differ.
func firstOther(a, b []string) string {
	for i := range max(len(a), len(b)) {
		x, y := "nothing", "nothing"
		if i < len(a) {
			x = a[i]
		}
		if i < len(b) {
			y = b[i]
		}
		if x != y {
			return x + " and " + y
		}
	}
	return "nothing"
}

// figuresOf gives the figures on a page, in their order of size as text, without
// those that a person wrote.
func figuresOf(page, code string, own []string) []string {
	text := strings.ReplaceAll(language.TextOf([]byte(page)), "\u00a0", " ")
	for _, o := range own {
		if len(o) > 5 {
			text = strings.ReplaceAll(text, o, "")
		}
	}
	return language.Figures(doors.SecretForm.ReplaceAllString(text, ""), code)
}

func TestLanguageOfThePages(t *testing.T) {
	books, _ := german(t)
	b := open(t, func(o *Options) { o.Languages = books })
	server := httptest.NewServer(b.site)
	defer server.Close()
	for accept, want := range map[string]string{"": "en", "de": "de", "de-AT,de;q=0.9,en;q=0.5": "de", "en-GB,de;q=0.5": "en", "fr": "en", "nonsense;;q=": "en"} {
		if _, page, head := fetch(t, server.URL+"/words", accept); !strings.Contains(page, `<html lang="`+want+`"`) || head.Get("Vary") == "" {
			t.Errorf("Accept-Language %q: not %s", accept, want)
		}
	}
	// What is chosen on the device comes first.
	client := *http.DefaultClient
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	answer, err := client.PostForm(server.URL+"/language", url.Values{"language": {"de"}})
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusSeeOther || len(answer.Cookies()) != 1 {
		t.Fatalf("%s, %v", answer.Status, answer.Cookies())
	}
	r, _ := http.NewRequest("GET", server.URL+"/words", nil)
	r.Header.Set("Accept-Language", "en")
	r.AddCookie(answer.Cookies()[0])
	if answer, err = client.Do(r); err != nil {
		t.Fatal(err)
	}
	text, _ := io.ReadAll(answer.Body)
	answer.Body.Close()
	if !strings.Contains(string(text), `<html lang="de"`) {
		t.Error("the language that was chosen isn't the page's")
	}
	if answer, err = client.PostForm(server.URL+"/language", url.Values{"language": {"tlh"}}); err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a language that isn't here: %s", answer.Status)
	}
}
