package web

import (
	"bytes"
	"crypto/ed25519"
	"io"
	"net/http"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/tag"
)

// signingKey is a key that every run of a test has.
func signingKey(t *testing.T, seed byte) ed25519.PrivateKey {
	t.Helper()
	return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{seed}, ed25519.SeedSize))
}

// signs gives a site the key.
func signs(t *testing.T, seed byte) func(*Options) {
	key := signingKey(t, seed)
	return func(o *Options) {
		o.SigningKey = func(bool) (ed25519.PrivateKey, error) { return key, nil }
	}
}

// signedFileOf gives a job as a file, signed with a key.
func signedFileOf(t *testing.T, j *job.Job, seed byte) string {
	t.Helper()
	if err := j.Sign(signingKey(t, seed), "R. Fitter", sunday); err != nil {
		t.Fatal(err)
	}
	return fileOf(t, j)
}

// codeOf gives the printed code of a tank.
func codeOf(t *testing.T, j *job.Job, tank string) string {
	t.Helper()
	c, err := tag.Encode(j, tank)
	if err != nil {
		t.Fatal(err)
	}
	return c.Text
}

// known gives the job that a printed code of the sample's first tank restores.
func known(t *testing.T, number string) *job.Job {
	t.Helper()
	j, err := tag.Decode(codeOf(t, sample(t), "Gas"))
	if err != nil {
		t.Fatal(err)
	}
	j.Number = number
	return j
}

// records adds the pages of the record, the history, signatures and printed codes.
func (g *gallery) records(typed *bench) {
	t := g.t
	signing := g.hangs(g.store, signs(t, 1))
	id := typed.start(sample(t))
	at := jobPath(id)
	typed.post(at+"/1/bench/undo", "tank", "Gas")
	typed.takes(id, "ohm", "70")
	g.add(typed, "records", "history-compared", at+"/history?from=1&to=3")
	g.add(typed, "records", "history-same", at+"/history?from=2&to=2")
	g.refused(typed, "records", "history-refused", 422, at+"/history?from=x&to=900")
	g.add(typed, "records", "past-1", at+"/at/1/card")
	g.add(typed, "records", "past-now", at+"/at/3/card")
	g.add(typed, "records", "past-paper", at+"/at/1/paper")
	g.refused(typed, "records", "past-none", 404, at+"/at/9/card")
	g.add(signing, "records", "record-signs", at+"/record")
	g.add(typed, "records", "record-card", at+"/record?as=card&paper=Letter")
	g.add(typed, "records", "record-card-paper", at+"/record/paper?as=card")

	g.add(typed, "", "fromcode", fromCodePath)
	g.answers(typed, "", "fromcode-refused", 422, fromCodePath, "code", codeOf(t, sample(t), "Gas")[:60])
	g.answers(typed, "", "fromcode-hostile", 422, fromCodePath, "code", breaksOut+strings.Repeat("W", 900))

	bare := g.hangs(newMemory())
	g.add(bare, "", "signing-none", signingPath)
	own := newMemory()
	withKey := g.hangs(own, signs(t, 1))
	withKey.post("/signing/trust", "name", "Harbour Workshop", "public", pemOf(signingKey(t, 2)))
	withKey.post("/signing/trust", "name", (breaksOut + strings.Repeat("Donaudampfschiff", 20))[:190], "public", publicOf(signingKey(t, 3)))
	g.add(withKey, "", "signing", signingPath)
	g.answers(withKey, "", "signing-refused", 422, "/signing/trust", "name", "", "public", breaksOut)
	forged := strings.Replace(signedFileOf(t, sample(t), 2), `"ohm": 0.8`, `"ohm": 0.9`, 1)
	g.answers(withKey, "", "exchange-forged", 422, importPath, "file", "a.job.json", "file", forged)
	g.answers(withKey, "", "exchange-signed", 200, importPath, "file", "a.job.json", "file", signedFileOf(t, sample(t), 2))
	sealed := sample(t)
	sealed.Number = "TK-2026-019"
	if err := sealed.Sign(signingKey(t, 1), "R. Fitter", sunday); err != nil {
		t.Fatal(err)
	}
	g.add(withKey, "sealed", "card-sealed", jobPath(withKey.start(sealed)))

	// A sender that is known from a printed code, without readings and with few.
	kid := typed.start(known(t, "TK-2026-020"))
	few := typed.start(known(t, "TK-2026-021"))
	typed.takes(few, "mark", "20", "ohm", "18.2")
	typed.takes(few, "mark", "70", "ohm", "64.6")
	for _, page := range []string{"", "/record", "/record/paper", "/1/bench", "/1/curve", "/1/set", "/1/prove", "/1/tank", "/1/contents"} {
		name := strings.ReplaceAll(page, "/", "-")
		g.add(typed, "known", "known"+name, jobPath(kid)+page)
		if !strings.Contains(page, "paper") { // which differs from that of the sample in its figures
			g.add(typed, "few", "known-few"+name, jobPath(few)+page)
		}
	}
	g.add(typed, "known", "known-set-both", jobPath(kid)+"/1/set?readout=ends-then-table&points=4")
}

// readAll gives the body of a request, which is gone from it then.
func readAll(t *testing.T, r *http.Request) string {
	t.Helper()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func newBody(r *http.Request, text string) {
	r.Body, r.ContentLength = io.NopCloser(strings.NewReader(text)), int64(len(text))
}
