package language_test

import (
	"strings"
	"testing"

	"gaugewright/internal/language"
)

const head = "msgid \"\"\nmsgstr \"Language: de\\nX-Language-Name: Deutsch\\n\"\n"

// book makes a book of pairs of messages.
func book(t testing.TB, pairs ...string) *language.Book {
	t.Helper()
	var b strings.Builder
	b.WriteString(head)
	for i := 0; i+1 < len(pairs); i += 2 {
		id := pairs[i]
		if context, rest, ok := strings.Cut(id, "|"); ok {
			b.WriteString("\nmsgctxt \"" + context + "\"")
			id = rest
		}
		b.WriteString("\nmsgid \"" + id + "\"\nmsgstr \"" + pairs[i+1] + "\"\n")
	}
	got, err := language.Parse("test.po", b.String())
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func small(t testing.TB) *language.Book {
	return book(t,
		"Largest error at a reading: {1:number} points, at {2}.", "Größte Abweichung bei einer Ablesung: {1} Punkte, bei {2}.",
		"Key in {1:number} and {2:number}", "{1} und {2} eingeben",
		"Key in <1>{1:number}</1> and <2>{2:number}</2>", "<1>{1}</1> und <2>{2}</2> eingeben",
		"the mark {1:number} %", "der Marke {1} %",
		"on {1:date}", "am {1}",
		"by {1:own} {2}", "von {1} {2}",
		"{1:number} November {2:number}", "{1}. November {2}",
		"the tank is full", "der Tank ist voll",
		"points", "Punkte",
		"{1:number} points", "{1} Punkte",
		"Note", "Hinweis",
		"Fill it to <1>the mark</1>.", "<1>Bis zur Marke</1> füllen.",
		"verb|mark", "markieren",
		"mark", "Marke",
		"Struck out: {1}", "Gestrichen: {1}",
		"Good to {1}. See {2}.", "Auf {1} genau. Siehe {2}.",
		"{1} of {2}", "{1} von {2}",
	)
}

func TestSay(t *testing.T) {
	b := small(t)
	v := b.Voice([]string{"Tidewater Kitchen", "Note", "R. Moor", "mark of honour", "12.5"})
	for _, test := range []struct {
		english, want string
		all           bool
	}{
		{"Largest error at a reading: −1.3 points, at the mark 40 %.", "Größte Abweichung bei einer Ablesung: −1,3 Punkte, bei der Marke 40 %.", true},
		{"Largest error at a reading: 1.3\u00a0points, at the mark 40\u00a0%.", "Größte Abweichung bei einer Ablesung: 1,3\u00a0Punkte, bei der Marke 40\u00a0%.", true},
		{"Key in 0 and 100.5", "0 und 100,5 eingeben", true},
		{"Key in 0 and 100.5. The tank is full.", "0 und 100,5 eingeben. Der Tank ist voll.", true},
		{"The tank is full", "Der Tank ist voll", true},
		{"by R. Moor on 3 November 2025", "von R. Moor am 3. November 2025", true},
		{"12.5 kg", "12,5 kg", true}, {"127.0.0.1", "127.0.0.1", true}, {"2025-11-03", "2025-11-03", true},
		{"±1.3 points", "±1,3 Punkte", true},
		{"Note", "Note", true}, {"Note: 1.5", "Note: 1,5", true},
		{"Struck out: mark", "Gestrichen: Marke", true},
		{"Struck out: mark of honour", "Gestrichen: mark of honour", true},
		{"Struck out: something else", "Struck out: something else", false},
		{"Good to ±1.3 points. See mark.", "Auf ±1,3 Punkte genau. Siehe Marke.", true},
		{"mark · ±0.5 points", "Marke · ±0,5 Punkte", true},
		{"mark of Tidewater Kitchen", "Marke von Tidewater Kitchen", true},
		{"not there", "not there", false},
		{"", "", true},
	} {
		if got, all := v.Say(test.english); got != test.want || all != test.all {
			t.Errorf("%q\n got %q %v\nwant %q %v", test.english, got, all, test.want, test.all)
		}
	}
	if got, _ := v.SayIn("verb", "mark"); got != "markieren" {
		t.Error(got)
	}
}

func TestPage(t *testing.T) {
	v := small(t).Voice([]string{"Tidewater Kitchen"})
	for _, test := range []struct{ page, want string }{
		{`<html lang="en" x=1><p class="a">Key in <b>0</b> and <b class=k>100.5</b></p>`, `<html lang="de" x=1><p class="a"><b>0</b> und <b class=k>100,5</b> eingeben</p>`},
		{`<p> Fill it to <a href="?a=1&amp;b=2">the mark</a>. </p>`, `<p> <a href="?a=1&amp;b=2">Bis zur Marke</a> füllen. </p>`},
		{`<b>Note:</b> The tank is full.`, `<b>Hinweis:</b> Der Tank ist voll.`},
		{`<p translate="no">mark <p translate="no">mark</p> mark</p>mark`, `<p translate="no">mark <p translate="no">mark</p> mark</p>Marke`},
		{`<script>mark</script><textarea>mark</textarea><pre>mark</pre><code>mark</code>`, `<script>mark</script><textarea>mark</textarea><pre>mark</pre><code>mark</code>`},
		{`<input type="submit" value="mark"><input value="mark" title="mark" placeholder='mark'>`, `<input type="submit" value="Marke"><input value="mark" title="Marke" placeholder='mark'>`},
		{`<svg><title>mark</title><text x="1.5">12.5</text><desc>mark</desc></svg>`, `<svg><title>Marke</title><text x="1.5">12,5</text><desc>Marke</desc></svg>`},
		{`<td>1.5</td><td>&lt;b&gt; &amp;</td>`, `<td>1,5</td><td>&lt;b&gt; &amp;</td>`},
		{`<a href="/"><img src="x" alt="mark"> mark</a>`, `<a href="/"><img src="x" alt="Marke"> Marke</a>`},
		{`<p>Struck out: <span>Tidewater Kitchen</span></p>`, `<p>Gestrichen: <span>Tidewater Kitchen</span></p>`},
		{`<p>mark of <bdi translate="no">the tank</bdi></p>`, `<p>Marke von <bdi translate="no">the tank</bdi></p>`},
	} {
		if got := string(v.Page([]byte(test.page))); got != test.want {
			t.Errorf("%s\n got %s\nwant %s", test.page, got, test.want)
		}
	}
}

// What is wrong with a catalogue is said with its place.
func TestRefused(t *testing.T) {
	for _, test := range []struct{ text, want string }{
		{"msgid \"a\"\nmsgstr \"b\"\n", "no file of the language has a header"},
		{head + "msgid \"a {1}\"\nmsgstr \"b\"\n", "test.po:3: the translation of \"a {1}\" has 0 of its 1 holes"},
		{head + "msgid \"a {1}\"\nmsgstr \"b {2}\"\n", "the translation has {2}"},
		{head + "msgid \"{1}{2}\"\nmsgstr \"{1}{2}\"\n", "nothing stands between two holes"},
		{head + "msgid \"<1>a</1>\"\nmsgstr \"a\"\n", "has the mark-up"},
		{head + "msgid \"<1>a</1>\"\nmsgstr \"</1>a<1>\"\n", "isn't closed in the order"},
		{head + "msgid \"a\"\nmsgstr \"b\"\nmsgid \"a\"\nmsgstr \"c\"\n", "expected one of the two"},
		{head + "msgid \"a\n", "isn't a text in double quotes"},
		{head + "msgid \"a\"\n", "has no msgstr"},
		{head + "msgstr \"a\"\n", "without a msgid"},
		{"\"a\"\n", "belongs to nothing"},
		{head + "hello\n", "expected a comment"},
		{"msgid \"\"\nmsgstr \"Language: ?\\n\"\n", "expected a code such as de"},
	} {
		if _, err := language.Parse("test.po", test.text); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%q: %v; expected %q", test.text, err, test.want)
		}
	}
}

// Names keep their points, lists are said piece by piece, and the point of a figure
// ends no sentence.
func TestSayNamesAndLists(t *testing.T) {
	b := book(t,
		"alarms, {1}", "Alarme, {1}",
		"by {1} and {2:number} points", "nach {1} und {2} Punkten",
		"{1:own}: struck: {2:list}", "{1}: gestrichen: {2}",
		"up", "aufwärts",
		"place {1:number}", "Platz {1}",
		"It points to {1}.{2}", "Es zeigt auf {1}.{2}",
		"It points to {1}.", "Es zeigt auf {1}.",
		"between readings", "zwischen Ablesungen",
	)
	v := b.Voice([]string{"Gas"})
	for english, want := range map[string]string{
		"JCGM 106, 8.3":  "JCGM 106, 8.3",
		"127.0.0.1:5025": "127.0.0.1:5025",
		"Gas: struck: 0.8 Ω, place 16, up, 2025-11-02T09:30:00Z": "Gas: gestrichen: 0,8 Ω, Platz 16, aufwärts, 2025-11-02T09:30:00Z",
		"It points to 19.9 Ω.":                                   "Es zeigt auf 19,9 Ω.",
		"between readings; 0.5 Ω":                                "zwischen Ablesungen; 0,5 Ω",
		"by 0.25 and 1.5 points":                                 "nach 0,25 und 1,5 Punkten",
	} {
		if got, _ := v.Say(english); got != want {
			t.Errorf("%q is said as %q; expected %q", english, got, want)
		}
	}
	if got, all := v.Say("Gas: struck: up, elsewhere"); all {
		t.Errorf("a list with a piece that isn't known is said to be whole: %q", got)
	}
	a, c := language.Figures("ISA-18.2, JCGM 106, 8.3, DIN 28011, 0.25 and 1.5", "en"), language.Figures("ISA-18.2, JCGM 106, 8.3, DIN 28011, 0,25 und 1,5", "de")
	if strings.Join(a, "|") != strings.Join(c, "|") {
		t.Errorf("%q and %q", a, c)
	}
}

// What stands in noscript is a part of the page for whoever has no scripts.
func TestPageWithoutScripts(t *testing.T) {
	v := small(t).Voice(nil)
	got := string(v.Page([]byte(`<body><noscript><p class="note">The tank is full</p></noscript><p>Note</p></body>`)))
	if want := `<body><noscript><p class="note">Der Tank ist voll</p></noscript><p>Hinweis</p></body>`; got != want {
		t.Errorf("%s; expected %s", got, want)
	}
}
