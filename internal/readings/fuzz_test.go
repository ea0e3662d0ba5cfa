package readings

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/curve"
)

// seeds are texts from which fuzzing starts: every form that is read, and every
// kind of mistake.
func seeds(f *testing.F) {
	for _, text := range []string{
		"", "\uFEFF", "#\n", "mark_pct,ohm\n", "mark_pct,ohm\n0,3.5\n50,95\n",
		"mark_mm;ohm;note\r\n12,5;1,5;\"a;b\"\r\n", "mark_l\tohm\r0\t1e3\r",
		"# x\n mark_kg , OHM ,sweep,time,note\n1,2,up,2026-11-03T09:30:00+01:00,\"a\n# \"\"b\"\n",
		"\xff\xfem\x00a\x00r\x00k\x00_\x00p\x00c\x00t\x00,\x00o\x00h\x00m\x00\n\x001\x00,\x002\x00",
		"\xfe\xff\x00#\xd8\x3d", "mark_pct,ohm,note\n1,2,\xe9\x80\n", "mark_pct,ohm\n1,\x00\n",
		"\"# a\nb\",\nmark_pct,ohm,\n,,\n1,2,\n", "mark_pct,ohm\n1,2,3\n1\n", "0,1\n", "ohm,ohm,mark\n",
		"mark_pct,ohm\n1,OL\n140,-1\nNaN,\"1.2,3\"\n", "mark_pct,ohm\n1,\"2\n", "mark_pct,ohm\n1,2\"\n",
		"mark_pct,shown_pct,note\n50,49.5,x\n100,101,\n", "mark_l;shown_pct\n1,5;110\n2;x\n",
		"mark_pct,volt\n0,0.5\n50,2,5\n", "mark_mm;milliamp\n0;4\n5;20,5\n", "mark_l,of_supply_pct,sweep\n0,10,up\n5,OL,\n", "mark_pct,ohm,volt\n1,2,3\n", "mark_pct,mvolt\n1,2\n",
		"note,mark_pct,ohm\n\"#1\",1,2\n", "mark_pct,ohm,time\n1,2,0001-01-01T00:00:00Z\n",
	} {
		f.Add([]byte(text))
	}
	files, err := filepath.Glob("testdata/*.*")
	if err != nil || len(files) == 0 {
		f.Fatal("no files in testdata", err)
	}
	for _, path := range files {
		raw, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
}

// What is accepted is sane and survives being written and read again; what is
// refused is refused at a place.
func FuzzRead(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		before := bytes.Clone(raw)
		s, err := Read(bytes.NewReader(raw), "fuzz.csv")
		if !bytes.Equal(raw, before) {
			t.Fatal("the input was changed")
		}
		if err != nil {
			checkErrors(t, string(raw), err)
			return
		}
		line := 0
		for _, r := range s.Readings {
			if !(r.Mark >= 0 && r.Mark <= s.Unit.FromShown(s.Unit.Limit())) || !(r.Ohm >= 0 && r.Ohm <= s.Signal.Limit()) || math.Signbit(r.Mark) || math.Signbit(float64(r.Ohm)) {
				t.Fatalf("accepted %+v", r)
			}
			if r.Line <= line {
				t.Fatalf("line %d after line %d", r.Line, line)
			}
			line = r.Line
		}
		var b bytes.Buffer
		if err := Write(&b, s); err != nil {
			t.Fatalf("can't be written: %v", err)
		}
		back, err := Read(&b, "again.csv")
		if err != nil {
			t.Fatalf("can't be read again: %v", err)
		}
		if diff := cmp.Diff(s, back, withoutLine); diff != "" {
			t.Fatalf("(-want +got)\n%s", diff)
		}
	})
}

func FuzzReadShown(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		s, err := ReadShown(bytes.NewReader(raw), "fuzz.csv")
		if err != nil {
			checkErrors(t, string(raw), err)
			return
		}
		if len(s.Rows) == 0 {
			t.Fatal("accepted without rows")
		}
		for _, r := range s.Rows {
			if !(r.Mark >= 0 && r.Mark <= s.Unit.FromShown(s.Unit.Limit())) || !(r.Shown >= 0 && r.Shown <= maxShown/100.0) || r.Line < 2 {
				t.Fatalf("accepted %+v", r)
			}
		}
	})
}

// Whatever a file holds, opening it for adding either refuses it and leaves it
// alone, or makes a file that Read takes, with the readings that were promised
// and one more.
func FuzzOpenAppender(f *testing.F) {
	seeds(f)
	for _, tail := range []string{"50,95,up,,", "50,9", "5\x00\x00", "50,95,,,caf\xc3", "50,95,,,\"", "#"} {
		f.Add([]byte(freshHeader + "0,1,,,\n" + tail))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		path := filepath.Join(t.TempDir(), "tank.csv")
		if err := os.WriteFile(path, raw, 0o600); err != nil {
			t.Fatal(err)
		}
		a, s, err := OpenAppender(path, curve.Dial)
		if err != nil {
			if got, _ := os.ReadFile(path); !bytes.Equal(got, raw) {
				t.Fatalf("refused (%v), yet changed to %q", err, got)
			}
			return
		}
		defer a.Close()
		if err := a.Add(at(0.5, 95, 0)); err != nil {
			t.Fatal(err)
		}
		back, err := ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		want := append(s.Readings, at(0.5, 95, 0))
		if diff := cmp.Diff(want, back.Readings, withoutLine); diff != "" {
			t.Fatalf("after Add (-want +got)\n%s", diff)
		}
		for range want {
			if _, err := a.Strike("x"); err != nil {
				t.Fatal(err)
			}
			want = want[:len(want)-1]
			raw, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			left, _, err := readSheet(path, raw, true)
			if err != nil || len(left.Readings) != len(want) {
				t.Fatalf("after Strike %d readings, want %d, %v", len(left.Readings), len(want), err)
			}
		}
	})
}
