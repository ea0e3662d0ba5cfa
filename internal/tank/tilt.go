package tank

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// MaxTilt is the steepest pitch or roll that is reckoned with, in radians
// (60°): far beyond a camp site, short of a tank on its side.
const MaxTilt = math.Pi / 3

// Tilt is how a tank stands, in radians: pitch is the angle of the forward
// axis above the horizontal (positive nose up), roll the turn about that axis
// (positive starboard down), each up to [MaxTilt] either way. It is what a
// two-axis inclinometer reads as atan2 of its accelerations, pitch against the
// horizontal.
type Tilt struct{ Pitch, Roll float64 }

// Degrees makes a tilt of angles in degrees.
func Degrees(pitch, roll float64) Tilt {
	return Tilt{pitch * math.Pi / 180, roll * math.Pi / 180}
}

// Up gives the true upward direction in the tank's frame, a unit vector:
// (sin p, cos p · sin r, cos p · cos r).
func (t Tilt) Up() r3.Vec {
	sp, cp := math.Sincos(t.Pitch)
	sr, cr := math.Sincos(t.Roll)
	return r3.Vec{X: sp, Y: cp * sr, Z: cp * cr}
}

// Level says whether the tank stands upright.
func (t Tilt) Level() bool { return t == Tilt{} }

// String gives the tilt in words: "nose up 3°, starboard down 1°".
func (t Tilt) String() string {
	degrees := func(v float64) string { return quantity.Short(math.Abs(v)*180/math.Pi, 2) + "°" }
	var pitch, roll string
	switch {
	case t.Pitch > 0:
		pitch = "nose up " + degrees(t.Pitch)
	case t.Pitch < 0:
		pitch = "nose down " + degrees(t.Pitch)
	}
	switch {
	case t.Roll > 0:
		roll = "starboard down " + degrees(t.Roll)
	case t.Roll < 0:
		roll = "port down " + degrees(t.Roll)
	}
	switch {
	case pitch != "" && roll != "":
		return pitch + ", " + roll
	case pitch+roll != "":
		return pitch + roll
	}
	return "level"
}
