package web

import (
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
)

// sends uploads files, ticked to be taken in all the same or not, and gives the
// status and the page.
func (b *bench) sends(anyway bool, files ...string) (int, string) {
	b.t.Helper()
	r, err := http.NewRequest("POST", b.url+importPath, nil)
	if err != nil {
		b.t.Fatal(err)
	}
	asUpload(b.t, r, files)
	if anyway {
		text := readAll(b.t, r)
		mark := strings.SplitN(text, "\r\n", 2)[0]
		newBody(r, mark+"\r\nContent-Disposition: form-data; name=\"anyway\"\r\n\r\nyes\r\n"+text)
	}
	return b.answer(http.DefaultClient.Do(r))
}

// A file that was signed here says elsewhere whose it is, once its key is trusted.
func TestSignedThereAndBack(t *testing.T) {
	ours := open(t, signs(t, 1))
	id, at := changed(t, ours)
	answer, err := http.Get(ours.url + at + "/signed")
	status, file := ours.answer(answer, err)
	if status != 200 || !strings.Contains(answer.Header.Get("Content-Disposition"), ".signed.job.json") {
		t.Fatalf("%d, %s", status, answer.Header.Get("Content-Disposition"))
	}
	// Read anew from the answer, as the harness changes white space.
	answer, err = http.Get(ours.url + at + "/signed")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	j, err := job.Read(answer.Body, "signed")
	if err != nil || j.Seal != job.Sound || j.Signature.By != "R. Fitter" || len(j.History) == 0 {
		t.Fatalf("%v, %+v", err, j)
	}
	if ours.job(id).Signature != nil {
		t.Error("taking a signed file along changed the job")
	}
	theirs := open(t, signs(t, 2))
	status, page := theirs.sends(false, "a.job.json", file)
	if text := plainText(page); status != 200 || !strings.Contains(text, "Its signature holds: the file is as it was signed. Whose the key is isn’t known here") {
		t.Errorf("%d: %s", status, text)
	}
	_, keys := ours.get(signingPath)
	mark := job.KeyMark(j.Signature.Key)
	if !strings.Contains(keys, mark) {
		t.Errorf("the page of keys lacks %s", mark)
	}
	if status, page := theirs.post("/signing/trust", "name", "Tidewater <b>", "public", pemOf(signingKey(t, 1))); status != 200 || !strings.Contains(page, "Tidewater &lt;b&gt;") || !strings.Contains(page, mark) {
		t.Errorf("trusted: %d %s", status, plainText(page))
	}
	if _, page := theirs.get("/jobs/j1"); !strings.Contains(plainText(page), "is by the key of Tidewater <b>, which is trusted here.") {
		t.Errorf("the card says %s", plainText(page))
	}
	if status, page := theirs.post("/signing/trust", "name", "again", "public", j.Signature.Key); status != 422 || !strings.Contains(plainText(page), "there already, as that of Tidewater <b>") {
		t.Errorf("twice: %d", status)
	}
	theirs.post("/signing/remove", "public", j.Signature.Key)
	if _, page := theirs.get(signingPath); strings.Contains(page, "Tidewater") {
		t.Error("it is still trusted")
	}
}

// A forged file stays out unless it is wanted all the same, and then goes on saying
// that its signature doesn't hold.
func TestForged(t *testing.T) {
	b := open(t)
	forged := strings.Replace(signedFileOf(t, sample(t), 2), `"ohm": 0.8`, `"ohm": 0.9`, 1)
	status, page := b.sends(false, "a.job.json", forged)
	if text := plainText(page); status != 422 || !strings.Contains(text, "Its signature doesn’t hold: the file was changed after it was signed, or the signature is forged. Not taken in") || !strings.Contains(text, "take it in all the same") {
		t.Errorf("%d: %s", status, text)
	}
	if _, all, _ := b.store.Jobs(t.Context(), "", 1); all != 0 {
		t.Fatal("it was taken in")
	}
	if status, page := b.sends(true, "a.job.json", forged); status != 200 || !strings.Contains(page, "Kept.") {
		t.Errorf("ticked: %d %s", status, plainText(page))
	}
	for _, path := range []string{"/jobs/j1", "/jobs/j1/record"} {
		if _, page := b.get(path); !strings.Contains(page, "Its signature doesn’t hold") {
			t.Errorf("%s doesn't say so", path)
		}
	}
}

// What is no key is refused with what was typed still there.
func TestTrustRefuses(t *testing.T) {
	b := open(t, signs(t, 1))
	rsa := string(pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: []byte{1}}))
	for _, c := range []struct{ name, key, says string }{
		{"", pemOf(signingKey(t, 2)), "Write whose key it is"},
		{"X", "", "No public key in it"},
		{"X", "AAAA", "No public key in it"},
		{"X", rsa, "The public key can't be read"},
		{strings.Repeat("x", 201), pemOf(signingKey(t, 2)), "up to 200 characters"},
	} {
		status, page := b.post("/signing/trust", "name", c.name, "public", c.key)
		if status != 422 || !strings.Contains(plainText(page), c.says) || !strings.Contains(page, strings.SplitN(c.key, "\n", 2)[0]) {
			t.Errorf("%q: %d, without %q", c.name, status, c.says)
		}
	}
	if status, _ := open(t).post("/signing/make"); status != 404 {
		t.Errorf("a key was made where none is kept: %d", status)
	}
}

// The public key as the page gives it is read by OpenSSL (RFC 8410).
func TestPublicKeyIsRead(t *testing.T) {
	openssl := peer.Tool(t, "openssl", "openssl")
	path := filepath.Join(t.TempDir(), "key.pem")
	key := signingKey(t, 1)
	if err := os.WriteFile(path, []byte(pemOf(key)), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(openssl, "pkey", "-pubin", "-in", path, "-outform", "DER").Output()
	if err != nil {
		t.Fatal(err)
	}
	got, err := x509.ParsePKIXPublicKey(out)
	if public, ok := got.(ed25519.PublicKey); err != nil || !ok || !public.Equal(key.Public()) {
		t.Errorf("it reads another key: %v", err)
	}
}
