package readings

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

var withoutLine = cmpopts.IgnoreFields(curve.Reading{}, "Line")

func TestWrite(t *testing.T) {
	tests := []struct {
		name  string
		sheet curve.Sheet
		want  string
	}{
		{"bare", dial(at(0, 3.5, 9), at(0.07, 95, 9)), "mark_pct,ohm\n0,3.5\n7,95\n"},
		{"a third", dial(at(1./3, 1./3, 0)), "mark_pct,ohm\n33.33333333333333,0.3333333333333333\n"},
		{"very small and very large", curve.Sheet{Unit: curve.Mass, Readings: []curve.Reading{at(1_000_000, 1e-9, 0)}}, "mark_kg,ohm\n1000000,1e-09\n"},
		{"only the columns that hold anything", dial(
			curve.Reading{Mark: 0.5, Ohm: 95, Note: `5" hose, "loose"`},
			curve.Reading{Mark: 0.6, Ohm: 96, Note: "#2"}), "mark_pct,ohm,note\n50,95,\"5\"\" hose, \"\"loose\"\"\"\n60,96,\"#2\"\n"},
		{"everything", curve.Sheet{Unit: curve.Height, Readings: []curve.Reading{
			{Mark: 0.12, Ohm: 95, Sweep: curve.Down, Time: moment("2026-11-03T09:30:00.5+01:00"), Note: "two\nlines"},
			{Mark: 0.13, Ohm: 96}}}, "mark_mm,ohm,sweep,time,note\n120,95,down,2026-11-03T09:30:00.5+01:00,\"two\nlines\"\n130,96,,,\n"},
		// An offset with seconds, as local mean time has, can't be written.
		{"offset with seconds", dial(curve.Reading{Time: time.Date(1890, 1, 1, 12, 0, 0, 0, time.FixedZone("LMT", 1172))}), "mark_pct,ohm,time\n0,0,1890-01-01T11:40:28Z\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var b strings.Builder
			if err := Write(&b, tt.sheet); err != nil {
				t.Fatal(err)
			}
			if b.String() != tt.want {
				t.Errorf("\ngot  %q\nwant %q", b.String(), tt.want)
			}
			back, err := Read(strings.NewReader(b.String()), "x")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.sheet, back, withoutLine, cmpopts.EquateApprox(1e-15, 0)); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

func TestWriteRefuses(t *testing.T) {
	one := func(r curve.Reading) curve.Sheet { return dial(at(0.5, 95, 0), r) }
	tests := []struct {
		name  string
		sheet curve.Sheet
		want  string
	}{
		{"nothing", dial(), "no readings to write"},
		{"unit", curve.Sheet{Unit: 9, Readings: []curve.Reading{at(1, 1, 0)}}, "mark unit 9 is not known"},
		{"mark above", one(at(1.01, 1, 0)), "reading 2 of 2: mark 1.01 is outside 0 to 1 (100 %)"},
		{"mark NaN", one(at(math.NaN(), 1, 0)), "reading 2 of 2: mark NaN is outside 0 to 1 (100 %)"},
		{"ohms below", one(at(1, -1, 0)), "reading 2 of 2: -1 ohms is outside 0 to 100000"},
		{"ohms infinite", one(at(1, quantity.Ohm(math.Inf(1)), 0)), "reading 2 of 2: +Inf ohms is outside 0 to 100000"},
		{"sweep", one(curve.Reading{Sweep: 3}), "reading 2 of 2: sweep 3 is not known; expected unstated, up or down"},
		{"year", one(curve.Reading{Time: time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)}), "reading 2 of 2: the year 10000 can't be written; RFC 3339 has 0 to 9999"},
		{"note not UTF-8", one(curve.Reading{Note: "caf\xe9"}), `reading 2 of 2: note "caf\xe9" is not valid UTF-8`},
		{"note with CR", one(curve.Reading{Note: "a\rb"}), `reading 2 of 2: note "a\rb" holds the control character U+000D; take it out`},
		{"too many", curve.Sheet{Readings: make([]curve.Reading, curve.MaxReadings+1)}, "100001 readings are too many to write; the most is 100000"},
		{"too large", one(curve.Reading{Note: strings.Repeat("x", MaxBytes)}), "readings of 16777246 bytes are too large to write; the most is 16 MiB; shorten the notes"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var b bytes.Buffer
			err := Write(&b, tt.sheet)
			if err == nil || err.Error() != tt.want {
				t.Errorf("\ngot  %v\nwant %s", err, tt.want)
			}
			if b.Len() > 0 {
				t.Errorf("%d bytes were written all the same", b.Len())
			}
		})
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWritePassesOnTroubleWithWriting(t *testing.T) {
	if err := Write(fullDisk{}, dial(at(0.5, 95, 0))); err == nil || err.Error() != "disk full" {
		t.Errorf("got %v", err)
	}
}

// drawSheet draws any sheet that can be typed or read.
func drawSheet(t *rapid.T) curve.Sheet {
	s := curve.Sheet{Unit: rapid.SampledFrom(curve.MarkUnits).Draw(t, "unit")}
	note := rapid.OneOf(
		rapid.Just(""),
		rapid.StringOf(rapid.RuneFrom([]rune("a0#,;\"\n\t é€😀\u00a0\uFEFF\u2028-=\\."))),
		rapid.String().Filter(func(s string) bool { return strings.IndexFunc(s, unreadable) < 0 }),
	)
	for range rapid.IntRange(1, 20).Draw(t, "n") {
		r := curve.Reading{
			Mark:  s.Unit.FromShown(rapid.OneOf(rapid.Float64Range(0, s.Unit.Limit()), rapid.Float64Range(0, 1e-300)).Draw(t, "mark")),
			Ohm:   quantity.Ohm(rapid.Float64Range(0, float64(curve.MaxOhm)).Draw(t, "ohm")),
			Sweep: curve.Sweep(rapid.IntRange(0, 2).Draw(t, "sweep")),
			Note:  note.Draw(t, "note"),
			Line:  rapid.Int().Draw(t, "line"),
		}
		if rapid.Bool().Draw(t, "timed") {
			// From year 1 to year 9998, so that no offset leads out of 0..9999.
			seconds := rapid.Int64Range(-62135596799, 253370764800).Draw(t, "seconds")
			offset := rapid.IntRange(-23*60-59, 23*60+59).Draw(t, "offset")
			r.Time = time.Unix(seconds, rapid.Int64Range(0, 999_999_999).Draw(t, "ns")).In(time.FixedZone("", offset*60))
		}
		s.Readings = append(s.Readings, r)
	}
	return s
}

// Read(Write(s)) is s, exactly, to the last bit of each number and with the
// offset of each time.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSheet(t)
		var b strings.Builder
		if err := Write(&b, s); err != nil {
			t.Fatal(err)
		}
		back, err := Read(strings.NewReader(b.String()), "x")
		if err != nil {
			t.Fatalf("%v\n%s", err, b.String())
		}
		if diff := cmp.Diff(s, back, withoutLine); diff != "" {
			t.Fatalf("(-want +got)\n%s", diff)
		}
		for i, r := range back.Readings {
			_, want := s.Readings[i].Time.Zone()
			if _, got := r.Time.Zone(); got != want {
				t.Fatalf("offset %d became %d", want, got)
			}
		}
		var again strings.Builder
		if err := Write(&again, back); err != nil || again.String() != b.String() {
			t.Fatalf("%v; written again it differs:\n%s\n%s", err, b.String(), again.String())
		}
	})
}

// A mark that was computed and not read may have no shown figure of its own; it
// comes back next to where it was.
func TestRoundTripOfAnyMark(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(curve.MarkUnits).Draw(t, "unit")
		mark := rapid.Float64Range(0, u.FromShown(u.Limit())).Draw(t, "mark")
		v, err := quantity.ParseNumber(markText(u, mark), false)
		if err != nil {
			t.Fatal(err)
		}
		if v > u.Limit() {
			t.Fatalf("%g was written as %g, above the limit", mark, v)
		}
		got := u.FromShown(v)
		if got != mark && got != math.Nextafter(mark, 0) && got != math.Nextafter(mark, math.Inf(1)) {
			t.Fatalf("%g came back as %g", mark, got)
		}
	})
}

// What any spreadsheet would write of a sheet, in every separator, line end and
// encoding that is read, reads back as the same sheet.
func TestReadIsTheSameInEveryForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSheet(t)
		for i := range s.Readings {
			s.Readings[i].Note = rapid.StringOf(rapid.RuneFrom([]rune("aé€,;#\" "))).Draw(t, "plain note")
		}
		var b strings.Builder
		if err := Write(&b, s); err != nil {
			t.Fatal(err)
		}
		want, err := Read(strings.NewReader(b.String()), "x")
		if err != nil {
			t.Fatal(err)
		}
		got, err := Read(strings.NewReader(respell(t, b.String())), "x")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("(-want +got)\n%s", diff)
		}
	})
}
