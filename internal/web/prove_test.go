package web

import (
	"fmt"
	"html"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
	"gaugewright/internal/telling"
)

func TestProve(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/prove", id)
	before := len(b.job(id).Tanks[0].Checks)
	// On the fill scale of the gas tank 40 % of the dial is half of what may be in it.
	for _, look := range [][2]string{{"0", "0"}, {"40 %", "50,4 %"}, {"80", "100"}} {
		status, text := b.post(path, "key", look[0], "tank", "Gas", "mark", look[0], "shown", look[1], "tolerance", "2", "when", "as left", "by", "<i>Me</i>")
		if status != 200 || strings.Contains(text, "<i>Me") {
			t.Fatalf("%v: %d\n%s", look, status, text)
		}
	}
	gas := b.job(id).Tanks[0]
	if len(gas.Checks) != before+1 || len(gas.Checks[before].Readings) != 3 {
		t.Fatalf("checks: %+v", gas.Checks)
	}
	proofs, err := gas.Proofs()
	if err != nil {
		t.Fatal(err)
	}
	// What the page says is what the command line says.
	_, text := b.get(path)
	text = html.UnescapeString(text)
	last := proofs[len(proofs)-1].Proof
	g, lines := telling.Proof(gas.Unit(), last)
	for _, want := range append(append(lines, telling.Verdict(last)), g.Rows[1]...) {
		if !strings.Contains(text, ">"+want+"<") {
			t.Errorf("the page lacks %q", want)
		}
	}
	// Sent again by its key it is taken once.
	b.post(path, "key", "80", "tank", "Gas", "mark", "80", "shown", "100", "tolerance", "2", "when", "as left")
	if n := len(b.job(id).Tanks[0].Checks[before].Readings); n != 3 {
		t.Errorf("%d looks after one was sent twice", n)
	}
	ref := fmt.Sprintf("%d.1", before)
	if status, _ := b.post(path+"/strike", "tank", "Gas", "ref", ref, "was", "80%=100"); status != 409 {
		t.Errorf("taking out a look that has moved: %d; expected 409", status)
	}
	b.post(path+"/strike", "tank", "Gas", "ref", ref, "was", "40%=50.4")
	if n := len(b.job(id).Tanks[0].Checks[before].Readings); n != 2 {
		t.Errorf("%d looks after one was taken out", n)
	}
}

func TestProveRefuses(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/prove", id)
	before := b.job(id).Tanks[0].Checks
	for _, c := range []struct{ mark, shown, tolerance, when, want string }{
		{"40", "", "2", "as left", "expected percent"},
		{"40", "high", "2", "as left", "expected percent"},
		{"40", "101", "2", "as left", "expected percent"},
		{"40", "-1", "2", "as left", "expected percent"},
		{"40", "NaN", "2", "as left", "expected percent"},
		{"", "50", "2", "as left", "No mark was typed; type it like"},
		{"400", "50", "2", "as left", "mark"},
		{"40 mm", "50", "2", "as left", "The mark"},
		{"lots", "50", "2", "as left", "The mark"},
		{"40", "50", "0", "as left", "expected points"},
		{"40", "50", "2", "later", "before setting or after it"},
	} {
		status, text := b.post(path, "tank", "Gas", "mark", c.mark, "shown", c.shown, "tolerance", c.tolerance, "when", c.when)
		if status != 422 || !strings.Contains(text, c.want) || !strings.Contains(text, fmt.Sprintf(`name="shown" value="%s"`, c.shown)) {
			t.Errorf("%+v: %d; expected 422 with %q and what was typed", c, status, c.want)
		}
	}
	if status, _ := b.post(path, "tank", "Another", "mark", "40", "shown", "50", "tolerance", "2", "when", "as left"); status != 409 {
		t.Errorf("for a tank of another name: %d; expected 409", status)
	}
	if after := b.job(id).Tanks[0].Checks; len(after) != len(before) {
		t.Errorf("something was taken: %+v", after)
	}
}

func TestProveWithoutSetting(t *testing.T) {
	j := sample(t)
	j.Tanks[0].Setting, j.Tanks[0].Checks = nil, nil
	b := open(t)
	id := b.start(j)
	path := fmt.Sprintf("/jobs/%s/1/prove", id)
	if _, text := b.get(path); !strings.Contains(text, "What the display shows as found") {
		t.Errorf("without a setting the page offers no check as found:\n%s", text)
	}
	b.post(path, "tank", "Gas", "mark", "40", "shown", "50", "tolerance", "2", "when", "as found")
	if c := b.job(id).Tanks[0].Checks; len(c) != 1 || c[0].When != job.AsFound || c[0].Date != "2025-11-02" {
		t.Errorf("the check: %+v", c)
	}
	if status, text := b.post(path, "tank", "Gas", "mark", "40", "shown", "50", "tolerance", "2", "when", "as left"); status != 422 || !strings.Contains(text, "set it first") {
		t.Errorf("as left without a setting: %d", status)
	}
}

// The marks are walked with the keyboard alone, and the verdict comes at once.
func TestProveInBrowser(t *testing.T) {
	t.Parallel()
	j := sample(t)
	for i := range j.Tanks {
		j.Tanks[i].Checks = nil
	}
	b := open(t)
	id := b.start(j)
	ctx := browser.Open(t)
	address := fmt.Sprintf("%s/jobs/%s/1/prove", b.url, url.PathEscape(string(id)))
	browser.Go(t, ctx, address)
	for _, shown := range []string{"0", "25", "51", "74", "100"} {
		if _, err := chromedp.Run(ctx, chromedp.SendKeys("#shown", shown+kb.Enter)); err != nil {
			t.Fatal(err)
		}
		waitText(t, ctx, "#verdict", shown+".0")
	}
	if n := len(b.job(id).Tanks[0].Checks[0].Readings); n != 5 {
		t.Errorf("%d looks were taken; expected 5", n)
	}
	waitText(t, ctx, "#marks", "looked at")
}
