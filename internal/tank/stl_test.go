package tank

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"gonum.org/v1/gonum/spatial/r3"
)

// stlWrite writes a mesh as a binary STL file, in units of the scale.
func stlWrite(f Facets, scale float64, head string) []byte {
	var b bytes.Buffer
	header := make([]byte, 80)
	copy(header, head)
	b.Write(header)
	_ = binary.Write(&b, binary.LittleEndian, uint32(len(f.Triangles)))
	for _, t := range f.Triangles {
		q := [3]r3.Vec{f.Corners[t[0]], f.Corners[t[1]], f.Corners[t[2]]}
		n := r3.Unit(r3.Cross(r3.Sub(q[1], q[0]), r3.Sub(q[2], q[0])))
		for _, v := range []r3.Vec{n, r3.Scale(1/scale, q[0]), r3.Scale(1/scale, q[1]), r3.Scale(1/scale, q[2])} {
			_ = binary.Write(&b, binary.LittleEndian, []float32{float32(v.X), float32(v.Y), float32(v.Z)})
		}
		b.Write([]byte{0, 0})
	}
	return b.Bytes()
}

func stlWriteText(f Facets, scale float64, name string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "solid %s\n", name)
	for _, t := range f.Triangles {
		b.WriteString(" facet normal 0 0 0\n  outer loop\n")
		for _, c := range t {
			v := r3.Scale(1/scale, f.Corners[c])
			fmt.Fprintf(&b, "   vertex %g %g %g\n", v.X, v.Y, v.Z)
		}
		b.WriteString("  endloop\n endfacet\n")
	}
	fmt.Fprintf(&b, "endsolid %s\n", name)
	return b.String()
}

func TestReadSTL(t *testing.T) {
	box := meshGridBox(r3.Vec{X: 0.5, Y: 0.25, Z: 0.125}, 2, nil, 0)
	text := stlWriteText(box, 1e-3, "a tank")
	for name, file := range map[string][]byte{
		"binary":                        stlWrite(box, 1e-3, "made by hand"),
		"binary that begins with solid": stlWrite(box, 1e-3, "solid a tank"),
		"binary, blanks after solid":    stlWrite(box, 1e-3, "solid"+strings.Repeat(" ", 75)),
		"text":                          []byte(text),
		"text, no name":                 []byte(stlWriteText(box, 1e-3, "")),
		"capitals":                      []byte(strings.ToUpper(text)),
		"ends of line of two bytes":     []byte(strings.ReplaceAll(text, "\n", "\r\n")),
		"byte order mark":               []byte("\xef\xbb\xbf" + text),
		"blanks before, none after":     []byte("\n  " + strings.TrimSpace(text)),
		"tabs, empty lines":             []byte(strings.ReplaceAll(strings.ReplaceAll(text, " ", "\t"), "\n", "\n\n")),
		"two solids":                    []byte(stlWriteText(meshWithout(box, 0, 1, 2), 1e-3, "one") + stlWriteText(Facets{box.Corners, box.Triangles[:3]}, 1e-3, "other")),
		"a name in another alphabet":    []byte(strings.ReplaceAll(text, "a tank", "бак")),
	} {
		f, err := ReadSTL(iotest.OneByteReader(bytes.NewReader(file)), 1e-3)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(f.Corners) != len(box.Corners) || len(f.Triangles) != len(box.Triangles) {
			t.Errorf("%s: %d corners, %d triangles; expected %d, %d", name, len(f.Corners), len(f.Triangles), len(box.Corners), len(box.Triangles))
		}
		if v := meshVolume(f, r3.Vec{}); math.Abs(v-0.015625) > 1e-15 {
			t.Errorf("%s: holds %v", name, v)
		}
	}
}

func TestReadSTLRefuses(t *testing.T) {
	box := meshGridBox(r3.Vec{X: 0.5, Y: 0.25, Z: 0.125}, 1, nil, 0)
	whole := stlWrite(box, 1e-3, "")
	text := stlWriteText(box, 1e-3, "a")
	bad := bytes.Clone(whole)
	binary.LittleEndian.PutUint32(bad[84+50*2+12+8:], math.Float32bits(float32(math.NaN())))
	many := bytes.Clone(whole[:84])
	binary.LittleEndian.PutUint32(many[80:], 10_000_000)
	for _, c := range []struct {
		name string
		file []byte
		say  string
	}{
		{"empty", nil, "the STL file is empty"},
		{"no triangles", stlWrite(Facets{}, 1, ""), "has no triangles"},
		{"text without triangles", []byte("solid a\nendsolid a\n"), "has no triangles"},
		{"short head", whole[:50], "ends after 50 bytes; a binary STL file has 84"},
		{"cut short", whole[:84+50*7+3], "announces 12 triangles and ends within triangle 8"},
		{"cut between", whole[:84+50*7], "announces 12 triangles and ends within triangle 8"},
		{"over-long", append(bytes.Clone(whole), 0), "announces 12 triangles, but goes on after them"},
		{"10 million, announced", many, "10000000 triangles; expected no more than 5000000"},
		{"not a number", bad, "corner 1 of triangle 3 is at (0, 0, NaN)"},
		{"text cut short", []byte(text[:strings.Index(text, "endsolid")]), "ends after 12 triangles; expected \"endsolid\""},
		{"text cut in a facet", []byte(text[:strings.Index(text, "  endloop")]), "after 3 corners of triangle 1; expected \"endsolid\""},
		{"text, bad number", []byte(strings.Replace(text, "vertex 500 250 0", "vertex 500 2,50 0", 1)), "found the coordinate \"2,50\", expected a number"},
		{"text, infinite", []byte(strings.Replace(text, "vertex 500 250 0", "vertex 500 inf 0", 1)), "found the coordinate \"inf\""},
		{"text, two coordinates", []byte(strings.Replace(text, "vertex 500 250 0", "vertex 500 250", 1)), "found 2 coordinates, expected 3"},
		{"text, four corners", []byte(strings.Replace(text, "  endloop", "   vertex 1 1 1\n  endloop", 1)), "line 7 of the STL file: triangle 1 has more than 3 corners"},
		{"text, two corners", []byte("solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop\nendfacet\nendsolid"), "line 6 of the STL file: found \"endloop\" after 2 corners of triangle 1"},
		{"other text", []byte("solid ground\nis hard to find\n"), "line 2 of the STL file: found \"is\" after 0 triangles; expected the text form of STL"},
	} {
		f, err := ReadSTL(bytes.NewReader(c.file), 1e-3)
		if err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: %d triangles, %v; expected %q", c.name, len(f.Triangles), err, c.say)
		}
	}
	for _, scale := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := ReadSTL(bytes.NewReader(whole), scale); err == nil {
			t.Errorf("read in units of %v m", scale)
		}
	}
	broken := errors.New("the disk is gone")
	for n := range 3 {
		r := io.MultiReader(bytes.NewReader(whole[:70_000*n%(len(whole)-1)]), iotest.ErrReader(broken))
		if _, err := ReadSTL(r, 1); !errors.Is(err, broken) {
			t.Errorf("a fault in reading: %v", err)
		}
	}
}

// A head that announces as many triangles as are allowed, of a file that has
// none, must not take the memory for them.
func TestReadSTLMemory(t *testing.T) {
	file := make([]byte, 84)
	binary.LittleEndian.PutUint32(file[80:], MaxTriangles)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for range 10 {
		if _, err := ReadSTL(bytes.NewReader(file), 1); err == nil {
			t.Fatal("read without an error")
		}
	}
	runtime.ReadMemStats(&after)
	if taken := (after.TotalAlloc - before.TotalAlloc) / 10; taken > 1<<20 {
		t.Errorf("took %d bytes", taken)
	}
}

func FuzzReadSTL(f *testing.F) {
	box := meshGridBox(r3.Vec{X: 1, Y: 1, Z: 1}, 1, nil, 0)
	f.Add(stlWrite(box, 1, ""))
	f.Add(stlWrite(box, 1, "solid"))
	f.Add([]byte(stlWriteText(box, 1, "a")))
	f.Add([]byte("solid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop\nendfacet\nendsolid"))
	f.Fuzz(func(t *testing.T, file []byte) {
		m, err := ReadSTL(bytes.NewReader(file), 1e-3)
		meshFuzzed(t, m, err)
	})
}

// meshFuzzed holds whatever was read to what a reader promises, and has it
// checked.
func meshFuzzed(t *testing.T, m Facets, err error) {
	if err != nil {
		if len(m.Triangles) != 0 {
			t.Fatal("triangles in spite of an error")
		}
		return
	}
	if len(m.Triangles) == 0 {
		t.Fatal("neither triangles nor an error")
	}
	for _, tri := range m.Triangles {
		for _, c := range tri {
			if c < 0 || int(c) >= len(m.Corners) || !meshFinite(m.Corners[c]) {
				t.Fatalf("corner %d of %d", c, len(m.Corners))
			}
		}
	}
	s, _, err := NewMesh(m, MeshOptions{})
	if err != nil {
		return
	}
	cut, err := s.Cut(Degrees(3, 2).Up())
	if err != nil {
		return
	}
	low, high := cut.Span()
	if v, a := cut.Below(low + (high-low)/2); !(v >= 0) || !(a >= 0) {
		t.Fatalf("volume %v, surface %v", v, a)
	}
}
