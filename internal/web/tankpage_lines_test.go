package web

import (
	"encoding/json"
	"fmt"
	"net/url"
	"testing"

	"gaugewright/internal/tankfile"
)

func TestPairIn(t *testing.T) {
	for _, c := range []struct {
		text string
		want [2]float64
		ok   bool
	}{
		{"120 11.1", [2]float64{120, 11.1}, true},
		{"120\t11,1", [2]float64{120, 11.1}, true},
		{"120;11,1", [2]float64{120, 11.1}, true},
		{"120,11", [2]float64{120, 11}, true},
		{"120, 11.1", [2]float64{120, 11.1}, true},
		{"-250 0", [2]float64{-250, 0}, true},
		{"12,5 30", [2]float64{12.5, 30}, true},
		{"120", [2]float64{}, false},
		{"1 2 3", [2]float64{}, false},
		{"1,2,3", [2]float64{}, false},
		{"a b", [2]float64{}, false},
		{"1 NaN", [2]float64{}, false},
		{"", [2]float64{}, false},
	} {
		got, err := pairIn(c.text)
		if (err == nil) != c.ok || err == nil && got != c.want {
			t.Errorf("%q gives %v, %v; expected %v", c.text, got, err, c.want)
		}
	}
}

func TestEnds(t *testing.T) {
	for _, text := range []string{"0 to 90", "0-90", "0 – 90", "0:90", "0..90", " 0  to  90 Ω ", "0,0 to 90,0"} {
		if low, high, err := ends(text); err != nil || low != 0 || high != 90 {
			t.Errorf("%q gives %g, %g, %v; expected 0 to 90", text, low, high, err)
		}
	}
	for _, text := range []string{"", "90", "0 to", "to 90", "0 to 90 to 3", "low to high", "0 90"} {
		if low, high, err := ends(text); err == nil {
			t.Errorf("%q gives %g, %g; expected an error", text, low, high)
		}
	}
}

// What is written of an outline is read as the same outline.
func FuzzOutline(f *testing.F) {
	for _, text := range []string{"0 0\n300,0\r\n200; 200 r30\n\n0,0 200", "0 0\n1 1 through 2 2", "r", "through", "1e308 -1e308 r1e9", "0 0 r1 through 3 3"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		read := func(text string) ([]tankfile.Vertex, bool) {
			form := newTyped(url.Values{"o": {text}}, nil)
			list, ok := form.outline("o")
			if ok == form.wrong() {
				t.Fatalf("%q: read %v, wrong %v", text, ok, form.faults)
			}
			if !ok {
				return nil, false
			}
			data, err := json.Marshal(list)
			if err != nil {
				t.Fatal(err)
			}
			var out []tankfile.Vertex
			if err := json.Unmarshal(data, &out); err != nil {
				t.Fatal(err)
			}
			return out, true
		}
		first, ok := read(text)
		if !ok {
			return
		}
		written := outlineText(first)
		second, ok := read(written)
		if !ok || fmt.Sprint(outlineText(second)) != written {
			t.Errorf("%q was written as %q and read as %v", text, written, second)
		}
	})
}
