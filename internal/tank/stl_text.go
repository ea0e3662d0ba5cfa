package tank

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/wording"
)

// meshLines reads a text file line by line.
type meshLines struct {
	r    *bufio.Reader
	kind string // of file, for messages
	line int
	long []byte
}

// meshLongest is the longest line that is read; no writer of meshes comes near.
const meshLongest = 1 << 20

// next gives the next line without its end, in memory that the call after it
// uses again; io.EOF after the last.
func (l *meshLines) next() ([]byte, error) {
	l.line++
	l.long = l.long[:0]
	for {
		part, err := l.r.ReadSlice('\n')
		if len(l.long)+len(part) > meshLongest {
			return nil, l.errorf("the line is longer than %d bytes; expected a text file of a mesh", meshLongest)
		}
		if err == bufio.ErrBufferFull {
			l.long = append(l.long, part...)
			continue
		}
		if err != nil && err != io.EOF {
			return nil, l.errorf("the file can't be read: %w", err)
		}
		if len(l.long) > 0 {
			l.long = append(l.long, part...)
			part = l.long
		}
		if err == io.EOF && len(part) == 0 {
			return nil, io.EOF
		}
		return bytes.TrimRight(part, "\r\n"), nil
	}
}

func (l *meshLines) errorf(format string, args ...any) error {
	return fmt.Errorf("line %d of the "+l.kind+" file: "+format, append([]any{l.line}, args...)...)
}

// corner reads the first three of some fields as coordinates.
func (l *meshLines) corner(fields [][]byte) (v r3.Vec, err error) {
	if len(fields) < 3 {
		return v, l.errorf("found %d coordinates, expected 3", len(fields))
	}
	for i, to := range []*float64{&v.X, &v.Y, &v.Z} {
		n, err := strconv.ParseFloat(string(fields[i]), 64)
		if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
			return v, l.errorf("found the coordinate %q, expected a number", wording.Clip(string(fields[i]), 40))
		}
		*to = n
	}
	return v, nil
}

// meshFields splits a line at blanks into memory that it is given.
func meshFields(line []byte, fields [][]byte) [][]byte {
	fields = fields[:0]
	for len(line) > 0 {
		n := 0
		for n < len(line) && line[n] > ' ' {
			n++
		}
		if n > 0 {
			fields = append(fields, line[:n])
		}
		for n < len(line) && line[n] <= ' ' {
			n++
		}
		line = line[n:]
	}
	return fields
}

// stlText reads the text form. Its words may be in capitals, its lines indented
// in any way, and several solids may follow one another; they are taken as one
// mesh.
func stlText(b *bufio.Reader, m *meshCorners) error {
	if start, _ := b.Peek(3); string(start) == "\xef\xbb\xbf" {
		_, _ = b.Discard(3)
	}
	l := &meshLines{r: b, kind: "STL"}
	var fields [][]byte
	var t [3]int32
	corners, open, ended := -1, false, false // corners of the facet so far, −1 between facets
	for {
		line, err := l.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if fields = meshFields(line, fields); len(fields) == 0 {
			continue
		}
		word := string(bytes.ToLower(fields[0][:min(len(fields[0]), 16)]))
		switch {
		case word == "solid" && !open:
			open, ended = true, false
		case word == "facet" && open && corners < 0:
			corners = 0
		case word == "outer" && corners == 0, word == "endloop" && corners == 3:
		case word == "vertex" && corners == 3:
			return l.errorf("triangle %d has more than 3 corners; expected \"endloop\"", len(m.facets.Triangles)+1)
		case word == "vertex" && corners >= 0:
			c, err := l.corner(fields[1:])
			if err != nil {
				return err
			}
			t[corners] = m.number(c)
			corners++
		case word == "endfacet" && corners == 3:
			if len(m.facets.Triangles) == MaxTriangles {
				return meshTooMany(fmt.Sprintf("more than %d", MaxTriangles))
			}
			m.facets.Triangles = append(m.facets.Triangles, t)
			corners = -1
		case word == "endsolid" && open && corners < 0:
			open, ended = false, true
		default:
			return l.errorf("found %q after %s; expected the text form of STL", wording.Clip(string(fields[0]), 40), stlState(open, corners, len(m.facets.Triangles)))
		}
	}
	if !ended {
		return l.errorf("the file ends after %s; expected \"endsolid\"; it was cut short; export or copy it again", stlState(open, corners, len(m.facets.Triangles)))
	}
	return nil
}

// stlState says how far a text file was read.
func stlState(open bool, corners, triangles int) string {
	switch {
	case corners >= 0:
		return fmt.Sprintf("%d corners of triangle %d", corners, triangles+1)
	case open:
		return fmt.Sprintf("%d triangles", triangles)
	}
	return "the end of a solid"
}
