package tank

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/peer"
)

// A ring of many triangles against Pappus' volume 2π²·R·r², and at every tilt
// against the horizontal cylinder's share lying flat: a ring's level slices are
// as long as the cylinder's are, whatever R (handbook identity, from memory).
func TestMeshRingFormula(t *testing.T) {
	const ring, tube = 0.6, 0.2
	s := NewPolyhedron(meshRing(600, 300, ring, tube, 0))
	cut, err := s.Cut(r3.Vec{Z: 1})
	if err != nil {
		t.Fatal(err)
	}
	whole := 2 * math.Pi * math.Pi * ring * tube * tube
	// The facets lie within: chords of 2π/600 and 2π/300 take away
	// 2e-5 and 7e-5 of the areas.
	for _, x := range []float64{0.05, 0.1, 0.3, 0.5, 0.8, 0.95} {
		k := 1 - 2*x
		want := whole * (math.Acos(k) - k*math.Sqrt(1-k*k)) / math.Pi
		v, area := cut.Below(-tube + 2*tube*x)
		if math.Abs(v-want) > 1e-4*whole {
			t.Errorf("filled to %v: holds %v, expected %v", x, v, want)
		}
		if want := 4 * math.Pi * ring * tube * math.Sqrt(1-k*k); math.Abs(area-want) > 2e-3*want {
			t.Errorf("filled to %v: surface %v, expected %v", x, area, want)
		}
	}
	// A ball's cap is the same in every direction: π·h²·(r − h/3).
	ball := NewPolyhedron(meshBall(300, 300, 0.5, meshRound))
	for _, up := range []r3.Vec{{Z: 1}, {X: 1}, Degrees(33, -21).Up()} {
		if cut, err = ball.Cut(up); err != nil {
			t.Fatal(err)
		}
		for _, h := range []float64{0.1, 0.3, 0.5, 0.9} {
			want := math.Pi * h * h * (0.5 - h/3)
			if v, _ := cut.Below(h - 0.5); math.Abs(v-want) > 1e-4 {
				t.Errorf("ball across %v filled to %v: holds %v, expected %v", up, h, v, want)
			}
		}
	}
}

// Convex meshes against SciPy: the volume of the convex hull of what of their
// edges lies below a plane (Qhull, float64).
func TestMeshAgainstSciPy(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	type given struct {
		P  [][3]float64 `json:"p"`
		T  [][3]int32   `json:"t"`
		Up [3]float64   `json:"up"`
		D  []float64    `json:"d"`
	}
	var in []given
	var cuts []Cut
	for i := range 12 {
		var f Facets
		switch i % 3 {
		case 0:
			f = meshBall(6+r.IntN(6), 6+r.IntN(9), 0.5, meshRound)
		case 1:
			f = meshGridBox(r3.Vec{X: 1, Y: 0.5, Z: 0.3}, 1, nil, 0)
		case 2:
			f = meshPrism(5+r.IntN(20), 0.3, 0.9)
		}
		if i > 5 {
			f = meshTurn(f, r3.Vec{X: r.Float64(), Y: r.Float64(), Z: 1}, 6*r.Float64())
		}
		up := Degrees(50*r.Float64(), 50*r.Float64()).Up()
		cut, err := NewPolyhedron(f).Cut(up)
		if err != nil {
			t.Fatal(err)
		}
		g := given{T: f.Triangles, Up: [3]float64{up.X, up.Y, up.Z}}
		for _, c := range f.Corners {
			g.P = append(g.P, [3]float64{c.X, c.Y, c.Z})
		}
		low, high := cut.Span()
		for range 20 {
			g.D = append(g.D, low+(high-low)*(0.02+0.98*r.Float64()))
		}
		in, cuts = append(in, g), append(cuts, cut)
	}
	var out [][]float64
	peer.Python(t, []string{"scipy", "numpy"}, `
import json, sys
import numpy as np
from scipy.spatial import ConvexHull
out = []
for g in json.load(sys.stdin):
    p, t, up = np.array(g["p"]), np.array(g["t"]), np.array(g["up"])
    z = p @ up
    a, b = np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]]).T
    volumes = []
    for d in g["d"]:
        over = (z[a] < d) & (z[b] > d)
        s = ((d - z[a]) / (z[b] - z[a]))[over][:, None]
        met = p[a][over] + s * (p[b] - p[a])[over]
        volumes.append(ConvexHull(np.concatenate([p[z <= d], met])).volume)
    out.append(volumes)
json.dump(out, sys.stdout)
`, in, &out)
	for i, g := range in {
		for k, d := range g.D {
			if v, _ := cuts[i].Below(d); math.Abs(v-out[i][k]) > 1e-12 {
				t.Errorf("body %d below %v: %.15g, SciPy %.15g", i, d, v, out[i][k])
			}
		}
	}
}

// ADMesh on the same files: volume (it reckons in float32), bodies, triangles
// with open edges, and triangles turned over.
func TestMeshAgainstADMesh(t *testing.T) {
	tool := peer.Tool(t, "admesh", "admesh")
	folder := t.TempDir()
	ask := func(f Facets, args ...string) func(name string) float64 {
		t.Helper()
		path := filepath.Join(folder, "mesh.stl")
		if err := os.WriteFile(path, stlWrite(f, 1e-3, "made for a test"), 0o600); err != nil {
			t.Fatal(err)
		}
		said, err := exec.Command(tool, append(args, path)...).CombinedOutput()
		if err != nil {
			t.Fatalf("admesh: %v: %s", err, said)
		}
		return func(name string) float64 {
			found := regexp.MustCompile(name + `\s*:\s*(-?[0-9.]+)`).FindSubmatch(said)
			if found == nil {
				t.Fatalf("admesh says nothing of %q: %s", name, said)
			}
			v, err := strconv.ParseFloat(string(found[1]), 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
	}
	read := func() Facets {
		file, err := os.Open(filepath.Join(folder, "mesh.stl"))
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		f, err := ReadSTL(file, 1e-3)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	ring := meshRing(30, 20, 0.6, 0.2, 0.1)
	for name, f := range map[string]Facets{
		"ring": ring, "prism": meshPrism(50, 0.3, 0.7), "ball": meshBall(30, 40, 0.5, meshRound),
		"two": meshJoin(meshBall(9, 9, 0.3, meshRound), meshMove(meshGridBox(r3.Vec{X: 0.3, Y: 0.2, Z: 0.1}, 2, nil, 0), r3.Vec{X: 1})),
	} {
		value := ask(f)
		s, said, err := NewMesh(read(), MeshOptions{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if v := s.(*meshSolid).capacity * 1e9; math.Abs(v-value("Volume")) > 1e-5*v {
			t.Errorf("%s: %v mm³, admesh %v", name, v, value("Volume"))
		}
		bodies := 1.0
		if len(said) > 0 {
			bodies = 2
		}
		if value("Number of parts") != bodies || value("Total disconnected facets") != 0 {
			t.Errorf("%s: %q, admesh %v bodies, %v open triangles", name, said, value("Number of parts"), value("Total disconnected facets"))
		}
	}
	// Three triangles turned over.
	value := ask(meshFlip(ring, 100, 200, 300))
	_, said, err := NewMesh(read(), MeshOptions{})
	if err != nil || len(said) != 1 || !strings.HasPrefix(said[0], "3 triangles were turned over") || value("Facets reversed") != 3 {
		t.Errorf("turned over: %v, %q, admesh %v", err, said, value("Facets reversed"))
	}
	// Two triangles left out: it counts the triangles around the holes.
	value = ask(meshWithout(ring, 100, 700), "--exact")
	_, _, err = NewMesh(read(), MeshOptions{})
	if err == nil || !strings.Contains(err.Error(), "6 edges with one triangle only, around 2 holes") || value("Total disconnected facets") != 6 {
		t.Errorf("two holes: %v, admesh %v open triangles", err, value("Total disconnected facets"))
	}
}
