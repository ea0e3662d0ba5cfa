package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/tankfile"
)

// upload sends files as a browser does: name, content, name, content, …
func (b *bench) upload(files ...string) (int, string) {
	b.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i+1 < len(files); i += 2 {
		part, err := w.CreateFormFile("files", files[i])
		if err != nil {
			b.t.Fatal(err)
		}
		_, _ = io.WriteString(part, files[i+1])
	}
	w.Close()
	return b.answer(http.Post(b.url+importPath, w.FormDataContentType(), &body))
}

func (b *bench) count() int {
	b.t.Helper()
	_, all, err := b.store.Jobs(context.Background(), "", 1)
	if err != nil {
		b.t.Fatal(err)
	}
	return all
}

func fileOf(t *testing.T, j *job.Job) string {
	t.Helper()
	data, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// A job goes out and comes in again elsewhere, byte for byte.
func TestThereAndBack(t *testing.T) {
	here, there := open(t), open(t)
	id := here.start(sample(t))
	r, err := http.Get(here.url + jobPath(id) + "/file")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	sent, _ := io.ReadAll(r.Body)
	if string(sent) != fileOf(t, sample(t)) {
		t.Error("the file differs from what the job encodes as")
	}
	if got := r.Header.Get("Content-Type"); got != "application/json" {
		t.Errorf("type %q", got)
	}
	kind, params, err := mime.ParseMediaType(r.Header.Get("Content-Disposition"))
	if err != nil || kind != "attachment" || params["filename"] != "Tidewater-Kitchen-TK-2026-014.job.json" {
		t.Errorf("%q %q %v", kind, params, err)
	}

	status, text := there.upload("sample.job.json", string(sent))
	if status != 200 {
		t.Fatalf("status %d\n%s", status, text)
	}
	there.wants(text, "sample.job.json", "Kept.", "/jobs/j1", "Tidewater Kitchen, food trailer, twin axle, job TK-2026-014")
	if got := fileOf(t, there.job("j1")); got != string(sent) {
		t.Error("what was kept isn't what was sent")
	}
	_, text = there.upload("other name.json", string(sent))
	there.wants(text, "Here already: a job of this number with the same content.", "/jobs/j1")
	there.post("/jobs/j1/facts", "number", "changed", "key", "k")
	_, text = there.upload("again.json", string(sent))
	there.wants(text, "the job has been changed since", "/jobs/j1")
	if n := there.count(); n != 1 {
		t.Errorf("%d jobs; expected 1", n)
	}
	// Where it came from it is known without having been taken in.
	_, text = here.upload("sample.job.json", string(sent))
	here.wants(text, "Here already")
	if n := here.count(); n != 1 {
		t.Errorf("%d jobs; expected 1", n)
	}
}

// The same file sent by two devices at once is one job.
func TestTakenInAtOnce(t *testing.T) {
	b := open(t)
	file := fileOf(t, sample(t))
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() { b.upload("a.json", file) })
	}
	all.Wait()
	if n := b.count(); n != 1 {
		t.Errorf("%d jobs; expected 1", n)
	}
}

func TestSeveralFiles(t *testing.T) {
	b := open(t)
	status, text := b.upload(
		"good.json", `{"version":1,"number":"7","customer":"Hut","tanks":[]}`,
		"colour.json", "{\n  \"version\": 1,\n  \"number\": \"8\",\n  \"colour\": \"red\", \"tanks\": []\n}",
		"empty.json", "",
		"picture.jpg", "\xff\xd8\xff\x00",
		`C:\bench\<b>two.json`, `{"version":1,"number":"9","tanks":[]}`)
	if status != 200 {
		t.Errorf("status %d", status)
	}
	b.wants(text, "good.json", "colour.json", "Line 4, column 3: ", "The file is empty", "picture.jpg", "is not UTF-8", "<bdi>&lt;b&gt;two.json</bdi>", "To the list of jobs")
	if n := b.count(); n != 2 {
		t.Errorf("%d jobs; expected 2", n)
	}
	if status, text := b.upload("x.json", "{"); status != 422 || !strings.Contains(text, "Nothing of it was kept") {
		t.Errorf("nothing but a broken file: %d", status)
	}
	if status, text := b.upload(); status != 422 || !strings.Contains(text, "No file was chosen") {
		t.Errorf("no file: %d %s", status, text)
	}
	if status, _ := b.post(importPath, "files", "x"); status != 422 {
		t.Errorf("a form without files: %d", status)
	}
}

// A file far too large is refused without being held.
func TestTooLarge(t *testing.T) {
	t.Parallel()
	b := open(t)
	send := func(sizes ...int64) (int, string, uint64) {
		read, write := io.Pipe()
		w := multipart.NewWriter(write)
		go func() {
			for i, size := range sizes {
				part, err := w.CreateFormFile("files", fmt.Sprintf("large-%d.json", i))
				if err == nil {
					_, err = io.Copy(part, io.LimitReader(spaced{}, size))
				}
				if err != nil {
					write.CloseWithError(err)
					return
				}
			}
			w.Close()
			write.Close()
		}()
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		status, text := b.answer(http.Post(b.url+importPath, w.FormDataContentType(), read))
		runtime.ReadMemStats(&after)
		return status, text, after.Sys - before.Sys
	}
	status, text, held := send(50 << 20)
	if status != 422 || !strings.Contains(text, "More than 16 MiB; a job file is not so large, so this is another file.") {
		t.Errorf("a file of 50 MB: %d\n%s", status, text)
	}
	if held > 128<<20 {
		t.Errorf("a file of 50 MB took %d MB of memory", held>>20)
	}
	status, text, _ = send(10, 15<<20, 15<<20, 15<<20, 15<<20, 15<<20)
	if status != 422 || !strings.Contains(text, "this upload came to more than 64 MB") || !strings.Contains(text, "large-0.json") {
		t.Errorf("an upload of 75 MB: %d\n%s", status, text)
	}
	if b.count() != 0 {
		t.Error("something of it was kept")
	}
}

type spaced struct{}

func (spaced) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// hut is a job whose tank's shape stands in another file.
func hut(t *testing.T, shape string) string {
	t.Helper()
	return `{"version":1,"number":"2025-001","customer":"Hut","tanks":[{"name":"Rain","contents":"water","shape":` + shape + `,"sender":{},"bench":{"readings":[]}}]}`
}

func TestTablesComeAlong(t *testing.T) {
	table := "height_mm,volume_l\n0,0\n100,20\n200,41\n"
	for _, order := range [][]string{
		{"hut.json", hut(t, `{"shape":"strapping","csv":"tables/Rain.csv"}`), "rain.csv", table},
		{"rain.csv", table, "hut.json", hut(t, `{"shape":"strapping","csv":"tables/Rain.csv"}`)},
	} {
		b := open(t)
		status, text := b.upload(order...)
		if status != 200 {
			t.Fatalf("%d\n%s", status, text)
		}
		b.wants(text, "The table Rain.csv is now a part of the shape of tank \"Rain\".", "Taken into the shape that names it: 3 rows.")
		shape := b.job("j1").Tanks[0].Shape
		if shape.CSV != "" || len(shape.Table) != 3 || shape.Table[2] != (tankfile.Row{HeightMM: 200, VolumeL: 41}) {
			t.Errorf("the shape: %+v", shape)
		}
		// The same again is the same job.
		_, text = b.upload(order...)
		b.wants(text, "Here already")
	}

	b := open(t)
	_, text := b.upload("hut.json", hut(t, `{"shape":"strapping","csv":"rain.csv"}`), "other.csv", table, "rain.csv", "height_mm,volume_l\n0,lots\n")
	b.wants(text, "other.csv", "no job file of this upload names this table", "which can’t be used: Line 2: volume_l", "Not usable as a strapping table")
	_, text = b.upload("falls.json", strings.Replace(hut(t, `{"shape":"strapping","csv":"rain.csv"}`), "2025-001", "2", 1), "rain.csv", "height_mm,volume_l\n0,5\n9,1\n")
	b.wants(text, "this job can’t be kept", "volumes don't fall")
	if b.count() != 1 {
		t.Errorf("%d jobs", b.count())
	}
}

// A mesh can't be kept; the job is, and the name it has leads to no file of this
// machine's own.
func TestMeshesAreLeft(t *testing.T) {
	b := open(t)
	secret := t.TempDir() + "/secret.stl"
	if err := os.WriteFile(secret, []byte("solid"), 0o600); err != nil {
		t.Fatal(err)
	}
	name, _ := json.Marshal(secret)
	status, text := b.upload("hut.json", hut(t, `{"shape":"mesh","file":`+string(name)+`}`), "secret.STL", "solid x")
	if status != 200 {
		t.Fatalf("%d\n%s", status, text)
	}
	b.wants(text, "stands in the mesh secret.stl. It came along, but a mesh can’t be a part of a job.", "Not kept: a mesh can’t be a part of a job.")
	if got := b.job("j1").Tanks[0].Shape.MeshFile; got != "secret.stl" {
		t.Errorf("the job names %q", got)
	}
	status, text = b.get("/jobs/j1")
	if status != 200 || strings.Contains(text, secret) {
		t.Errorf("the card: %d\n%s", status, text)
	}
}

func TestFileNames(t *testing.T) {
	for _, c := range []struct{ customer, number, plain, own string }{
		{"Tidewater Kitchen", "2025-1", "Tidewater-Kitchen-2025-1", "Tidewater-Kitchen-2025-1"},
		{"Hütte", "7", "H-tte-7", "Hütte-7"},
		{"חנות", "7", "7", "חנות-7"},
		{"\u202egnp.exe", "7", "gnp.exe-7", "gnp.exe-7"},
		{`../..\"quote"`, "a/b", "quote-a-b", "quote-a-b"},
		{"🚐", "🚐", "job", "🚐-🚐"},
		{"a\r\nSet-Cookie: x=1", "1", "a-Set-Cookie-x-1-1", "a-Set-Cookie-x=1-1"},
		{strings.Repeat("ab", 200), "1", strings.Repeat("ab", 20) + "-1", strings.Repeat("ab", 20) + "-1"},
	} {
		head := attachment(&job.Job{Customer: c.customer, Number: c.number}, ".json")
		if strings.ContainsAny(head, "\r\n") {
			t.Errorf("%q holds a line break", head)
		}
		plain, own, _ := strings.Cut(head, "; filename*=")
		if plain != `attachment; filename="`+c.plain+`.json"` {
			t.Errorf("%q: %s; expected %q", c.customer, plain, c.plain)
		}
		// mime reads RFC 2231, of which RFC 8187 is a part.
		_, params, err := mime.ParseMediaType("attachment; filename*=" + own)
		if err != nil || params["filename"] != c.own+".json" {
			t.Errorf("%q: %q %v; expected %q", c.customer, params["filename"], err, c.own)
		}
	}
}
