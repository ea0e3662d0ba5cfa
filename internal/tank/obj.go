package tank

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/wording"
)

// objMost is the most corners a polygon of an OBJ file may have.
const objMost = 10_000

// ReadOBJ reads corners and faces of an OBJ file (Wavefront, appendix B1, in
// its usual reading); all else in it is left aside. The scale is in metres per
// unit of the file, which doesn't name its unit. Faces of more than three
// corners are cut into triangles, hollow ones by clipping ears. Corners equal in
// every bit are one. The error names the line.
func ReadOBJ(r io.Reader, scale float64) (Facets, error) {
	if err := meshScale(scale); err != nil {
		return Facets{}, err
	}
	l := &meshLines{r: bufio.NewReaderSize(r, 1<<16), kind: "OBJ"}
	o := &objFile{lines: l, corners: newMeshCorners()}
	for {
		err := o.statement()
		if err == io.EOF {
			break
		}
		if err != nil {
			return Facets{}, err
		}
	}
	if len(o.corners.facets.Triangles) == 0 {
		return Facets{}, fmt.Errorf("the OBJ file has %d corners (v) and no face (f); expected a closed surface of polygons; export it as a polygon mesh", len(o.given))
	}
	return o.corners.scaled(scale)
}

// objFile is a file being read.
type objFile struct {
	lines   *meshLines
	corners *meshCorners
	given   []int32 // for each v of the file the number of its corner
	fields  [][]byte
	joined  []byte
	face    []int32
}

// statement reads one line with those that continue it.
func (o *objFile) statement() error {
	line, err := o.lines.next()
	if err != nil {
		return err
	}
	if bytes.HasSuffix(line, []byte(`\`)) {
		o.joined = o.joined[:0]
		for bytes.HasSuffix(line, []byte(`\`)) {
			o.joined = append(append(o.joined, line[:len(line)-1]...), ' ')
			if len(o.joined) > meshLongest {
				return o.lines.errorf("the line is longer than %d bytes; expected a text file of a mesh", meshLongest)
			}
			if line, err = o.lines.next(); err == io.EOF {
				line = nil
			} else if err != nil {
				return err
			}
		}
		o.joined = append(o.joined, line...)
		line = o.joined
	}
	if i := bytes.IndexByte(line, '#'); i >= 0 {
		line = line[:i]
	}
	o.fields = meshFields(line, o.fields)
	if len(o.fields) == 0 {
		return nil
	}
	switch string(o.fields[0]) {
	case "v":
		if len(o.given) == 3*MaxTriangles {
			return o.lines.errorf("found more than %d corners; expected no more than %d triangles", 3*MaxTriangles, MaxTriangles)
		}
		v, err := o.lines.corner(o.fields[1:])
		if err != nil {
			return err
		}
		o.given = append(o.given, o.corners.number(v))
	case "f":
		return o.polygon(o.fields[1:])
	}
	return nil
}

// polygon takes in a face.
func (o *objFile) polygon(fields [][]byte) error {
	if len(fields) < 3 || len(fields) > objMost {
		return o.lines.errorf("the face has %d corners; expected 3 to %d", len(fields), objMost)
	}
	o.face = o.face[:0]
	for _, f := range fields {
		c, err := o.corner(f)
		if err != nil {
			return err
		}
		o.face = append(o.face, c)
	}
	m := &o.corners.facets
	if len(m.Triangles)+len(o.face)-2 > MaxTriangles {
		return meshTooMany(fmt.Sprintf("more than %d", MaxTriangles))
	}
	if len(o.face) == 3 {
		m.Triangles = append(m.Triangles, [3]int32(o.face))
		return nil
	}
	var ok bool
	if m.Triangles, ok = objTriangles(m.Corners, o.face, m.Triangles); !ok {
		return o.lines.errorf("the face of %d corners, the first at %s, can't be cut into triangles; expected one that doesn't cross itself; export the mesh as triangles", len(o.face), meshPlace(m.Corners[o.face[0]]))
	}
	return nil
}

// corner reads one corner of a face: its number, then those of texture and
// normal after slashes. A negative number counts back from the last corner
// given so far.
func (o *objFile) corner(field []byte) (int32, error) {
	text, _, _ := bytes.Cut(field, []byte("/"))
	n, err := strconv.Atoi(string(text))
	if err != nil {
		return 0, o.lines.errorf("the face names the corner %q; expected a number, or one with slashes such as 1/2/3", wording.Clip(string(field), 40))
	}
	given := len(o.given)
	if n < 0 {
		n += given + 1
	}
	if n < 1 || n > given {
		return 0, o.lines.errorf("the face names corner %s; %d were given so far, and they count from 1", text, given)
	}
	return o.given[n-1], nil
}

// meshPlace writes a place for a message: the unit of the file is the reader's
// own affair.
func meshPlace(v r3.Vec) string { return fmt.Sprintf("(%g, %g, %g)", v.X, v.Y, v.Z) }
