package tank

import "fmt"

// Cylinder makes a cylinder with a head on each end. The diameter is the inside
// one and the length that of the straight part, in metres; a length of 0 is
// right where a head is curved. Lying, its axis is x, its first head is the
// after one and the middle of its straight part is the origin; upright, its
// axis is z, its first head is the bottom and its lowest point the origin.
// The error names the size that can't be.
func Cylinder(diameter, length float64, lying bool, first, last Head) (Solid, error) {
	if err := revolveSize("the diameter of the cylinder", diameter); err != nil {
		return nil, err
	}
	if length != 0 {
		if err := revolveSize("the length of the cylinder", length); err != nil {
			return nil, err
		}
	}
	name := [2]string{"bottom", "top"}
	axis, from := AxisZ, 0.0
	if lying {
		name = [2]string{"after", "forward"}
		axis, from = AxisX, -length/2
	}
	depth, err := first.Depth(diameter)
	if err != nil {
		return nil, fmt.Errorf("%s head: %w", name[0], err)
	}
	if !lying {
		from = depth
	}
	body := &revolveBody{axis: axis}
	ahead, err := first.pieces(diameter, -from)
	if err != nil {
		return nil, fmt.Errorf("%s head: %w", name[0], err)
	}
	for i := len(ahead) - 1; i >= 0; i-- {
		body.pieces = append(body.pieces, ahead[i].flipped())
	}
	if length > 0 {
		body.pieces = append(body.pieces, revolvePiece{from: from, to: from + length, first: diameter / 2, last: diameter / 2})
	}
	behind, err := last.pieces(diameter, from+length)
	if err != nil {
		return nil, fmt.Errorf("%s head: %w", name[1], err)
	}
	body.pieces = append(body.pieces, behind...)
	if len(body.pieces) == 0 {
		return nil, fmt.Errorf("the length of the cylinder is 0 and both heads are flat, which leaves no room inside; expected a length above 0")
	}
	if length == 0 && first.Kind == Hemispherical && last.Kind == Hemispherical {
		body.sphere, body.centre = diameter/2, from
	}
	return body, nil
}

// Sphere makes a sphere of an inside diameter in metres about the origin. The
// error says that the diameter can't be.
func Sphere(diameter float64) (Solid, error) {
	if err := revolveSize("the diameter of the sphere", diameter); err != nil {
		return nil, err
	}
	return revolveSphere(AxisZ, diameter/2), nil
}

func revolveSphere(axis Axis, radius float64) *revolveBody {
	return &revolveBody{axis: axis, sphere: radius, pieces: []revolvePiece{
		{kind: revolveEllipse, from: -radius, to: radius, along: radius, across: radius}}}
}

// Cone makes an upright frustum of a cone of inside diameters and height in
// metres, the middle of its bottom at the origin. One diameter may be 0; where
// both are alike it is a cylinder. The error names the size that can't be.
func Cone(bottom, top, height float64) (Solid, error) {
	if err := revolveSize("the height of the cone", height); err != nil {
		return nil, err
	}
	for _, e := range []struct {
		name string
		v    float64
	}{{"the bottom diameter of the cone", bottom}, {"the top diameter of the cone", top}} {
		if e.v != 0 {
			if err := revolveSize(e.name, e.v); err != nil {
				return nil, err
			}
		}
	}
	if bottom == 0 && top == 0 {
		return nil, fmt.Errorf("the bottom and the top diameter of the cone are both 0; expected one of them above 0")
	}
	return &revolveBody{axis: AxisZ, pieces: []revolvePiece{{to: height, first: bottom / 2, last: top / 2}}}, nil
}
