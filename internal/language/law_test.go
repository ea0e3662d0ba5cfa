package language_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
	xlang "golang.org/x/text/language"
	"golang.org/x/text/message"
	xnumber "golang.org/x/text/number"
	"pgregory.net/rapid"

	"gaugewright/internal/language"
)

// germanBook is the German of the program.
func germanBook(t testing.TB) *language.Book {
	t.Helper()
	books, err := language.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	b, err := books.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Figures are written as golang.org/x/text writes them from the Unicode CLDR,
// without grouping, which the English texts haven't either.
func TestFiguresByCLDR(t *testing.T) {
	for _, code := range []string{"de", "fr", "pt-BR", "en-GB", "de-CH", "nb", "pl"} {
		text := strings.Replace("msgid \"\"\nmsgstr \"Language: CODE\\n\"\n", "CODE", code, 1)
		b, err := language.Parse("x.po", text)
		if err != nil {
			t.Fatal(err)
		}
		p := message.NewPrinter(xlang.MustParse(code))
		for _, v := range []float64{0, 0.5, 12.25, 999.5, 12345.75} {
			want := p.Sprint(xnumber.Decimal(v, xnumber.NoSeparator(), xnumber.MaxFractionDigits(2)))
			if got, all := b.Say(fmt.Sprint(v)); got != want || !all {
				t.Errorf("%s: %v is %q; the CLDR has %q", code, v, got, want)
			}
		}
	}
}

// The figures of a text are those of what is said for it, in value.
func TestFiguresStay(t *testing.T) {
	b := small(t)
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.SampledFrom([]string{
			"Largest error at a reading: %s points, at the mark %s %%.", "Key in %s and %s", "Key in %s and %s. The tank is full. %s kg", "mark %s", "±%s points · %s L",
			"Struck out: the mark %s %%", "Unknown %s words %s", "(%s)", "%s: %s",
		}).Draw(t, "text")
		figure := rapid.StringMatching(`[−+]?[0-9]{1,4}(\.[0-9]{1,3})?`)
		args := []any{figure.Draw(t, "a"), figure.Draw(t, "b"), figure.Draw(t, "c")}
		text := fmt.Sprintf(one, args[:strings.Count(one, "%s")]...)
		said, all := b.Say(text)
		if !all {
			return // what isn't said stays as it is
		}
		if x, y := language.Figures(text, "en"), language.Figures(said, "de"); !slices.Equal(x, y) {
			t.Fatalf("%q: %v; %q: %v", text, x, said, y)
		}
	})
}

// What a person wrote is in what is said, letter for letter.
func TestOwnWordsStay(t *testing.T) {
	b := small(t)
	rapid.Check(t, func(t *rapid.T) {
		own := strings.Join(strings.Fields(rapid.StringMatching(`[A-Za-zäЖ漢 .:·–{}<>0-9/]{1,30}`).Draw(t, "own")), " ")
		if !strings.ContainsFunc(own, func(r rune) bool { return r >= 'A' && r <= 'z' }) {
			return
		}
		form := rapid.SampledFrom([]string{"%s", "Struck out: %s", "mark of %s", "by %s on 3 November 2025"}).Draw(t, "form")
		said, _ := b.Voice([]string{own}).Say(fmt.Sprintf(form, own))
		if !strings.Contains(said, own) {
			t.Fatalf("%q in %q is said as %q", own, form, said)
		}
	})
}

// A page keeps its elements, their order and their attributes.
func TestPageKeepsItsMarkUp(t *testing.T) {
	v := small(t).Voice([]string{"Tidewater Kitchen"})
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			b.WriteString(rapid.SampledFrom([]string{"<p>", "</p>", "<b>", "</b>", `<a href="?a=1&amp;b">`, "</a>", "<br>", "mark", " Key in ", "0", " and ", "12.5", "the tank is full. ", "Tidewater Kitchen",
				"<script>mark</script>", "<code>", "</code>", `<svg><text x="1">mark</text></svg>`, "&lt;b&gt;", `<input value="mark">`, `<i translate="no">mark</i>`, "<!-- mark -->", "<text>", "</text>", "<", "\n"}).Draw(t, "piece"))
		}
		page := b.String()
		got := string(v.Page([]byte(page)))
		if a, b := tagsIn(page), tagsIn(got); !slices.Equal(a, b) {
			t.Fatalf("%q\nis %q", page, got)
		}
	})
}

// tagsIn lists the tags of a page; those of a sentence may change their order.
func tagsIn(page string) []string {
	var out []string
	z := html.NewTokenizer(strings.NewReader(page))
	for {
		switch z.Next() {
		case html.ErrorToken:
			slices.Sort(out)
			return out
		case html.StartTagToken, html.EndTagToken, html.SelfClosingTagToken, html.CommentToken:
			out = append(out, string(z.Raw()))
		}
	}
}

func FuzzSay(f *testing.F) {
	b := germanBook(f)
	for _, text := range []string{"Key in 0 and 101.", "Rising: 1 Ω at 2 %, 3 Ω at 4 %.", strings.Repeat("a and b, ", 50), "\uE102\uF000<1>", "3 November 2025, 16:20 UTC"} {
		f.Add(text, "b, a")
	}
	f.Fuzz(func(t *testing.T, text, own string) {
		begun := time.Now()
		said, _ := b.Voice([]string{own}).Say(text)
		if took := time.Since(begun); took > 2*time.Second && len(text) < 10_000 {
			t.Fatalf("%v for %d bytes", took, len(text))
		}
		_ = said
	})
}

func FuzzPage(f *testing.F) {
	v := germanBook(f).Voice([]string{"own words"})
	f.Add([]byte(`<html lang="en"><p title="a">Key in <b>0</b> and <b>101</b></p><svg><text x="1">a</text><text x="1">b</text></svg>`))
	f.Fuzz(func(_ *testing.T, page []byte) { v.Page(page) })
}

func FuzzCatalogue(f *testing.F) {
	f.Add(head+"\nmsgid \"a {1} b {2:number}\"\nmsgstr \"{2} c {1}\"\n", "a x b 5")
	f.Fuzz(func(_ *testing.T, text, english string) {
		if b, err := language.Parse("fuzz.po", text); err == nil {
			b.Say(english)
		}
	})
}

// bigPage is a page of 100 kB with sentences, tables and drawings.
func bigPage(fresh int) []byte {
	var b bytes.Buffer
	b.WriteString(`<html lang="en"><body>`)
	for i := 0; b.Len() < 100_000; i++ {
		fmt.Fprintf(&b, `<tr class="row"><th scope="row">%d.5 %%</th><td>%d.25</td><td class="words">set aside</td></tr><li class="w-note"><b>Note:</b> Rising: %d.5 Ω at 0 %%, 90 Ω at 100 %%.</li>`, i, i+fresh, i+fresh)
		fmt.Fprintf(&b, `<p>Margin: <b>%d</b> kept for Tidewater Kitchen</p><svg viewBox="0 0 10 10"><text x="1" y="2">%d</text><text x="1" y="3">permitted fill</text></svg>`, i%7, i)
	}
	return b.Bytes()
}

func BenchmarkPage(b *testing.B) {
	v := germanBook(b).Voice([]string{"Tidewater Kitchen", "TK-2026-014", "R. Fitter"})
	page := bigPage(0)
	b.SetBytes(int64(len(page)))
	for b.Loop() {
		v.Page(page)
	}
}

// The first time that texts are said, they are found among all the forms.
func BenchmarkSayAnew(b *testing.B) {
	book := germanBook(b)
	for i := 0; b.Loop(); i++ {
		book.Say(fmt.Sprintf("Hysteresis %d.5 Ω (1.2 %% of span), largest at 40 %%, where the reading going up was higher.", i))
	}
}
