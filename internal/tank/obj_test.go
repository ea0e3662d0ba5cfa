package tank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

const objCube = `# a cube
mtllib none.mtl
o cube
v 0 0 0
v 1 0 0
v 1 1 0
v 0 1 0
v 0 0 1 1.0
v 1 0 1
v 1 1 1
v 0 1 1
vt 0 0
vn 0 0 1
g sides
usemtl steel
s off
f 4 3 2 1
f 5//1 6//1 7//1 8//1
f 1/1 2/1 6/1 5/1
f -6/-1/-1 -5/-1/-1 -1/-1/-1
f 3/1/1 8/1/1 7/1/1 # cut by hand, crosswise
f 1 5 8 \
  4
f 2 3 7 6
l 1 2
p 1
`

func TestReadOBJ(t *testing.T) {
	f, err := ReadOBJ(strings.NewReader(objCube), 0.5)
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Corners) != 8 || len(f.Triangles) != 12 {
		t.Errorf("%d corners, %d triangles; expected 8, 12", len(f.Corners), len(f.Triangles))
	}
	s, said, err := NewMesh(f, MeshOptions{})
	if err != nil || len(said) > 0 {
		t.Fatal(err, said)
	}
	if v := s.(*meshSolid).capacity; v != 0.125 {
		t.Errorf("holds %v", v)
	}
	// A corner for each face, as some programs write: they are joined.
	twice := strings.ReplaceAll(objCube, "\r", "")
	twice = strings.Replace(twice, "f 2 3 7 6", "v 1 0 0\nv 1 1 0\nv 1 1 1\nv 1 0 1\nf -4 -3 -2 -1", 1)
	if f, err = ReadOBJ(strings.NewReader(twice), 1); err != nil || len(f.Corners) != 8 {
		t.Errorf("%d corners, %v", len(f.Corners), err)
	}
}

func TestReadOBJRefuses(t *testing.T) {
	big := &strings.Builder{}
	big.WriteString("v 0 0 0\nv 1 0 0\nv 0 1 0\nf")
	for range objMost + 1 {
		big.WriteString(" 1")
	}
	for _, c := range []struct{ name, file, say string }{
		{"empty", "", "has 0 corners (v) and no face (f)"},
		{"points only", "v 1 2 3\nv 2 2 2\n", "has 2 corners (v) and no face (f)"},
		{"number", "v 1 2 x\n", "line 1 of the OBJ file: found the coordinate \"x\""},
		{"not a number", "v 1 2 nan\n", "found the coordinate \"nan\""},
		{"two coordinates", "\nv 1 2\n", "line 2 of the OBJ file: found 2 coordinates"},
		{"corner 0", "v 0 0 0\nf 0 1 1\n", "line 2 of the OBJ file: the face names corner 0; 1 were given so far"},
		{"corner not yet there", "v 0 0 0\nf 1 1 2\n", "names corner 2; 1 were given"},
		{"too far back", "v 0 0 0\nf 1 1 -2\n", "names corner -2; 1 were given"},
		{"word", "v 0 0 0\nf 1 1 one\n", "the face names the corner \"one\""},
		{"huge", "v 0 0 0\nf 1 1 99999999999999999999\n", "the face names the corner"},
		{"two corners", "v 0 0 0\nf 1 1\n", "the face has 2 corners; expected 3 to 10000"},
		{"too many corners", big.String(), "the face has 10001 corners"},
		{"crosses itself", "v 0 0 0\nv 2 2 0\nv 2 0 0\nv 1 -4 0\nv 0 2 0\nf 1 2 3 5 4\n", ""},
		{"long line", "v " + strings.Repeat("1 ", 1<<20), "line 1 of the OBJ file: the line is longer"},
		{"long line in parts", strings.Repeat("v 1 1 1 \\\n", 1<<18), "the line is longer"},
	} {
		f, err := ReadOBJ(strings.NewReader(c.file), 1)
		if c.say != "" && (err == nil || !strings.Contains(err.Error(), c.say)) {
			t.Errorf("%s: %d triangles, %v; expected %q", c.name, len(f.Triangles), err, c.say)
		}
	}
	if _, err := ReadOBJ(strings.NewReader("v 1e300 0 0\nv 0 1 0\nv 0 0 1\nf 1 2 3"), 1e300); err == nil || !strings.Contains(err.Error(), "another unit") {
		t.Errorf("beyond all numbers: %v", err)
	}
}

// A polygon that runs in and out, in any plane, keeps its area and its edges.
func TestOBJPolygons(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		n := 4 + r.IntN(30)
		turn := r3.NewRotation(7*r.Float64(), r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
		var file strings.Builder
		var corners []r3.Vec
		var want float64
		radius := make([]float64, n)
		for i := range radius {
			radius[i] = 0.05 + r.Float64()
		}
		if r.IntN(4) == 0 { // steps, many corners in one line
			for i := range radius {
				radius[i] = 1 / math.Max(math.Abs(math.Cos(2*math.Pi*float64(i)/float64(n))), math.Abs(math.Sin(2*math.Pi*float64(i)/float64(n))))
			}
		}
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			corners = append(corners, turn.Rotate(r3.Vec{X: radius[i] * c, Y: radius[i] * s}))
			want += radius[i] * radius[(i+1)%n] * math.Sin(2*math.Pi/float64(n)) / 2
			fmt.Fprintf(&file, "v %v %v %v\n", corners[i].X, corners[i].Y, corners[i].Z)
		}
		file.WriteString("f")
		for i := range n {
			fmt.Fprintf(&file, " %d", i+1)
		}
		f, err := ReadOBJ(strings.NewReader(file.String()), 1)
		if err != nil {
			t.Fatal(err)
		}
		edges := map[[2]int32]int{}
		area := 0.0
		normal := turn.Rotate(r3.Vec{Z: 1})
		for _, tri := range f.Triangles {
			a, b, c := f.Corners[tri[0]], f.Corners[tri[1]], f.Corners[tri[2]]
			part := r3.Dot(normal, r3.Cross(r3.Sub(b, a), r3.Sub(c, a))) / 2
			if part < -1e-12 {
				t.Fatalf("triangle %v is turned over: %v", tri, part)
			}
			area += part
			for i := range tri {
				edges[[2]int32{tri[i], tri[(i+1)%3]}]++
			}
		}
		if math.Abs(area-want) > 1e-12*want || len(f.Triangles) != n-2 {
			t.Fatalf("area %v in %d triangles, expected %v in %d", area, len(f.Triangles), want, n-2)
		}
		for e, k := range edges {
			back := edges[[2]int32{e[1], e[0]}]
			rim := int(e[1]) == (int(e[0])+1)%n
			if k != 1 || (back == 0) != rim {
				t.Fatalf("edge %v: %d times, %d back", e, k, back)
			}
		}
	})
}

func FuzzReadOBJ(f *testing.F) {
	f.Add([]byte(objCube))
	f.Add([]byte("v 0 0 0\nv 2 2 0\nv 2 0 0\nv 0 2 0\nf 1 2 3 4\nf -1 -2 -3\n"))
	f.Add([]byte("v 0 0 0 \\\n 1\nf 1/2/3 1//2 1/"))
	f.Fuzz(func(t *testing.T, file []byte) {
		m, err := ReadOBJ(strings.NewReader(string(file)), 1e-3)
		meshFuzzed(t, m, err)
	})
}
