package tag_test

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/tag"
)

const page = "../../docs/printed-code.md"

// blocks gives the blocks of a language on the page.
func blocks(t *testing.T, language string) []string {
	t.Helper()
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, b := range regexp.MustCompile("(?s)```"+language+"\n(.*?)```").FindAllStringSubmatch(string(text), -1) {
		out = append(out, b[1])
	}
	if len(out) != 1 {
		t.Fatalf("%d blocks of %s on the page, want 1", len(out), language)
	}
	return out
}

// read is what the page's own decoder, which is Python with Debian's cbor2 and
// binascii, makes of a code: the payload with its decimal fractions as text.
type read struct {
	Map    map[string]any
	Marks  []float64
	Values []float64
	Doubts []float64
	Bytes  string
}

func strange(t *testing.T, text string) read {
	t.Helper()
	var out read
	peer.Python(t, []string{"cbor2"}, blocks(t, "python")[0]+`
import decimal, json, sys
given = json.load(sys.stdin)
p = payload(given)
def plain(v):
    if isinstance(v, dict):
        return {str(k): plain(x) for k, x in v.items()}
    if isinstance(v, list):
        return [plain(x) for x in v]
    if isinstance(v, decimal.Decimal):
        return float(v)
    return v
c = [figures(column) for column in p.get(12, [])] or [[], [], []]
# RFC 8949, 4.2.1 by other people's encoder: integers and texts the same, keys in order.
print(json.dumps({"Map": plain(p), "Marks": c[0], "Values": c[1], "Doubts": c[2], "Bytes": cbor2.dumps(p, canonical=True).hex()}))
`, text, &out)
	return out
}

// The page's example is the code of the example's job, and the decoder on the
// page reads from it what went in.
func TestPage(t *testing.T) {
	want := strings.TrimSpace(blocks(t, "text")[0])
	c, err := tag.Encode(example(), "")
	if err != nil {
		t.Fatal(err)
	}
	if c.Text != want {
		t.Fatalf("the page has\n%s\nthe example is\n%s", want, c.Text)
	}
	got := strange(t, want)
	for key, v := range map[string]any{
		"1": "TK-7", "2": "Tidewater Kitchen", "3": 20760.0, "4": "Gas", "5": 0.0, "6": 54.0, "7": 80.0,
		"11": map[string]any{"2": 2.0, "3": []any{0.0, 72.5}, "7": 0.5, "9": 20760.0}, "13": []any{0.15, 5.0}, "20": 20759.0,
	} {
		if fmt.Sprint(got.Map[key]) != fmt.Sprint(v) {
			t.Errorf("%s is read as %v, want %v", key, got.Map[key], v)
		}
	}
	if len(got.Map) != 11 {
		t.Errorf("%d pairs, want 11", len(got.Map))
	}
	for i, k := range example().Tanks[0].Sender.Known.Knots {
		if got.Marks[i] != k.Mark || got.Values[i] != k.Value || got.Doubts[i] != k.U {
			t.Errorf("knot %d is read as %g, %g, %g; want %+v", i, got.Marks[i], got.Values[i], got.Doubts[i], k)
		}
	}
	// The bytes of the page's table, and what it says of the code.
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	var bytes strings.Builder
	for _, row := range regexp.MustCompile("(?m)^\\| `([0-9a-f ]+)` \\|").FindAllStringSubmatch(string(text), -1) {
		bytes.WriteString(strings.ReplaceAll(row[1], " ", ""))
	}
	if body, whole := got.Bytes, bytes.String(); len(whole) != len(body)+8 || whole[:len(body)] != body {
		t.Errorf("the page's table has\n%s\nother people's encoder writes\n%s", whole, body)
	}
	m, err := tag.Modules(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	says := fmt.Sprintf("These %d signs are a QR code of version %d at level %s, %d modules and %.0f mm on a side", len(c.Text), m.Version, m.Level, m.Size, math.Ceil(m.LeastMM()))
	if !strings.Contains(string(text), says) {
		t.Errorf("the page doesn't say %q", says)
	}
	if !strings.Contains(string(text), fmt.Sprintf("They stand for %d bytes", bytes.Len()/2)) {
		t.Errorf("the page doesn't say that there are %d bytes", bytes.Len()/2)
	}
}

// The same decoder reads the codes of the sample job as this program does.
func TestStrangerReads(t *testing.T) {
	j := sample(t)
	for i := range j.Tanks {
		c, err := tag.Encode(j, j.Tanks[i].Name)
		if err != nil {
			t.Fatal(err)
		}
		ours, err := tag.Decode(c.Text)
		if err != nil {
			t.Fatal(err)
		}
		got := strange(t, c.Text)
		tank := ours.Tanks[0]
		if capacity, _ := got.Map["6"].(float64); got.Map["4"] != tank.Name || capacity != tank.WaterCapacityL {
			t.Errorf("read as %v", got.Map)
		}
		for k, knot := range tank.Sender.Known.Knots {
			if got.Marks[k] != knot.Mark || got.Values[k] != knot.Value || got.Doubts[k] != knot.U {
				t.Errorf("%s: knot %d is read as %g, %g, %g; want %+v", tank.Name, k, got.Marks[k], got.Values[k], got.Doubts[k], knot)
			}
		}
		if s := j.Tanks[i].Setting; s != nil && s.LowerOhm != nil {
			ends := got.Map["11"].(map[string]any)["3"].([]any)
			if ends[0] != *s.LowerOhm || ends[1] != *s.UpperOhm {
				t.Errorf("%s: end values %v, want %g and %g", tank.Name, ends, *s.LowerOhm, *s.UpperOhm)
			}
		}
	}
}

// Every key of the page's CDDL is one that is read, and what the page says of
// the limits is so.
func TestPageNamesAll(t *testing.T) {
	cddl := blocks(t, "cddl")[0]
	for _, part := range []struct {
		name string
		most int
	}{{"code", 22}, {"setting", 15}, {"gas", 5}} {
		_, body, found := strings.Cut(cddl, "\n"+part.name+" = {")
		if part.name == "code" {
			_, body, found = strings.Cut(cddl, part.name+" = {")
		}
		body, _, _ = strings.Cut(body, "\n}")
		keys := regexp.MustCompile(`(?m)^  (?:\? )?(\d+): `).FindAllStringSubmatch(body, -1)
		if !found || len(keys) != part.most {
			t.Errorf("%s has %d keys on the page, want %d", part.name, len(keys), part.most)
		}
		for i, k := range keys {
			if k[1] != fmt.Sprint(i+1) {
				t.Errorf("%s: key %s in place %d", part.name, k[1], i+1)
			}
		}
	}
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	for _, says := range []string{fmt.Sprintf("up to %d knots", tag.MostKnots), fmt.Sprintf("%d signs", tag.MaxText), fmt.Sprintf("above %d %%", job.MaxLPGFillPct), "begins with `" + tag.Prefix + "`"} {
		if !strings.Contains(string(text), says) {
			t.Errorf("the page doesn't say %q", says)
		}
	}
}
