package tank

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// ReadSTL reads a triangle mesh in either form of the STL file (3D Systems,
// 1989, in its usual reading). The scale is in metres per unit of the file,
// which doesn't name its unit. Corners equal in every bit are one. The file's
// normals are left aside: the order of a triangle's corners says where outward
// is. The error names the triangle, or the line of a text file.
//
// A binary file may begin with the word "solid" like a text file; but it has
// bytes of zero near its beginning, which text has not.
func ReadSTL(r io.Reader, scale float64) (Facets, error) {
	if err := meshScale(scale); err != nil {
		return Facets{}, err
	}
	b := bufio.NewReaderSize(r, 1<<16)
	head, err := b.Peek(1024)
	if err != nil && err != io.EOF {
		return Facets{}, fmt.Errorf("the STL file can't be read: %w", err)
	}
	if len(head) == 0 {
		return Facets{}, errors.New("the STL file is empty; expected triangles; export it again")
	}
	m := newMeshCorners()
	if stlIsText(head) {
		err = stlText(b, m)
	} else {
		err = stlBinary(b, m)
	}
	if err != nil {
		return Facets{}, err
	}
	if len(m.facets.Triangles) == 0 {
		return Facets{}, errors.New("the STL file has no triangles; expected a closed surface; export it again")
	}
	return m.scaled(scale)
}

func stlIsText(head []byte) bool {
	text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	return len(text) >= 5 && bytes.EqualFold(text[:5], []byte("solid")) && bytes.IndexByte(head, 0) < 0
}

// stlBinary reads 80 bytes of any content, the number of triangles, and 50
// bytes for each: the normal and three corners as float32, and two bytes more.
func stlBinary(r io.Reader, m *meshCorners) error {
	var head [84]byte
	if n, err := io.ReadFull(r, head[:]); err != nil {
		return stlShort(err, fmt.Sprintf("the file ends after %d bytes; a binary STL file has 84 before its first triangle, and a text file begins with \"solid\"", n))
	}
	count := int64(binary.LittleEndian.Uint32(head[80:]))
	if count > MaxTriangles {
		return meshTooMany(fmt.Sprintf("%d", count))
	}
	var record [50]byte
	for i := range count {
		if _, err := io.ReadFull(r, record[:]); err != nil {
			return stlShort(err, fmt.Sprintf("the binary STL file announces %d triangles and ends within triangle %d; it was cut short, or isn't an STL file; export or copy it again", count, i+1))
		}
		var t [3]int32
		for k := range t {
			var v [3]float64
			for j := range v {
				v[j] = float64(math.Float32frombits(binary.LittleEndian.Uint32(record[12+12*k+4*j:])))
			}
			c := r3.Vec{X: v[0], Y: v[1], Z: v[2]}
			if !meshFinite(c) {
				return fmt.Errorf("corner %d of triangle %d is at (%g, %g, %g); expected numbers; export the file again", k+1, i+1, c.X, c.Y, c.Z)
			}
			t[k] = m.number(c)
		}
		m.facets.Triangles = append(m.facets.Triangles, t)
	}
	switch _, err := io.ReadFull(r, record[:1]); {
	case err == nil:
		return fmt.Errorf("the binary STL file announces %d triangles, but goes on after them; its header and its length don't agree; export or copy it again", count)
	case err != io.EOF:
		return fmt.Errorf("the STL file can't be read: %w", err)
	}
	return nil
}

// stlShort tells the end of a file from a fault in reading it.
func stlShort(err error, words string) error {
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return errors.New(words)
	}
	return fmt.Errorf("the STL file can't be read: %w", err)
}
