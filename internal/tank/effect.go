package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/quantity"
)

// Wet says whether the surface meets the sensor within the tank.
type Wet int

const (
	Met     Wet = iota
	Dry         // the surface lies below the floor at the sensor, or below its float's lower stop
	Drowned     // it lies above the roof there, or above the upper stop
)

// String gives the word: "met", "dry" or "drowned".
func (w Wet) String() string { return [...]string{"met", "dry", "drowned"}[w] }

// TiltEffect is what a sensor that knows nothing of the tilt makes of a volume.
type TiltEffect struct {
	Tilt   Tilt
	True   quantity.CubicMetre // in the tank
	Height quantity.Metre      // of the surface at the sensor, beyond the tank where dry or drowned
	Wet    Wet
	Reads  quantity.CubicMetre // by the upright tank's table at that height
	Error  quantity.CubicMetre // Reads − True
}

// Effect gives what is read, and how wrong that is, with the volume v in the
// tank at a tilt. A sensor that is dry or drowned reads what the upright tank
// holds with the surface at the floor, or the roof, of the sensor's place. The
// error is one of the tank that can't be tilted so, or of a volume that it
// can't hold.
func Effect(t *Tank, tilt Tilt, v quantity.CubicMetre) (TiltEffect, error) {
	e, err := effectTilt(t, tilt)
	if err != nil {
		return TiltEffect{}, err
	}
	return e.of(v)
}

// EffectWith gives the same with a sender in the tank. A float on a rod, and what
// a dial without an arm is read by, stand at the sensor's place and stop at the
// ends of their reach. A float on an arm stands where the arm takes it: the
// sensor's place is then the pivot's, as in [See], and the angle a at which the
// float lies on the surface up·p = d follows from
//
//	Length·(up·direction·cos a + up_z·sin a) = d − Sinks − up·pivot
func EffectWith(t *Tank, s Sender, tilt Tilt, v quantity.CubicMetre) (TiltEffect, error) {
	e, err := effectSender(t, s, tilt)
	if err != nil {
		return TiltEffect{}, err
	}
	return e.of(v)
}

// effectOf is a tank at a tilt, ready for many volumes.
type effectOf struct {
	tank      *Tank
	levels    *Levels
	low, high quantity.Metre // between which the sensor follows
	arm       *Arm
}

func effectTilt(t *Tank, tilt Tilt) (effectOf, error) {
	levels, err := t.At(tilt)
	if err != nil {
		return effectOf{}, err
	}
	floor, roof, _ := senderFloorRoof(t)
	return effectOf{tank: t, levels: levels, low: quantity.Metre(floor), high: quantity.Metre(roof)}, nil
}

// effectSender is effectTilt with a sender; nil is the bare sensor.
func effectSender(t *Tank, s Sender, tilt Tilt) (effectOf, error) {
	if s == nil {
		return effectTilt(t, tilt)
	}
	seen, err := See(t, s)
	if err != nil {
		return effectOf{}, err
	}
	if seen.Share == 0 {
		return effectOf{}, fmt.Errorf("the sender sees nothing of this tank: it follows the surface from %s to %s; correct its place", seen.Low, seen.High)
	}
	levels, err := t.At(tilt)
	return effectOf{t, levels, seen.Low, seen.High, senderArm(s)}, err
}

func (e effectOf) of(v quantity.CubicMetre) (TiltEffect, error) {
	h, err := e.levels.HeightOf(v)
	if err != nil {
		return TiltEffect{}, err
	}
	if e.arm != nil {
		h = e.arm.lies(e.tank, e.levels.Tilt().Up(), e.levels.plane(h))
	}
	r := TiltEffect{Tilt: e.levels.Tilt(), True: v, Height: h}
	// What is left over from looking for the skin is neither dry nor drowned.
	slack := quantity.Metre(1e-9) * e.tank.Height()
	switch {
	case h < e.low-slack:
		r.Wet = Dry
	case h > e.high+slack:
		r.Wet = Drowned
	}
	r.Reads = e.tank.Upright().Volume(min(e.high, max(e.low, h)))
	r.Error = r.Reads - v
	return r, nil
}

// lies gives the height that an arm tells when its float lies on the surface
// up·p = d. Beyond what the arm could reach without its stops it is a height
// beyond them.
func (a Arm) lies(t *Tank, up r3.Vec, d float64) quantity.Metre {
	pivot := r3.Vec{X: t.Sensor().X, Y: t.Sensor().Y, Z: a.Pivot}
	across, along := a.Length*r3.Dot(up, a.direction()), a.Length*up.Z
	sine := (d - a.Sinks - r3.Dot(up, pivot)) / math.Hypot(across, along)
	low, high := a.Reach()
	switch {
	case sine < -1:
		return low - quantity.Metre(a.Length)
	case sine > 1:
		return high + quantity.Metre(a.Length)
	}
	angle := math.Asin(sine) - math.Atan2(across, along)
	switch {
	case angle < a.Low:
		return low - quantity.Metre((a.Low-angle)*a.Length)
	case angle > a.High:
		return high + quantity.Metre((angle-a.High)*a.Length)
	}
	return quantity.Metre(a.at(angle))
}

// upright is the same sensor in the tank standing upright.
func (e effectOf) upright() effectOf {
	e.levels = e.tank.Upright()
	return e
}

// Leaning is what one tilt does: at half of the capacity, and where it does
// most.
type Leaning struct {
	Tilt        Tilt
	Capacity    quantity.CubicMetre
	Half, Worst TiltEffect
}

// leaningLow and leaningHigh are the shares of the capacity between which the
// worst is looked for. Nearer to empty and full every sensor is dry or drowned.
const leaningLow, leaningHigh = 5, 95

// LeanOf gives the effect of a tilt at half of the capacity and the worst over
// 5 to 95 % of it, found to 1 %, of what the upright tank shows at all.
func LeanOf(t *Tank, tilt Tilt) (Leaning, error) { return LeanWith(t, nil, tilt) }

// LeanWith gives the same with a sender in the tank, as [EffectWith] reckons
// with it; nil is the bare sensor.
func LeanWith(t *Tank, s Sender, tilt Tilt) (Leaning, error) {
	e, err := effectSender(t, s, tilt)
	if err != nil {
		return Leaning{}, err
	}
	l := Leaning{Tilt: tilt, Capacity: t.Capacity()}
	if l.Half, err = e.of(t.Capacity() / 2); err != nil {
		return Leaning{}, err
	}
	l.Worst = l.Half
	worst, upright := 50, e.upright()
	try := func(percent int) error {
		v := t.Capacity() * quantity.CubicMetre(percent) / 100
		if percent < leaningLow || percent > leaningHigh {
			return nil
		}
		// Where even the upright tank has its sensor dry or drowned, the error
		// isn't the tilt's.
		if level, err := upright.of(v); err != nil || level.Wet != Met {
			return err
		}
		r, err := e.of(v)
		if err == nil && effectSize(r) > effectSize(l.Worst) {
			l.Worst, worst = r, percent
		}
		return err
	}
	const step = 5
	for p := leaningLow; p <= leaningHigh; p += step {
		if err := try(p); err != nil {
			return Leaning{}, err
		}
	}
	for p, end := worst-step+1, worst+step; p < end; p++ {
		if err := try(p); err != nil {
			return Leaning{}, err
		}
	}
	return l, nil
}

func effectSize(e TiltEffect) quantity.CubicMetre { return max(e.Error, -e.Error) }

// Effects gives the effect of 1°, 3° and 5° nose up, nose down, starboard down
// and port down, in that order, on the bare sensor.
func Effects(t *Tank) ([]Leaning, error) { return EffectsWith(t, nil) }

// EffectsWith gives the same with a sender in the tank; see [EffectWith].
func EffectsWith(t *Tank, s Sender) ([]Leaning, error) {
	var list []Leaning
	for _, a := range []float64{1, 3, 5} {
		for _, tilt := range []Tilt{Degrees(a, 0), Degrees(-a, 0), Degrees(0, a), Degrees(0, -a)} {
			l, err := LeanWith(t, s, tilt)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", tilt, err)
			}
			list = append(list, l)
		}
	}
	return list, nil
}
