package sqlite_test

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/store/storetest"
)

// integrity gives what SQLite finds wrong in the whole file.
func integrity(path string) (found string, err error) {
	db, err := sql.Open("sqlite", path)
	if err != nil {
		return "", err
	}
	defer db.Close()
	err = db.QueryRow("PRAGMA integrity_check").Scan(&found)
	return found, err
}

// TestPython has SQLite as Python brings it look at a file. It is the C library,
// where the driver here is a translation of it.
func TestPython(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "jobs.db")
	s := opened(t, path, sqlite.Options{})
	j := sitting(t)
	j.Customer = "Hütte „Ärmelbach“ <script>"
	id, err := s.Start(t.Context(), "k", j, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	for i := range 30 {
		if _, err := s.Change(t.Context(), id, job.Change{Key: fmt.Sprint(i), Do: func(j *job.Job) error {
			j.Tanks[0].Bench.Readings = append(j.Tanks[0].Bench.Readings, taken(i))
			return nil
		}}); err != nil {
			t.Fatal(err)
		}
	}
	k, err := s.Job(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	data, err := k.Job.Encode()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Integrity, Foreign, Mode, Text string
		Application, Layout            int64
		Customer                       string
		Readings                       []int // of the first tank, in each revision
		Search, Next                   string
	}
	peer.Python(t, []string{"sqlite3"}, `
import gzip, json, sqlite3, sys
given = json.load(sys.stdin)
db = sqlite3.connect(given["Path"])
one = lambda q, *a: db.execute(q, a).fetchone()[0]
text = one("SELECT text FROM document WHERE job = ?", given["ID"])
revisions = [json.loads(gzip.decompress(d)) for d, in db.execute("SELECT document FROM revision WHERE job = ? ORDER BY revision", (given["ID"],))]
print(json.dumps({
  "Integrity": one("PRAGMA integrity_check"),
  "Foreign": repr(db.execute("PRAGMA foreign_key_check").fetchall()),
  "Mode": one("PRAGMA journal_mode"),
  "Application": one("PRAGMA application_id"),
  "Layout": one("PRAGMA user_version"),
  "Text": text,
  "Customer": json.loads(text)["customer"],
  "Readings": [len(r["tanks"][0]["bench"]["readings"]) for r in revisions],
  "Search": one("SELECT search FROM job"),
  "Next": json.loads(one("SELECT tanks FROM job"))[0]["next"],
}))
`, map[string]any{"Path": path, "ID": id}, &got)
	if got.Integrity != "ok" || got.Foreign != "[]" || got.Mode != "wal" || got.Application != 0x47675772 || got.Layout < 2 {
		t.Errorf("%+v", got)
	}
	if got.Text != string(data) || got.Customer != j.Customer {
		t.Errorf("the document is\n%s\nwant\n%s", got.Text, data)
	}
	if len(got.Readings) != 31 || got.Readings[0] != 40 || got.Readings[30] != 70 {
		t.Errorf("readings by revision: %v; want 40 to 70", got.Readings)
	}
	if !strings.Contains(got.Search, "hütte „ärmelbach“ <script>") || got.Next != k.Job.Tanks[0].Next() {
		t.Errorf("search %q, next %q", got.Search, got.Next)
	}
}

func TestBackup(t *testing.T) {
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "jobs.db"), filepath.Join(dir, "it's a copy.db")
	s := opened(t, path, sqlite.Options{})
	id, err := s.Start(t.Context(), "k", storetest.Sample(t), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), copied); err != nil {
		t.Fatal(err)
	}
	if err := s.Leave(t.Context(), id, "later"); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(copied); err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("%v, %v", info, err)
	}
	sound(t, copied)
	b := opened(t, copied, sqlite.Options{})
	k, err := b.Job(t.Context(), id)
	if err != nil || k.Place != "" {
		t.Errorf("%+v, %v", k, err)
	}
	for _, there := range []string{copied, dir} {
		if err := s.Backup(t.Context(), there); err == nil || !strings.Contains(err.Error(), "is there already") {
			t.Errorf("over %s: %v", there, err)
		}
	}
	if err := s.Backup(t.Context(), filepath.Join(dir, "none", "copy.db")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("into no folder: %v", err)
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.Backup(ended, filepath.Join(dir, "c.db")); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// TestTwoStores opens one file twice.
func TestTwoStores(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs.db")
	one, two := opened(t, path, sqlite.Options{}), opened(t, path, sqlite.Options{})
	id, err := one.Start(t.Context(), "k", storetest.Sample(t), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if again, err := two.Start(t.Context(), "k", storetest.Sample(t), time.Now()); err != nil || again != id {
		t.Errorf("%q, %v; want %q", again, err, id)
	}
	stores := []*sqlite.Store{one, two}
	for n := range 6 {
		at := int64(n + 1)
		rename := func(j *job.Job) error { j.Customer = fmt.Sprint("customer ", n); return nil }
		if _, err := stores[n%2].Change(t.Context(), id, job.Change{Revision: at, Do: rename}); err != nil {
			t.Fatal(err)
		}
		k, err := stores[1-n%2].Job(t.Context(), id)
		if err != nil || k.Revision != at+1 || k.Job.Customer != fmt.Sprint("customer ", n) {
			t.Fatalf("the other sees %+v, %v", k, err)
		}
		if _, err := stores[1-n%2].Change(t.Context(), id, job.Change{Revision: at, Do: rename}); !errors.Is(err, job.ErrMoved) {
			t.Errorf("the other's change: %v; want ErrMoved", err)
		}
	}
	// While one is busy, the other can be read, and waits no longer than it is
	// told to.
	_, err = one.Change(t.Context(), id, job.Change{Do: func(*job.Job) error {
		if k, err := two.Job(t.Context(), id); err != nil || k.Revision != 7 {
			t.Errorf("read in the midst of a change: %+v, %v", k, err)
		}
		for _, s := range stores {
			short, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
			if err := s.SetNote(short, "n", "v"); !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("written in the midst of a change: %v", err)
			}
			cancel()
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	if err := two.SetNote(t.Context(), "n", "v"); err != nil {
		t.Error(err)
	}
}

// TestHistoryStays has the file itself refuse to lose history.
func TestHistoryStays(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs.db")
	filled(t, path, 1)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range []string{"DELETE FROM revision", "UPDATE revision SET words = 'x'"} {
		if _, err := db.Exec(q); err == nil || !strings.Contains(err.Error(), "only ever added to") {
			t.Errorf("%s: %v", q, err)
		}
	}
}

// TestClockGoesBack keeps the list in the order of what was done.
func TestClockGoesBack(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "jobs.db"), sqlite.Options{})
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 3 {
		j := storetest.Sample(t)
		j.Number = fmt.Sprint(i)
		if _, err := s.Start(t.Context(), "", j, at.AddDate(0, 0, -i)); err != nil {
			t.Fatal(err)
		}
	}
	cards, _, err := s.Jobs(t.Context(), "", 10)
	if err != nil || len(cards) != 3 || cards[0].Number != "2" || cards[2].Number != "0" {
		t.Errorf("%+v, %v", cards, err)
	}
}

func TestSummarise(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "jobs.db"), sqlite.Options{Summarise: func(j *job.Job) []job.CardTank {
		return []job.CardTank{{Name: j.Number, Next: "mine", Done: true}}
	}})
	j := storetest.Sample(t)
	if _, err := s.Start(t.Context(), "", j, time.Now()); err != nil {
		t.Fatal(err)
	}
	cards, _, err := s.Jobs(t.Context(), "", 1)
	if want := (job.CardTank{Name: j.Number, Next: "mine", Done: true}); err != nil || len(cards[0].Tanks) != 1 || cards[0].Tanks[0] != want {
		text, _ := json.Marshal(cards)
		t.Errorf("%s, %v", text, err)
	}
	if _, _, err := s.Jobs(t.Context(), strings.Repeat("many different ", 1)+numbers(200), 1); err == nil || !strings.Contains(err.Error(), "at most 100") {
		t.Errorf("too many words: %v", err)
	}
	if _, all, err := s.Jobs(t.Context(), numbers(100), 1); err != nil || all != 0 {
		t.Errorf("100 words: %d, %v", all, err)
	}
}

func numbers(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, " w%d", i)
	}
	return b.String()
}

// TestSQLite3 has the sqlite3 program open a file of readings while it is kept, and a
// backup that was made meanwhile.
func TestSQLite3(t *testing.T) {
	t.Parallel()
	program := peer.Tool(t, "sqlite3", "sqlite3")
	path := filepath.Join(t.TempDir(), "watch.db")
	s := openedReadings(t, path)
	list := measured(30_000)
	kept := make(chan error, 1)
	begun := make(chan struct{})
	go func() {
		for i := 0; i < len(list); i += 100 {
			if i == 25_000 {
				close(begun)
			}
			if err := s.Keep(list[i : i+100]); err != nil {
				kept <- err
				return
			}
			if i%10_000 == 0 {
				if err := s.Seal(t.Context()); err != nil {
					kept <- err
					return
				}
			}
		}
		kept <- nil
	}()
	<-begun
	copied := filepath.Join(t.TempDir(), "copy.db")
	if err := s.Backup(t.Context(), copied); err != nil {
		t.Error(err)
	}
	if err := <-kept; err != nil {
		t.Fatal(err)
	}
	ask := func(path, query string) string {
		t.Helper()
		out, err := exec.CommandContext(t.Context(), program, "-batch", path, query).CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		return strings.TrimSpace(string(out))
	}
	for _, p := range []string{path, copied} {
		if got := ask(p, "PRAGMA integrity_check; PRAGMA foreign_key_check; PRAGMA page_size; SELECT count(*) FROM line"); got != "ok\n1024\n3" {
			t.Errorf("%s: %q", p, got)
		}
		if got := ask(p, "SELECT sum(readings) = (SELECT sum(readings) FROM chunk WHERE earliest <= latest AND length(body) > 0) AND count(*) > 0 FROM chunk"); got != "1" {
			t.Errorf("%s: %q", p, got)
		}
	}
	b := openedReadings(t, copied)
	if err := b.Sound(t.Context()); err != nil {
		t.Error(err)
	}
	if n, err := b.Count(t.Context()); err != nil || n < 25_000 || n > 30_000 || n%100 != 0 {
		t.Errorf("the backup has %d readings, %v", n, err)
	}
}
