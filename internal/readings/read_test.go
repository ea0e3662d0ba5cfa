package readings

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// at builds a reading without direction, time and note.
func at(mark float64, ohm quantity.Ohm, line int) curve.Reading {
	return curve.Reading{Mark: mark, Ohm: ohm, Line: line}
}

func dial(readings ...curve.Reading) curve.Sheet {
	return curve.Sheet{Unit: curve.Dial, Readings: readings}
}

func TestReadAccepts(t *testing.T) {
	tests := []struct {
		name, text string
		want       curve.Sheet
	}{
		{"plain", "mark_pct,ohm\n0,3.5\n50,95\n", dial(at(0, 3.5, 2), at(0.5, 95, 3))},
		{"no line end at the end", "mark_pct,ohm\n50,95", dial(at(0.5, 95, 2))},
		{"one reading", "mark_pct,ohm\n50,95\n", dial(at(0.5, 95, 2))},
		{"all at one mark", "mark_pct,ohm\n50,95\n50,96\n", dial(at(0.5, 95, 2), at(0.5, 96, 3))},
		{"height", "mark_mm,ohm\n120.5,95\n", curve.Sheet{Unit: curve.Height, Readings: []curve.Reading{at(0.1205, 95, 2)}}},
		{"volume", "mark_l,ohm\n12.5,95\n", curve.Sheet{Unit: curve.Volume, Readings: []curve.Reading{at(0.0125, 95, 2)}}},
		{"mass", "mark_kg,ohm\n5.5,95\n", curve.Sheet{Unit: curve.Mass, Readings: []curve.Reading{at(5.5, 95, 2)}}},
		{"columns in another order", "ohm,mark_pct\n95,50\n", dial(at(0.5, 95, 2))},
		{"header in capitals with blanks", " Mark_PCT , OHM \n50,95\n", dial(at(0.5, 95, 2))},
		{"blanks around cells", "mark_pct,ohm\n  50 ,\t95 \n", dial(at(0.5, 95, 2))},
		{"no-break spaces around cells", "mark_pct;ohm\n\u00a050\u00a0;\u00a095\n", dial(at(0.5, 95, 2))},
		{"exponent", "mark_pct,ohm\n50,1e3\n", dial(at(0.5, 1000, 2))},
		{"signs", "mark_pct,ohm\n+50,-0\n", dial(at(0.5, 0, 2))},
		{"limits", "mark_pct,ohm\n0,0\n100,100000\n", dial(at(0, 0, 2), at(1, 100000, 3))},
		{"semicolons and decimal commas", "mark_pct;ohm\n12,5;95,25\n25.5;96\n", dial(at(0.125, 95.25, 2), at(0.255, 96, 3))},
		{"tabs and decimal commas", "mark_pct\tohm\n12,5\t95,25\n", dial(at(0.125, 95.25, 2))},
		{"tabs and an empty cell", "mark_pct\tsweep\tohm\n50\t\t95\n", dial(at(0.5, 95, 2))},
		{"decimal comma in quotes between commas", "mark_pct,ohm\n\"12,5\", \"95,25\"\n", dial(at(0.125, 95.25, 2))},
		{"comments and blank lines", "# a bench, \"quoted\n\n  # indented\nmark_pct,ohm\n\t#5,5\n  \n50,95\n#\n", dial(at(0.5, 95, 7))},
		{"comments as a spreadsheet writes them", "\"# one, two\",\n\"# over\ntwo \"\"lines\"\"\",\nmark_pct,ohm\n\"# three, four\",\n# five,\n50,95\n", dial(at(0.5, 95, 7))},
		{"rows of separators", ",\nmark_pct,ohm,,\n,,,\n50,95,,\n,,,\n", dial(at(0.5, 95, 4))},
		{"CRLF", "mark_pct,ohm\r\n\r\n50,95\r\n", dial(at(0.5, 95, 3))},
		{"CR", "#\rmark_pct,ohm\r\r50,95\r", dial(at(0.5, 95, 4))},
		{"mixed line ends", "mark_pct,ohm\r\n50,95\r51,96\n52,97", dial(at(0.5, 95, 2), at(0.51, 96, 3), at(0.52, 97, 4))},
		{"byte order mark", "\uFEFFmark_pct,ohm\n50,95\n", dial(at(0.5, 95, 2))},
		{"byte order mark before a comment", "\uFEFF# x\nmark_pct,ohm\n50,95\n", dial(at(0.5, 95, 3))},
		{"sweeps in any case", "mark_pct,ohm,sweep\n1,1,up\n2,2, DOWN\n3,3,\n", dial(
			curve.Reading{Mark: 0.01, Ohm: 1, Sweep: curve.Up, Line: 2},
			curve.Reading{Mark: 0.02, Ohm: 2, Sweep: curve.Down, Line: 3},
			at(0.03, 3, 4))},
		{"a note that starts with #", "note,mark_pct,ohm\n\"#2 float\",50,95\n", dial(curve.Reading{Mark: 0.5, Ohm: 95, Note: "#2 float", Line: 2})},
		{"a note with a line that starts with #", "mark_pct,ohm,note\r\n50,95,\"one\r\n# two\r\n\r\nthree\"\r\n51,96,\r\n", dial(
			curve.Reading{Mark: 0.5, Ohm: 95, Note: "one\n# two\n\nthree", Line: 2},
			at(0.51, 96, 6))},
		{"blanks of a note in quotes are kept", "mark_pct,ohm,note\n50,95,\" x \"\n", dial(curve.Reading{Mark: 0.5, Ohm: 95, Note: " x ", Line: 2})},
		// RFC 4180, section 2, rules 5 to 7: quotes around any field, a comma,
		// a line break and a doubled quote inside them.
		{"RFC 4180 rule 5", "\"mark_pct\",\"ohm\",\"note\"\r\n\"50\",\"95\",\"aaa\"\r\n", dial(curve.Reading{Mark: 0.5, Ohm: 95, Note: "aaa", Line: 2})},
		{"RFC 4180 rule 6", "note,mark_pct,ohm\r\n\"b \r\nbb\",50,95\r\nzzz,51,96\r\n", dial(
			curve.Reading{Mark: 0.5, Ohm: 95, Note: "b \nbb", Line: 2},
			curve.Reading{Mark: 0.51, Ohm: 96, Note: "zzz", Line: 4})},
		{"RFC 4180 rule 7", "note,mark_pct,ohm\r\n\"b\"\"bb\",50,95\r\n", dial(curve.Reading{Mark: 0.5, Ohm: 95, Note: `b"bb`, Line: 2})},
		{"Windows-1252", "mark_pct;ohm;note\n50;95;\x80 \xe9t\xe9\n", dial(curve.Reading{Mark: 0.5, Ohm: 95, Note: "€ été", Line: 2})},
		{"UTF-16, big end first", "\xfe\xff\x00m\x00a\x00r\x00k\x00_\x00p\x00c\x00t\x00\t\x00o\x00h\x00m\x00\n\x005\x000\x00\t\x009\x005", dial(at(0.5, 95, 2))},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Read(strings.NewReader(tt.text), "tank.csv")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

// The times are the examples of RFC 3339, section 5.8, but for the two leap
// seconds, which time.Time has no place for.
func TestReadTime(t *testing.T) {
	tests := []struct {
		text string
		want time.Time
	}{
		{"1985-04-12T23:20:50.52Z", time.Date(1985, 4, 12, 23, 20, 50, 520_000_000, time.UTC)},
		{"1985-04-12t23:20:50.52z", time.Date(1985, 4, 12, 23, 20, 50, 520_000_000, time.UTC)},
		// The same instant as 1996-12-20T00:39:57Z, says the RFC.
		{"1996-12-19T16:39:57-08:00", time.Date(1996, 12, 20, 0, 39, 57, 0, time.UTC)},
		{"1937-01-01T12:00:27.87+00:20", time.Date(1937, 1, 1, 11, 40, 27, 870_000_000, time.UTC)},
	}
	for _, tt := range tests {
		got, err := Read(strings.NewReader("mark_pct,ohm,time\n1,2,"+tt.text+"\n"), "tank.csv")
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		read := got.Readings[0].Time
		if !read.Equal(tt.want) {
			t.Errorf("%s read as %v, expected %v", tt.text, read, tt.want)
		}
		if again := read.Format(time.RFC3339Nano); again != strings.ToUpper(tt.text) {
			t.Errorf("%s lost its offset: %s", tt.text, again)
		}
	}
}

// A time must not depend on where it is read: time.Time values that differ
// only in their Location are different to reflect.DeepEqual and to ==.
func TestReadTimeIsTheSameEverywhere(t *testing.T) {
	here := time.Local
	defer func() { time.Local = here }()
	var got [2]time.Time
	for i, zone := range []*time.Location{time.UTC, time.FixedZone("here", 3600)} {
		time.Local = zone
		s, err := Read(strings.NewReader("mark_pct,ohm,time\n1,2,2026-11-03T09:30:00+01:00\n"), "x")
		if err != nil {
			t.Fatal(err)
		}
		got[i] = s.Readings[0].Time
	}
	if got[0].Location().String() != got[1].Location().String() || !got[0].Equal(got[1]) {
		t.Errorf("%#v in one zone, %#v in another", got[0], got[1])
	}
}

// The files were written by the csv module and the codecs of Python 3, with the
// separator, line ends and encoding of a spreadsheet set to French or German.
func TestReadSpreadsheetExports(t *testing.T) {
	french := func(time bool) curve.Sheet {
		marks := []float64{0, 0.25, 0.5, 0.75, 1}
		ohms := []quantity.Ohm{3.5, 48.2, 95.1, 142.75, 188}
		notes := []string{"démonstration : butée à vide", "", "contact « sale » ; nettoyé", `tuyau 5" débranché`, "œillet – 5 €"}
		s := curve.Sheet{Unit: curve.Dial}
		for i := range marks {
			r := curve.Reading{Mark: marks[i], Ohm: ohms[i], Note: notes[i], Line: i + 2}
			if time {
				r.Sweep, r.Time = curve.Up, moment("2026-11-03T09:30:00+01:00").Add(minutes(i))
			}
			s.Readings = append(s.Readings, r)
		}
		return s
	}
	tests := []struct {
		file string
		want curve.Sheet
	}{
		{"french_1252.csv", french(true)},
		{"unicode_text.txt", french(false)},
		{"german_bom.csv", curve.Sheet{Unit: curve.Height, Readings: []curve.Reading{
			{Ohm: 240, Sweep: curve.Up, Note: "unten", Line: 3},
			{Mark: 0.1205, Ohm: 181.25, Sweep: curve.Up, Note: "größer als erwartet", Line: 4},
			{Mark: 0.24, Ohm: 103, Sweep: curve.Up, Note: "zwei\nZeilen", Line: 6},
			{Mark: 0.24, Ohm: 104.5, Sweep: curve.Down, Line: 8},
			{Mark: 0.35, Ohm: 33, Time: moment("2026-11-03T08:00:00Z"), Note: "oben", Line: 9},
		}}},
		{"old_cr.csv", curve.Sheet{Unit: curve.Volume, Readings: []curve.Reading{
			at(0, 240, 3), at(0.01, 180.5, 4), at(0.02, 33, 5),
		}}},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			got, err := ReadFile(filepath.Join("testdata", tt.file))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

func moment(text string) time.Time {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		panic(err)
	}
	return t
}

func minutes(n int) time.Duration { return time.Duration(n) * time.Minute }

func TestReadFileRefuses(t *testing.T) {
	dir := t.TempDir()
	large := filepath.Join(dir, "large.csv")
	if err := os.WriteFile(large, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	// A file with a hole: a gigabyte by its size, nothing on the disk.
	if err := os.Truncate(large, 1<<30); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		dir:   dir + ": this is a directory; expected a CSV file",
		large: large + ": 1024.0 MiB is too large; a bench file has thousands of lines at most, and 16 MiB is the limit, so this is another file, or one to be split",
	} {
		_, err := ReadFile(path)
		var e *Error
		if !errors.As(err, &e) || err.Error() != want {
			t.Errorf("got  %v\nwant %s", err, want)
		}
		if _, again := ReadShownFile(path); again == nil || again.Error() != want {
			t.Errorf("a check: got %v", again)
		}
	}
	if _, err := ReadFile(filepath.Join(dir, "none.csv")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("missing file: %v", err)
	}
}

func TestReadFileStandardInput(t *testing.T) {
	in, out, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	old := os.Stdin
	os.Stdin = in
	defer func() { os.Stdin = old; in.Close() }()
	go func() {
		out.WriteString("mark_pct,ohm\n50,x\n")
		out.Close()
	}()
	_, err = ReadFile("-")
	const want = `standard input:2:4: ohm "x" is not a number; expected a plain number such as 42.5`
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// endless is a pipe that never ends; it counts what was taken from it.
type endless struct{ taken int }

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = "#\n"[(e.taken+i)%2]
	}
	e.taken += len(p)
	return len(p), nil
}

func TestReadStopsAtAnEndlessPipe(t *testing.T) {
	var pipe endless
	_, err := Read(&pipe, "pipe")
	const want = "pipe: more than 16 MiB is too large; a bench file has thousands of lines at most, and 16 MiB is the limit, so this is another file, or one to be split"
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if pipe.taken > MaxBytes+1 {
		t.Errorf("%d bytes were taken", pipe.taken)
	}
}

type brokenDisk struct{}

func (brokenDisk) Read([]byte) (int, error) { return 0, os.ErrDeadlineExceeded }

func TestReadPassesOnTroubleWithReading(t *testing.T) {
	_, err := Read(brokenDisk{}, "tank.csv")
	var e *Error
	if !errors.Is(err, os.ErrDeadlineExceeded) || errors.As(err, &e) {
		t.Errorf("got %v", err)
	}
}
