package job

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
)

// tb is what *testing.T and *rapid.T share here.
type tb interface {
	Helper()
	Errorf(format string, args ...any)
}

// same says where two jobs differ; an empty list and none are the same.
func same(t tb, found, want *Job) {
	t.Helper()
	if diff := cmp.Diff(want, found, cmpopts.EquateEmpty(), cmpopts.IgnoreUnexported(Tank{})); diff != "" {
		t.Errorf("the jobs differ (- expected, + found):\n%s", diff)
	}
}

// jobs draws jobs that are valid.
var jobs = rapid.Custom(func(t *rapid.T) *Job {
	line := func(label string, least int) string {
		return rapid.StringOfN(rapid.Rune().Filter(func(r rune) bool { return !unicode.IsControl(r) }), least, 40, -1).Draw(t, label)
	}
	number := func(low, high float64) *rapid.Generator[float64] { return rapid.Float64Range(low, high) }
	date := rapid.SampledFrom([]string{"", "2024-02-29", "2025-11-03"})
	j := &Job{Version: Version, Number: "n" + line("number", 0), Customer: line("customer", 0), Date: date.Draw(t, "date"),
		Note: rapid.StringOf(rapid.SampledFrom([]rune("a é\t\r\n\"\\<&>\u2028😀\ufffd"))).Draw(t, "note")}
	for i := range rapid.IntRange(0, 3).Draw(t, "tanks") {
		k := Tank{Name: fmt.Sprint(i, line("name", 0)), Contents: rapid.SampledFrom([]Contents{LPG, Water, Diesel, Petrol, Waste, Other}).Draw(t, "contents")}
		if rapid.Bool().Draw(t, "sized") {
			k.WaterCapacityL, k.PermittedFillPct = number(1e-3, 1e6).Draw(t, "capacity"), number(1, 85).Draw(t, "fill")
		}
		unit := rapid.SampledFrom(curve.MarkUnits).Draw(t, "unit")
		for range rapid.IntRange(0, 6).Draw(t, "readings") {
			r := Reading{Ohm: number(0, 1e5).Draw(t, "ohm"), Sweep: rapid.SampledFrom([]string{"", "up", "down"}).Draw(t, "sweep"),
				Time: rapid.SampledFrom([]string{"", "2025-11-03T10:42:00.5+01:00"}).Draw(t, "time"), Note: line("note", 0)}
			r.SetMark(number(0, unit.Limit()).Draw(t, "mark"), unit)
			k.Bench.Readings = append(k.Bench.Readings, r)
		}
		if rapid.Bool().Draw(t, "begun") {
			k.Bench.Marks, k.Bench.Gives = unit.Column(), "ohm"
			k.Bench.EmptyMark, k.Bench.FullMark = ptr(number(0, 40).Draw(t, "lowest")), ptr(number(41, 100).Draw(t, "highest"))
		}
		for range rapid.IntRange(0, 3).Draw(t, "struck") {
			s := Struck{Reading: Reading{Ohm: number(0, 1e5).Draw(t, "struck ohm"), Sweep: rapid.SampledFrom([]string{"", "up", "down"}).Draw(t, "struck sweep")},
				Reason: line("reason", 0), When: rapid.SampledFrom([]string{"", "2025-11-03T10:43:00Z"}).Draw(t, "struck at"),
				At: rapid.SampledFrom([]*int{nil, ptr(0), ptr(1), ptr(3999)}).Draw(t, "place")}
			s.SetMark(number(0, unit.Limit()).Draw(t, "struck mark"), unit)
			k.Bench.Struck = append(k.Bench.Struck, s)
		}
		if rapid.Bool().Draw(t, "warm") {
			k.Bench.TemperatureC = ptr(number(-60, 100).Draw(t, "temperature"))
		}
		if rapid.Bool().Draw(t, "used") {
			k.TemperatureC = ptr(number(-40, 60).Draw(t, "contents at"))
			k.PricePerL, k.Currency = number(0.01, 9).Draw(t, "price"), "EUR"
			between := func(most float64, label string) *Range {
				low := number(0, most).Draw(t, label)
				return Between(low, number(low, most).Draw(t, label+" at most"))
			}
			k.Loads = []Load{{Name: "a", LPerH: between(1e4, "rate"), HoursPerDay: between(24, "hours")}, {Name: "b", LPerDay: Exactly(number(0, 1e4).Draw(t, "daily"))}}
			if k.Contents == LPG {
				propane := number(0, 1).Draw(t, "propane")
				k.Gas = &Gas{Propane: propane, Butane: 1 - propane, By: rapid.SampledFrom([]string{"", ByMass, ByVolume}).Draw(t, "by")}
				k.Loads = append(k.Loads, Load{Preset: "hob burner"}, Load{Name: "c", KW: between(9, "kw"), Plate: rapid.SampledFrom([]string{"", Net, Gross}).Draw(t, "plate"), HoursPerDay: Exactly(1)})
			}
			j.Units = &quantity.Units{Volume: "US gal", Temperature: rapid.SampledFrom([]string{"", "C", "F"}).Draw(t, "degrees")}
		}
		if rapid.Bool().Draw(t, "doubted") {
			k.Bench.Doubts = &Doubts{MeterPct: number(0, 50).Draw(t, "meter"), MeterDigits: 2, LeadsOhm: number(0, 100).Draw(t, "leads"), Mark: number(0, 25).Draw(t, "mark doubt"), TemperaturePct: 0.4}
			k.Sender.Type, k.Sender.Batch, k.Sender.Serial = line("type", 0), line("batch", 0), line("serial", 0)
			k.Sender.Known = &kin.Known{From: "a type", Marks: unit.Column(), Gives: "ohm", Units: 4, Batches: 2, Knots: []kin.Knot{
				{Mark: 0, Value: number(0, 9).Draw(t, "knot"), U: 1, Floor: 0.1, Modes: []float64{0.5}}, {Mark: 100, Value: number(20, 200).Draw(t, "knot"), U: 2, Modes: []float64{-1}}}}
			v := Service{Note: line("service note", 0), Bench: Bench{Date: "2026-10-20", Readings: []Reading{{Ohm: number(0, 1e5).Draw(t, "service ohm")}}}}
			v.Readings[0].SetMark(number(0, unit.Limit()).Draw(t, "service mark"), unit)
			k.Services = append(k.Services, v)
		}
		for range rapid.IntRange(0, 2).Draw(t, "claims") {
			k.Sender.Claimed = append(k.Sender.Claimed, Claim{number(0, 100).Draw(t, "empty"), number(101, 200).Draw(t, "full")})
		}
		if rapid.Bool().Draw(t, "set") {
			s := &Setting{Readout: TwoPoint, Scale: rapid.SampledFrom([]string{"mark", "fill"}).Draw(t, "scale"), StepOhm: number(0, 5).Draw(t, "step"), Date: date.Draw(t, "set on")}
			s.Objective, s.Points, s.HighestOhm = rapid.SampledFrom([]string{"", "worst", "never-high"}).Draw(t, "objective"), rapid.SampledFrom([]int{0, 2, 8}).Draw(t, "most points"), rapid.SampledFrom([]float64{0, 1e5}).Draw(t, "highest")
			if rapid.Bool().Draw(t, "table") {
				s.Readout = Table
				ohms := rapid.SliceOfNDistinct(number(0, 1e5), 2, 8, rapid.ID).Draw(t, "ohms")
				slices.Sort(ohms)
				for _, o := range ohms {
					s.Table = append(s.Table, Entry{o, number(0, 100).Draw(t, "pct")})
				}
			} else {
				s.LowerOhm, s.UpperOhm = ptr(number(0, 100).Draw(t, "lower")), ptr(number(101, 1e5).Draw(t, "upper"))
				if rapid.Bool().Draw(t, "then a table") {
					s.Readout, s.ThenTable = EndsThenTable, []Correction{{0, 0}, {number(1, 99).Draw(t, "in"), number(0, 100).Draw(t, "out")}, {100, 100}}
				}
			}
			if rapid.Bool().Draw(t, "ends") {
				s.EmptyMark, s.FullMark = ptr(number(0, 40).Draw(t, "empty mark")), ptr(number(41, 100).Draw(t, "full mark"))
			}
			k.Setting = s
		}
		for range rapid.IntRange(0, 2).Draw(t, "checks") {
			c := Check{When: rapid.SampledFrom([]string{AsFound, AsLeft}).Draw(t, "when"), TolerancePct: number(1e-3, 99).Draw(t, "tolerance")}
			if rapid.Bool().Draw(t, "stated") {
				c.DisplayStepPct, c.MarkDoubt = ptr(number(0.1, 100).Draw(t, "display step")), ptr(number(0, 25).Draw(t, "mark doubt"))
			}
			for range rapid.IntRange(1, 3).Draw(t, "points") {
				p := CheckPoint{ShownPct: number(0, 110).Draw(t, "shown")}
				p.SetMark(number(0, unit.Limit()).Draw(t, "mark"), unit)
				c.Readings = append(c.Readings, p)
			}
			k.Checks = append(k.Checks, c)
		}
		if k.Setting != nil && (k.PermittedFillPct == 0 || k.overfills() != nil) {
			k.Setting.Scale = "mark"
		}
		j.Tanks = append(j.Tanks, k)
	}
	return j
})

func TestEncodeReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := jobs.Draw(t, "job")
		text, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		back, err := Read(bytes.NewReader(text), "f")
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		same(t, back, j)
		again, err := back.Encode()
		if err != nil || !bytes.Equal(again, text) {
			t.Fatalf("written again it is another text (%v):\n%s\n%s", err, text, again)
		}
		if bytes.ContainsRune(text, '\r') || !bytes.HasSuffix(text, []byte("}\n")) {
			t.Fatalf("not lines of LF:\n%s", text)
		}
	})
}

func TestEncode(t *testing.T) {
	j := &Job{Number: "7 <&>", Tanks: []Tank{{Name: "A", Contents: Water, Bench: Bench{Readings: []Reading{{MarkPct: ptr(0.0), Ohm: 0.1}, {MarkPct: ptr(1e-7), Ohm: 1e5}}}}, {Name: "B", Contents: Other}}}
	text, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	const want = `{
  "version": 2,
  "number": "7 <&>",
  "tanks": [
    {
      "name": "A",
      "contents": "water",
      "sender": {},
      "bench": {
        "readings": [
          { "mark_pct": 0, "ohm": 0.1 },
          { "mark_pct": 1e-7, "ohm": 100000 }
        ]
      }
    },
    {
      "name": "B",
      "contents": "other",
      "sender": {},
      "bench": { "readings": [] }
    }
  ]
}
`
	if string(text) != want {
		t.Errorf("found\n%s\nexpected\n%s", text, want)
	}
	if j.Version != 0 || j.Tanks[1].Bench.Readings != nil {
		t.Error("Encode changed the job")
	}
}

func TestEncodeWritesNoMinusZero(t *testing.T) {
	j := &Job{Number: "7", Tanks: []Tank{{Name: "A", Contents: Water, Bench: Bench{TemperatureC: ptr(math.Copysign(0, -1))}}}}
	text, err := j.Encode()
	if err != nil || !bytes.Contains(text, []byte(`"temperature_c": 0,`)) {
		t.Errorf("found %s, %v", text, err)
	}
}

func TestEncodeRefuses(t *testing.T) {
	one := func(k Tank) Job { return Job{Number: "7", Tanks: []Tank{k}} }
	for _, c := range []struct {
		name string
		job  Job
		want string
	}{
		{"no number", Job{}, "job: /number: blank; expected some text"},
		{"newer", Job{Number: "7", Version: 3}, "job 7: /version: found 3; this program writes version 2"},
		{"not UTF-8", one(Tank{Name: "A", Contents: Water, Bench: Bench{Readings: []Reading{{MarkL: ptr(1.0), Note: "\xff"}}}}), "job 7: /tanks/0/bench/readings/0/note: text that is not UTF-8"},
		{"NaN", one(Tank{Name: "A", Contents: Water, WaterCapacityL: math.NaN()}), "job 7: can't be written: json: unsupported value: NaN"},
		{"below zero", one(Tank{Name: "A", Contents: Water, WaterCapacityL: -1}), "job 7: /tanks/0/water_capacity_l: found -1, expected above 0 and up to 1000000"},
		{"no contents", one(Tank{Name: "A"}), `job 7: /tanks/0/contents: found text "", expected "lpg", "water", "diesel", "petrol", "waste" or "other"`},
		{"check of nothing", one(Tank{Name: "A", Contents: Water, Checks: []Check{{When: AsLeft, TolerancePct: 2}}}), "job 7: /tanks/0/checks/0/readings: found null, expected a list in [ ]"},
		{"gas too full", one(Tank{Name: "A", Contents: LPG, PermittedFillPct: 95}), "job 7: /tanks/0/permitted_fill_pct: found 95; for lpg no permitted fill above 85 is accepted, so that the liquid has room to expand; 80 is common practice, and the local code governs"},
		{"same names", Job{Number: "7", Tanks: []Tank{{Name: "A", Contents: Water}, {Name: "A", Contents: Waste}}}, `job 7: /tanks/1/name: a second tank named "A"; give each tank a name of its own`},
		{"too large", Job{Number: "7", Tanks: slices.Repeat([]Tank{{Name: "A", Contents: Water}}, MaxTanks+1)}, "job 7: /tanks: a list of 101 entries, expected 0 to 100"},
	} {
		_, err := c.job.Encode()
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: found %v, expected %s", c.name, err, c.want)
		}
	}
}

func TestEncodeRefusesWhatIsTooLongToRead(t *testing.T) {
	j := &Job{Number: "7"}
	readings := make([]Reading, MaxReadings)
	for i := range readings {
		readings[i] = Reading{MarkPct: ptr(50.0), Ohm: 1, Note: strings.Repeat("x", 4500)}
	}
	for _, name := range []string{"A", "B"} {
		j.Tanks = append(j.Tanks, Tank{Name: name, Contents: Water, Bench: Bench{Readings: readings}})
	}
	if _, err := j.Encode(); err == nil || err.Error() != "job 7: comes to more than 16 MiB; divide it into several jobs" {
		t.Errorf("found %v", err)
	}
}

func TestWriteFile(t *testing.T) {
	want, data := sampleV2(t)
	folder := t.TempDir()
	path := filepath.Join(folder, "a.job.json")
	written := func(names ...string) {
		t.Helper()
		entries, err := os.ReadDir(folder)
		if err != nil {
			t.Fatal(err)
		}
		var found []string
		for _, e := range entries {
			found = append(found, e.Name())
		}
		if !slices.Equal(found, names) {
			t.Errorf("the folder has %v, expected %v", found, names)
		}
		if text, err := os.ReadFile(path); err != nil || !bytes.Equal(text, data) {
			t.Errorf("the file isn't the sample (%v)", err)
		}
	}
	if err := want.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	written("a.job.json")

	// A job that can't be read back leaves the old one alone.
	if err := (&Job{Number: "7", Date: "tomorrow"}).WriteFile(path); err == nil {
		t.Error("a job with the date \"tomorrow\" was written")
	}
	written("a.job.json")

	// Permissions stay, and a link stays a link.
	if err := os.Chmod(path, 0o640); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(folder, "link")
	if err := os.Symlink("a.job.json", link); err != nil {
		t.Fatal(err)
	}
	if err := want.WriteFile(link); err != nil {
		t.Fatal(err)
	}
	written("a.job.json", "link")
	if info, err := os.Lstat(link); err != nil || info.Mode().Type() != fs.ModeSymlink {
		t.Errorf("the link is now %v (%v)", info.Mode(), err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("the permissions are now %v (%v)", info.Mode(), err)
	}

	err := want.WriteFile(folder)
	if want := folder + ": this is a directory or a device; expected the name of a job file"; err == nil || err.Error() != want {
		t.Errorf("found %v, expected %s", err, want)
	}
	err = want.WriteFile(filepath.Join(folder, "none", "a.job.json"))
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("found %v, expected a folder that isn't there", err)
	}
}

// The whole new file is there before the old one's name is taken: whoever
// reads meanwhile gets one or the other.
func TestWriteFileIsWholeToAReader(t *testing.T) {
	j, _ := sample(t)
	path := filepath.Join(t.TempDir(), "a.job.json")
	if err := j.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	stop, failed := make(chan struct{}), make(chan error, 1)
	go func() {
		defer close(failed)
		for {
			select {
			case <-stop:
				return
			default:
			}
			if _, err := ReadFile(path); err != nil {
				failed <- err
				return
			}
		}
	}()
	for range 20 {
		if err := j.WriteFile(path); err != nil {
			t.Error(err)
		}
	}
	close(stop)
	if err := <-failed; err != nil {
		t.Errorf("a reader found %v", err)
	}
}

// Source: FIPS 180-4, the example "abc" of SHA-256.
func TestChecksum(t *testing.T) {
	if found := Checksum([]byte("abc")); found != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Errorf("found %s", found)
	}
}
