package readings

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestStrike(t *testing.T) {
	tests := []struct{ name, before, reason, after string }{
		{"last row", freshHeader + "0,1,,,\n50,95,up,,x\n", "float stuck", freshHeader + "0,1,,,\n# struck: 50,95,up,,x (float stuck)\n"},
		{"no reason", freshHeader + "50,95,up,,x\n", "  ", freshHeader + "# struck: 50,95,up,,x\n"},
		{"reason of two lines", freshHeader + "50,95,up,,x\n", "a\nb\x00", freshHeader + `# struck: 50,95,up,,x (a\u000Ab)` + "\n"},
		{"comments below", freshHeader + "50,95,up,,x\n# y\n\n,,,,\n", "z", freshHeader + "# struck: 50,95,up,,x (z)\n# y\n\n,,,,\n"},
		{"CRLF and a byte order mark", "\uFEFFmark_pct,ohm\r\n0,1\r\n50,95\r\n", "z", "\uFEFFmark_pct,ohm\r\n0,1\r\n# struck: 50,95 (z)\r\n"},
		{"CR", "mark_pct,ohm\r0,1\r50,95\r", "z", "mark_pct,ohm\r0,1\r# struck: 50,95 (z)\r"},
		{"note of several lines", "mark_pct,ohm,note\n0,1,\n50,95,\"a\n# b\r\nc\rd\"\n# y\n", "z", "mark_pct,ohm,note\n0,1,\n# struck: 50,95,\"a\n# struck: # b\r\n# struck: c\r# struck: d\" (z)\n# y\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := put(t, tt.before)
			a, s := open(t, path)
			got, err := a.Strike(tt.reason)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(s.Readings[len(s.Readings)-1], got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
			if got := contentOf(t, path); got != tt.after {
				t.Errorf("\ngot  %q\nwant %q", got, tt.after)
			}
			add(t, a, at(0.5, 95, 0))
			back, err := ReadFile(path)
			if err != nil || len(back.Readings) != len(s.Readings) {
				t.Errorf("%d readings after one struck and one added, was %d; %v", len(back.Readings), len(s.Readings), err)
			}
			if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o640 {
				t.Errorf("mode became %v, %v", info.Mode(), err)
			}
			if files, _ := os.ReadDir(filepath.Dir(path)); len(files) != 1 {
				t.Errorf("left behind: %v", files)
			}
		})
	}
}

func TestStrikeAll(t *testing.T) {
	path := put(t, "")
	a, _ := open(t, path)
	add(t, a, at(0.1, 1, 0), at(0.2, 2, 0))
	for _, want := range []float64{0.2, 0.1} {
		if got, err := a.Strike(""); err != nil || got.Mark != want {
			t.Errorf("struck %v, %v, want %v", got.Mark, err, want)
		}
	}
	if _, err := a.Strike(""); err == nil || err.Error() != path+" has no reading to strike out" {
		t.Errorf("got %v", err)
	}
	add(t, a, at(0.3, 3, 0))
	if got, want := contentOf(t, path), freshHeader+"# struck: 10,1,,,\n# struck: 20,2,,,\n30,3,,,\n"; got != want {
		t.Errorf("got %q", got)
	}
}

func TestStrikeAfterACrashInAnEarlierOne(t *testing.T) {
	path := put(t, freshHeader+"50,95,,,\n")
	aside := filepath.Join(filepath.Dir(path), ".tank.csv.new")
	if err := os.WriteFile(aside, []byte("half a fi"), 0o600); err != nil {
		t.Fatal(err)
	}
	a, _ := open(t, path)
	if _, err := a.Strike("x"); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(aside); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("%s is still there: %v", aside, err)
	}
}

// Where no file can be made beside it, the old one stays and stays in use.
func TestStrikeThatFails(t *testing.T) {
	path := put(t, freshHeader+"50,95,,,\n")
	a, _ := open(t, path)
	// A directory that isn't empty is in the way, for root as well.
	if err := os.MkdirAll(filepath.Join(filepath.Dir(path), ".tank.csv.new", "x"), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Strike("x"); err == nil {
		t.Fatal("no error")
	}
	add(t, a, at(0.6, 100, 0))
	if got, want := contentOf(t, path), freshHeader+"50,95,,,\n60,100,,,\n"; got != want {
		t.Errorf("got %q", got)
	}
}

// faulty is a disk that fills up or breaks.
type faulty struct {
	handle
	room               int // bytes that still go on it
	noSync, noTruncate bool
}

func (f *faulty) Write(p []byte) (int, error) {
	n := min(f.room, len(p))
	f.room -= n
	if n, err := f.handle.Write(p[:n]); err != nil || n == len(p) {
		return n, err
	}
	return n, errors.New("no space left")
}

func (f *faulty) Sync() error {
	if f.noSync {
		return errors.New("disk broken")
	}
	return f.handle.Sync()
}

func (f *faulty) Truncate(size int64) error {
	if f.noTruncate {
		return errors.New("disk broken")
	}
	return f.handle.Truncate(size)
}

func TestAddOnAFullDisk(t *testing.T) {
	path := put(t, "")
	a, _ := open(t, path)
	add(t, a, at(0.5, 95, 0))
	whole := contentOf(t, path)
	good := a.file
	for room := range len("60,100,,,\n") {
		a.file = &faulty{handle: good, room: room}
		if err := a.Add(at(0.6, 100, 0)); err == nil || err.Error() != "reading not stored: no space left" {
			t.Errorf("room for %d: %v", room, err)
		}
		if got := contentOf(t, path); got != whole {
			t.Errorf("room for %d: left %q", room, got)
		}
	}
	a.file = good
	add(t, a, at(0.7, 120, 0)) // and with room again it goes on

	a.file = &faulty{handle: good, room: 3, noTruncate: true}
	if err := a.Add(at(0.6, 100, 0)); err == nil {
		t.Error("no error")
	}
	a.file = good
	if err := a.Add(at(0.8, 130, 0)); err == nil || !strings.Contains(err.Error(), "ends in part of a row") {
		t.Errorf("after half a row: %v", err)
	}
	a.Close()
	a, s := open(t, path)
	if got, want := contentOf(t, path), whole+"70,120,,,\n# cut off: 60,\n"; got != want || len(s.Readings) != 2 {
		t.Errorf("mended to %q", got)
	}

	a.file = &faulty{handle: a.file, room: 99, noSync: true}
	for range 2 {
		if err := a.Add(at(0.9, 140, 0)); err == nil || !strings.Contains(err.Error(), "may lack its last reading (disk broken); open it again and look") {
			t.Errorf("fsync fails: %v", err)
		}
	}
	if n := strings.Count(contentOf(t, path), "90,140"); n != 1 {
		t.Errorf("written %d times", n)
	}
}
