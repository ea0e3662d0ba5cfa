package readings

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"gaugewright/internal/curve"
)

const freshHeader = "mark_pct,ohm,sweep,time,note\n"

// put makes a file with this content and gives its path.
func put(t *testing.T, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "tank.csv")
	if err := os.WriteFile(path, []byte(content), 0o640); err != nil {
		t.Fatal(err)
	}
	return path
}

func contentOf(t *testing.T, path string) string {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// open opens an Appender for dial marks and closes it when the test ends.
func open(t *testing.T, path string) (*Appender, curve.Sheet) {
	t.Helper()
	a, s, err := OpenAppender(path, curve.Dial)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { a.Close() })
	return a, s
}

func add(t *testing.T, a *Appender, readings ...curve.Reading) {
	t.Helper()
	for _, r := range readings {
		if err := a.Add(r); err != nil {
			t.Fatal(err)
		}
	}
}

func TestAppenderFromTheStart(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tank.csv")
	a, s := open(t, path)
	if s.Unit != curve.Dial || len(s.Readings) > 0 || a.Mended() != "" {
		t.Errorf("a new file holds %+v, mended %q", s, a.Mended())
	}
	if got := contentOf(t, path); got != freshHeader {
		t.Errorf("new file: %q", got)
	}
	readings := []curve.Reading{
		{Mark: 0, Ohm: 3.5, Sweep: curve.Up, Time: moment("2026-11-03T09:30:00+01:00"), Note: `5" hose, loose`},
		{Mark: 0.07, Ohm: 15},
		{Mark: 0.5, Ohm: 95, Note: "#2"},
	}
	const two = freshHeader + "0,3.5,up,2026-11-03T09:30:00+01:00,\"5\"\" hose, loose\"\n7,15,,,\n"
	add(t, a, readings[:2]...)
	if got := contentOf(t, path); got != two {
		t.Errorf("after two: %q", got)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	a, s = open(t, path)
	if diff := cmp.Diff(readings[:2], s.Readings, withoutLine); diff != "" {
		t.Errorf("read back (-want +got)\n%s", diff)
	}
	add(t, a, readings[2])
	if got, want := contentOf(t, path), two+"50,95,,,\"#2\"\n"; got != want {
		t.Errorf("after three: %q", got)
	}
	back, err := ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(readings, back.Readings, withoutLine); diff != "" {
		t.Errorf("ReadFile (-want +got)\n%s", diff)
	}
}

func TestAppenderCarriesOn(t *testing.T) {
	tests := []struct{ name, before, after string }{
		{"fewer columns", "mark_pct,ohm\n0,1\n", "mark_pct,ohm\n0,1\n50,95\n"},
		{"another order", "# x\nOHM, note ,Mark_pct\n1,a,0\n", "# x\nOHM, note ,Mark_pct\n1,a,0\n95,,50\n"},
		{"a note first", "note,mark_pct,ohm\n", "note,mark_pct,ohm\n,50,95\n"},
		{"a column without a name", "mark_pct,ohm,\n0,1,\n", "mark_pct,ohm,\n0,1,\n50,95,\n"},
		{"CRLF", "mark_pct,ohm\r\n0,1\r\n", "mark_pct,ohm\r\n0,1\r\n50,95\r\n"},
		{"CR", "mark_pct,ohm\r0,1\r", "mark_pct,ohm\r0,1\r50,95\r"},
		{"byte order mark", "\uFEFFmark_pct,ohm\n", "\uFEFFmark_pct,ohm\n50,95\n"},
		{"comment at the end", "mark_pct,ohm\n# x\n", "mark_pct,ohm\n# x\n50,95\n"},
		{"empty", "", freshHeader + "50,95,,,\n"},
		{"header cut off", "mark_p", freshHeader + "50,95,,,\n"},
		{"header without its line end", "mark_pct,ohm,sweep,time,note", freshHeader + "50,95,,,\n"},
		{"header between CR and LF", "mark_pct,ohm\r", "mark_pct,ohm\r50,95\r"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := put(t, tt.before)
			a, _ := open(t, path)
			add(t, a, at(0.5, 95, 0))
			if got := contentOf(t, path); got != tt.after {
				t.Errorf("\ngot  %q\nwant %q", got, tt.after)
			}
			if _, err := ReadFile(path); err != nil {
				t.Errorf("can't be read any more: %v", err)
			}
		})
	}
}

func TestAppenderMends(t *testing.T) {
	const head = freshHeader + "0,1,,,\n"
	const gotOne = "the last line had no line end and got one; see that it is whole: "
	const cutOff = "the last line was cut off and is now a comment: "
	tests := []struct{ name, before, after, mended string }{
		{"whole row", head + "50,95,up,,", head + "50,95,up,,\n", gotOne + "50,95,up,,"},
		{"whole row, CRLF", "mark_pct,ohm\r\n50,95", "mark_pct,ohm\r\n50,95\r\n", gotOne + "50,95"},
		{"comment", head + "# x", head + "# x\n", gotOne + "# x"},
		{"too few fields", head + "50,9", head + "# cut off: 50,9\n", cutOff + "# cut off: 50,9"},
		{"one sign", head + "5", head + "# cut off: 5\n", cutOff + "# cut off: 5"},
		{"half a time", head + "50,95,up,2026-11", head + "# cut off: 50,95,up,2026-11\n", cutOff + "# cut off: 50,95,up,2026-11"},
		{"open quote", head + `50,95,,,"5"" ho`, head + `# cut off: 50,95,,,"5"" ho` + "\n", cutOff + `# cut off: 50,95,,,"5"" ho`},
		{"half a character", head + "50,95,,,caf\xc3", head + `# cut off: 50,95,,,caf\xC3` + "\n", cutOff + `# cut off: 50,95,,,caf\xC3`},
		{"zeros of a power cut", head + "50,95,,,a\x00\x00\x00", head + "# cut off: 50,95,,,a\n", cutOff + "# cut off: 50,95,,,a"},
		{"nothing but zeros", head + "\x00\x00", head + "# cut off: \n", cutOff + "# cut off: "},
		{"a zero inside", head + "50,\x0095,,,", head + `# cut off: 50,\u000095,,,` + "\n", cutOff + `# cut off: 50,\u000095,,,`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := put(t, tt.before)
			a, s := open(t, path)
			if got := contentOf(t, path); got != tt.after {
				t.Errorf("\ngot  %q\nwant %q", got, tt.after)
			}
			if want := path + ": " + tt.mended; a.Mended() != want {
				t.Errorf("mended %q, want %q", a.Mended(), want)
			}
			// What is held to be in the file is what is in it.
			add(t, a, at(0.5, 95, 0))
			back, err := ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			want := append(s.Readings, at(0.5, 95, 0))
			if diff := cmp.Diff(want, back.Readings, withoutLine, cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

// Cut at every byte, a file must open, keep what is above the cut, and lose no
// sign of the line that was cut.
func TestAppenderMendsEveryCut(t *testing.T) {
	whole := freshHeader + "0,1.5,up,2026-11-03T09:30:00Z,\"é, \"\"€\"\"\"\n# x\n50,95.25,,,naïve\n100,188,,,\n"
	for cut := 0; cut <= len(whole); cut++ {
		before := whole[:cut]
		path := put(t, before)
		a, s, err := OpenAppender(path, curve.Dial)
		if err != nil {
			t.Fatalf("cut at %d: %v", cut, err)
		}
		sound := before[:strings.LastIndex(before, "\n")+1]
		tail := before[len(sound):]
		after := contentOf(t, path)
		if !strings.HasPrefix(after, sound) || !strings.HasSuffix(after, "\n") {
			t.Errorf("cut at %d: %q became %q", cut, before, after)
		}
		if rest := after[len(sound):]; sound != "" && !strings.Contains(rest, printable([]byte(tail))) {
			t.Errorf("cut at %d: %q is not in %q", cut, tail, rest)
		}
		if have := strings.Count(sound, "\n") - 1 - strings.Count(sound, "# x\n"); len(s.Readings) < have {
			t.Errorf("cut at %d: %d readings of %d", cut, len(s.Readings), have)
		}
		add(t, a, at(0.5, 95, 0))
		if err := a.Close(); err != nil {
			t.Error(err)
		}
		if back, err := ReadFile(path); err != nil || len(back.Readings) != len(s.Readings)+1 {
			t.Errorf("cut at %d: %d readings, then %d, %v", cut, len(s.Readings), len(back.Readings), err)
		}
	}
}

func TestAppenderRefusesFiles(t *testing.T) {
	tests := []struct{ name, before, want string }{
		{"other marks", "mark_mm,ohm\n1,2\n", ": the marks are in mark_mm, expected mark_pct; begin a new file for them"},
		{"semicolons", "mark_pct;ohm\n1;2", ": the columns are separated by semicolons, so nothing can be added to it; save it again with commas"},
		{"tabs", "mark_pct\tohm\n1\t2\n", ": the columns are separated by tabs, so nothing can be added to it; save it again with commas"},
		{"Windows-1252", "mark_pct,ohm,note\n1,2,\xe9\n", ": not UTF-8, so nothing can be added to it; save it again as CSV in UTF-8"},
		{"UTF-16", "\xff\xfem\x00a\x00r\x00k\x00_\x00p\x00c\x00t\x00,\x00o\x00h\x00m\x00\n\x00", ": not UTF-8, so nothing can be added to it; save it again as CSV in UTF-8"},
		{"unknown column", "mark_pct,ohm,colour\n1,2,x", `:1:14: column "colour" is not known; rename it or delete it; ` + theColumns},
		{"mistake above the end", "mark_pct,ohm\n1,x\n2,3\n4", `:2:3: ohm "x" is not a number; ` + wantNumber + "\nPATH:4:1: 1 field where the header row has 2, separated by commas; add what is missing, or leave it empty between separators"},
		{"mistake in the last line, which is whole", "mark_pct,ohm\n1,x\n", `:2:3: ohm "x" is not a number; ` + wantNumber},
		{"comments alone", "# x\n", ": nothing but comments and blank lines; " + wantHeader},
		{"no header", "0,240\n", ":1:1: the first row starts with the number 0; expected a header row that names the columns, such as mark_pct,ohm"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := put(t, tt.before)
			_, _, err := OpenAppender(path, curve.Dial)
			if want := strings.ReplaceAll("PATH"+tt.want, "PATH", path); err == nil || err.Error() != want {
				t.Errorf("\ngot  %v\nwant %s", err, want)
			}
			if got := contentOf(t, path); got != tt.before {
				t.Errorf("a file that was refused was changed to %q", got)
			}
		})
	}
	dir := t.TempDir()
	large := put(t, "")
	if err := os.Truncate(large, 1<<30); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		dir:                               dir + ": this is a directory, so no readings can be added to it; name a CSV file",
		os.DevNull:                        os.DevNull + ": this is not a regular file, so no readings can be added to it; name a CSV file",
		"-":                               "readings can't be added to standard input; name a file",
		large:                             large + ": 1024.0 MiB is too large; a bench file has thousands of lines at most, and 16 MiB is the limit, so this is another file, or one to be split",
		filepath.Join(dir, "no", "x.csv"): "open " + filepath.Join(dir, "no", "x.csv") + ": no such file or directory",
	} {
		if _, _, err := OpenAppender(path, curve.Dial); err == nil || err.Error() != want {
			t.Errorf("\ngot  %v\nwant %s", err, want)
		}
	}
}

func TestAddRefuses(t *testing.T) {
	path := put(t, "mark_pct,ohm,note\n1,2,\n")
	a, _ := open(t, path)
	for want, r := range map[string]curve.Reading{
		path + " has no column sweep, and the reading has one; leave it out, or add the column to the file": {Sweep: curve.Up},
		path + " has no column time, and the reading has one; leave it out, or add the column to the file":  {Time: moment("2026-11-03T09:30:00Z")},
		`note "a\nb" runs over several lines; write it on one`:                                              {Note: "a\nb"},
		`note "a\x00" holds the control character U+0000; take it out`:                                      {Note: "a\x00"},
		"mark 1.4 is outside 0 to 1 (100 %)":                                                                {Mark: 1.4},
		"-1 ohms is outside 0 to 100000":                                                                    {Ohm: -1},
		path + " is full: 1 readings in 23 bytes; begin a new file":                                         {Note: strings.Repeat("x", MaxBytes)},
	} {
		if err := a.Add(r); err == nil || err.Error() != "reading not stored: "+want {
			t.Errorf("\ngot  %v\nwant reading not stored: %s", err, want)
		}
	}
	if got := contentOf(t, path); got != "mark_pct,ohm,note\n1,2,\n" {
		t.Errorf("refused readings left %q", got)
	}
	if diff := cmp.Diff([]string{"mark_pct", "ohm", "note"}, a.Columns()); diff != "" {
		t.Error(diff)
	}
	add(t, a, curve.Reading{Mark: 0.5, Ohm: 95, Note: "fine"})
}

func TestAddWhenFull(t *testing.T) {
	path := put(t, "mark_pct,ohm\n"+strings.Repeat("1,2\n", curve.MaxReadings-1))
	a, _ := open(t, path)
	add(t, a, at(0.5, 95, 0))
	if err := a.Add(at(0.5, 95, 0)); err == nil || !strings.Contains(err.Error(), "is full: 100000 readings") {
		t.Errorf("got %v", err)
	}
}

func TestSecondAppenderIsRefused(t *testing.T) {
	path := put(t, "")
	a, _ := open(t, path)
	_, _, err := OpenAppender(path, curve.Dial)
	if want := path + " is open for adding readings elsewhere; close it there first: in use"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	// Nor once a strike has put another file under the name.
	add(t, a, at(0.5, 95, 0))
	if _, err := a.Strike(""); err != nil {
		t.Fatal(err)
	}
	if _, _, err := OpenAppender(path, curve.Dial); !errors.Is(err, errLocked) {
		t.Errorf("after a strike: %v", err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	open(t, path)
}

func TestAppenderSeesOthers(t *testing.T) {
	for name, meddle := range map[string]func(path string) error{
		"was changed by another program": func(path string) error {
			f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
			if err == nil {
				_, err = f.WriteString("60,100,,,")
				f.Close()
			}
			return err
		},
		"was moved, deleted or replaced by another program": func(path string) error {
			if err := os.WriteFile(path+"~", []byte(freshHeader+"60,100,,,\n"), 0o600); err != nil {
				return err
			}
			return os.Rename(path+"~", path)
		},
	} {
		path := put(t, "")
		a, _ := open(t, path)
		add(t, a, at(0.5, 95, 0))
		if err := meddle(path); err != nil {
			t.Fatal(err)
		}
		theirs := contentOf(t, path)
		want := path + " " + name + "; open it again"
		if err := a.Add(at(0.7, 120, 0)); err == nil || err.Error() != "reading not stored: "+want {
			t.Errorf("Add: got %v", err)
		}
		if _, err := a.Strike("x"); err == nil || err.Error() != want {
			t.Errorf("Strike: got %v", err)
		}
		if got := contentOf(t, path); got != theirs {
			t.Errorf("%q was overwritten by %q", theirs, got)
		}
		a.Close()
		a, _ = open(t, path) // and then it goes on
		add(t, a, at(0.7, 120, 0))
	}
}

func TestAppenderThroughALink(t *testing.T) {
	path := put(t, freshHeader+"1,2,,,\n")
	link := filepath.Join(t.TempDir(), "link.csv")
	if err := os.Symlink(path, link); err != nil {
		t.Fatal(err)
	}
	a, _ := open(t, link)
	add(t, a, at(0.5, 95, 0))
	if _, err := a.Strike(""); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("the link became a file: %v, %v", info, err)
	}
	if got, want := contentOf(t, path), freshHeader+"1,2,,,\n# struck: 50,95,,,\n"; got != want {
		t.Errorf("got %q", got)
	}
}

func TestAppenderFromManySides(t *testing.T) {
	path := put(t, "")
	a, _ := open(t, path)
	var wg sync.WaitGroup
	for g := range 4 {
		wg.Go(func() {
			for i := range 10 {
				if err := a.Add(at(curve.Dial.FromShown(float64(10*g+i)), 1, 0)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	s, err := ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[float64]bool{}
	for _, r := range s.Readings {
		seen[r.Mark] = true
	}
	if len(s.Readings) != 40 || len(seen) != 40 {
		t.Errorf("%d readings, %d of them different", len(s.Readings), len(seen))
	}
}

func TestCloseTwice(t *testing.T) {
	a, _ := open(t, put(t, ""))
	if err := errors.Join(a.Close(), a.Close()); err != nil {
		t.Error(err)
	}
	if err := a.Add(at(0.5, 95, 0)); !errors.Is(err, os.ErrClosed) {
		t.Errorf("Add after Close: %v", err)
	}
	if _, err := a.Strike(""); !errors.Is(err, os.ErrClosed) {
		t.Errorf("Strike after Close: %v", err)
	}
}
