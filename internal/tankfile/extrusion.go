package tankfile

import (
	"fmt"

	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
)

// extrusion makes an outline drawn along an axis.
func extrusion(y Body, path []string) (tank.Solid, error) {
	at := below(path, "outline_mm")
	vertices := make([]tank.Vertex, len(y.OutlineMM))
	for i, v := range y.OutlineMM {
		vertices[i] = tank.Vertex{A: metres(v.At[0]), B: metres(v.At[1]), Corner: metres(v.CornerMM)}
		if v.Through != nil {
			vertices[i].Through = &[2]float64{metres(v.Through[0]), metres(v.Through[1])}
		}
	}
	outline, err := tank.NewOutline(vertices)
	if err != nil {
		return nil, &fault{path: at, msg: err.Error()}
	}
	if y.WallMM > 0 {
		if outline, err = outline.Inset(metres(y.WallMM)); err != nil {
			return nil, &fault{path: below(path, "wall_mm"), msg: err.Error()}
		}
	}
	length, err := walls(y, path, field{"length_mm", y.LengthMM})
	if err != nil {
		return nil, err
	}
	return placed(path)(tank.Extrude(outline, axis(y.Axis, tank.AxisX), length[0]))
}

// assembly makes a stack, or joined tanks, of their parts.
func (b *builder) assembly(y Body, path []string) (tank.Solid, error) {
	var sum tank.Sum
	floor := 0.0
	for i, p := range y.Parts {
		at := below(path, "parts", fmt.Sprint(i))
		if y.Shape == Stack && walled(p.Body) {
			return nil, &fault{path: at, msg: "the parts of a stack are open to each other, with no wall between them; state their inside sizes and delete wall_mm"}
		}
		solid, err := b.body(p.Body, at)
		if err != nil {
			return nil, err
		}
		z := metres(p.ZMM)
		if y.Shape == Stack {
			low, high := solid.Box()
			z, floor = floor, floor+high.Z-low.Z
		}
		sum.Plus = append(sum.Plus, settled(solid, metres(p.XMM), metres(p.YMM), z))
	}
	if len(sum.Plus) == 1 {
		return sum.Plus[0], nil
	}
	return b.sum(sum, below(path, "parts"))
}

// walled says whether a body or a part of it states a wall.
func walled(y Body) bool {
	if y.WallMM > 0 {
		return true
	}
	for _, p := range y.Parts {
		if walled(p.Body) {
			return true
		}
	}
	return false
}

// sum checks what was put together.
func (b *builder) sum(s tank.Sum, path []string) (tank.Solid, error) {
	if !b.whole {
		return s, nil
	}
	if err := s.Check(); err != nil {
		return nil, &fault{path: path, msg: err.Error()}
	}
	return s, nil
}

// unopenable says why a file that was named can't be had.
func unopenable(path []string, name string, err error) error {
	return &fault{path: path, msg: strict.SystemError(strict.Clip(name), "not readable", err).Error(), cause: err}
}
