package recording_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"
	"unicode/utf16"

	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

// all reads a history to its end.
func all(text string, o recording.Options) ([]recording.Row, *recording.History, error) {
	h, err := recording.NewHistory(iotest.OneByteReader(strings.NewReader(text)), "h.csv", o)
	if err != nil {
		return nil, nil, err
	}
	var rows []recording.Row
	for {
		row, err := h.Next()
		if errors.Is(err, io.EOF) {
			return rows, h, nil
		}
		if err != nil {
			return rows, h, err
		}
		rows = append(rows, row)
	}
}

// show writes rows as "time=value", the time as it stood in the file.
func show(rows []recording.Row) string {
	var b strings.Builder
	for i, r := range rows {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.Write(r.Stamp.Append(nil, r.Time))
		switch {
		case r.Said == watch.Unavailable:
			b.WriteString("=none")
		default:
			fmt.Fprintf(&b, "=%g", r.Value)
		}
	}
	return b.String()
}

const at = "2026-03-01T08:00:00Z"

func TestRead(t *testing.T) {
	for _, test := range []struct{ name, text, want string }{
		{"plain", "time,ohm\n2026-03-01T08:00:00Z,12.5\n2026-03-01T08:00:10Z,12.75\n", "2026-03-01T08:00:00Z=12.5 2026-03-01T08:00:10Z=12.75"},
		{"no last line end", "time,ohm\n" + at + ",12.5", at + "=12.5"},
		{"CRLF", "time,ohm\r\n" + at + ",12.5\r\n", at + "=12.5"},
		{"CR alone", "time,ohm\r" + at + ",12.5\r2026-03-01T08:00:10Z,13\r", at + "=12.5 2026-03-01T08:00:10Z=13"},
		{"byte order mark", "\ufefftime,ohm\n" + at + ",12.5\n", at + "=12.5"},
		{"semicolons and decimal commas", "time;ohm\n" + at + ";12,5\n", at + "=12.5"},
		{"tabs", "time\tohm\n" + at + "\t12.5\n", at + "=12.5"},
		{"a decimal comma in quotes", "time,ohm\n" + at + ",\"12,5\"\n", at + "=12.5"},
		{"everything in quotes", "\"time\",\"ohm\"\n\"" + at + "\",\"12.5\"\n", at + "=12.5"},
		{"comments and blank lines", "# of the hut\n\n\"# quoted\",\ntime,ohm\n,\n  \n" + at + ",12.5\n#" + at + ",99\n", at + "=12.5"},
		{"capitals and blanks", " Time , OHM \n " + at + " , 12.5 \n", at + "=12.5"},
		{"other columns", "true,ohm,x,time\n1,12.5,\"a,b\"\"c\"," + at + "\n", at + "=12.5"},
		{"a note of two lines", "time,note,ohm\n" + at + ",\"one\ntwo\",12.5\n", at + "=12.5"},
		{"Unix seconds", "time,ohm\n1772352000,1\n1772352010.5,2\n1772352020.250,3\n", "1772352000=1 1772352010.5=2 1772352020.250=3"},
		{"Unix with an exponent", "time,ohm\n1.77235200e9,1\n", "1772352000=1"},
		{"Unix milliseconds", "time,ohm\n1772352000500,1\n", "1772352000500=1"},
		{"both kinds of time", "time,ohm\n" + at + ",1\n1772352010,2\n", at + "=1 1772352010=2"},
		{"an offset", "time,ohm\n2026-03-01T09:00:00+01:00,1\n2026-03-01T08:00:10-00:30,2\n", "2026-03-01T09:00:00+01:00=1 2026-03-01T08:00:10-00:30=2"},
		{"UTC as an offset", "time,ohm\n2026-03-01T08:00:00+00:00,1\n", "2026-03-01T08:00:00+00:00=1"},
		{"a blank for the T", "time,ohm\n2026-03-01 08:00:00.125+00:00,1\n", "2026-03-01 08:00:00.125+00:00=1"},
		{"without an offset", "time,ohm\n2026-03-01 08:00:00,1\n", "2026-03-01 08:00:00=1"},
		{"fractions", "time,ohm\n2026-03-01T08:00:00.100Z,1\n", "2026-03-01T08:00:00.100Z=1"},
		{"no value", "time,ohm\n2026-03-01T08:00:00Z,\n2026-03-01T08:00:01Z,nan\n2026-03-01T08:00:02Z,null\n2026-03-01T08:00:03Z,N/A\n",
			"2026-03-01T08:00:00Z=none 2026-03-01T08:00:01Z=none 2026-03-01T08:00:02Z=none 2026-03-01T08:00:03Z=none"},
		{"open", "time,ohm\n2026-03-01T08:00:00Z,open\n2026-03-01T08:00:01Z,inf\n2026-03-01T08:00:02Z,OL\n2026-03-01T08:00:03Z,99999\n2026-03-01T08:00:04Z,1e400\n",
			"2026-03-01T08:00:00Z=+Inf 2026-03-01T08:00:01Z=+Inf 2026-03-01T08:00:02Z=+Inf 2026-03-01T08:00:03Z=99999 2026-03-01T08:00:04Z=+Inf"},
		{"numbers", "time,ohm\n2026-03-01T08:00:00Z,-1.5\n2026-03-01T08:00:01Z,+2\n2026-03-01T08:00:02Z,1.25e2\n2026-03-01T08:00:03Z,.5\n2026-03-01T08:00:04Z,123456789012345678901\n",
			"2026-03-01T08:00:00Z=-1.5 2026-03-01T08:00:01Z=2 2026-03-01T08:00:02Z=125 2026-03-01T08:00:03Z=0.5 2026-03-01T08:00:04Z=1.2345678901234568e+20"},
		{"ohms before a level", "time,level_pct,ohm\n" + at + ",50,12.5\n", at + "=12.5"},
		{"the first tank's rows", "time,tank,ohm\n" + at + ",a,1\n2026-03-01T08:00:01Z,b,2\n2026-03-01T08:00:02Z,a,3\n", at + "=1 2026-03-01T08:00:02Z=3"},
		{"swapped and doubled", "time,ohm\n2026-03-01T08:00:00Z,1\n2026-03-01T08:00:20Z,3\n2026-03-01T08:00:10Z,2\n2026-03-01T08:00:20Z,3\n2026-03-01T08:00:30Z,4\n",
			"2026-03-01T08:00:00Z=1 2026-03-01T08:00:10Z=2 2026-03-01T08:00:20Z=3 2026-03-01T08:00:30Z=4"},
		{"the newest first", newestFirst(20), oldestFirst(20)},
		{"leap day", "time,ohm\n2024-02-29T23:59:59Z,1\n", "2024-02-29T23:59:59Z=1"},
	} {
		t.Run(test.name, func(t *testing.T) {
			rows, _, err := all(test.text, recording.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := show(rows); got != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
			wide, _, err := all(utf16Text(test.text), recording.Options{})
			if got := show(wide); err != nil || got != test.want {
				t.Errorf("in UTF-16: got %s, %v", got, err)
			}
		})
	}
}

func newestFirst(n int) string {
	text := "time,ohm\n"
	for i := n - 1; i >= 0; i-- {
		text += fmt.Sprintf("%d,%d\n", 1772352000+600*i, i)
	}
	return text
}

func oldestFirst(n int) string {
	var words []string
	for i := range n {
		words = append(words, fmt.Sprintf("%d=%d", 1772352000+600*i, i))
	}
	return strings.Join(words, " ")
}

func utf16Text(text string) string {
	b := []byte{0xFF, 0xFE}
	for _, u := range utf16.Encode([]rune(strings.TrimPrefix(text, "\ufeff"))) {
		b = append(b, byte(u), byte(u>>8))
	}
	return string(b)
}

// Times are what the standard library makes of them.
func TestTimes(t *testing.T) {
	for _, text := range []string{"2026-03-01T08:00:00Z", "2016-02-29T23:59:59.123456789+05:45", "2099-12-31T23:59:59-00:00", "2015-01-01T00:00:00Z"} {
		rows, _, err := all("time,ohm\n"+text+",1\n", recording.Options{})
		if err != nil || len(rows) != 1 {
			t.Fatal(text, err)
		}
		want, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			t.Fatal(err)
		}
		if !rows[0].When().Equal(want) {
			t.Errorf("%s: read as %v", text, rows[0].When())
		}
	}
	for _, text := range []string{"2026-02-29T00:00:00Z", "2026-13-01T00:00:00Z", "2026-01-01T24:00:00Z", "2026-01-01T00:60:00Z", "2026-01-01", "yesterday", "2026-01-01T00:00:00X", "2026-01-01T00:00:00.Z", "12:00", "1772352000abc", "2026-01-01T00:00:00+0a:00"} {
		_, h, err := all("time,ohm\n"+text+",1\n"+at+",1\n"+"2026-03-01T08:00:10Z,1\n", recording.Options{})
		if err != nil {
			t.Fatal(text, err)
		}
		if bad, _ := h.Unusable(); len(bad) != 1 || bad[0].Line != 2 || bad[0].Why != "a time that can't be read" {
			t.Errorf("%s: %+v", text, bad)
		}
	}
}

func TestHeaders(t *testing.T) {
	for _, test := range []struct{ text, column, says string }{
		{"", "", "nothing in it"},
		{"# only this\n", "", "nothing in it"},
		{"time,ohm\n", "", "no row below"},
		{"2026-03-01T08:00:00Z,12.5\n", "", "no names of columns"},
		{"timestamp,ohm\n1,2\n", "", `rename "timestamp" to time`},
		{"time,resistance\n1,2\n", "", `rename "resistance" to ohm`},
		{"time,x\n1,2\n", "", "no column with what was read"},
		{"time,ohm,ohm\n1,2,3\n", "", "stands twice"},
		{"time,ohm\n1,2\n", "volt", "no volt column"},
		{"PK\x03\x04\x00\x00", "", "no text file"},
	} {
		_, _, err := all(test.text, recording.Options{Column: test.column})
		if err == nil || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%q: %v; want a word of %q", test.text, err, test.says)
		}
	}
}

// What is no row is counted and named by its line; the rest goes on, unless it is
// most of the file.
func TestUnusable(t *testing.T) {
	long := strings.Repeat("x", 100_000)
	text := "time,ohm\n" + at + ",1\nrubbish\n2026-03-01T08:00:01Z,2\nsoon,3\n2026-03-01T08:00:02Z,many\n,5\n" + long + "\n2026-03-01T08:00:03Z,4\n2026-03-01T08:00:04Z,5\n2026-03-01T08:00:05Z,6\n"
	rows, h, err := all(text, recording.Options{})
	if err != nil || len(rows) != 5 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	bad, _ := h.Unusable()
	want := []recording.Count{
		{Why: "a time that can't be read", N: 2, Line: 3, Text: "rubbish"},
		{Why: "a value that is no number", N: 1, Line: 6, Text: "2026-03-01T08:00:02Z,many"},
		{Why: "no time", N: 1, Line: 7, Text: ",5"},
		{Why: "a line of more than 64 KiB", N: 1, Line: 8},
	}
	if len(bad) != len(want) {
		t.Fatalf("%+v", bad)
	}
	for i := range want {
		if bad[i] != want[i] {
			t.Errorf("%+v, want %+v", bad[i], want[i])
		}
	}
	_, _, err = all(text, recording.Options{Unusable: 0.1})
	var e *recording.Error
	if !errors.As(err, &e) || e.Line != 3 || !strings.Contains(e.Msg, "5 of 10 rows can't be used") {
		t.Errorf("with a tenth: %v", err)
	}
}

// A quote that is never closed costs some lines and not the file.
func TestOpenQuote(t *testing.T) {
	text := "time,ohm,note\n" + at + ",1,\"never closed\n"
	for i := range 200 {
		text += fmt.Sprintf("%d,2,x\n", 1772352010+10*i)
	}
	rows, _, err := all(text, recording.Options{})
	if err != nil || len(rows) < 130 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
}

// A disk that fails is told as such.
func TestBrokenDisk(t *testing.T) {
	failed := errors.New("the disk failed")
	h, err := recording.NewHistory(io.MultiReader(strings.NewReader("time,ohm\n"+at+",1\n"), iotest.ErrReader(failed)), "h.csv", recording.Options{})
	if err == nil {
		_, err = h.Next()
	}
	if !errors.Is(err, failed) {
		t.Errorf("%v", err)
	}
}

func TestTiltAndSource(t *testing.T) {
	rows, h, err := all("time,ohm,pitch_deg,roll_deg,source\n"+at+",1,2.5,-1,bay\n2026-03-01T08:00:10Z,1,,,\n", recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := h.Reading(rows[0], "fresh")
	if r.Source != "bay" || r.Tank != "fresh" || r.Tilt == nil || math.Abs(float64(r.Tilt.Pitch)*180/math.Pi-2.5) > 1e-12 || r.Clock != watch.SourceClock {
		t.Errorf("%+v %+v", r, r.Tilt)
	}
	if r := h.Reading(rows[1], ""); r.Tilt != nil || r.Source != "" {
		t.Errorf("%+v", r)
	}
}

// What is written is read as the same.
func TestWriterSays(t *testing.T) {
	var b bytes.Buffer
	w, err := recording.NewWriter(&b, recording.Columns{Tilt: true, Source: true})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range []float64{1.5, math.NaN(), math.Inf(1)} {
		if err := w.Write(watch.Reading{Time: time.Unix(1772352000+int64(i), 0), Value: v, Source: "bay 1"}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	const want = "time,ohm,pitch_deg,roll_deg,source\n2026-03-01T08:00:00Z,1.5,,,\"bay 1\"\n2026-03-01T08:00:01Z,,,,\"bay 1\"\n2026-03-01T08:00:02Z,open,,,\"bay 1\"\n"
	if b.String() != want {
		t.Errorf("%s", b.String())
	}
}
