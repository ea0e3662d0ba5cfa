package lookup_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/golden"
	"gaugewright/internal/lookup"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// hostile would end a comment, join lines or start new ones if it could.
var hostile = lookup.About{
	Source:   "x */ int y; /* ??/\nint z; \\",
	Date:     "\"\"\" */*/ '''\r\n# a",
	Input:    "\u202e ????/// \x00 \\\\",
	Cautions: []string{"*/\n#error", ""},
}

// tidewater is what is said of an invented sender.
var tidewater = lookup.About{
	Source:   "Tidewater Kitchen (invented), main tank",
	Date:     "2025-03-01",
	Input:    "pull-up of 470 Ω, 12 bits",
	Means:    "100 % = as full as this tank may be filled (80 % on the dial).",
	Cautions: []string{"Never fill beyond the permitted fill (80 %), whatever the display shows."},
}

// wide has the largest figures and the widest converter: products of two
// differences come within a hair of 32 bits.
func wide(t testing.TB) *lookup.Table {
	t.Helper()
	wideOnce.Do(func() { wideTable = makeWide(t) })
	return wideTable
}

var (
	wideOnce  sync.Once
	wideTable *lookup.Table
)

func makeWide(t testing.TB) *lookup.Table {
	sheet := curve.Sheet{Unit: curve.Volume}
	for i := range 5 {
		sheet.Readings = append(sheet.Readings, curve.Reading{Mark: 3.2767 * float64(i) / 4, Ohm: quantity.Ohm(50 * i)})
	}
	g := onDial(t, fitted(t, sheet))
	var err error
	if g.Scale, err = scale.New(scale.Mark, 1, 0, 3.2767, false); err != nil {
		t.Fatal(err)
	}
	return made(t, g, fed{201, 65535}, lookup.Options{Quantity: lookup.TenthsLitre, Points: 2})
}

const program = `#include <stdio.h>
#include "table.h"
int main(void) {
    long c;
    for (c = 0; c <= 65535L; c++) printf("%ld %d\n", (long)FUNCTION((uint16_t)c), gw_fault((uint16_t)c));
    return 0;
}
`

// shownByC compiles the header and gives level and fault at all 65536 counts.
func shownByC(t *testing.T, table *lookup.Table, a lookup.About) [][2]int {
	t.Helper()
	gcc, dir := peer.Tool(t, "gcc", "gcc"), t.TempDir()
	source := strings.ReplaceAll(program, "FUNCTION", table.Quantity.Function())
	for name, text := range map[string]string{"table.h": table.C(a), "main.c": source} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	strict := []string{"-Wall", "-Wextra", "-Werror", "-pedantic", "-Wconversion", "-I", dir, filepath.Join(dir, "main.c")}
	run(t, gcc, append([]string{"-std=c99", "-O1", "-o", filepath.Join(dir, "main")}, strict...)...)
	run(t, peer.Tool(t, "g++", "g++"), append([]string{"-x", "c++", "-std=c++11", "-fsyntax-only"}, strict...)...)
	return pairs(t, run(t, filepath.Join(dir, "main")))
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

func pairs(t *testing.T, text string) [][2]int {
	t.Helper()
	var list [][2]int
	for line := range strings.Lines(text) {
		level, fault, _ := strings.Cut(strings.TrimSpace(line), " ")
		l, err1 := strconv.Atoi(level)
		f, err2 := strconv.Atoi(fault)
		if err1 != nil || err2 != nil {
			t.Fatalf("the program says %q", line)
		}
		list = append(list, [2]int{l, f})
	}
	return list
}

func equal(t *testing.T, table *lookup.Table, shown [][2]int) {
	t.Helper()
	if len(shown) != 65536 {
		t.Fatalf("%d figures", len(shown))
	}
	for c, s := range shown {
		if s != [2]int{table.Level(c), int(table.Fault(c))} {
			t.Fatalf("count %d: %v, expected %d and %d", c, s, table.Level(c), table.Fault(c))
		}
	}
}

// The C header, compiled by gcc without a warning and as C++ by g++, gives the
// figures of the table at every count.
func TestCShowsTheSame(t *testing.T) {
	for name, table := range cases(t) {
		t.Run(name, func(t *testing.T) { equal(t, table, shownByC(t, table, tidewater)) })
	}
	t.Run("figures to the limit", func(t *testing.T) {
		table := wide(t)
		equal(t, table, shownByC(t, table, tidewater))
	})
	t.Run("hostile words", func(t *testing.T) {
		table := cases(t)["rising, steady current"]
		equal(t, table, shownByC(t, table, hostile))
	})
}

// The compiled header against the curve: at 1000 counts within the error it
// states, and at 1000 resistances within that and one count.
func TestCAgainstTheCurve(t *testing.T) {
	g, in := rising(t), pullUp{470, 4095}
	table := made(t, g, in, lookup.Options{Points: 12})
	shown := shownByC(t, table, tidewater)
	random := rand.New(rand.NewPCG(12, 4095))
	for range 1000 {
		c := table.First + random.IntN(table.Last-table.First+1)
		want, ok := truth(g, in, c)
		if off := math.Abs(float64(shown[c][0]) - want); !ok || off > table.Worst.Steps+1e-9 {
			t.Fatalf("count %d: %d, the curve says %g", c, shown[c][0], want)
		}
		ohm := in.Ohm(float64(table.First)) + random.Float64()*(in.Ohm(float64(table.Last))-in.Ohm(float64(table.First)))
		want = 1000 * float64(g.At(quantity.Ohm(ohm), curve.Refuse).Share)
		c = int(math.Round(in.Counts(ohm)))
		if off := math.Abs(float64(shown[c][0]) - want); off > table.Worst.Steps+table.CountStep {
			t.Fatalf("%g Ω, count %d: %d, the curve says %g", ohm, c, shown[c][0], want)
		}
	}
}

// The MicroPython module, run by Python, gives the figures of the table at every
// count. (Python isn't MicroPython; the module uses nothing but array and whole
// numbers.)
func TestPythonShowsTheSame(t *testing.T) {
	all := cases(t)
	all["figures to the limit"] = wide(t)
	for name, table := range all {
		for _, a := range []lookup.About{tidewater, hostile} {
			var got [][2]int
			peer.Python(t, nil, `
import json, sys
given = json.load(sys.stdin)
m = {}
exec(compile(given["module"], "module", "exec"), m)
assert m["gw_fault"](-1) == m["GW_NO_COUNT"] and m[given["function"]](-1) == -1
print(json.dumps([[m[given["function"]](c), m["gw_fault"](c)] for c in range(65536)]))
`, map[string]string{"module": table.MicroPython(a), "function": table.Quantity.Function()}, &got)
			t.Run(name, func(t *testing.T) { equal(t, table, got) })
		}
	}
}

// JSON read back makes the same table, and so does CSV with the zones of JSON.
func TestReadBack(t *testing.T) {
	for name, table := range cases(t) {
		text, err := table.JSON(hostile)
		if err != nil {
			t.Fatal(err)
		}
		var w struct {
			lookup.Written
			Findings []struct{ Kind, Text, Weight string } `json:"findings"`
		}
		if err := json.Unmarshal(text, &w); err != nil {
			t.Fatal(err)
		}
		again := lookup.Table{Full: w.FullCount, Rising: table.Rising}
		for _, z := range w.Zones {
			f := slices.IndexFunc([]lookup.Fault{0, 1, 2, 3, 4, 5}, func(f lookup.Fault) bool { return f.String() == z.Fault })
			again.Zones = append(again.Zones, lookup.Zone{From: z.From, To: z.To, Fault: lookup.Fault(f)})
		}
		for _, p := range w.Points {
			again.Points = append(again.Points, lookup.Point(p))
		}
		if w.Entries != nil {
			again.Entries, again.Shift, again.Base = w.Entries.Levels, w.Entries.Shift, w.Entries.Base
		}
		for c := -1; c <= 65536; c++ {
			if again.Level(c) != table.Level(c) || again.Fault(c) != table.Fault(c) {
				t.Fatalf("%s: count %d: %d, expected %d", name, c, again.Level(c), table.Level(c))
			}
		}
		if w.Worst < table.Quantity.InUnit(table.Worst.Steps)-1e-9 || w.Worst > table.Quantity.InUnit(table.Worst.Steps)+0.001 {
			t.Errorf("%s: the error is told as %g, and is %g steps", name, w.Worst, table.Worst.Steps)
		}
		var lines []string
		for line := range strings.Lines(table.CSV(hostile)) {
			if !strings.HasPrefix(line, "#") {
				lines = append(lines, strings.TrimSpace(line))
			}
		}
		if lines[0] != "count,tenths_pct" || len(lines) != 1+len(table.Points)+len(table.Entries) {
			t.Fatalf("%s: %q and %d lines", name, lines[0], len(lines))
		}
		for _, line := range lines[1:] {
			count, level, _ := strings.Cut(line, ",")
			c, _ := strconv.Atoi(count)
			l, _ := strconv.Atoi(level)
			// The first entry may stand for counts that are a fault.
			if got := table.Level(c); got != l && table.Fault(c) == lookup.Fine {
				t.Errorf("%s: CSV says %q, the table %d", name, line, got)
			}
		}
	}
}

// What is written, as somebody looked at it.
func TestWritten(t *testing.T) {
	g := rising(t)
	var err error
	if g.Scale, err = scale.New(scale.Fill, 0.8, 0, 1, true); err != nil {
		t.Fatal(err)
	}
	points := made(t, g, pullUp{470, 4095}, lookup.Options{Points: 8})
	entries := made(t, falling(t), pullUp{220, 1023}, lookup.Options{Shift: 2})
	plain := lookup.About{Source: "water tank (invented)"}
	for name, text := range map[string]string{
		"points.csv": points.CSV(tidewater), "points.h": points.C(tidewater), "points.py": points.MicroPython(tidewater),
		"entries.csv": entries.CSV(plain), "entries.h": entries.C(plain), "entries.py": entries.MicroPython(plain),
	} {
		golden.Check(t, name, []byte(text))
		if caution := strings.Contains(text, "CAUTION"); caution != strings.HasPrefix(name, "points") {
			t.Errorf("%s: cautions: %v", name, caution)
		}
	}
	for name, table := range map[string]*lookup.Table{"points.json": points, "entries.json": entries} {
		text, err := table.JSON(map[string]lookup.About{"points.json": tidewater, "entries.json": plain}[name])
		if err != nil {
			t.Fatal(err)
		}
		golden.Check(t, name, text)
	}
}
