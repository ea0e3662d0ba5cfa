package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// changed starts the sample and changes it twice: revisions 1 to 3.
func changed(t *testing.T, b *bench) (job.ID, string) {
	t.Helper()
	id := b.start(sample(t))
	b.post(jobPath(id)+"/1/bench/undo", "tank", "Gas")
	b.takes(id, "ohm", "70")
	return id, jobPath(id)
}

// What the pages say of two states is what [job.Diff] says of them.
func TestHistoryCompares(t *testing.T) {
	b := open(t)
	id, at := changed(t, b)
	was, is := sample(t), b.job(id)
	want := job.Diff(was, is)
	if len(want) == 0 {
		t.Fatal("nothing differs")
	}
	for _, query := range []string{"from=1&to=3", "from=3&to=1"} {
		status, page := b.get(at + "/history?" + query)
		for _, d := range want {
			if status != 200 || !strings.Contains(plainText(page), d.Text) {
				t.Errorf("%s: %d, without %q", query, status, d.Text)
			}
		}
	}
	_, part := b.get(at + "/at/3/changes")
	if !strings.Contains(plainText(part), "1 reading more (17, was 16)") || strings.Contains(part, "<html") {
		t.Errorf("what change 3 did: %s", part)
	}
	if _, page := b.get(at + "/history?from=2&to=2"); !strings.Contains(page, "Nothing differs.") {
		t.Error("a state differs from itself")
	}
	for query, says := range map[string]string{"from=0&to=2": `Found "0" for the number of a change; expected a whole number, 1 to 3.`, "from=1&to=4": `Found "4"`, "from=1.5&to=2": `Found "1.5"`, "from=&to=2": `Found ""`, "from=1&to=%3Cb%3E": `Found "<b>"`} {
		if status, page := b.get(at + "/history?" + query); status != 422 || !strings.Contains(plainText(page), says) || !strings.Contains(page, `aria-invalid="true"`) {
			t.Errorf("%s: %d, without %q", query, status, says)
		}
	}
}

// A job as it was is read, taken along and printed as what it was, and says that it
// is past.
func TestPast(t *testing.T) {
	b := open(t)
	id, at := changed(t, b)
	status, page := b.get(at + "/at/1/card")
	if text := plainText(page); status != 200 || !strings.Contains(text, "This is the past. The job has been changed 2 times since") || !strings.Contains(text, "Bench: 17 readings") {
		t.Errorf("%d: %s", status, text)
	}
	if _, page := b.get(at + "/at/3/card"); !strings.Contains(page, "This is the job as it is now") || strings.Contains(page, "/at/3/back") {
		t.Error("the present state is told as past, or can be put back")
	}
	want, err := sample(t).Encode()
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.Get(b.url + at + "/at/1/file")
	if _, file := b.answer(answer, err); file != string(want) || !strings.Contains(answer.Header.Get("Content-Disposition"), "as-after-change-1.job.json") {
		t.Errorf("the file of revision 1 isn't the job that was started: %s", answer.Header.Get("Content-Disposition"))
	}
	if _, paper := b.get(at + "/at/1/paper"); !strings.Contains(paper, "as it was after change 1 of 3") || !strings.Contains(paper, "It has been changed since") {
		t.Error("the paper doesn't say that it is of the past")
	}
	if _, paper := b.get(at + "/at/3/paper"); strings.Contains(paper, "as it was after") {
		t.Error("the present paper says that it is of the past")
	}
	if _, pdf := b.get(at + "/at/1/pdf"); !strings.HasPrefix(pdf, "%PDF-") {
		t.Error("no PDF")
	}
	if words, _, _ := b.site.lastRecord(t.Context(), &job.Kept{ID: id, Job: b.job(id)}); words != "" {
		t.Errorf("a record of the past counts as handed over: %s", words)
	}
	for _, n := range []string{"0", "4", "-1", "x", "99999999999999999999"} {
		for _, part := range []string{"card", "file", "paper", "pdf", "changes"} {
			if status, _ := b.get(at + "/at/" + n + "/" + part); status != 404 {
				t.Errorf("%s of change %s: %d", part, n, status)
			}
		}
	}
}

// Putting back is a change like any other: what came between stays.
func TestPutBack(t *testing.T) {
	b := open(t)
	id, at := changed(t, b)
	want, _ := sample(t).Encode()
	was, _ := b.job(id).Encode()
	if status, page := b.post(at+"/at/1/back", "key", "back-1", "last", "2"); status != 409 {
		t.Errorf("put back over a change that wasn't seen: %d %s", status, plainText(page))
	}
	if status, _ := b.post(at+"/at/1/back", "key", "back-2"); status != 422 {
		t.Errorf("put back without what was seen: %d", status)
	}
	status, page := b.post(at+"/at/1/back", "key", "back-3", "last", "3")
	if got, _ := b.job(id).Encode(); status != 200 || !bytes.Equal(got, want) || !strings.Contains(page, "put back as it was after change 1") {
		t.Errorf("%d: the job isn't what it was", status)
	}
	// The same form again does nothing, and the way back is open.
	b.post(at+"/at/1/back", "key", "back-3", "last", "3")
	if n, _ := b.store.Revision(t.Context(), id); n != 4 {
		t.Errorf("%d revisions; expected 4", n)
	}
	b.post(at+"/at/3/back", "key", "back-4", "last", "4")
	if got, _ := b.job(id).Encode(); !bytes.Equal(got, was) {
		t.Error("what was put back can't be put back")
	}
	changes, _ := b.store.History(t.Context(), id, 10)
	if text := fmt.Sprint(changes); !strings.Contains(text, "taken:") || !strings.Contains(text, "undone:") {
		t.Errorf("something is gone from the history: %s", text)
	}
}

// On the disk the numbers of changes are the same as in memory.
func TestHistoryOnDisk(t *testing.T) {
	store := onDisk(t)
	b := open(t, func(o *Options) { o.Store = store })
	_, at := changed(t, b)
	_, page := b.get(at + "/history")
	for _, says := range []string{"/at/3/card", "/at/2/card", "/at/1/card", "3 09:30:00 taken: 40 %", "2 09:30:00 undone", "1 09:30:00 started"} {
		if !strings.Contains(page, says) && !strings.Contains(plainText(page), says) {
			t.Errorf("the history lacks %q: %s", says, plainText(page))
		}
	}
	if _, page := b.get(at + "/at/1/card"); !strings.Contains(plainText(page), "changed 2 times since") {
		t.Error(plainText(page))
	}
}
