package main

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

const hut = `{"version":1,"name":"Hut, water","shape":"horizontal-cylinder","diameter_mm":300,"length_mm":800,"heads":"flat","sensor":{"x_mm":-300,"y_mm":0}}`

type tankOut struct {
	CapacityL float64 `json:"capacity_l"`
	At        []struct {
		HeightMM      float64 `json:"height_mm"`
		VolumeL       float64 `json:"volume_l"`
		OfCapacityPct float64 `json:"of_capacity_pct"`
		SurfaceM2     float64 `json:"surface_m2"`
		Note          string
	}
	Findings []struct{ Kind, Text, Weight string }
}

func askTank(t *testing.T, file string, args ...string) tankOut {
	t.Helper()
	status, out, messages := command(file, append([]string{"tank", "-", "--json"}, args...)...)
	if status != 0 {
		t.Fatalf("%v: exit status %d, %s", args, status, messages)
	}
	var v tankOut
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatalf("%v: %v", args, err)
	}
	return v
}

// Answers come in the order of the command line, whatever they were asked by;
// the figures are those of an integration made by independent code: a lying
// cylinder, D 300 mm, L 800 mm, tilted by 5°, read 100 mm from its low end.
func TestTankAnswersInOrder(t *testing.T) {
	v := askTank(t, hut, "--volume", "6.28114214L", "--height", "75mm", "--volume", "28.27433388L", "--height", "225mm", "--pitch", "5deg")
	want := []struct{ mm, litres float64 }{{75, 6.28114214}, {75, 6.28114214}, {math.NaN(), 28.27433388}, {225, 39.65232454}}
	if len(v.At) != len(want) {
		t.Fatalf("%d answers, want %d", len(v.At), len(want))
	}
	for i, w := range want {
		got := v.At[i]
		if !math.IsNaN(w.mm) && math.Abs(got.HeightMM-w.mm) > 1e-5 || math.Abs(got.VolumeL-w.litres) > 1e-8 {
			t.Errorf("answer %d: %.8f mm, %.8f L; want %v", i+1, got.HeightMM, got.VolumeL, w)
		}
		if pct := got.VolumeL / v.CapacityL * 100; math.Abs(got.OfCapacityPct-pct) > 1e-7 {
			t.Errorf("answer %d: %v %% of the capacity, want %v", i+1, got.OfCapacityPct, pct)
		}
	}
	// 300 mm aft of the middle, where 28.27 L, half of it, stand at 150 mm.
	if got, want := v.At[2].HeightMM, 150+300*math.Tan(5*math.Pi/180); math.Abs(got-want) > 1e-5 {
		t.Errorf("half stands at %v mm, want %v", got, want)
	}
	if math.Abs(v.CapacityL-56.54866776) > 1e-8 {
		t.Errorf("holds %v L", v.CapacityL)
	}
}

// A strapping table read back as a tank file is the same tank at its rows.
func TestTankStrappingRoundTrip(t *testing.T) {
	status, table, messages := command(hut, "tank", "-", "--strap", "10mm")
	if status != 0 {
		t.Fatal(messages)
	}
	rows, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil || len(rows) != 32 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "hut.csv"), []byte(table), 0o600); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "hut.json")
	if err := os.WriteFile(file, []byte(`{"version":1,"shape":"strapping","csv":"hut.csv"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	_, again, messages := command("", "tank", file, "--strap", "10mm")
	for i, line := range strings.Split(strings.TrimSpace(again), "\n")[1:] {
		got := strings.Split(line, ",")
		for k := range 2 {
			a, _ := strconv.ParseFloat(got[k], 64)
			b, _ := strconv.ParseFloat(rows[i+1][k], 64)
			if math.Abs(a-b) > 1e-6 {
				t.Errorf("row %d: %s, was %v; %s", i+1, line, rows[i+1], messages)
			}
		}
	}
}

// Half of a box holds half, tilted or not, with its sensor in the middle; a
// small rest leaves a sensor at the end dry.
func TestTankDrySensor(t *testing.T) {
	box := `{"version":1,"shape":"box","length_mm":1000,"width_mm":500,"height_mm":200,"sensor":{"x_mm":450,"y_mm":0}}`
	v := askTank(t, box, "--pitch", "5deg", "--volume", "5L", "--volume", "95L")
	if v.At[0].HeightMM > 0 || !strings.Contains(v.At[0].Note, "dry") {
		t.Errorf("5 L nose up, read forward: %+v", v.At[0])
	}
	// 5 L make a wedge of √(2·5 L/(0.5 m·tan 5°)) aft.
	reach := math.Sqrt(2 * 0.005 / (0.5 * math.Tan(5*math.Pi/180)))
	if want := 1000 * (reach - 0.95) * math.Tan(5*math.Pi/180); math.Abs(v.At[0].HeightMM-want) > 1e-6 {
		t.Errorf("the surface stands at %v mm at the sensor, want %v", v.At[0].HeightMM, want)
	}
}

// Marks go through the sender: reference figures of a swinging arm, pivot
// 150 mm, arm 180 mm, −50° to 50°, computed independently.
func TestTankMarks(t *testing.T) {
	file := `{"version":1,"shape":"box","length_mm":1000,"width_mm":500,"height_mm":300,
		"sender":{"kind":"swinging-arm","pivot_height_mm":150,"arm_mm":180,"low_deg":-50,"high_deg":50}}`
	v := askTank(t, file, "--mark", "0%", "--mark", "25%", "--mark", "100%")
	for i, want := range []float64{12.112, 73.929, 287.888} {
		if math.Abs(v.At[i].HeightMM-want) > 5e-4 || math.Abs(v.At[i].VolumeL-want/2) > 5e-4 {
			t.Errorf("mark %d: %+v, want %v mm", i, v.At[i], want)
		}
	}
}

func TestTankRefuses(t *testing.T) {
	tests := []struct {
		file, says string
		args       []string
	}{
		{hut, `--height: 301mm is outside the tank, which is 300 mm high inside; expected 0mm to 300mm`, []string{"--height", "301mm"}},
		{hut, `--height: "120" has no unit; write a length like 120mm`, []string{"--height", "120"}},
		{hut, `--volume: the tank holds 0 L to 56.55 L; found 57 L`, []string{"--volume", "57L"}},
		{hut, `--mark: the tank file has no sender`, []string{"--mark", "40%"}},
		{hut, `--pitch: found 80°; expected -60deg to 60deg`, []string{"--pitch", "80deg"}},
		{hut, `--strap: found -10 mm`, []string{"--strap", "-10mm"}},
		{hut, `expected up to 100000 rows`, []string{"--strap", "0.001mm"}},
		{hut, `--suggest: the tank file has no sender`, []string{"--suggest"}},
		{hut, `--taped: the tank file states no capacity_l`, []string{"--taped", "3mm"}},
		{strings.Replace(hut, "300,", "300000,", 1), `is 300 m`, nil},
		{strings.Replace(hut, "flat", "round", 1), `round`, nil},
		{strings.Replace(hut, "diameter_mm", "diametre_mm", 1), `diametre_mm`, nil},
		{strings.Replace(hut, `"x_mm":-300`, `"x_mm":-500`, 1), `outside the tank`, nil},
		{`{"version":1,"shape":"mesh","file":"nowhere.stl"}`, `nowhere.stl`, nil},
	}
	for _, test := range tests {
		status, out, messages := command(test.file, append([]string{"tank", "-"}, test.args...)...)
		if status != exitInput || !strings.Contains(messages, test.says) || out != "" {
			t.Errorf("%v: exit status %d, says %q, want %q; out %q", test.args, status, messages, test.says, out)
		}
	}
}

func TestTankGolden(t *testing.T) {
	folder := filepath.FromSlash("../../internal/tankfile/testdata/")
	tests := []struct {
		name string
		args []string
	}{
		{"tank.box.txt", []string{folder + "box.tank.json", "--height", "100mm", "--suggest"}},
		{"tank.gas.txt", []string{folder + "horizontal-cylinder.tank.json", "--mark", "40%", "--pitch", "-3deg"}},
		{"tank.gas.json", []string{folder + "horizontal-cylinder.tank.json", "--mark", "40%", "--height", "120mm", "--json"}},
		{"tank.mesh.txt", []string{folder + "mesh.tank.json"}},
		{"tank.strapping.csv", []string{folder + "strapping.tank.json", "--strap", "20mm"}},
		{"tank.poured.txt", []string{"testdata/tanks/hut.tank.json", "--poured", "testdata/tanks/hut.poured.csv", "--height", "150mm"}},
		{"tank.marked.txt", []string{folder + "horizontal-cylinder.tank.json", "--poured", "testdata/tanks/gas.marked.csv", "--height", "150mm"}},
		{"tank.taped.txt", []string{"testdata/tanks/hut.tank.json", "--taped", "3mm", "--height", "150mm"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			status, out, messages := command("", append([]string{"tank"}, test.args...)...)
			if status != 0 {
				t.Errorf("exit status %d; messages %q", status, messages)
			}
			golden.Check(t, test.name, []byte(out))
		})
	}
}

func TestTankDrawing(t *testing.T) {
	file := filepath.Join(t.TempDir(), "section.svg")
	if status, _, messages := command(hut, "tank", "-", "--height", "120mm", "--drawing", file); status != 0 {
		t.Fatal(messages)
	}
	svg, err := os.ReadFile(file)
	if err != nil || !strings.Contains(string(svg), "120 mm · ") || !strings.Contains(string(svg), "from starboard") {
		t.Errorf("%v: %.300s", err, svg)
	}
	status, _, messages := command(`{"version":1,"shape":"strapping","table":[{"height_mm":0,"volume_l":0},{"height_mm":100,"volume_l":10}]}`, "tank", "-", "--drawing", file)
	if status != exitInput || !strings.Contains(messages, "the shape of a strapping table isn't known") {
		t.Errorf("a table was drawn: %d, %s", status, messages)
	}
}
