package lines

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/watch"
	"pgregory.net/rapid"
)

func laid(t testing.TB, c Config) *layout {
	t.Helper()
	l, key, err := c.layout()
	if err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return &l
}

// Forms of numbers: NR1, NR2, NR3 of IEEE 488.2, 8.7.2 to 8.7.4; 9.9E37 and
// 9.91E37 by SCPI-99 (both from memory). Words: common practice, no source.
func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		signal string
		comma  bool
		text   string
		value  float64
		said   watch.Said
		why    string
	}{
		{"ohm", false, "118.4", 118.4, watch.Measured, ""},
		{"ohm", false, " +118 ", 118, watch.Measured, ""},
		{"ohm", false, "+1.18400000E+02", 118.4, watch.Measured, ""},
		{"ohm", false, ".5", 0.5, watch.Measured, ""},
		{"ohm", false, "-0.02", -0.02, watch.Measured, ""},
		{"ohm", false, "\u22120.02", -0.02, watch.Measured, ""},
		{"ohm", true, "118,4", 118.4, watch.Measured, ""},
		{"ohm", true, "1,184e2 ohm", 118.4, watch.Measured, ""},
		{"ohm", false, "118.4 ohm", 118.4, watch.Measured, ""},
		{"ohm", false, "118.4OHM", 118.4, watch.Measured, ""},
		{"ohm", false, "118.4 \u03a9", 118.4, watch.Measured, ""},
		{"ohm", false, "118.4 \u2126", 118.4, watch.Measured, ""},
		{"ohm", false, "0.1184k", 118.4, watch.Measured, ""},
		{"ohm", false, "0.1184 k\u03a9", 118.4, watch.Measured, ""},
		{"ohm", false, "1.5 Mohm", 1.5e6, watch.Measured, ""},
		{"ohm", false, "1.5 mohm", 0, watch.Unavailable, otherUnit},
		{"volt", false, "1.84 V", 1.84, watch.Measured, ""},
		{"volt", false, "1840mV", 1.84, watch.Measured, ""},
		{"volt", false, "1840 ohm", 0, watch.Unavailable, otherUnit},
		{"count", false, "2048", 2048, watch.Measured, ""},
		{"level_pct", false, "61.2%", 61.2, watch.Measured, ""},
		{"level_pct", false, "61.2 pct", 61.2, watch.Measured, ""},

		{"ohm", false, "OL", openCircuit, watch.Measured, ""},
		{"ohm", false, "0.L", openCircuit, watch.Measured, ""},
		{"ohm", false, "0L ohm", openCircuit, watch.Measured, ""},
		{"ohm", false, "O.L", openCircuit, watch.Measured, ""},
		{"ohm", false, ">OVLD", openCircuit, watch.Measured, ""},
		{"ohm", false, "overload", openCircuit, watch.Measured, ""},
		{"ohm", false, "+9.90000000E+37", openCircuit, watch.Measured, ""},
		{"ohm", false, "inf", openCircuit, watch.Measured, ""},
		{"ohm", false, "open", openCircuit, watch.Measured, ""},
		{"volt", false, "OL", 0, watch.Unavailable, ""},
		{"ohm", false, "+9.91000000E+37", 0, watch.Unavailable, ""},
		{"ohm", false, "", 0, watch.Unavailable, ""},
		{"ohm", false, "----", 0, watch.Unavailable, ""},
		{"ohm", false, "NaN", 0, watch.Unavailable, ""},
		{"ohm", false, "-nan", 0, watch.Unavailable, ""},
		{"ohm", false, "null", 0, watch.Unavailable, ""},
		{"ohm", false, "ERR", 0, watch.Broken, ""},

		{"ohm", false, "118,4", 0, watch.Unavailable, notNumber},
		{"ohm", true, "118.4", 0, watch.Unavailable, notNumber},
		{"ohm", false, "1.2.3", 0, watch.Unavailable, notNumber},
		{"ohm", false, "118 4", 0, watch.Unavailable, notNumber},
		{"ohm", false, "0x76", 0, watch.Unavailable, notNumber},
		{"ohm", false, "1_000", 0, watch.Unavailable, notNumber},
		{"ohm", false, "hello", 0, watch.Unavailable, notNumber},
		{"ohm", false, "R=118.4", 0, watch.Unavailable, notNumber},
		{"ohm", false, "-1e999", 0, watch.Unavailable, tooLarge},
		{"ohm", false, "9e36k", 0, watch.Unavailable, tooLarge},
	} {
		l := laid(t, Config{Tank: "fresh", Signal: c.signal, DecimalComma: c.comma})
		v, said, why := l.number(c.text)
		if math.Abs(v-c.value) > 1e-9*max(1, math.Abs(c.value)) || said != c.said || why != c.why {
			t.Errorf("%q in %s: %v, %v, %q; want %v, %v, %q", c.text, c.signal, v, said, why, c.value, c.said, c.why)
		}
	}
}

func TestLayouts(t *testing.T) {
	columns := Config{Columns: []string{"fresh", "-", "waste"}}
	blanks := Config{Columns: []string{"fresh", "waste"}, Separator: " "}
	pairs := Config{Keys: map[string]string{"R": "fresh", "R2": "waste"}}
	told := Config{Keys: map[string]string{"fresh": "fresh", "grey water": "waste"}, Between: ","}
	colon := Config{Keys: map[string]string{"R": "fresh", "R2": "waste"}, Between: ":", Separator: " ", DecimalComma: true}
	measured := func(tank string, v float64) value { return value{tank, watch.Measured, v} }
	for _, c := range []struct {
		config Config
		line   string
		want   []value
		why    string
	}{
		{Config{Tank: "fresh"}, "118.4", []value{measured("fresh", 118.4)}, ""},
		{Config{Tank: "fresh"}, "", nil, ""},
		{Config{Tank: "fresh"}, " \t", nil, ""},
		{Config{Tank: "fresh"}, "# version 3", nil, ""},
		{Config{Tank: "fresh"}, "11\x008.4", nil, notText},
		{Config{Tank: "fresh"}, "118.4\xff", nil, notText},
		{columns, "118.4, 23.5 C, 77", []value{measured("fresh", 118.4), measured("waste", 77)}, ""},
		{columns, "118.4,,", []value{measured("fresh", 118.4), {"waste", watch.Unavailable, 0}}, ""},
		{columns, "x,,77", []value{measured("waste", 77)}, notNumber},
		{columns, "118.4,23.5", nil, tooFew},
		{columns, "118.4,23.5,77,1", nil, tooMany},
		{blanks, "118.4 \t 77", []value{measured("fresh", 118.4), measured("waste", 77)}, ""},
		{pairs, "R=118.4", []value{measured("fresh", 118.4)}, ""},
		{pairs, "T=23.5, R2 = 77 ohm, R=118.4", []value{measured("waste", 77), measured("fresh", 118.4)}, ""},
		{pairs, "R", nil, halfPair},
		{pairs, "T=23.5", nil, noName},
		{pairs, "r=118.4", nil, noName},
		{told, "fresh,118.4", []value{measured("fresh", 118.4)}, ""},
		{told, "grey water,77,fresh,118.4", []value{measured("waste", 77), measured("fresh", 118.4)}, ""},
		{told, "diesel,3,fresh", nil, halfPair},
		{colon, "R:118,4 R2:77", []value{measured("fresh", 118.4), measured("waste", 77)}, ""},
	} {
		var whys []string
		got := laid(t, c.config).read([]byte(c.line), nil, func(why string) { whys = append(whys, why) })
		if !slices.Equal(got, c.want) || strings.Join(whys, "") != c.why {
			t.Errorf("%q: %+v, %q; want %+v, %q", c.line, got, whys, c.want, c.why)
		}
	}
}

// However a stream is split on its way, its lines are the same.
func TestCutterLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOf(rapid.StringMatching(`[ -~]{0,12}`)).Draw(t, "lines")
		var stream, want []byte
		for _, l := range lines {
			stream = append(append(stream, l...), rapid.SampledFrom([]string{"\n", "\r", "\r\n"}).Draw(t, "end")...)
			if l != "" {
				want = append(append(want, l...), '\n')
			}
		}
		var c cutter
		var got []byte
		for len(stream) > 0 {
			n := rapid.IntRange(1, len(stream)).Draw(t, "piece")
			c.push(stream[:n], func(l []byte) {
				if len(l) > 0 {
					got = append(append(got, l...), '\n')
				}
			}, func([]byte) { t.Fatal("too long") })
			stream = stream[n:]
		}
		if string(got) != string(want) || c.partial() {
			t.Fatalf("%q, want %q", got, want)
		}
	})
}

func TestLongLine(t *testing.T) {
	var c cutter
	var lines []string
	long := 0
	push := func(s string) {
		c.push([]byte(s), func(l []byte) { lines = append(lines, string(l)) }, func(l []byte) { long++ })
	}
	whole := strings.Repeat("1", longestLine)
	push(whole + "\n" + whole + "1\n7\n")
	for range 100 {
		push(whole)
	}
	push("\n8\n")
	if long != 2 || len(lines) != 3 || lines[0] != whole || lines[1] != "7" || lines[2] != "8" || cap(c.part) > 4*longestLine {
		t.Errorf("%d too long, %d lines, %d bytes held", long, len(lines), cap(c.part))
	}
}

func FuzzLine(f *testing.F) {
	for _, s := range []string{"118.4", "R=118,4; R2=OL", "fresh,1e5 k\u03a9", "----", "9.91E37", "\u2212.", "0x1p4"} {
		f.Add([]byte(s), uint8(0))
	}
	var layouts []*layout
	for _, c := range []Config{
		{Tank: "a"}, {Tank: "a", DecimalComma: true, Signal: "volt"}, {Columns: []string{"a", "-", "b"}},
		{Columns: []string{"a", "b"}, Separator: " "}, {Keys: map[string]string{"R": "a"}},
		{Keys: map[string]string{"R": "a"}, Between: ","},
	} {
		layouts = append(layouts, laid(f, c))
	}
	f.Fuzz(func(t *testing.T, line []byte, which uint8) {
		l := layouts[int(which)%len(layouts)]
		refused := 0
		got := l.read(line, nil, func(why string) { refused++ })
		if refused > len(line)+1 || len(got) > len(line)+len(l.columns) {
			t.Errorf("%d values, %d refused of %d bytes", len(got), refused, len(line))
		}
		for _, v := range got {
			if math.IsNaN(v.v) || math.IsInf(v.v, 0) || v.said != watch.Measured && v.v != 0 || v.tank != "a" && v.tank != "b" {
				t.Errorf("%+v", v)
			}
		}
	})
}

func FuzzCutter(f *testing.F) {
	f.Add([]byte("118\r\n\n\r119"), 3)
	f.Fuzz(func(t *testing.T, stream []byte, at int) {
		cutting := func(pieces ...[]byte) (list []string) {
			var c cutter
			for _, p := range pieces {
				c.push(p, func(l []byte) { list = append(list, string(l)) }, func(l []byte) { list = append(list, "long "+string(l)) })
			}
			return list
		}
		at = max(0, min(at, len(stream)))
		if a, b := cutting(stream), cutting(stream[:at], stream[at:]); !slices.Equal(a, b) {
			t.Errorf("%q, and in two pieces %q", a, b)
		}
	})
}

func BenchmarkLine(b *testing.B) {
	l := laid(b, Config{Keys: map[string]string{"R": "fresh", "R2": "waste"}})
	line := []byte("R=118.4,R2=77.1")
	var values []value
	b.ReportAllocs()
	for b.Loop() {
		values = l.read(line, values[:0], func(string) {})
	}
}
