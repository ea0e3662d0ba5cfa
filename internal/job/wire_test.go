package job

import (
	"strings"
	"testing"
)

// 2 × 6 m of 0.5 mm², class 5 of IEC 60228: 0.468 Ω at 20 °C, 0.52 points of 90 Ω.
func TestWireWords(t *testing.T) {
	text := func(wire string) string {
		return `{"version":1,"number":"1","tanks":[{"name":"A","contents":"water","wire":` + wire + `,"sender":{},"bench":{"readings":[
			{"mark_pct":0,"ohm":0},{"mark_pct":50,"ohm":45},{"mark_pct":100,"ohm":90}]}}]}`
	}
	words := func(wire string) (string, bool) {
		t.Helper()
		j, err := Read(strings.NewReader(text(wire)), "a.json")
		if err != nil {
			t.Fatal(err)
		}
		c, err := j.Tanks[0].Curve()
		if err != nil {
			t.Fatal(err)
		}
		return j.Tanks[0].WireWords(c)
	}
	says, look := words(`{"area_mm2":0.5,"length_m":6}`)
	for _, want := range []string{"6 m of 0.5 mm², there and back, adds 0.47 Ω", "0.52 points too high", "From −10 to 60 °C it changes the level by 0.14 points"} {
		if !strings.Contains(says, want) {
			t.Errorf("says %q, want %q", says, want)
		}
	}
	if !look {
		t.Error("half a point is no reason to look")
	}
	says, look = words(`{"awg":16,"length_m":6,"read_through_it":true}`)
	if !strings.Contains(says, "AWG 16") || !strings.Contains(says, "made through it") || look {
		t.Errorf("read through it: %q, %v", says, look)
	}
	for wire, want := range map[string]string{
		`{"length_m":6}`:                               "neither area_mm2 nor awg",
		`{"area_mm2":0.5,"awg":20,"length_m":6}`:       "delete one of them",
		`{"area_mm2":0.5}`:                             "length_m",
		`{"area_mm2":0,"length_m":6}`:                  "area_mm2",
		`{"area_mm2":0.5,"length_m":6,"metal":"gold"}`: "metal",
	} {
		if _, err := Read(strings.NewReader(text(wire)), "a.json"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", wire, err, want)
		}
	}
}
