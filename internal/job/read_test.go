package job

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/strict"
)

// tankOf puts fields into a job with one gas tank. The tank's own fields start
// in column 1 of line 2.
func tankOf(fields string) string {
	return `{"version":1,"number":"1","tanks":[{"name":"Gas","contents":"lpg",` + "\n" + fields + "}]}"
}

// reading puts the text of one reading into such a job.
func reading(text string) string { return tankOf(`"bench":{"readings":[` + text + `]}`) }

// twoPoint puts more fields into a setting of such a job.
func twoPoint(fields string) string {
	return tankOf(`"setting":{"readout":"two-point","lower_ohm":0,"upper_ohm":90,` + fields + `}`)
}

func TestReadRefuses(t *testing.T) {
	const marks = `write "mark_pct" (percent), "mark_mm" (millimetres), "mark_l" (litres) or "mark_kg" (kilograms)`
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", `f: the file is empty; expected a job in JSON`},
		{"blank", " \n", `f: the file is empty; expected a job in JSON`},
		{"UTF-16", "\xff\xfe{\x00", `f: the text is UTF-16; save the file again in UTF-8`},
		{"NUL", "{\n\"a\":\x00}", `f:2:5: byte 0x00, so this is not a text file; expected a job in JSON; if it was one, take a copy that is whole`},
		{"not UTF-8", "{\"é\":\"\xc3(\"}", `f:1:7: byte 0xC3 is not UTF-8; save the file again in UTF-8, or take a copy that is whole`},

		{"a list", `[]`, `f:1:1: found a list, expected an object in { }`},
		{"nothing in it", `{}`, `f:1:1: missing field "number"` + "\n" + `f:1:1: missing field "tanks"` + "\n" + `f:1:1: missing field "version"`},
		{"newer", `{"version":3,"anything":1}`, `f:1:12: /version: found 3: made by a newer version; this program reads versions 1 and 2; get a newer program for it`},
		{"version 0", `{"version":0,"number":"1","tanks":[]}`, `f:1:12: /version: found 0, expected 1 or 2`},
		{"version 1.5", `{"version":1.5,"number":"1","tanks":[]}`, `f:1:12: /version: found 1.5, expected 1 or 2`},
		{"version in quotes", `{"version":"1","number":"1","tanks":[]}`, `f:1:12: /version: found text "1", expected 1 or 2`},
		{"blank number", `{"version":1,"number":"  ","tanks":[]}`, `f:1:23: /number: blank; expected some text`},
		{"no number", `{"version":1,"number":"","tanks":[]}`, `f:1:23: /number: blank; expected some text`},
		{"null", `{"version":1,"number":"1","tanks":null}`, `f:1:35: /tanks: found null, expected a list in [ ]`},
		{"two of a name", `{"version":1,"number":"1","tanks":[],"number":"2"}`, `f:1:38: field "number" stands twice; delete one of the two`},
		{"escaped two of a name", `{"version":1,"number":"1","tanks":[],"\u006eumber":"2"}`, `f:1:38: field "number" stands twice; delete one of the two`},
		{"half a pair", `{"version":1,"number":"a\ud83d","tanks":[]}`, `f:1:23: /number: \ud83d is half of a surrogate pair and stands for no character; write the character itself`},
		{"pair the wrong way", `{"version":1,"number":"\ude00\ud83d","tanks":[]}`, `f:1:23: /number: \ude00 is half of a surrogate pair and stands for no character; write the character itself`},
		{"half a pair in a name", `{"\ud83d":1}`, `f:1:2: \ud83d is half of a surrogate pair and stands for no character; write the character itself`},
		{"line break in a line", `{"version":1,"number":"a\nb","tanks":[]}`, `f:1:23: /number: text with a line break in it; expected one line of plain text`},
		{"NUL in a note", `{"version":1,"number":"1","note":"a\nb\u0000","tanks":[]}`, `f:1:34: /note: text with the sign U+0000 in it; expected plain text`},
		{"long name", `{"version":1,"number":"` + strings.Repeat("é", 301) + `","tanks":[]}`, `f:1:23: /number: text of 301 characters, expected up to 300`},
		{"no such day", `{"version":1,"number":"1","date":"2025-02-29","tanks":[]}`, `f:1:34: /date: found text "2025-02-29", expected a day of the calendar such as "2025-11-03"`},
		{"day the other way", `{"version":1,"number":"1","date":"3.11.2025","tanks":[]}`, `f:1:34: /date: found text "3.11.2025", expected a day of the calendar such as "2025-11-03"`},
		{"after the end", `{"version":1,"number":"1","tanks":[]} x`, `f:1:39: found x after the end of the job; delete what follows it`},
		{"a second job", `{"version":1,"number":"1","tanks":[]} {}`, `f:1:39: found { after the end of the job; delete what follows it`},
		{"deep", strings.Repeat("[", 30) + strings.Repeat("]", 30), `f:1:21: ` + strings.Repeat("/0", 20) + `: nested more than 20 deep; a job file is not`},
		{"very deep", strings.Repeat("[", 20000), `f:1:10001: nested more than 20 deep; a job file is not`},
		{"long list", `{"tanks":[` + strings.Repeat("1,", 2000) + `1]}`, `f:1:10: /tanks: a list of more than 2000 entries; a job file has none so long`},

		{"unknown, near", `{"version":1,"number":"1","custmer":"x","tanks":[]}`, `f:1:27: unknown field "custmer"; did you mean "customer"?`},
		{"unknown, capital", `{"version":1,"Number":"1","tanks":[]}`, `f:1:14: unknown field "Number"; did you mean "number"?`},
		{"unknown, far", reading(`{"mark_pct":1,"ohm":5,"colour":1}`), `f:2:44: /tanks/0/bench/readings/0: unknown field "colour"; delete it, or write one of "mark_kg", "mark_l", "mark_mm", "note", "sweep" or "time"`},
		{"unknown, ohms", reading(`{"mark_pct":1,"ohms":5}`), `f:2:36: /tanks/0/bench/readings/0: unknown field "ohms"; did you mean "ohm"?`},
		{"unknown, kohm", reading(`{"mark_pct":1,"kohm":5}`), `f:2:36: /tanks/0/bench/readings/0: unknown field "kohm"; write "ohm" (ohms)`},
		{"unknown, mark_in", reading(`{"mark_in":1,"ohm":5}`), `f:2:23: /tanks/0/bench/readings/0: unknown field "mark_in"; ` + marks},
		{"unknown, mark_cm", reading(`{"mark_cm":1,"ohm":5}`), `f:2:23: /tanks/0/bench/readings/0: unknown field "mark_cm"; ` + marks},
		{"unknown, mark", reading(`{"mark":1,"ohm":5}`), `f:2:23: /tanks/0/bench/readings/0: unknown field "mark"; ` + marks},
		{"unknown, capacity_gal", tankOf(`"capacity_gal":9`), `f:2:1: /tanks/0: unknown field "capacity_gal"; write "water_capacity_l" (litres)`},
		{"unknown, temperature_f", tankOf(`"bench":{"temperature_f":60,"readings":[]}`), `f:2:10: /tanks/0/bench: unknown field "temperature_f"; write "temperature_c" (degrees Celsius)`},

		{"contents", `{"version":1,"number":"1","tanks":[{"name":"a","contents":"LPG"}]}`, `f:1:59: /tanks/0/contents: found text "LPG", expected "lpg", "water", "diesel", "petrol", "waste" or "other"; did you mean "lpg"?`},
		{"capacity", tankOf(`"water_capacity_l":0`), `f:2:20: /tanks/0/water_capacity_l: found 0, expected above 0 and up to 1000000`},
		{"huge", tankOf(`"water_capacity_l":1e999`), `f:2:20: /tanks/0/water_capacity_l: 1e999 is too large a number`},
		{"number in quotes", tankOf(`"water_capacity_l":"54"`), `f:2:20: /tanks/0/water_capacity_l: found text "54", expected a number; write it without quotes`},
		{"gas too full", tankOf(`"permitted_fill_pct":85.01`), `f:2:22: /tanks/0/permitted_fill_pct: found 85.01; for lpg no permitted fill above 85 is accepted, so that the liquid has room to expand; 80 is common practice, and the local code governs`},
		{"gas much too full", tankOf(`"permitted_fill_pct":101`), `f:2:22: /tanks/0/permitted_fill_pct: found 101; for lpg no permitted fill above 85 is accepted, so that the liquid has room to expand; 80 is common practice, and the local code governs`},
		{"water too full", `{"version":1,"number":"1","tanks":[{"name":"a","contents":"water","permitted_fill_pct":101}]}`, `f:1:88: /tanks/0/permitted_fill_pct: found 101, expected 1 to 100`},
		{"two tanks of a name", `{"version":1,"number":"1","tanks":[{"name":"Gas","contents":"other"},{"name":"gas ","contents":"water"}]}`, `f:1:78: /tanks/1/name: a second tank named "gas "; give each tank a name of its own`},

		{"no mark", reading(`{"ohm":5}`), `f:2:22: /tanks/0/bench/readings/0: no mark; expected one of "mark_pct", "mark_mm", "mark_l" or "mark_kg"`},
		{"two marks", reading(`{"mark_mm":1,"mark_l":1,"ohm":5}`), `f:2:22: /tanks/0/bench/readings/0: more than one mark: "mark_mm" and "mark_l"; keep the one that was read and delete the others`},
		{"ohm too large", reading(`{"mark_pct":1,"ohm":100000.5}`), `f:2:42: /tanks/0/bench/readings/0/ohm: found 100000.5, expected 0 to 100000`},
		{"ohm below zero", reading(`{"mark_pct":1,"ohm":-0.1}`), `f:2:42: /tanks/0/bench/readings/0/ohm: found -0.1, expected 0 to 100000`},
		{"mark too large", reading(`{"mark_pct":100.5,"ohm":1}`), `f:2:34: /tanks/0/bench/readings/0/mark_pct: found 100.5, expected 0 to 100`},
		{"sweep", reading(`{"mark_pct":1,"ohm":5,"sweep":"UP"}`), `f:2:52: /tanks/0/bench/readings/0/sweep: found text "UP", expected "up" or "down"; did you mean "up"?`},
		{"time", reading(`{"mark_pct":1,"ohm":5,"time":"10:42"}`), `f:2:51: /tanks/0/bench/readings/0/time: found text "10:42", expected a date and time as in RFC 3339, such as "2025-11-03T14:05:00Z"`},
		{"mixed marks", reading(`{"mark_pct":1,"ohm":5},` + "\n" + `{"mark_mm":1,"ohm":5}`), `f:3:12: /tanks/0/bench/readings/1/mark_mm: a mark in mm, and the tank's first mark is in %; all marks of a tank are in one unit`},
		{"check in another unit", tankOf(`"bench":{"readings":[{"mark_pct":1,"ohm":5}]},` + "\n" + `"checks":[{"when":"as left","tolerance_pct":2,"readings":[{"mark_l":1,"shown_pct":5}]}]`),
			`f:3:69: /tanks/0/checks/0/readings/0/mark_l: a mark in L, and the tank's first mark is in %; all marks of a tank are in one unit`},
		{"temperature", tankOf(`"bench":{"temperature_c":-60.5,"readings":[]}`), `f:2:26: /tanks/0/bench/temperature_c: found -60.5, expected -60 to 100`},
		{"claim", tankOf(`"sender":{"claimed":[{"empty_ohm":5,"full_ohm":5.0}]}`), `f:2:22: /tanks/0/sender/claimed/0: both ends are claimed to be 5 ohm; a span has two different ends`},

		{"tolerance", tankOf(`"checks":[{"when":"as left","tolerance_pct":100,"readings":[{"mark_l":1,"shown_pct":5}]}]`), `f:2:45: /tanks/0/checks/0/tolerance_pct: found 100, expected above 0 and below 100`},
		{"check of nothing", tankOf(`"checks":[{"when":"as left","tolerance_pct":2,"readings":[]}]`), `f:2:58: /tanks/0/checks/0/readings: a list of 0 entries, expected 1 to 1000`},
		{"when", tankOf(`"checks":[{"when":"left","tolerance_pct":2,"readings":[{"mark_l":1,"shown_pct":5}]}]`), `f:2:19: /tanks/0/checks/0/when: found text "left", expected "as found" or "as left"`},

		{"no ends", tankOf(`"setting":{"readout":"two-point","scale":"mark"}`), `f:2:11: /tanks/0/setting: missing field "lower_ohm", which a two-point readout has` + "\n" + `f:2:11: /tanks/0/setting: missing field "upper_ohm", which a two-point readout has`},
		{"ends and table", twoPoint(`"scale":"mark","table":[]`), `f:2:86: /tanks/0/setting/table: a two-point readout has no table; delete it, or correct readout`},
		{"table and ends", tankOf(`"setting":{"readout":"table","scale":"mark","lower_ohm":1,"table":[{"ohm":1,"pct":0},{"ohm":2,"pct":9}]}`), `f:2:57: /tanks/0/setting/lower_ohm: a table readout has no lower_ohm; delete it, or correct readout`},
		{"short table", tankOf(`"setting":{"readout":"table","scale":"mark","table":[{"ohm":1,"pct":0}]}`), `f:2:53: /tanks/0/setting/table: a list of 1 entry, expected 2 to 1000`},
		{"table falls", tankOf(`"setting":{"readout":"table","scale":"mark","table":[{"ohm":1,"pct":0},{"ohm":1,"pct":9}]}`), `f:2:79: /tanks/0/setting/table/1/ohm: 1 ohm after 1 ohm; the ohms of a table rise from each entry to the next`},
		{"same ends", tankOf(`"setting":{"readout":"two-point","scale":"mark","lower_ohm":9,"upper_ohm":9}`), `f:2:75: /tanks/0/setting/upper_ohm: both end values are 9 ohm, so nothing could be shown between them`},
		{"readout", tankOf(`"setting":{"readout":"2-point","scale":"mark"}`), `f:2:22: /tanks/0/setting/readout: found text "2-point", expected "two-point" or "table"`},
		{"fill of what", twoPoint(`"scale":"fill"`), `f:2:71: /tanks/0/setting/scale: the scale "fill" needs the tank's permitted_fill_pct; state it, or choose "mark"`},
		{"marks turned", twoPoint(`"scale":"mark","empty_mark":90,"full_mark":10`), `f:2:11: /tanks/0/setting: the full mark must lie above the empty mark; found empty 90 % and full 10 %`},
		{"mark beyond the dial", twoPoint(`"scale":"mark","full_mark":150`), `f:2:90: /tanks/0/setting/full_mark: found 150, expected up to 100, as the tank's marks are in %`},
	} {
		t.Run(c.name, func(t *testing.T) {
			j, err := Read(strings.NewReader(c.text), "f")
			if err == nil {
				t.Fatalf("accepted, as %+v", j)
			}
			if err.Error() != c.want {
				t.Errorf("found\n%s\nexpected\n%s", err, c.want)
			}
			var one *FileError
			if !errors.As(err, &one) {
				t.Errorf("a %T, expected a *FileError in it", err)
			}
		})
	}
}

// A permitted fill alone isn't all: a fill scale mustn't show 100 % too high
// by its marks, and mustn't be drawn where nobody can tell.
func TestReadRefusesToInviteOverfilling(t *testing.T) {
	fill := func(unit, marks, more string) string {
		return tankOf(fmt.Sprintf(`"permitted_fill_pct":80,%s"bench":{"readings":[{"mark_%s":0,"ohm":1},{"mark_%s":50,"ohm":90}]},`, more, unit, unit) + "\n" +
			`"setting":{"readout":"two-point","lower_ohm":0,"upper_ohm":90,"scale":"fill"` + marks + `}`)
	}
	const at = "f:3:71: /tanks/0/setting/scale: "
	for _, c := range []struct{ name, text, want string }{
		{"dial", fill("pct", "", ""), ""},
		{"dial, from 25", fill("pct", `,"empty_mark":25`, ""), ""}, // 25 + 0.8 × 75 is 85
		{"dial, from 26", fill("pct", `,"empty_mark":26`, ""), at + `this scale would show 100 % at 85.2 %, above 85 % of the tank; for lpg that is not accepted; correct permitted_fill_pct, empty_mark or full_mark`},
		{"litres", fill("l", "", `"water_capacity_l":54,`), ""},
		{"litres of a small tank", fill("l", "", `"water_capacity_l":45,`), at + `this scale would show 100 % at 40 L, above 85 % of the tank; for lpg that is not accepted; correct permitted_fill_pct, empty_mark or full_mark`},
		{"litres of no tank", fill("l", "", ""), at + `for lpg the scale "fill" on marks in L needs the tank's water_capacity_l; state it, or choose "mark"`},
		{"height", fill("mm", "", ""), at + `for lpg the scale "fill" needs the tank's shape, or marks in % of the volume or in L; from a mark in mm it can't be told how full the tank is; choose "mark"`},
		{"weight", fill("kg", "", ""), at + `for lpg the scale "fill" needs the tank's gas and water_capacity_l, or marks in % of the volume or in L; from a mark in kg it can't be told how full the tank is; choose "mark"`},
		{"height of water", strings.Replace(fill("mm", "", ""), `"lpg"`, `"water"`, 1), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			j, err := Read(strings.NewReader(c.text), "f")
			if c.want == "" {
				if err != nil {
					t.Fatal(err)
				}
				if _, err := j.Tanks[0].Scale(); err != nil {
					t.Errorf("Scale: %v", err)
				}
				return
			}
			if err == nil || err.Error() != c.want {
				t.Errorf("found\n%v\nexpected\n%s", err, c.want)
			}
		})
	}
}

func TestReadTellsFiveAtMostInOrder(t *testing.T) {
	text := reading(strings.TrimSuffix(strings.Repeat(`{"mark_pct":1,"ohms":5},`+"\n", 9), ",\n"))
	_, err := Read(strings.NewReader(text), "f")
	var list FileErrors
	if !errors.As(err, &list) || len(list) != strict.MaxProblems {
		t.Fatalf("found %v, expected %d errors", err, strict.MaxProblems)
	}
	for i, e := range list {
		if want := fmt.Sprintf("/tanks/0/bench/readings/%d", i); e.Line != i+2 || e.Path != want {
			t.Errorf("error %d stands at line %d, %s; expected line %d, %s", i, e.Line, e.Path, i+2, want)
		}
	}
}

func TestReadOfACutFile(t *testing.T) {
	_, data := sample(t)
	cutFile(t, data)
}

// So it is for a file of every version.
func cutFile(t *testing.T, data []byte) {
	t.Helper()
	for n := range data[:len(data)-1] { // without its last line break it is whole
		j, err := Read(bytes.NewReader(data[:n]), "f")
		if err == nil {
			t.Fatalf("the first %d of %d bytes were taken for a whole job: %+v", n, len(data), j)
		}
		var e *FileError
		if !errors.As(err, &e) {
			t.Fatalf("cut at %d: %T", n, err)
		}
		wantLine, wantColumn := strict.Position(data[:n], n)
		if strings.Contains(e.Msg, "is empty") && n == 0 {
			continue
		}
		if !strings.Contains(e.Msg, "cut short") || e.Line != wantLine || e.Column != wantColumn {
			t.Fatalf("cut at %d (%d:%d): %v", n, wantLine, wantColumn, err)
		}
	}
}

func TestReadLimit(t *testing.T) {
	job := `{"version":1,"number":"1","tanks":[]}`
	if _, err := Read(strings.NewReader(job+strings.Repeat(" ", MaxBytes-len(job))), "f"); err != nil {
		t.Errorf("a file of exactly %d bytes: %v", MaxBytes, err)
	}
	_, err := Read(strings.NewReader(job+strings.Repeat(" ", MaxBytes-len(job)+1)), "f")
	if want := "f: more than 16 MiB; a job file is not so large, so this is another file"; err == nil || err.Error() != want {
		t.Errorf("found %v, expected %s", err, want)
	}
}

// broken is a reader that fails.
type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, fs.ErrPermission }

func TestReadFile(t *testing.T) {
	j, err := ReadFile(samplePath)
	if err != nil || j.Number != "2025-017" {
		t.Fatalf("found %+v, %v", j, err)
	}
	folder := t.TempDir()
	missing := filepath.Join(folder, "missing.job.json")
	if _, err := ReadFile(missing); !errors.Is(err, fs.ErrNotExist) || err.Error() != missing+": not readable: no such file or directory" {
		t.Errorf("found %v", err)
	}
	if _, err := ReadFile(folder); err == nil || err.Error() != folder+": this is a directory; expected a job file" {
		t.Errorf("found %v", err)
	}
	if _, err := Read(broken{}, "f"); !errors.Is(err, fs.ErrPermission) {
		t.Errorf("found %v", err)
	}
}

func TestReadFileOfStandardInput(t *testing.T) {
	f, err := os.Open(samplePath)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	was := os.Stdin
	os.Stdin = f
	defer func() { os.Stdin = was }()
	if j, err := ReadFile("-"); err != nil || len(j.Tanks) != 3 {
		t.Errorf("found %+v, %v", j, err)
	}
	if _, err := ReadFile("-"); err == nil || err.Error() != "standard input: the file is empty; expected a job in JSON" {
		t.Errorf("at its end: %v", err)
	}
}

func TestReadTakesAByteOrderMarkAndCRLF(t *testing.T) {
	want, data := sample(t)
	text := append([]byte("\xef\xbb\xbf"), bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n"))...)
	j, err := Read(bytes.NewReader(text), "f")
	if err != nil {
		t.Fatal(err)
	}
	same(t, j, want)
}

// To JSON Schema 1.0 is an integer (2020-12, section 6.1.1), and to JSON -0 a
// number.
func TestReadOfOddNumbers(t *testing.T) {
	j, err := Read(strings.NewReader(strings.Replace(reading(`{"mark_pct":-0,"ohm":5e0}`), `"version":1`, `"version":10E-1`, 1)), "f")
	if err != nil {
		t.Fatal(err)
	}
	if r := j.Tanks[0].Bench.Readings[0]; j.Version != Version || fmt.Sprint(*r.MarkPct, r.Ohm) != "0 5" {
		t.Errorf("found version %d, %v, %v", j.Version, *r.MarkPct, r.Ohm)
	}
}
