package tank_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// effectAt is the effect of a tilt in degrees, or ends the test.
func effectAt(t interface{ Fatal(...any) }, tk *tank.Tank, pitch, roll, v float64) tank.TiltEffect {
	e, err := tank.Effect(tk, tank.Degrees(pitch, roll), quantity.CubicMetre(v))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// A sensor 250 mm off the middle of a prism errs 250·tan(tilt) mm. Values
// reckoned apart from this code: 4.36377, 8.73019, 13.10194, 21.87217 mm.
func TestEffectOffTheMiddle(t *testing.T) {
	forward := senderBox(t, tank.Sensor{X: 0.25})
	port := senderBox(t, tank.Sensor{Y: 0.24})
	for angle, mm := range map[float64]float64{1: 4.36377, 2: 8.73019, 3: 13.10194, 5: 21.87217} {
		for _, c := range []struct {
			tank        *tank.Tank
			pitch, roll float64
			sign        float64
			off         float64
		}{
			// Nose up the liquid runs aft: forward of the middle it reads low.
			{forward, angle, 0, -1, 0.25}, {forward, -angle, 0, 1, 0.25}, {forward, 0, angle, 0, 0.25},
			// Starboard down the liquid runs to starboard: to port it reads low.
			{port, 0, angle, -1, 0.24}, {port, 0, -angle, 1, 0.24},
		} {
			e := effectAt(t, c.tank, c.pitch, c.roll, 0.06)
			want := c.sign * mm * c.off / 0.25
			// The surface is met square to the floor, off by 1/cos of the other axis: none here.
			if got := (float64(e.Height) - 0.15) * 1000; math.Abs(got-want) > 6e-6 {
				t.Errorf("%s, %v mm off: %v mm; want %v", e.Tilt, c.off*1000, got, want)
			}
			// 0.4 m² of floor.
			if math.Abs(float64(e.Error)*1e6-want*400) > 0.004 || e.Wet != tank.Met {
				t.Errorf("%s: error %v, %s; want %v mL", e.Tilt, float64(e.Error)*1e6, e.Wet, want*400)
			}
		}
	}
}

// Over the centroid of a prism's plan tilt has no effect as long as the surface
// touches neither floor nor roof; and of a tank that is alike both ways from a
// sensor in its middle, both ways of tilting do the same.
func TestEffectLaws(t *testing.T) {
	box := senderBox(t, tank.Sensor{})
	lying := senderLying(t, tank.Sensor{})
	rapid.Check(t, func(t *rapid.T) {
		pitch := rapid.Float64Range(-10, 10).Draw(t, "pitch")
		roll := rapid.Float64Range(-10, 10).Draw(t, "roll")
		// Half the height of the slope over the box, at its corners.
		rise := 0.4*math.Tan(math.Abs(pitch)*degree)/math.Cos(roll*degree) + 0.25*math.Tan(math.Abs(roll)*degree)
		h := rapid.Float64Range(0, 1).Draw(t, "height")
		h = rise + h*(0.3-2*rise)
		if e := effectAt(t, box, pitch, roll, 0.4*h); math.Abs(float64(e.Error)) > 1e-12 || e.Wet != tank.Met {
			t.Fatalf("%s with the surface clear of floor and roof: %v m³, %s", e.Tilt, float64(e.Error), e.Wet)
		}
		v := rapid.Float64Range(0.05, 0.95).Draw(t, "volume")
		for _, tk := range []*tank.Tank{box, lying} {
			v := v * float64(tk.Capacity())
			for _, tilts := range [][2][2]float64{{{pitch, 0}, {-pitch, 0}}, {{0, roll}, {0, -roll}}, {{pitch, roll}, {-pitch, -roll}}} {
				a := effectAt(t, tk, tilts[0][0], tilts[0][1], v)
				b := effectAt(t, tk, tilts[1][0], tilts[1][1], v)
				if d := math.Abs(float64(a.Error - b.Error)); d > 1e-9*float64(tk.Capacity()) {
					t.Fatalf("%s and %s differ by %v m³", a.Tilt, b.Tilt, d)
				}
			}
		}
		if e := effectAt(t, lying, 0, 0, v*float64(lying.Capacity())); math.Abs(float64(e.Error)) > 1e-12 {
			t.Fatalf("level, it errs by %v", float64(e.Error))
		}
	})
}

// A lying cylinder, its sensor off the middle: volume of a tilted reading from
// testdata, read the other way round.
func TestEffectLyingCylinder(t *testing.T) {
	// 2° nose up, sensor 100 mm from the low (after) end: the surface at 75 mm
	// there is 8.96802550 L, and the level table says 11.05532729 L. Values
	// integrated apart from this code; see tilted_cylinder.csv.
	e := effectAt(t, senderLying(t, tank.Sensor{X: -0.3}), 2, 0, 8.96802550e-3)
	if math.Abs(float64(e.Height)-0.075) > 1e-8 || math.Abs(float64(e.Reads)-11.05532729e-3) > 1e-9 {
		t.Errorf("height %v, reads %v; want 75 mm and 11.05532729 L", float64(e.Height), float64(e.Reads))
	}
}

func TestEffectDryAndDrowned(t *testing.T) {
	box := senderBox(t, tank.Sensor{X: 0.39})
	dry := effectAt(t, box, 5, 0, 0.005)
	if dry.Wet != tank.Dry || math.Abs(float64(dry.Reads)) > 1e-12 || math.Abs(float64(dry.Error)+0.005) > 1e-12 {
		t.Errorf("%+v; want dry, nothing read", dry)
	}
	full := effectAt(t, box, -5, 0, 0.115)
	if full.Wet != tank.Drowned || math.Abs(float64(full.Reads)-0.12) > 1e-9 {
		t.Errorf("%+v; want drowned, 120 L read", full)
	}
	// Over a round floor 38.197 mm up a dry sensor goes on showing what the
	// level tank holds at that height.
	lying := senderLying(t, tank.Sensor{Y: 0.1})
	e := effectAt(t, lying, 0, 20, 0.004)
	if want := lying.Upright().Volume(quantity.Metre(0.15 - math.Sqrt(0.0125))); e.Wet != tank.Dry || math.Abs(float64(e.Reads-want)) > 1e-9 {
		t.Errorf("%+v; want dry, %v read", e, want)
	}
	if _, err := tank.Effect(box, tank.Degrees(80, 0), 0.05); err == nil {
		t.Error("a tilt of 80° was reckoned with")
	}
	if _, err := tank.Effect(box, tank.Degrees(3, 0), 0.5); err == nil {
		t.Error("500 L in a tank of 120 L")
	}
}

func TestEffects(t *testing.T) {
	box := senderBox(t, tank.Sensor{X: 0.25})
	list, err := tank.Effects(box)
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 12 || list[5].Tilt != tank.Degrees(-3, 0) {
		t.Fatalf("%d tilts, the sixth %s; want 12, nose down 3°", len(list), list[5].Tilt)
	}
	// 13.10194 mm · 0.4 m² = 5.24 L, of 120 L to a step of 2 L; and 8.73 L at 5°.
	for i, want := range map[int]string{
		1: "Parked nose down 1°, it reads 2 L high at half full, and nowhere more.",
		5: "Parked nose down 3°, it reads 6 L high at half full, and nowhere more.",
		2: "Parked starboard down 1°, it reads right to within 2 L.",
	} {
		if got := list[i].Sentence(0); got != want {
			t.Errorf("%q; want %q", got, want)
		}
	}
	if got, want := list[5].Sentence(0.004), "Parked nose down 3°, it reads 5 L high at half full, and nowhere more."; got != want {
		t.Errorf("%q; want %q", got, want)
	}
	for _, l := range list {
		if math.Abs(float64(l.Worst.Error)) < math.Abs(float64(l.Half.Error)) {
			t.Errorf("%s: at most %s, at half %s", l.Tilt, l.Worst.Error, l.Half.Error)
		}
	}
}

// The worst is no better than anything found by looking at every hundredth.
func TestLeanFindsTheWorst(t *testing.T) {
	lying := senderLying(t, tank.Sensor{X: 0.2, Y: 0.05})
	for _, tilt := range []tank.Tilt{tank.Degrees(3, 0), tank.Degrees(-5, 2), tank.Degrees(0, 5)} {
		l, err := tank.LeanOf(lying, tilt)
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for p := 5.0; p <= 95; p++ {
			e, err := tank.Effect(lying, tilt, lying.Capacity()*quantity.CubicMetre(p/100))
			if err != nil {
				t.Fatal(err)
			}
			worst = max(worst, math.Abs(float64(e.Error)))
		}
		if got := math.Abs(float64(l.Worst.Error)); math.Abs(got-worst) > 1e-9 {
			t.Errorf("%s: %v; looking everywhere finds %v", tilt, got, worst)
		}
	}
}

// A float on an arm stands away from its pivot. At half of a box, its pivot at
// half the height and 200 mm behind the middle, an arm of 200 mm lies level with
// its float under the middle, where tilt does nothing; elsewhere what is told
// is the surface at the float's own place.
func TestEffectWithArm(t *testing.T) {
	box := senderBox(t, tank.Sensor{X: -0.2})
	arm := tank.Arm{Pivot: 0.15, Length: 0.2, Low: -40 * degree, High: 40 * degree}
	rapid.Check(t, func(t *rapid.T) {
		pitch := rapid.Float64Range(-4, 4).Draw(t, "pitch")
		e, err := tank.EffectWith(box, arm, tank.Degrees(pitch, 0), 0.06)
		if err != nil {
			t.Fatal(err)
		}
		// The plane is z = 0.15 − x·tan p; the float at x = −0.2 + 0.2·cos a,
		// z = 0.15 + 0.2·sin a. So sin a + tan p·cos a = tan p, and with
		// t = tan(a/2): 2t + tan p·(1 − t²) = tan p·(1 + t²), t = 0 or 1/tan p.
		if math.Abs(float64(e.Height)-0.15) > 1e-12 || math.Abs(float64(e.Error)) > 1e-12 {
			t.Fatalf("%+v; want a level arm that reads right", e)
		}
		// At any level: what is told agrees with the surface at the float.
		v := rapid.Float64Range(0.03, 0.09).Draw(t, "v")
		roll := rapid.Float64Range(-3, 3).Draw(t, "roll")
		arm := arm
		arm.Sinks = rapid.Float64Range(-0.01, 0.01).Draw(t, "sinks")
		e, err = tank.EffectWith(box, arm, tank.Degrees(pitch, roll), quantity.CubicMetre(v))
		if err != nil {
			t.Fatal(err)
		}
		sine := (float64(e.Height) - 0.15 - arm.Sinks) / 0.2
		up := tank.Degrees(pitch, roll).Up()
		// Over the middle of the plan the surface stands at v over the plan's 0.4 m²;
		// the middle of the float lies Sinks below it.
		float := effectVec(-0.2+0.2*math.Sqrt(1-sine*sine), 0, 0.15+0.2*sine)
		if off := r3.Dot(up, float) + arm.Sinks - up.Z*v/0.4; math.Abs(off) > 1e-12 || e.Wet != tank.Met {
			t.Fatalf("%+v: the float lies %v off the surface", e, off)
		}
	})
	// At its stops it goes on telling them: 150 ± 200·sin 40° = 21.44 and 278.56 mm.
	for v, want := range map[float64]float64{0.001: 0.15 - 0.2*math.Sin(40*degree), 0.119: 0.15 + 0.2*math.Sin(40*degree)} {
		e, err := tank.EffectWith(box, arm, tank.Degrees(3, 0), quantity.CubicMetre(v))
		if err != nil || e.Wet == tank.Met || math.Abs(float64(e.Reads)-0.4*want) > 1e-9 {
			t.Errorf("%v m³: %+v, %v; want %v m³ told", v, e, err, 0.4*want)
		}
	}
	// A rod is the bare sensor between its stops.
	rod := tank.Rod{Mount: 0.3, Length: 0.29, Float: 0.03, Sinks: 0.02, Foot: 0.005, Head: 0.005}
	bare := effectAt(t, box, 3, 0, 0.06)
	if e, err := tank.EffectWith(box, rod, tank.Degrees(3, 0), 0.06); err != nil || e != bare {
		t.Errorf("%+v, %v; want %+v", e, err, bare)
	}
	if e, err := tank.EffectWith(box, rod, tank.Degrees(-5, 0), 0.005); err != nil || e.Wet != tank.Dry || math.Abs(float64(e.Reads)-0.4*0.035) > 1e-9 {
		t.Errorf("%+v, %v; want the float on its lower stop, 14 L read", e, err)
	}
	list, err := tank.EffectsWith(box, arm)
	if err != nil || len(list) != 12 {
		t.Fatalf("%d, %v", len(list), err)
	}
	for _, l := range list {
		if l.Half.Error*1e9 > 1 || l.Half.Error*1e9 < -1 {
			t.Errorf("%s: %v at half", l.Tilt, l.Half.Error)
		}
	}
	if _, err := tank.EffectsWith(box, tank.Rod{Mount: 0.9, Length: 0.5, Float: 0.03, Sinks: 0.02}); err == nil || !strings.Contains(err.Error(), "sees nothing") {
		t.Errorf("a rod above the tank: %v", err)
	}
}

func TestLeanSentences(t *testing.T) {
	row := func(half, worst, at float64, wet tank.Wet) tank.Leaning {
		return tank.Leaning{Tilt: tank.Degrees(-3, 0), Capacity: 0.1,
			Half:  tank.TiltEffect{True: 0.05, Error: quantity.CubicMetre(half)},
			Worst: tank.TiltEffect{True: quantity.CubicMetre(at), Error: quantity.CubicMetre(worst), Wet: wet}}
	}
	for _, c := range []struct {
		row   tank.Leaning
		doubt quantity.CubicMetre
		want  string
	}{
		{row(0.006, 0.007, 0.08, tank.Met), 0, "Parked nose down 3°, it reads 6 L high at half full; at most 7 L high (at 80 %)."},
		{row(0.006, -0.007, 0.08, tank.Met), 0, "Parked nose down 3°, it reads 6 L high at half full; at most 7 L low (at 80 %)."},
		{row(0.0001, -0.007, 0.08, tank.Drowned), 0, "Parked nose down 3°, it reads right at half full; at most 7 L low (at 80 %, the sensor standing under the surface altogether)."},
		{row(0.0001, -0.00049, 0.08, tank.Met), 0, "Parked nose down 3°, it reads right to within 1 L."},
		{row(0.0061, 0.0069, 0.08, tank.Met), 0.003, "Parked nose down 3°, it reads 5 L high at half full, and nowhere more."},
		{row(0.0061, 0.0069, 0.08, tank.Met), 0.03, "Parked nose down 3°, it reads right to within 50 L."},
	} {
		if got := c.row.Sentence(c.doubt); got != c.want {
			t.Errorf("%q; want %q", got, c.want)
		}
	}
}

// Of a prism the best place lies under the centroid of its plan: of an L of
// 600 × 200 and 200 × 300 mm, 0.18 m², by hand.
func TestBestPlace(t *testing.T) {
	leg := made(t)(tank.Box(0.2, 0.3, 0.4))
	bar := made(t)(tank.Box(0.6, 0.2, 0.4))
	// The bar from y = 0 to 200, the leg from 200 to 500, both from x = 0.
	shape := tank.Sum{Plus: []tank.Solid{
		tank.Placed{Solid: bar, At: effectVec(0.3, 0.1, 0)}, tank.Placed{Solid: leg, At: effectVec(0.1, 0.35, 0)}}}
	tk := newTank(t, shape, tank.Sensor{X: 0.2, Y: -0.2})
	p, err := tank.BestPlace(tk)
	if err != nil {
		t.Fatal(err)
	}
	x := (0.12*0.3+0.06*0.1)/0.18 - 0.3
	y := (0.12*0.1+0.06*0.35)/0.18 - 0.25
	if math.Abs(float64(p.X)-x) > 1e-5 || math.Abs(float64(p.Y)-y) > 1e-5 || float64(p.Worst) > 1e-6 {
		t.Errorf("%s forward, %s to port, %s; want %v, %v, nothing", p.X, p.Y, p.Worst, x, y)
	}
	// 0.267 m off along x at 3°: 0.2667·tan 3°·0.18 m² = 2.5 L.
	if want := (0.2 - x) * math.Tan(3*degree) * 0.18; math.Abs(float64(p.Now)-want) > 1e-6 {
		t.Errorf("now %s; want %v", p.Now, want)
	}
	say := "Parked askew the error is least with the sensor 70 mm aft of and 70 mm to starboard of the middle of the plan: less than 1 L at 3° either way, from a quarter to three quarters full. Where it is now: at most 3 L."
	if got := p.Sentence(tk.Capacity()); got != say || !p.Inside {
		t.Errorf("%q (inside %v); want %q", got, p.Inside, say)
	}
	// Of a tank that isn't alike at both ends, no place looked at one by one does
	// better by more than what the grid leaves out.
	ends := made(t)(tank.Cone(0.3, 0.6, 0.25))
	uneven := tank.Sum{Plus: []tank.Solid{ends, tank.Placed{Solid: made(t)(tank.Box(0.5, 0.1, 0.2)), At: effectVec(0.6, 0, 0)}}}
	lopsided, err := tank.BestPlace(newTank(t, uneven, tank.Sensor{}))
	if err != nil {
		t.Fatal(err)
	}
	least, here := math.Inf(1), 0.0
	for i := range 41 {
		at := newTank(t, uneven, tank.Sensor{X: float64(lopsided.X) + 0.002*float64(i-20)})
		worst := 0.0
		for _, share := range []float64{0.25, 0.5, 0.75} {
			for _, p := range []float64{3, -3} {
				l := levelsAt(t, at, p, 0)
				h, err := l.HeightOf(at.Capacity() * quantity.CubicMetre(share))
				if err != nil {
					t.Fatal(err)
				}
				worst = max(worst, math.Abs(float64(at.Upright().Volume(h)-at.Capacity()*quantity.CubicMetre(share))))
			}
		}
		least = min(least, worst)
		if i == 20 {
			here = worst
		}
	}
	// Roll does less: the tank is alike on both sides.
	if math.Abs(here-float64(lopsided.Worst)) > 1e-9 || here > least+1e-9 {
		t.Errorf("at the best place it errs %v, %v is said, and %v is to be had", here, lopsided.Worst, least)
	}
	middle, err := tank.BestPlace(senderLying(t, tank.Sensor{}))
	if err != nil || math.Abs(float64(middle.X)) > 1e-5 || math.Abs(float64(middle.Y)) > 1e-5 {
		t.Errorf("lying cylinder: %+v, %v; want its middle", middle, err)
	}
	if got := middle.Sentence(senderLying(t, tank.Sensor{}).Capacity()); !strings.Contains(got, "with the sensor over the middle of the plan") {
		t.Error(got)
	}
}

func effectVec(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
