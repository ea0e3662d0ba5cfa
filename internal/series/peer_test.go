package series

import (
	_ "embed"
	"encoding/hex"
	"slices"
	"strconv"
	"testing"

	"gaugewright/internal/peer"
)

//go:embed testdata/unpack.py
var unpackPy string

// TestAnotherDecoder: a decoder in another language, written from the description in
// docs/history.md, reads the same numbers and uses up the same bytes. It works in
// unbounded whole numbers, so an overflow here would show as well.
func TestAnotherDecoder(t *testing.T) {
	times, values := chunk(0)
	rough, _ := chunk(3)
	leaps := noise(900, 5000, 40)
	for i := range leaps {
		if i > 300 {
			leaps[i] += 1 << 30
		}
		if i > 600 {
			leaps[i] = 7 + leaps[i]%3
		}
	}
	tens := noise(200, 61, 0.4)
	for i := range tens {
		tens[i] *= -1000
	}
	ramp := noise(700, 0, 1)
	for i := range ramp {
		ramp[i] += int64(i) * int64(i) / 3
	}
	columns := [][]int64{
		{}, {-5}, {1 << 62, -1 << 62, 3}, slices.Repeat([]int64{1137}, 500), times[:200], values[:1500], rough[:700],
		leaps, tens, ramp, noise(10, 1137, 2.5), noise(300, 0.3, 0.2), noise(300, 0, 0.9), noise(300, 0, 1e9), noise(100, 3e12, 1e11),
	}
	var forms [4]int
	var ask []string
	for _, c := range columns {
		b := Pack(nil, c)
		forms[b[0]&3]++
		ask = append(ask, hex.EncodeToString(append(b, 0xAA)))
	}
	if slices.Contains(forms[:], 0) {
		t.Fatalf("the forms are tried %v times, expected each", forms)
	}
	var got [][]string
	peer.Python(t, nil, unpackPy+`

import json, sys
out = []
for text in json.load(sys.stdin):
    data = bytes.fromhex(text)
    column, used = unpack(data)
    out.append([str(v) for v in column] + [str(len(data) - used)])
print(json.dumps(out))
`, ask, &got)
	for i, c := range columns {
		expect := make([]string, 0, len(c)+1)
		for _, v := range c {
			expect = append(expect, strconv.FormatInt(v, 10))
		}
		if expect = append(expect, "1"); !slices.Equal(got[i], expect) {
			t.Errorf("column %d of %d numbers comes back as %d others, or not all of its bytes are used", i, len(c), len(got[i])-1)
		}
	}
}
