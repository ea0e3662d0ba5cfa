package job

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// lying is a lying cylinder with flat ends, 300 mm across and 800 mm long:
// 56.54866776 L. Four fifths of it are at 0.745930916382 of the height, by the
// formula f = (acos k − k·√(1−k²))/π with k = 1 − 2h/D.
const (
	lying    = `"shape":{"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":800,"heads":"flat"%s}`
	capacity = 56.5486677646
	fourOf5  = 0.745930916382
)

// shaped is a job with one tank of a content and marks in a unit, of the shape,
// set to a scale.
func shaped(contents, unit, top, fields, kind string) string {
	return `{"version":1,"number":"1","tanks":[{"name":"A","contents":"` + contents + `",` + "\n" + fields + "\n" +
		`"bench":{"readings":[{"mark_` + unit + `":0,"ohm":1},{"mark_` + unit + `":` + top + `,"ohm":101}]},` + "\n" +
		`"setting":{"readout":"two-point","lower_ohm":0,"upper_ohm":102,"scale":"` + kind + `"}}]}`
}

func TestScaleThroughShape(t *testing.T) {
	plain := fmt.Sprintf(lying, "") + ","
	byHeight := fmt.Sprintf(lying, `,"sender":{"kind":"dial","marked":"height"}`) + ","
	for _, c := range []struct {
		name, text  string
		empty, full float64 // litres at 0 % and 100 %
	}{
		{"gas by heights", shaped("lpg", "mm", "300", `"permitted_fill_pct":80,`+plain, "fill"), 0, 0.8 * capacity},
		{"gas, usable", shaped("lpg", "mm", "300", `"permitted_fill_pct":80,"heel_l":2,`+plain, "usable"), 2, 0.8 * capacity},
		{"gas, all of it", shaped("lpg", "mm", "300", plain, "volume"), 0, capacity},
		{"permitted in the shape", shaped("lpg", "mm", "300", fmt.Sprintf(lying, `,"permitted_fill_pct":75`)+",", "fill"), 0, 0.75 * capacity},
		{"heel in the shape", shaped("water", "mm", "300", fmt.Sprintf(lying, `,"heel_l":3`)+",", "usable"), 3, capacity},
		// At a quarter of the height 0.195501109478 of a lying cylinder is filled.
		{"heel as a height", shaped("water", "mm", "300", fmt.Sprintf(lying, `,"heel_mm":75`)+",", "usable"), 0.195501109478 * capacity, capacity},
		{"dial by height", shaped("lpg", "pct", "100", `"permitted_fill_pct":80,`+byHeight, "fill"), 0, 0.8 * capacity},
		{"dial by volume", shaped("lpg", "pct", "100", `"permitted_fill_pct":80,`+plain, "fill"), 0, 0.8 * capacity},
		{"litres", shaped("lpg", "l", "50", `"permitted_fill_pct":80,`+plain, "fill"), 0, 0.8 * capacity},
		{"dial without a shape", shaped("water", "pct", "100", `"water_capacity_l":50,"heel_l":5,`, "usable"), 5, 50},
		{"litres without a shape", shaped("water", "l", "40", `"water_capacity_l":50,`, "volume"), 0, 50},
	} {
		j, err := Read(strings.NewReader(c.text), "f")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		s, err := j.Tanks[0].Scale()
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		empty, full := s.Ends()
		from, known := s.Volume(empty)
		to, _ := s.Volume(full)
		if !known || math.Abs(float64(from)*1000-c.empty) > 1e-6 || math.Abs(float64(to)*1000-c.full) > 1e-6 {
			t.Errorf("%s: %v to %v, expected %g to %g L", c.name, from, to, c.empty, c.full)
		}
		if data, err := j.Encode(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		} else if again, err := Read(strings.NewReader(string(data)), "f"); err != nil || again.Tanks[0].Setting.Scale != j.Tanks[0].Setting.Scale {
			t.Errorf("%s: written and read again: %v", c.name, err)
		}
	}
	// The dial by height shows four fifths at 74.59 of its 100.
	j, err := Read(strings.NewReader(shaped("lpg", "pct", "100", `"permitted_fill_pct":80,`+byHeight, "fill")), "f")
	if err != nil {
		t.Fatal(err)
	}
	s, err := j.Tanks[0].Scale()
	if err != nil {
		t.Fatal(err)
	}
	if _, full := s.Ends(); math.Abs(full-fourOf5) > 1e-9 {
		t.Errorf("100 %% at %v of the dial", full)
	}
	j.Tanks[0].Setting.Scale = string(scale.Mark)
	if c := strings.Join(j.Tanks[0].Cautions(), "\n"); !strings.Contains(c, "as full as permitted is 74.5 % on it") {
		t.Errorf("cautions:\n%s", c)
	}
	j.Tanks[0].Setting.Scale = string(scale.Volume)
	if c := strings.Join(j.Tanks[0].Cautions(), "\n"); !strings.Contains(c, "as full as permitted is 80 % on it, not 100 %") {
		t.Errorf("cautions:\n%s", c)
	}
}

func TestShapeRefused(t *testing.T) {
	plain := fmt.Sprintf(lying, "") + ","
	const at = "f:4:72: /tanks/0/setting/scale: "
	for _, c := range []struct{ name, text, want string }{
		{"fill of what", shaped("lpg", "mm", "300", plain, "fill"), at + `the scale "fill" needs the tank's permitted_fill_pct; state it, or choose "mark"`},
		{"usable of what", shaped("water", "mm", "300", plain, "usable"), at + `the scale "usable" needs the tank's heel_l; state it, or choose "mark"`},
		{"usable gas", shaped("lpg", "mm", "300", `"heel_l":2,`+plain, "usable"), at + `the scale "usable" needs the tank's permitted_fill_pct; state it, or choose "mark"`},
		{"usable gas by heights", shaped("lpg", "mm", "300", `"heel_l":2,"permitted_fill_pct":80,`, "usable"), at + `for lpg the scale "usable" needs the tank's shape, or marks in % of the volume or in L; from a mark in mm it can't be told how full the tank is; choose "mark"`},
		{"volume by heights", shaped("water", "mm", "300", ``, "volume"), at + `marks in mm tell how full a tank is only with its shape; describe the tank, or choose the scale "mark"`},
		{"volume by litres", shaped("water", "l", "300", ``, "volume"), at + `marks in L tell how full a tank is only with its water capacity; state it`},
		{"volume by weight", shaped("water", "kg", "300", ``, "volume"), at + `marks in kg tell how full a tank is only with its water capacity; state it`},
		{"volume by weight of what", shaped("other", "kg", "300", `"water_capacity_l":54,`, "volume"), at + `marks in kg tell how full a tank is only with the density of what is in it: what is in the tank isn't stated, so its mass isn't known; state density_kg_l`},
		{"too full in the shape", shaped("lpg", "mm", "300", fmt.Sprintf(lying, `,"permitted_fill_pct":90`)+",", "mark"), `/tanks/0/shape/permitted_fill_pct: found 90; for lpg no permitted fill above 85 is accepted`},
		{"two permitted fills", shaped("lpg", "mm", "300", `"permitted_fill_pct":80,`+fmt.Sprintf(lying, `,"permitted_fill_pct":75`)+",", "mark"), `/tanks/0/shape/permitted_fill_pct: found 75, and the tank's permitted_fill_pct is 80; correct one, or delete it here`},
		{"two heels", shaped("water", "mm", "300", `"heel_l":2,`+fmt.Sprintf(lying, `,"heel_l":3`)+",", "mark"), `/tanks/0/heel_l: found 2, and the shape states a heel of its own; correct one, or delete it here`},
		{"two capacities", shaped("water", "mm", "300", `"water_capacity_l":54,`+fmt.Sprintf(lying, `,"capacity_l":60`)+",", "mark"), `/tanks/0/shape/capacity_l: found 60, and the tank's water_capacity_l is 54; correct one, or delete it here`},
		{"all heel", shaped("water", "mm", "300", `"water_capacity_l":54,"permitted_fill_pct":50,"heel_l":27,`, "mark"), `/tanks/0/heel_l: found 27; expected less than the permitted fill of 27 L`},
		{"a version", shaped("water", "mm", "300", fmt.Sprintf(lying, `,"version":1`)+",", "mark"), `/tanks/0/shape/version: the version stands once, at the top of the file; delete it here`},
		{"radius", shaped("water", "mm", "300", `"shape":{"shape":"sphere","radius_mm":300},`, "mark"), `f:2:27: /tanks/0/shape: unknown field "radius_mm"; write "diameter_mm", twice the radius`},
		{"no room for it", shaped("water", "mm", "300", `"shape":{"shape":"sphere","diameter_mm":30,"wall_mm":16},`, "mark"), `/tanks/0/shape/wall_mm: `},
		{"place of a part", shaped("water", "mm", "300", `"shape":{"shape":"sphere","diameter_mm":30,"x_mm":16},`, "mark"), `/tanks/0/shape/x_mm: x_mm is the place of a part, and this is the whole tank; delete it`},
		{"no such scale", shaped("water", "mm", "300", ``, "brim"), `expected "mark", "volume", "fill" or "usable"`},
	} {
		_, err := Read(strings.NewReader(c.text), "f")
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: found\n%v\nexpected\n%s", c.name, err, c.want)
		}
	}
	// A dial whose arm stops short of the bottom of the scale's top: 100 % would
	// stand where the arm does, at more than is accepted.
	arm := `,"sender":{"kind":"swinging-arm","pivot_height_mm":280,"arm_mm":150,"low_deg":0,"high_deg":4}`
	text := shaped("lpg", "pct", "100", `"permitted_fill_pct":80,`+fmt.Sprintf(lying, arm)+",", "fill")
	if _, err := Read(strings.NewReader(text), "f"); err == nil || !strings.Contains(err.Error(), "for lpg that is not accepted") {
		t.Errorf("found %v", err)
	}
}

// A stated capacity that disagrees with the shape by more than 2 % is told in
// words, with the figures, and is no reason to refuse the job.
func TestCapacityDisagrees(t *testing.T) {
	for stated, want := range map[string]bool{"56": false, "50": true, "62": true} {
		j, err := Read(strings.NewReader(shaped("water", "mm", "300", `"water_capacity_l":`+stated+","+fmt.Sprintf(lying, "")+",", "volume")), "f")
		if err != nil {
			t.Fatal(err)
		}
		list := j.Tanks[0].Findings()
		told := len(list) == 1 && list[0].Weight == finding.Doubt && strings.Contains(list[0].Text, "56.5") && strings.Contains(list[0].Text, stated+" L")
		if told != want || !want && len(list) > 0 {
			t.Errorf("%s L stated: %v", stated, list)
		}
	}
}

// Of gas no more litres are told than the plate allows, and of what may be filled
// no more than four fifths of them.
func TestLitresOfGasByTheLesser(t *testing.T) {
	j, err := Read(strings.NewReader(shaped("lpg", "mm", "300", `"water_capacity_l":50,"permitted_fill_pct":80,`+fmt.Sprintf(lying, "")+",", "fill")), "f")
	if err != nil {
		t.Fatal(err)
	}
	s, err := j.Tanks[0].Scale()
	if err != nil {
		t.Fatal(err)
	}
	if _, full := s.Ends(); math.Abs(full-0.3*fourOf5) > 1e-9 {
		t.Errorf("100 %% at %v", full)
	}
	if says := s.Sentence(); !strings.Contains(says, "80 % of its water capacity: 40 L") {
		t.Errorf("says %q", says)
	}
}

// A mesh is found beside the job file, wherever the program runs; while it is
// missing the job can be read all the same, and says so when its scale is asked
// for.
func TestMeshBesideTheJob(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.job.json")
	text := shaped("lpg", "mm", "200", `"permitted_fill_pct":80,"shape":{"shape":"mesh","file":"parts/box.stl"},`, "fill")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	j, err := ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := j.Tanks[0].Scale(); err == nil || !strings.Contains(err.Error(), "box.stl") {
		t.Errorf("without the mesh: %v", err)
	}
	if list := j.Tanks[0].Findings(); len(list) != 1 || list[0].Weight != finding.Bad {
		t.Errorf("without the mesh: %v", list)
	}
	if err := os.Mkdir(filepath.Join(folder, "parts"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "parts", "box.stl"), []byte(boxSTL(400, 300, 200)), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := j.Tanks[0].Scale()
	if err != nil {
		t.Fatal(err)
	}
	// 400 × 300 × 200 mm are 24 L.
	if v, ok := s.Volume(0.1); !ok || math.Abs(float64(v)-0.012) > 1e-12 {
		t.Errorf("half of it holds %v", v)
	}
	if data, err := j.Encode(); err != nil || strings.Contains(string(data), folder) {
		t.Errorf("the folder went into the file, or %v", err)
	}
}

// boxSTL is a box of twelve triangles as an ASCII STL file, turned outward.
func boxSTL(x, y, z float64) string {
	corner := func(i int) string {
		return fmt.Sprintf("vertex %g %g %g\n", x*float64(i&1), y*float64(i>>1&1), z*float64(i>>2))
	}
	var b strings.Builder
	b.WriteString("solid box\n")
	for _, q := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		for _, f := range [][3]int{{q[0], q[1], q[2]}, {q[0], q[2], q[3]}} {
			b.WriteString("facet normal 0 0 0\nouter loop\n" + corner(f[0]) + corner(f[1]) + corner(f[2]) + "endloop\nendfacet\n")
		}
	}
	return b.String() + "endsolid box\n"
}

// What is keyed in on a scale through the tank is stored, and its checks and
// steps go by it.
func TestKeyThroughShape(t *testing.T) {
	j, err := Read(strings.NewReader(shaped("lpg", "mm", "300", `"permitted_fill_pct":80,`+fmt.Sprintf(lying, "")+",", "fill")), "f")
	if err != nil {
		t.Fatal(err)
	}
	k := &j.Tanks[0]
	how := Setting{Scale: string(scale.Fill), StepOhm: 1}
	if err := k.Key(span.Ends{Lower: 5, Upper: 76}, how); err != nil {
		t.Fatal(err)
	}
	mm := 1000 * 0.3 * fourOf5
	k.Checks = []Check{{When: AsLeft, TolerancePct: 2, Readings: []CheckPoint{{MarkMM: &mm, ShownPct: 100}}}}
	proofs, err := k.Proofs()
	if err != nil {
		t.Fatal(err)
	}
	if row := proofs[0].Proof.Rows[0]; math.Abs(float64(row.Target)-1) > 1e-9 || !row.Pass {
		t.Errorf("%+v", row)
	}
	if unit := k.Unit(); unit != curve.Height {
		t.Error(unit)
	}
	if v := k.Capacity(); math.Abs(float64(v)-capacity/1000) > 1e-9 {
		t.Errorf("holds %v", quantity.CubicMetre(v))
	}
}
