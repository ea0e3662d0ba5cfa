package tankfile

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/finding"
	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
)

// Tank builds the tank. Open finds the mesh and CSV files that are named in it,
// relative to the tank file; it may be nil where there are none. The findings
// say what to look at before relying on it: a stated capacity that disagrees,
// heads deeper than the shell, what was mended in a mesh. The error says what
// can't be, with its place in the file.
func (f *File) Tank(open func(name string) (io.ReadCloser, error)) (*tank.Tank, []finding.Finding, error) {
	b := &builder{open: open, whole: true}
	if open == nil {
		b.open = func(name string) (io.ReadCloser, error) {
			return nil, errors.New("no files can be opened here")
		}
	}
	t, err := f.build(b)
	if err != nil {
		return nil, nil, err
	}
	for _, p := range f.inTank(t) {
		return nil, nil, &fault{path: p.Path, msg: p.Msg}
	}
	return t, f.findings(t, b), nil
}

// build makes the tank; (nil, nil) where it hangs on files that aren't opened.
func (f *File) build(b *builder) (*tank.Tank, error) {
	solid, err := b.body(f.Body, nil)
	if errors.Is(err, errUnopened) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	t, err := tank.New(solid, tank.Sensor{})
	if err != nil {
		return nil, &fault{msg: err.Error()}
	}
	if f.Sensor == nil {
		return t, nil
	}
	sensor := tank.Sensor{X: metres(f.Sensor.XMM), Y: metres(f.Sensor.YMM)}
	if a := f.Sensor.Axis; a != nil {
		if *a == [3]float64{} {
			return nil, &fault{path: []string{"sensor", "axis"}, msg: "the axis has no direction; expected an upward one such as [0, 0, 1]"}
		}
		sensor.Axis = r3.Vec{X: a[0], Y: a[1], Z: a[2]}
	}
	if t, err = tank.New(solid, sensor); err != nil {
		return nil, &fault{path: []string{"sensor"}, msg: err.Error()}
	}
	return t, nil
}

// fault is what can't be built, at its place in the file.
type fault struct {
	path  []string
	msg   string
	cause error // the operating system's error, where one is behind it
}

func (e *fault) Unwrap() error { return e.cause }

func (e *fault) Error() string {
	if len(e.path) == 0 {
		return e.msg
	}
	return strict.Pointer(e.path) + ": " + e.msg
}

// errUnopened says that a shape stands in a file that isn't opened.
var errUnopened = errors.New("the shape stands in another file")

// builder makes solids of bodies.
type builder struct {
	open     func(name string) (io.ReadCloser, error) // nil: bodies in files of their own are passed over
	whole    bool                                     // with the checks that take their time
	findings []finding.Finding
	bodies   int
}

// maxBodies is of how many shapes a tank may be made, all parts counted: far
// beyond any that was built, and little enough to be checked in a moment.
const maxBodies = 200

// doubt notes a doubt about the body at a place.
func (b *builder) doubt(kind string, path []string, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if len(path) > 0 {
		text = strict.Pointer(path) + ": " + text
	}
	b.findings = append(b.findings, finding.Finding{Kind: kind, Weight: finding.Doubt, Text: text})
}

// body makes the inside of a shape, turned, and without what is taken away.
func (b *builder) body(y Body, path []string) (tank.Solid, error) {
	if b.bodies++; b.bodies > maxBodies {
		return nil, &fault{path: path, msg: fmt.Sprintf("a tank of more than %d parts; draw it as a mesh", maxBodies)}
	}
	solid, err := b.inside(y, path)
	if err != nil {
		return nil, err
	}
	if y.TurnDeg != 0 {
		solid = tank.Placed{Solid: solid, Turn: radians(y.TurnDeg)}
	}
	if len(y.Without) == 0 {
		return solid, nil
	}
	sum := tank.Sum{Plus: []tank.Solid{settled(solid, 0, 0, 0)}}
	for i, p := range y.Without {
		at := below(path, "without", strconv.Itoa(i))
		if walled(p.Body) {
			return nil, &fault{path: at, msg: "what is taken away has the size that is taken away; delete wall_mm in its parts"}
		}
		inner, err := b.body(p.Body, at)
		if err != nil {
			return nil, err
		}
		sum.Minus = append(sum.Minus, settled(inner, metres(p.XMM), metres(p.YMM), metres(p.ZMM)))
	}
	return b.sum(sum, below(path, "without"))
}

// inside makes the inside of a shape as it is drawn, wherever it then stands.
func (b *builder) inside(y Body, path []string) (tank.Solid, error) {
	switch y.Shape {
	case LyingCylinder, UprightCylinder:
		return b.cylinder(y, path)
	case Box:
		size, err := walls(y, path, field{"length_mm", y.LengthMM}, field{"width_mm", y.WidthMM}, field{"height_mm", y.HeightMM})
		if err != nil {
			return nil, err
		}
		return placed(path)(tank.Box(size[0], size[1], size[2]))
	case Sphere:
		size, err := walls(y, path, field{"diameter_mm", y.DiameterMM})
		if err != nil {
			return nil, err
		}
		return placed(path)(tank.Sphere(size[0]))
	case Ring:
		// The ring keeps its middle line, so both lose two walls.
		size, err := walls(y, path, field{"diameter_mm", y.DiameterMM}, field{"tube_diameter_mm", y.TubeDiameterMM})
		if err != nil {
			return nil, err
		}
		return placed(path)(tank.Ring(size[0], size[1], axis(y.Axis, tank.AxisZ)))
	case Frustum:
		return frustum(y, path)
	case Extrusion:
		return extrusion(y, path)
	case Stack, Joined:
		return b.assembly(y, path)
	case Strapping:
		return b.strapping(y, path)
	case Mesh:
		return b.mesh(y, path)
	}
	return nil, &fault{path: below(path, "shape"), msg: fmt.Sprintf("unknown shape %s", strict.Quoted(string(y.Shape)))}
}

// field is a size by its name in the file.
type field struct {
	name string
	mm   float64
}

// walls takes two walls off each size; in metres.
func walls(y Body, path []string, sizes ...field) ([]float64, error) {
	out := make([]float64, len(sizes))
	for i, s := range sizes {
		out[i] = metres(s.mm - 2*y.WallMM)
		if !(out[i] > 0) {
			return nil, tooThick(y, path, s)
		}
	}
	return out, nil
}

// tooThick refuses a wall that leaves no room inside.
func tooThick(y Body, path []string, s field) error {
	return &fault{path: below(path, "wall_mm"), msg: fmt.Sprintf("a wall of %s mm leaves no room inside %s of %s mm", strict.Figure(y.WallMM), s.name, strict.Figure(s.mm))}
}

// placed gives an error of a constructor its place.
func placed(path []string) func(tank.Solid, error) (tank.Solid, error) {
	return func(s tank.Solid, err error) (tank.Solid, error) {
		if err != nil {
			return nil, &fault{path: path, msg: err.Error()}
		}
		return s, nil
	}
}

// settled moves a solid so that the middle of its plan and its lowest point
// stand where they should.
func settled(s tank.Solid, x, y, z float64) tank.Solid {
	low, high := s.Box()
	return tank.Placed{Solid: s, At: r3.Vec{X: x - (low.X+high.X)/2, Y: y - (low.Y+high.Y)/2, Z: z - low.Z}}
}

func axis(name string, usual tank.Axis) tank.Axis {
	if name == "" {
		return usual
	}
	return tank.Axis(name[0])
}

func below(path []string, names ...string) []string {
	return append(append([]string(nil), path...), names...)
}

func metres(mm float64) float64   { return mm / 1000 }
func radians(deg float64) float64 { return deg * math.Pi / 180 }
