package strict

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/peer"
)

// Source: RFC 8785, appendix B, from memory; each pair holds by ECMA-262's
// Number::toString as well, which the peer below checks.
func TestCanonicalNumbers(t *testing.T) {
	for _, c := range []struct {
		bits uint64
		want string
	}{
		{0x0000000000000000, "0"},
		{0x8000000000000000, "0"},
		{0x0000000000000001, "5e-324"},
		{0x8000000000000001, "-5e-324"},
		{0x7fefffffffffffff, "1.7976931348623157e+308"},
		{0xffefffffffffffff, "-1.7976931348623157e+308"},
		{0x4340000000000000, "9007199254740992"},
		{0xc340000000000000, "-9007199254740992"},
		{0x4430000000000000, "295147905179352830000"},
		{0x44b52d02c7e14af5, "9.999999999999997e+22"},
		{0x44b52d02c7e14af6, "1e+23"},
		{0x44b52d02c7e14af7, "1.0000000000000001e+23"},
		{0x444b1ae4d6e2ef4e, "999999999999999700000"},
		{0x444b1ae4d6e2ef4f, "999999999999999900000"},
		{0x444b1ae4d6e2ef50, "1e+21"},
		{0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"},
		{0x3eb0c6f7a0b5ed8d, "0.000001"},
		{0x41b3de4355555553, "333333333.3333332"},
		{0x41b3de4355555554, "333333333.33333325"},
		{0x41b3de4355555555, "333333333.3333333"},
		{0x41b3de4355555556, "333333333.3333334"},
		{0x41b3de4355555557, "333333333.33333343"},
		{0xbecbf647612f3696, "-0.0000033333333333333333"},
		{0x43143ff3c1cb0959, "1424953923781206.2"},
	} {
		v := math.Float64frombits(c.bits)
		found, err := Canonical(v)
		if err != nil || string(found) != c.want {
			t.Errorf("%016x: found %s (%v), expected %s", c.bits, found, err, c.want)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if text, err := Canonical(v); err == nil {
			t.Errorf("%v gave %s", v, text)
		}
	}
}

// Any number reads back as the same value, with an exponent outside of 1e-6 to
// 1e21 alone and never one written with a zero before it.
func TestCanonicalNumbersReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := math.Float64frombits(rapid.Uint64().Draw(t, "bits"))
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return
		}
		text, err := Canonical(v)
		var back float64
		if err != nil || json.Unmarshal(text, &back) != nil || back != v {
			t.Fatalf("%v: %s, %v", v, text, err)
		}
		size := math.Abs(v)
		if has := strings.Contains(string(text), "e"); has != (v != 0 && (size < 1e-6 || size >= 1e21)) {
			t.Fatalf("%v: %s", v, text)
		}
		if strings.Contains(string(text), "e+0") || strings.Contains(string(text), "e-0") {
			t.Fatalf("%v: %s", v, text)
		}
	})
}

// Source: RFC 8785, sections 3.2.2 to 3.2.4, its sample and its sorting example,
// from memory.
func TestCanonicalSamples(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{`{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
			"string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
			"literals": [null, true, false]}`,
			`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`},
		{`{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
			"\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control", "\u00f6": "Latin Small Letter O With Diaeresis"}`,
			"{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\u0080\":\"Control\",\"ö\":\"Latin Small Letter O With Diaeresis\",\"€\":\"Euro Sign\",\"😀\":\"Emoji: Grinning Face\",\"\ufb33\":\"Hebrew Letter Dalet With Dagesh\"}"},
		{` [ ] `, `[]`}, {`{}`, `{}`}, {`"\u2028<&>\u007f"`, "\"\u2028<&>\u007f\""},
	} {
		var v any
		if err := json.Unmarshal([]byte(c.in), &v); err != nil {
			t.Fatal(err)
		}
		if found, err := Canonical(v); err != nil || string(found) != c.want {
			t.Errorf("found\n%s (%v)\nexpected\n%s", found, err, c.want)
		}
	}
	for _, v := range []any{"\xff", map[string]any{"\xff": 1.0}, 7, []any{struct{}{}}, map[string]any{"a": math.NaN()}} {
		if text, err := Canonical(v); err == nil {
			t.Errorf("%v gave %s", v, text)
		}
	}
}

// Python's repr has the same fewest digits (IEEE 754, David Gay's algorithm); for
// the range that ECMAScript writes without an exponent its digits are the same.
func TestCanonicalDigitsAgainstPython(t *testing.T) {
	in := []float64{0.1, 1.0 / 3, 4.5, 1e-5, 123456789.125, 5e-7, 1e22, 2.5e-300, 179769313486231570000, 9007199254740993, 0.000001, 1.7976931348623157e308}
	var out []string
	peer.Python(t, nil, `
import json, sys
from decimal import Decimal
def es6(v):
    sign, digits, exponent = Decimal(repr(v)).normalize().as_tuple()
    s = "".join(map(str, digits)); k = len(s); n = k + exponent
    if k <= n <= 21: t = s + "0" * (n - k)
    elif 0 < n <= 21: t = s[:n] + "." + s[n:]
    elif -6 < n <= 0: t = "0." + "0" * -n + s
    else:
        e = n - 1
        t = s[0] + ("." + s[1:] if k > 1 else "") + "e" + ("+" if e >= 0 else "-") + str(abs(e))
    return ("-" if sign else "") + t
print(json.dumps([es6(float(v)) for v in json.load(sys.stdin)]))
`, in, &out)
	for i, v := range in {
		if found, err := Canonical(v); err != nil || string(found) != out[i] {
			t.Errorf("found %s (%v), Python has %s", found, err, out[i])
		}
	}
}
