package app

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

var backedUpAt = time.Date(2026, 11, 3, 14, 2, 0, 0, time.UTC)

// shop is a workshop and a watch on disk, both in use.
func shop(t *testing.T) (folder string, b Backup, readings *sqlite.Readings) {
	t.Helper()
	folder = t.TempDir()
	data := filepath.Join(folder, "workshop.db")
	store, err := sqlite.Open(t.Context(), data, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = store.Close() })
	for i := range 3 {
		j := &job.Job{Version: job.Version, Number: fmt.Sprint("TK-", i), Customer: "Tidewater Kitchen (invented)", Date: "2026-11-03",
			Tanks: []job.Tank{{Name: "Fresh", Contents: job.Water, Bench: job.Bench{Readings: []job.Reading{}}}}}
		if _, err := store.Start(t.Context(), fmt.Sprint(i), j, backedUpAt); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := keyFileOf(data).Key(true); err != nil {
		t.Fatal(err)
	}
	toml := filepath.Join(folder, "van.toml")
	if err := os.WriteFile(toml, []byte("data = \"kept/watch.db\"\n[tank.fresh]\njob = \"jobs/fresh.json\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(folder, "jobs"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "jobs", "fresh.json"), []byte("{}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if readings, err = sqlite.OpenReadings(t.Context(), filepath.Join(folder, "kept", "watch.db"), sqlite.Options{}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = readings.Close() })
	keepSome(t, readings, 0, 5000)
	return folder, Backup{Data: data, Watch: toml, Out: filepath.Join(folder, "out.zip"), Now: backedUpAt}, readings
}

func keepSome(t *testing.T, r *sqlite.Readings, from, to int) {
	t.Helper()
	var list []watch.Reading
	for i := from; i < to; i++ {
		list = append(list, watch.Reading{Tank: "fresh", Source: "mqtt", Time: backedUpAt.Add(time.Duration(i) * time.Second), Value: float64(i % 180)})
	}
	if err := r.Keep(list); err != nil {
		t.Fatal(err)
	}
	if err := r.Seal(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// A backup made while both files are in use has all that was kept before, and put in
// place elsewhere it can be used. Python reads it by its zipfile and hashlib, and
// SQLite's own program finds the data whole.
func TestBackupAndRestore(t *testing.T) {
	folder, b, readings := shop(t)
	out, m, err := b.Make(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	keepSome(t, readings, 5000, 5100) // not in it
	if info, err := os.Stat(out); err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("%v, %v", info, err)
	}
	var seen []string
	for _, f := range m.Files {
		seen = append(seen, fmt.Sprintf("%s=%s/%d", f.Name, f.Kind, f.Count))
	}
	if got := strings.Join(seen, " "); got != "workshop.db=jobs/3 van.toml=settings/0 kept/watch.db=readings/5000 jobs/fresh.json=job file/0" {
		t.Errorf("in it: %s", got)
	}
	if _, _, err := b.Make(t.Context()); err == nil || !strings.Contains(err.Error(), "is there already") {
		t.Errorf("over another: %v", err)
	}
	b.Key, b.Out = true, folder
	if out, m, err := b.Make(t.Context()); err != nil || len(m.Files) != 5 || filepath.Base(out) != "gaugewright-20261103-140200.zip" {
		t.Errorf("with its key, into a folder: %s, %+v, %v", out, m, err)
	}
	into := filepath.Join(t.TempDir(), "new", "box")
	o := Restore{File: out, Into: into, Now: backedUpAt}
	_, placed, err := o.Do(t.Context())
	if err != nil || len(placed) != 4 {
		t.Fatalf("%+v, %v", placed, err)
	}
	var got struct{ Names, Integrity []string }
	peer.Python(t, []string{"zipfile", "hashlib", "sqlite3"}, `
import hashlib, json, sqlite3, sys, zipfile
given = json.load(sys.stdin)
z = zipfile.ZipFile(given["Zip"])
assert z.testzip() is None
m = json.loads(z.read("manifest.json"))
for f in m["files"]:
    d = z.read(f["name"])
    assert len(d) == f["bytes"] and hashlib.sha256(d).hexdigest() == f["sha256"], f["name"]
print(json.dumps({"Names": z.namelist(), "Integrity": [sqlite3.connect(p).execute("PRAGMA integrity_check").fetchone()[0] for p in given["Data"]]}))
`, map[string]any{"Zip": out, "Data": []string{filepath.Join(into, "workshop.db"), filepath.Join(into, "kept", "watch.db")}}, &got)
	if len(got.Names) != 5 || fmt.Sprint(got.Integrity) != "[ok ok]" {
		t.Errorf("%+v", got)
	}
	again, err := sqlite.OpenReadings(t.Context(), filepath.Join(into, "kept", "watch.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	if n, err := again.Count(t.Context()); err != nil || n != 5000 {
		t.Errorf("%d readings, %v", n, err)
	}
	// Nothing is overwritten unless that is wished, and nothing at all that is in use.
	if _, _, err := o.Do(t.Context()); err == nil || !strings.Contains(err.Error(), "is there already, and nothing was changed") {
		t.Errorf("over it: %v", err)
	}
	o.Over = true
	if _, _, err := o.Do(t.Context()); !errors.Is(err, sqlite.ErrInUse) || !strings.Contains(err.Error(), "nothing was changed") {
		t.Errorf("over what is in use: %v", err)
	}
	keepSome(t, again, 9000, 9007)
	if err := again.Close(); err != nil {
		t.Fatal(err)
	}
	_, placed, err = o.Do(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range placed {
		if !strings.HasSuffix(p.Aside, ".before-20261103-140200") {
			t.Errorf("%+v", p)
		}
		if p.Kind == BackupReadings {
			aside, err := sqlite.Inspect(t.Context(), p.Aside)
			now, err2 := sqlite.Inspect(t.Context(), p.Path)
			if err != nil || err2 != nil || aside.Count != 5007 || now.Count != 5000 {
				t.Errorf("%+v, %v; %+v, %v", aside, err, now, err2)
			}
		}
	}
	// A damaged one is replaced, with all that belongs to it.
	path := filepath.Join(into, "kept", "watch.db")
	for _, end := range []string{"", "-wal"} {
		if err := os.WriteFile(path+end, bytes.Repeat([]byte("rubbish "), 1000), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	o.Now = o.Now.Add(time.Hour)
	if _, _, err := o.Do(t.Context()); err != nil {
		t.Fatal(err)
	}
	if a, err := sqlite.Inspect(t.Context(), path); err != nil || a.Count != 5000 {
		t.Errorf("%+v, %v", a, err)
	}
	for _, end := range []string{".before-20261103-150200", ".before-20261103-150200-wal"} {
		if text, err := os.ReadFile(path + end); err != nil || !bytes.HasPrefix(text, []byte("rubbish")) {
			t.Errorf("what was damaged isn't kept aside: %v", err)
		}
	}
	if left, err := filepath.Glob(filepath.Join(into, ".gaugewright*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %q, %v", left, err)
	}
	if sqlite3, err := exec.LookPath("sqlite3"); err == nil {
		if text, err := exec.Command(sqlite3, path, "PRAGMA integrity_check").CombinedOutput(); err != nil || strings.TrimSpace(string(text)) != "ok" {
			t.Errorf("%s, %v", text, err)
		}
	}
}

// repacked writes a backup anew with something changed in it.
func repacked(t *testing.T, from string, change func(name string, data []byte) (string, []byte)) string {
	t.Helper()
	z, err := zip.OpenReader(from)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	to := filepath.Join(t.TempDir(), "changed.zip")
	f, err := os.Create(to)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w := zip.NewWriter(f)
	for _, e := range z.File {
		r, err := e.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		name, data := change(e.Name, data)
		if name == "" {
			continue
		}
		out, err := w.Create(name)
		if err == nil {
			_, err = out.Write(data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return to
}

// What was cut off, changed, forged or written by a newer version is refused, and
// nothing of it is written.
func TestRestoreRefuses(t *testing.T) {
	_, b, _ := shop(t)
	whole, m, err := b.Make(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	list := func(change func(*Manifest)) func(string, []byte) (string, []byte) {
		return func(name string, data []byte) (string, []byte) {
			if name != manifestName {
				return name, data
			}
			c := m
			c.Files = append([]BackupFile(nil), m.Files...)
			change(&c)
			data, err := json.Marshal(c)
			if err != nil {
				t.Fatal(err)
			}
			return name, data
		}
	}
	raw := func(data []byte) string {
		path := filepath.Join(t.TempDir(), "raw.zip")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	flipped := bytes.Clone(text)
	flipped[len(flipped)/2] ^= 1
	other := "../out.db"
	for name, c := range map[string]struct{ path, say string }{
		"cut":               {raw(text[:len(text)*2/3]), "can't be read as a backup"},
		"no zip":            {raw([]byte("mark_pct,ohm\n")), "can't be read as a backup"},
		"a byte is another": {raw(flipped), "van.toml|watch.db|workshop.db|fresh.json"},
		"changed within": {repacked(t, whole, func(n string, d []byte) (string, []byte) {
			if n == "van.toml" {
				d = bytes.Replace(d, []byte("fresh"), []byte("grey1"), 1)
			}
			return n, d
		}), "van.toml: its SHA-256 is"},
		"longer": {repacked(t, whole, func(n string, d []byte) (string, []byte) {
			if n == "van.toml" {
				d = append(d, "# more"...)
			}
			return n, d
		}), "van.toml: it hasn't the"},
		"a file is missing": {repacked(t, whole, func(n string, d []byte) (string, []byte) {
			if n == "jobs/fresh.json" {
				n = ""
			}
			return n, d
		}), "there are 3 files, and its list has 4"},
		"no list":      {repacked(t, whole, func(n string, d []byte) (string, []byte) { return strings.TrimPrefix(n, manifestName), d }), "doesn't begin with a list"},
		"newer":        {repacked(t, whole, list(func(m *Manifest) { m.Form = 2 })), "written by a newer version"},
		"no backup":    {repacked(t, whole, list(func(m *Manifest) { m.Form = 0 })), "isn't that of a backup"},
		"outside":      {repacked(t, whole, list(func(m *Manifest) { m.Files[1].Name = other })), "outside of the folder"},
		"absolute":     {repacked(t, whole, list(func(m *Manifest) { m.Files[1].Name = "/etc/passwd" })), "outside of the folder"},
		"backslashes":  {repacked(t, whole, list(func(m *Manifest) { m.Files[1].Name = `..\out.db` })), "outside of the folder"},
		"a drive":      {repacked(t, whole, list(func(m *Manifest) { m.Files[1].Name = "C:out.db" })), "outside of the folder"},
		"twice":        {repacked(t, whole, list(func(m *Manifest) { m.Files[1].Name = "Workshop.db" })), "twice"},
		"another kind": {repacked(t, whole, list(func(m *Manifest) { m.Files[1].Kind = "program" })), "a kind \"program\""},
		"not as many":  {repacked(t, whole, list(func(m *Manifest) { m.Files[0].Count = 4 })), "it has 3 jobs; expected 4 jobs"},
		"another name": {repacked(t, whole, list(func(m *Manifest) { m.Files[1].Name = "boat.toml" })), `called "van.toml" where its list has "boat.toml"`},
	} {
		t.Run(name, func(t *testing.T) {
			into := filepath.Join(t.TempDir(), "into")
			_, _, err := Restore{File: c.path, Into: into, Now: backedUpAt}.Do(t.Context())
			if err == nil {
				t.Fatal("it was restored")
			}
			said := false
			for say := range strings.SplitSeq(c.say, "|") {
				said = said || strings.Contains(err.Error(), say)
			}
			if !said {
				t.Errorf("it says %v; expected %s", err, c.say)
			}
			if there, err := os.ReadDir(into); err != nil || len(there) != 0 {
				t.Errorf("it left %v, %v", there, err)
			}
		})
	}
	// A data file of a newer layout in a backup that is whole.
	newer := repacked(t, whole, func(n string, d []byte) (string, []byte) { return n, d })
	if _, _, err := (Restore{File: newer, Now: backedUpAt}).Do(t.Context()); err != nil {
		t.Errorf("looked through: %v", err)
	}
}

// What there is nothing of isn't backed up, and said.
func TestBackupRefuses(t *testing.T) {
	folder, b, _ := shop(t)
	for name, c := range map[string]struct {
		change func(*Backup)
		say    string
	}{
		"no jobs":       {func(b *Backup) { b.Data = filepath.Join(folder, "none.db") }, "there are no jobs to back up"},
		"no key":        {func(b *Backup) { b.Key, b.Data = true, filepath.Join(folder, "kept", "watch.db") }, "there is no key to back up"},
		"readings":      {func(b *Backup) { b.Data = filepath.Join(folder, "kept", "watch.db") }, "would both be called|it has readings; expected jobs"},
		"no such watch": {func(b *Backup) { b.Watch = filepath.Join(folder, "boat.toml") }, "can't be read"},
		"no folder":     {func(b *Backup) { b.Out = filepath.Join(folder, "none", "out.zip") }, "can't be written"},
		"a text":        {func(b *Backup) { b.Data = b.Watch }, "would both be called"},
	} {
		t.Run(name, func(t *testing.T) {
			try := b
			c.change(&try)
			_, _, err := try.Make(t.Context())
			said := false
			for say := range strings.SplitSeq(c.say, "|") {
				said = said || err != nil && strings.Contains(err.Error(), say)
			}
			if !said {
				t.Errorf("it says %v; expected %s", err, c.say)
			}
		})
	}
	if left, err := filepath.Glob(filepath.Join(folder, ".gaugewright*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %q, %v", left, err)
	}
}
