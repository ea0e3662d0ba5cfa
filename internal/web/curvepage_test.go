package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
)

func curvePath(t *testing.T, b *bench, n int) string {
	t.Helper()
	return fmt.Sprintf("/jobs/%s/%d/curve", b.start(sample(t)), n)
}

func TestCurvePage(t *testing.T) {
	b := open(t)
	path := curvePath(t, b, 1)
	status, page := b.get(path)
	text := plainText(page)
	if status != http.StatusOK {
		t.Fatalf("%d: %s", status, text)
	}
	look, note := strings.Index(text, "Look at this: Dead travel at the bottom"), strings.Index(text, "Note: Rising")
	if look < 0 || note < look {
		t.Error("what has to be looked at doesn't stand before what is only said")
	}
	// The terms say what the sentence of the findings says.
	for _, row := range []string{"Span 87.9 Ω ", "Independent linearity 2.6 % ", "Terminal-based linearity 5.0 % ", "Zero-based linearity 4.9 % ", "Hysteresis 0.8 Ω (0.9 %) ", "Repeatability 0.07 Ω (0.1 %) "} {
		if !strings.Contains(text, row) {
			t.Errorf("the terms lack %q", row)
		}
	}
	for _, says := range []string{"Spans as claimed", "What to read next", "How well a mark is known: the budget", "Gas can burn and explode"} {
		if !strings.Contains(text, says) {
			t.Errorf("the page lacks %q", says)
		}
	}
	if k, err := b.store.Job(t.Context(), "j1"); err != nil || !strings.HasSuffix(k.Place, "/1/curve") {
		t.Errorf("the job was left at %q, %v", k.Place, err)
	}
}

// Where nothing is claimed, the usual spans are told instead.
func TestCurvePageWithoutClaims(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Tanks[0].Sender.Claimed = nil
	_, page := b.get(fmt.Sprintf("/jobs/%s/1/curve", b.start(j)))
	if text := plainText(page); !strings.Contains(text, "Among the usual spans") || !strings.Contains(text, "in 100)") || strings.Contains(text, "Spans as claimed") {
		t.Errorf("%s", text)
	}
}

func TestCurvePageAsked(t *testing.T) {
	b := open(t)
	path := curvePath(t, b, 1)
	for query, c := range map[string]struct {
		status int
		says   string
	}{
		"value=36.2":           {200, "36.2 Ω → 39.7 %, with 95 % between 38.5 % and 40.9 %"},
		"value=36,2":           {200, "36.2 Ω → 39.7 %"},
		"value=+36.2+%CE%A9":   {200, "36.2 Ω → 39.7 %"},
		"mark=40":              {200, "40 % → 36.5 Ω ± 0.4 Ω"},
		"mark=40%25":           {200, "40 % → 36.5 Ω ± 0.4 Ω"},
		"value=200":            {200, "200.0 Ω → outside the readings: no answer"},
		"value=&mark=":         {200, "Ask the curve"},
		"value=x":              {422, `"x" isn’t a number; write it like 36.2.`},
		"value=-4":             {422, "-4 Ω can’t be asked for; expected 0 to 100000."},
		"value=1e999":          {422, `"1e999" isn’t a number`},
		"value=NaN":            {422, `"NaN" isn’t a number`},
		"mark=101":             {422, "101 % can’t be asked for; expected 0 to 100."},
		"mark=%3Cscript%3E":    {422, `"<script>" isn’t a number; write it like 40.`},
		"value=10&mark=nought": {422, `"nought" isn’t a number`},
	} {
		status, page := b.get(path + "?" + query)
		if text := plainText(page); status != c.status || !strings.Contains(text, c.says) {
			_, after, _ := strings.Cut(text, "Ask the curve")
			t.Errorf("%s: %d, expected %d and %q: %s", query, status, c.status, c.says, after)
		}
		if c.status == 422 && !strings.Contains(page, `aria-invalid="true"`) {
			t.Errorf("%s: no field is marked", query)
		}
	}
}

func TestCurvePageSaysWhatIsMissing(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Tanks[0].Bench.Readings = nil
	j.Tanks[0].Setting, j.Tanks[0].Checks = nil, nil
	id := b.start(j)
	status, page := b.get(fmt.Sprintf("/jobs/%s/1/curve", id))
	if text := plainText(page); status != 200 || !strings.Contains(text, "No readings; a curve needs at least two, at different marks.") || !strings.Contains(page, fmt.Sprintf(`href="/jobs/%s/1/bench"`, id)) {
		t.Errorf("%d: %s", status, text)
	}
	for _, path := range []string{"/jobs/nobody/1/curve", fmt.Sprintf("/jobs/%s/9/curve", id), fmt.Sprintf("/jobs/%s/x/set", id), "/jobs/nobody/1/set/try"} {
		if status, _ := b.get(path); status != http.StatusNotFound {
			t.Errorf("%s: %d, expected 404", path, status)
		}
	}
}
