package web

import (
	"net/http"
	"strings"
	"testing"

	"gaugewright/internal/tag"
)

// A job starts from the text of a printed code, once, with what was keyed in.
func TestStartFromCode(t *testing.T) {
	b := open(t)
	code := codeOf(t, sample(t), "Gas")
	// As a mail program or a finger may have changed it.
	status, page := b.post(fromCodePath, "code", "\n "+strings.ToLower(code[:80])+"\r\n"+code[80:]+"\n")
	if status != http.StatusOK || !strings.Contains(plainText(page), "Bench: no readings; the sender is known from printed code of job TK-2026-014") || !strings.Contains(plainText(page), "key in 0 and 75") {
		t.Fatalf("%d: %s", status, plainText(page))
	}
	want, err := tag.Decode(code)
	if err != nil {
		t.Fatal(err)
	}
	got := b.job("j1")
	if !got.SameContent(want) {
		t.Error("the job isn't the one in the code")
	}
	b.post(fromCodePath, "code", code)
	if _, all, _ := b.store.Jobs(t.Context(), "", 1); all != 1 {
		t.Errorf("the same code twice made %d jobs", all)
	}
}

// What is wrong with a code is told, and what was pasted is still there.
func TestStartFromCodeRefuses(t *testing.T) {
	b := open(t)
	code := codeOf(t, sample(t), "Gas")
	for text, says := range map[string]string{
		"":                          "There is no text",
		"<script>alert(1)</script>": "is not a printed code of this program",
		code[:100]:                  "damaged or cut short",
		"GW9:" + code[4:]:           "of version 9",
	} {
		status, page := b.post(fromCodePath, "code", text)
		if status != 422 || !strings.Contains(page, says) || strings.Contains(page, "<script>alert") || !strings.Contains(plainText(page), plainText(text)) || !strings.Contains(page, `aria-invalid="true"`) {
			t.Errorf("%.20q: %d, without %q: %s", text, status, says, plainText(page))
		}
	}
	if _, all, _ := b.store.Jobs(t.Context(), "", 1); all != 0 {
		t.Errorf("%d jobs were started", all)
	}
}

// The record page has the code of each tank as text, and it starts the same job.
func TestRecordHasCodes(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	_, page := b.get(jobPath(id) + "/record")
	for _, tank := range sample(t).Tanks {
		if !strings.Contains(page, strings.ReplaceAll(codeOf(t, sample(t), tank.Name), "+", "&#43;")) && !strings.Contains(page, codeOf(t, sample(t), tank.Name)) {
			t.Errorf("the page lacks the code of %s", tank.Name)
		}
	}
	answer, err := http.Get(b.url + jobPath(id) + "/record/pdf?as=card&paper=Letter")
	if _, text := b.answer(answer, err); !strings.HasPrefix(text, "%PDF-") || !strings.Contains(answer.Header.Get("Content-Disposition"), ".card.pdf") {
		t.Error("no PDF of the cards")
	}
	if _, page := b.get(jobPath(id) + "/record"); !strings.Contains(page, "Not handed over yet.") {
		t.Error("a card counts as the record")
	}
}
