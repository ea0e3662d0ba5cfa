package tankfile

import (
	"fmt"
	"path"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/finding"
	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
)

// KindMesh is the kind of the findings on what was mended in a mesh.
const KindMesh = "mesh"

// units are those that a mesh may be drawn in, in metres; the usual one is mm.
var units = map[string]float64{"": 0.001, "mm": 0.001, "cm": 0.01, "m": 1, "in": 0.0254}

// mesh makes a tank of a closed mesh.
func (b *builder) mesh(y Body, at []string) (tank.Solid, error) {
	place := below(at, "file")
	read := tank.ReadSTL
	switch strings.ToLower(path.Ext(y.MeshFile)) {
	case ".stl":
	case ".obj":
		read = tank.ReadOBJ
	default:
		return nil, &fault{path: place, msg: fmt.Sprintf("%s is no mesh file by its name; expected one that ends in .stl or .obj", strict.Quoted(y.MeshFile))}
	}
	if b.open == nil {
		return nil, errUnopened
	}
	file, err := b.open(y.MeshFile)
	if err != nil {
		return nil, unopenable(place, y.MeshFile, err)
	}
	defer file.Close()
	facets, err := read(file, units[y.Unit])
	if err != nil {
		return nil, &fault{path: place, msg: strict.Clip(y.MeshFile) + ": " + err.Error()}
	}
	if y.Up == "y" {
		for i, c := range facets.Corners {
			facets.Corners[i] = r3.Vec{X: c.X, Y: -c.Z, Z: c.Y}
		}
	}
	solid, statements, err := tank.NewMesh(facets, tank.MeshOptions{Wall: y.Drawn == "wall"})
	if err != nil {
		return nil, &fault{path: place, msg: strict.Clip(y.MeshFile) + ": " + err.Error()}
	}
	for _, s := range statements {
		b.findings = append(b.findings, finding.Finding{Kind: KindMesh, Text: strict.Clip(y.MeshFile) + ": " + s})
	}
	return solid, nil
}
