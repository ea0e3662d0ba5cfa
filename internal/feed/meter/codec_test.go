package meter

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/sitting"
	"pgregory.net/rapid"
)

const (
	reading  = sitting.Reading
	over     = sitting.Overload
	garbling = sitting.Garbled
	unfit    = sitting.Unfit
)

type coded struct {
	text   string
	signal curve.Signal
	state  sitting.State
	value  float64
}

func hold(t *testing.T, cases []coded, read func(string, curve.Signal) answer) {
	t.Helper()
	for _, c := range cases {
		a := read(c.text, c.signal)
		if a.state != c.state || math.Abs(float64(a.value)-c.value) > 1e-9*max(1, c.value) {
			t.Errorf("%q for %s: %s %g (%s); want %s %g", c.text, c.signal.Figures(), a.state, float64(a.value), a.words, c.state, c.value)
		}
		if (a.words == "") != (a.state == reading) || strings.HasSuffix(a.words, ".") {
			t.Errorf("%q: words %q", c.text, a.words)
		}
	}
}

// Forms of numbers: NR1, NR2, NR3 of IEEE 488.2, 8.7.2 to 8.7.4; suffixes of
// 7.7.3 (sections from memory). Values that stand for something else: SCPI-99,
// +9.9E37 infinity, -9.9E37 negative infinity, 9.91E37 not a number.
func TestReplyTo(t *testing.T) {
	hold(t, []coded{
		{"+1.18400000E+02", curve.Ohms, reading, 118.4},
		{" 118.4 ", curve.Ohms, reading, 118.4},
		{"118", curve.Ohms, reading, 118},
		{"+118", curve.Ohms, reading, 118},
		{"1.184e2", curve.Ohms, reading, 118.4},
		{".5", curve.Ohms, reading, 0.5},
		{"5.", curve.Ohms, reading, 5},
		{"118.4 OHM", curve.Ohms, reading, 118.4},
		{"1.184 kOHM", curve.Ohms, reading, 1184},
		{"1.184KOHM", curve.Ohms, reading, 1184},
		{"+1.184E+02OHM,+12.3SECS,+00001RDNG#", curve.Ohms, reading, 118.4},
		{"+1.18400000E+02,+1.18500000E+02", curve.Ohms, reading, 118.4},
		{"0.05 MOHM", curve.Ohms, reading, 50_000}, // of ohms M is mega
		{"0", curve.Ohms, reading, 0},
		{"-2.00000000E-02", curve.Ohms, reading, 0},
		{"-0.5", curve.Ohms, reading, 0},
		{"-0.51", curve.Ohms, unfit, 0},
		{"100000", curve.Ohms, reading, 100_000},
		{"100000.1", curve.Ohms, unfit, 0},
		{"1E36", curve.Ohms, unfit, 0},
		{"+9.9E37", curve.Ohms, over, 0},
		{"-9.9E37", curve.Ohms, over, 0},
		{"+9.90000000E+37", curve.Volts, over, 0},
		{"+9.91000000E+37", curve.Ohms, garbling, 0},
		{"9.9E37 OHM", curve.Ohms, over, 0},
		{"1E400", curve.Ohms, over, 0},
		{"OVERLOAD", curve.Ohms, over, 0},
		{"118,4", curve.Ohms, garbling, 0}, // a decimal comma, or two values
		{"118,+4", curve.Ohms, reading, 118},
		{"118.4,", curve.Ohms, garbling, 0},
		{",118.4", curve.Ohms, garbling, 0},
		{"118.4,abc", curve.Ohms, garbling, 0},
		{"118.4 118.5", curve.Ohms, garbling, 0},
		{"1.1.8", curve.Ohms, garbling, 0},
		{"1.184E+", curve.Ohms, garbling, 0},
		{"0x1F", curve.Ohms, garbling, 0},
		{"1_000", curve.Ohms, garbling, 0},
		{"NaN", curve.Ohms, garbling, 0},
		{"", curve.Ohms, garbling, 0},
		{"+", curve.Ohms, garbling, 0},
		{"1.184 VDC", curve.Ohms, unfit, 0},
		{"1.184 V", curve.Ohms, unfit, 0},
		{"1.184 mohm", curve.Ohms, unfit, 0},
		{"23.4 CEL", curve.Ohms, unfit, 0},
		{"2.5", curve.Volts, reading, 2.5},
		{"+2.50000000E+00VDC", curve.Volts, reading, 2.5},
		{"2500 MV", curve.Volts, reading, 2.5}, // of volts M is milli
		{"2.5 VAC", curve.Volts, unfit, 0},
		{"118.4 OHM", curve.Volts, unfit, 0},
		{"+1.20000000E-02", curve.Milliamps, reading, 12}, // SCPI answers in amperes
		{"12 mA", curve.Milliamps, reading, 12},
		{"12000 uA", curve.Milliamps, reading, 12},
		{"+9.9E37", curve.Milliamps, over, 0},
		{"0.0251", curve.Milliamps, unfit, 0},
	}, replyTo)
}

// What devices with text of their own send: common practice, no source.
func TestLineOf(t *testing.T) {
	hold(t, []coded{
		{"118.4", curve.Ohms, reading, 118.4},
		{"118,4", curve.Ohms, reading, 118.4},
		{"+118,4 \u03a9", curve.Ohms, reading, 118.4},
		{"118.4\u2126", curve.Ohms, reading, 118.4},
		{"1,184 k\u03a9", curve.Ohms, reading, 1184},
		{"1.184k", curve.Ohms, reading, 1184},
		{"0.05M", curve.Ohms, reading, 50_000},
		{"0.5 m\u03a9", curve.Ohms, reading, 0.0005},
		{"\u22120,02 ohm", curve.Ohms, reading, 0},
		{"1.18E2 ohms", curve.Ohms, reading, 118},
		{"1.184,5", curve.Ohms, garbling, 0},
		{"1,234.5", curve.Ohms, garbling, 0},
		{"118.4 25.0", curve.Ohms, garbling, 0},
		{"R=118.4", curve.Ohms, garbling, 0},
		{"\x00\xff\x9f", curve.Ohms, garbling, 0},
		{"-", curve.Ohms, garbling, 0},
		{"OL", curve.Ohms, over, 0},
		{"-OL", curve.Ohms, over, 0},
		{"O.L", curve.Ohms, over, 0},
		{"0L", curve.Ohms, over, 0},
		{".OL k\u03a9", curve.Ohms, over, 0},
		{"O.L M\u03a9", curve.Ohms, over, 0},
		{"OVLD", curve.Ohms, over, 0},
		{"over", curve.Ohms, over, 0},
		{"----", curve.Ohms, over, 0},
		{"---- ohm", curve.Ohms, over, 0},
		{"inf", curve.Ohms, over, 0},
		{"+Infinity", curve.Ohms, over, 0},
		{"9.9E37", curve.Ohms, over, 0},
		{"OL V", curve.Ohms, unfit, 0},
		{"OLD", curve.Ohms, garbling, 0},
		{"118.4 V", curve.Ohms, unfit, 0},
		{"12.04", curve.Milliamps, reading, 12.04}, // lines are in the shown unit
		{"0.01204 A", curve.Milliamps, reading, 12.04},
		{"50.0", curve.Ratio, reading, 50},
		{"50,0 %", curve.Ratio, reading, 50},
		{"100.1 %", curve.Ratio, unfit, 0},
		{"2.5 V", curve.Ratio, unfit, 0},
	}, lineOf)
}

func TestWordsSayWhatToDo(t *testing.T) {
	for text, want := range map[string]string{
		"1.184 VDC": "answers volts; set it to ohms",
		"4 mA":      "answers amps; set it to ohms",
		"23 °C":     "answers in °C; set it to ohms",
		"2 VAC":     "answers alternating current; set it to ohms",
		"-4":        "reads less than nothing (-4.0 Ω); something else feeds the sender, so take it off its wiring",
		"\x01zz":    `sends what is no number: "\x01zz"`,
	} {
		if got := lineOf(text, curve.Ohms).words; strings.ReplaceAll(got, "\u2212", "-") != want {
			t.Errorf("%q: %q; want %q", text, got, want)
		}
	}
}

// Whatever a value is printed as, it is read back; 9 digits are sent.
func TestNumbersComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 99_999).Draw(t, "ohms")
		for _, form := range []string{"%+.8E", "%.9f", "%.9G OHM", "%f,+1,+2"} {
			text := fmt.Sprintf(form, v)
			if a := replyTo(text, curve.Ohms); a.state != reading || math.Abs(float64(a.value)-v) > 1e-6+1e-8*v {
				t.Fatalf("%q: %v, want %g", text, a, v)
			}
		}
		text := strings.Replace(fmt.Sprintf("%.6f", v), ".", ",", 1)
		if a := lineOf(text, curve.Ohms); a.state != reading || math.Abs(float64(a.value)-v) > 1e-6 {
			t.Fatalf("%q: %v, want %g", text, a, v)
		}
	})
}

// Of signs, digits, points and exponents the standard library's ParseFloat takes
// the same texts for numbers, and for the same ones.
func TestNumbersAsTheLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[+-]?[0-9]{0,3}[.]?[0-9]{0,3}([eE][+-]?[0-9]{0,3})?[0-9.eE+-]?`).Draw(t, "text")
		want, err := strconv.ParseFloat(text, 64)
		syntax := errors.Is(err, strconv.ErrSyntax)
		got, rest, _, ok := scan(text, false)
		if whole := ok && rest == ""; whole == syntax || whole && got != want {
			t.Fatalf("%q: %g, rest %q, %v; the library: %g, %v", text, got, rest, ok, want, err)
		}
	})
}

// However the bytes are split on their way, the same lines come out.
func TestAnySplit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		piece := rapid.SampledFrom([]string{"118.4", "OL", "\r", "\n", "\r\n", " ", "1,2 k\u03a9", "x", strings.Repeat("9", 300)})
		stream := strings.Join(rapid.SliceOfN(piece, 0, 40).Draw(t, "stream"), "")
		var whole, split cutter
		if rapid.Bool().Draw(t, "skip first") {
			whole.skipFirst()
			split.skipFirst()
		}
		whole.push([]byte(stream))
		for rest := []byte(stream); len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "chunk")
			split.push(rest[:n])
			rest = rest[n:]
		}
		if !slices.Equal(whole.lines, split.lines) || whole.partial() != split.partial() {
			t.Fatalf("%q and %q of %q", whole.lines, split.lines, stream)
		}
	})
}

func TestCutter(t *testing.T) {
	var c cutter
	c.push([]byte("118.4\r\n\n\r 119\rhalf"))
	if want := []string{"118.4", " 119"}; !slices.Equal(c.lines, want) || !c.partial() {
		t.Errorf("%q, want %q and a part", c.lines, want)
	}
	c.lines = nil
	c.skipRest()
	c.push([]byte(" of it\n120\n"))
	if want := []string{"120"}; !slices.Equal(c.lines, want) {
		t.Errorf("%q after half a line, want %q", c.lines, want)
	}
	c = cutter{}
	c.push([]byte(strings.Repeat("1", longestLine) + "\n" + strings.Repeat("1", longestLine+1) + "\n5\n"))
	if len(c.lines) != 3 || c.lines[1] != overlong || c.lines[2] != "5" {
		t.Errorf("%d lines, %q", len(c.lines), c.lines)
	}
	if a := lineOf(overlong, curve.Ohms); a.state != garbling {
		t.Errorf("a line too long is %s", a.state)
	}
}

// *IDN? has four fields, 0 where unknown: IEEE 488.2, 10.14 (from memory).
func TestIdentityOf(t *testing.T) {
	id, ok := identityOf(" Invented Instruments,Bench 1,0,1.0-2,b \r")
	if want := (Identity{"Invented Instruments", "Bench 1", "", "1.0-2,b"}); !ok || id != want {
		t.Errorf("%+v, %v; want %+v", id, ok, want)
	}
	if got := id.String(); got != "Invented Instruments, Bench 1, version 1.0-2,b" {
		t.Error(got)
	}
	for _, text := range []string{"", "a,b,c", "1.0,2.0,3.0,4.0", "+1.184E+02OHM,1,2,3", `-113,"Undefined header; a, b, c"`} {
		if id, ok := identityOf(text); ok {
			t.Errorf("%q is taken for %+v", text, id)
		}
	}
}

func TestFaultOf(t *testing.T) {
	for text, want := range map[string]struct {
		code int
		text string
	}{
		`0,"No error"`:            {0, "No error"},
		`+0,"No error"`:           {0, "No error"},
		`-113,"Undefined header"`: {-113, "Undefined header"},
		`-410, "Query, so"`:       {-410, "Query, so"},
		`0,No error`:              {0, "No error"},
	} {
		if code, said, ok := faultOf(text); !ok || code != want.code || said != want.text {
			t.Errorf("%q: %d, %q, %v", text, code, said, ok)
		}
	}
	for _, text := range []string{"", "0", "118,4", "1.5,\"x\"", "OK", `5,"`} {
		if code, said, ok := faultOf(text); ok {
			t.Errorf("%q: %d, %q", text, code, said)
		}
	}
}

func fuzz(f *testing.F, read func(string, curve.Signal) answer) {
	for _, s := range []string{"+1.18400000E+02", "118,4 k\u03a9", "OL", "----", "9.91E37", "1E400 mohm", "-0.02", "1,2,3", "\x00"} {
		f.Add(s, 0)
	}
	f.Fuzz(func(t *testing.T, text string, signal int) {
		s := curve.Signals[uint(signal)%uint(len(curve.Signals))]
		a := read(text, s)
		if a.state != reading {
			if a.value != 0 || a.words == "" || a.state < over {
				t.Errorf("%q: %+v", text, a)
			}
			return
		}
		if v := float64(a.value); math.IsNaN(v) || v < 0 || math.Signbit(v) || v > float64(s.Limit()) || !strings.ContainsAny(text, "0123456789") {
			t.Errorf("%q is read as %g", text, v)
		}
	})
}

func FuzzReply(f *testing.F) { fuzz(f, replyTo) }
func FuzzLine(f *testing.F)  { fuzz(f, lineOf) }

func BenchmarkReply(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if replyTo("+1.18400000E+02", curve.Ohms).state != reading {
			b.Fatal("not read")
		}
	}
}

func BenchmarkLine(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if lineOf("1.184 k\u03a9", curve.Ohms).state != reading {
			b.Fatal("not read")
		}
	}
}

func BenchmarkCutter(b *testing.B) {
	stream := make([]byte, 0, 1<<16)
	for len(stream) < 1<<16-16 {
		stream = fmt.Appendf(stream, "%.2f\r\n", 100+rand.Float64())
	}
	b.SetBytes(int64(len(stream)))
	b.ReportAllocs()
	for b.Loop() {
		var c cutter
		c.push(stream)
	}
}
