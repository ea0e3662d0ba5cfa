package tankfile

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"gaugewright/internal/tank"
)

func TestSenders(t *testing.T) {
	const box = `{"version":1,"shape":"box","length_mm":800,"width_mm":500,"height_mm":300,`
	made, _ := built(t, box+`"name":"a"}`)
	arm := tank.Arm{Pivot: 0.15, Length: 0.18, Low: -math.Pi / 3, High: math.Pi / 4, Sinks: -0.005, Float: 0.04, Towards: math.Pi}
	const armFields = `"pivot_height_mm":150,"arm_mm":180,"low_deg":-60,"high_deg":45,"sinks_mm":-5,"float_mm":40,"towards_deg":180`
	for _, c := range []struct {
		fields string
		want   tank.Sender
	}{
		{`"kind":"rod","rod_mm":270`, tank.Rod{Mount: 0.3, Length: 0.27}},
		{`"kind":"rod","mount_height_mm":320,"rod_mm":300,"float_mm":30,"sinks_mm":18,"foot_mm":5,"head_mm":10,"marks":"float"`,
			tank.Rod{Mount: 0.32, Length: 0.3, Float: 0.03, Sinks: 0.018, Foot: 0.005, Head: 0.01, FromFloat: true}},
		{`"kind":"swinging-arm",` + armFields, arm},
		{`"kind":"dial"`, tank.Dial{Marked: tank.ByVolume, Tank: made}},
		{`"kind":"dial","marked":"height"`, tank.Dial{Marked: tank.ByHeight, Tank: made}},
		{`"kind":"dial","marked":"angle",` + armFields, tank.Dial{Marked: tank.ByAngle, Tank: made, Arm: &arm}},
	} {
		f, err := Read(strings.NewReader(box+`"sender":{`+c.fields+`}}`), "f")
		if err != nil {
			t.Error(err)
			continue
		}
		found, err := f.SenderIn(made)
		if err != nil {
			t.Error(err)
			continue
		}
		opts := cmp.Options{cmpopts.EquateApprox(0, 1e-15), cmp.Comparer(func(a, b *tank.Tank) bool { return a == b })}
		if diff := cmp.Diff(c.want, found, opts); diff != "" {
			t.Errorf("%s (- expected, + found):\n%s", c.fields, diff)
		}
	}
}

func TestAccessors(t *testing.T) {
	f, err := Read(strings.NewReader(`{"version":1,"shape":"box","length_mm":800,"width_mm":500,"height_mm":300,"capacity_l":118,"permitted_fill_pct":80,"heel_mm":5,
		"sensor":{"x_mm":100,"y_mm":-50,"axis":[0,1,10]},
		"sender":{"kind":"dial","known_point":{"reads_pct":84,"is_pct":79,"doubt_pct":2,"what":"the filling stop"}}}`), "f")
	if err != nil {
		t.Fatal(err)
	}
	made, _, err := f.Tank(nil)
	if err != nil {
		t.Fatal(err)
	}
	if s := made.Sensor(); s.X != 0.1 || s.Y != -0.05 || math.Abs(s.Axis.Y-1/math.Sqrt(101)) > 1e-15 {
		t.Errorf("the sensor is %+v", s)
	}
	if v, ok := f.Capacity(); !ok || v != 0.118 {
		t.Errorf("capacity: %v, %v", v, ok)
	}
	if v, ok := f.PermittedFill(); !ok || v != 0.8 {
		t.Errorf("permitted fill: %v, %v", v, ok)
	}
	// The sensor leans by 1 in 10, and a heel counts along it; 50 mm to
	// starboard it makes no difference to a level surface.
	if v, ok := f.Heel(made); !ok || math.Abs(float64(v)-0.8*0.5*0.005*10/math.Sqrt(101)) > 1e-15 {
		t.Errorf("heel: %v, %v", v, ok)
	}
	known, shown := f.Sender.KnownPoint.Known()
	if want := (tank.KnownPoint{Name: "the filling stop", Least: 0.77, Most: 0.81}); known != want || shown != 0.84 {
		t.Errorf("known point: %+v, %v", known, shown)
	}
	var none File
	if _, ok := none.Capacity(); ok {
		t.Error("a capacity that isn't stated")
	}
	if _, ok := none.PermittedFill(); ok {
		t.Error("a permitted fill that isn't stated")
	}
	if _, ok := none.Heel(made); ok {
		t.Error("a heel that isn't stated")
	}
	if s, err := none.SenderIn(made); s != nil || err != nil {
		t.Errorf("a sender that isn't stated: %v, %v", s, err)
	}
}

// A part turned about its upright stays where its middle is put, and what is
// taken away is placed in the tank as it stands.
func TestPlaces(t *testing.T) {
	made, _ := built(t, `{"version":1,"shape":"joined","parts":[
		{"shape":"box","length_mm":400,"width_mm":100,"height_mm":100,"turn_deg":90},
		{"shape":"horizontal-cylinder","diameter_mm":100,"length_mm":300,"heads":{"left":"flat","right":"hemispherical"},"turn_deg":180,"x_mm":400,"y_mm":50,"z_mm":100}]}`)
	low, high := made.Box()
	// The box reaches 100 mm in x about 0, the cylinder 350 mm about 400; the
	// middle of all is at (262.5, 0).
	for _, c := range []struct {
		name        string
		found, want float64
	}{
		{"after", low.X, -0.3125}, {"fore", high.X, 0.3125}, {"starboard", low.Y, -0.2}, {"port", high.Y, 0.2}, {"top", high.Z, 0.2},
	} {
		if math.Abs(c.found-c.want) > 1e-9 {
			t.Errorf("%s: found %g m, expected %g m", c.name, c.found, c.want)
		}
	}
	for _, c := range []struct {
		x, y, z float64
		in      bool
	}{
		{-0.2625, 0.19, 0.05, true}, // in the box, athwart
		{-0.2625 + 0.06, 0, 0.05, false},
		{0.1375 - 0.174, 0.05, 0.15, true}, // at the pole of the head, now aft
		{0.1375 - 0.174, 0.05, 0.15 + 0.02, false},
		{0.1375 + 0.174, 0.05 + 0.045, 0.15, true}, // near the flat end's edge
	} {
		if p := (struct{ X, Y, Z float64 }{c.x, c.y, c.z}); made.Contains(p) != c.in {
			t.Errorf("%v: inside is %v, expected %v", p, !c.in, c.in)
		}
	}
}

// An outline is drawn in y and z, in x and z, or in x and y.
func TestOutlineAxes(t *testing.T) {
	for axis, c := range map[string]struct{ size, in, out [3]float64 }{
		"":  {[3]float64{0.7, 0.4, 0.3}, [3]float64{0.3, 0.19, 0.2}, [3]float64{0.3, -0.19, 0.2}},
		"x": {[3]float64{0.7, 0.4, 0.3}, [3]float64{-0.3, 0.19, 0.2}, [3]float64{-0.3, -0.19, 0.2}},
		"y": {[3]float64{0.4, 0.7, 0.3}, [3]float64{0.19, 0.3, 0.2}, [3]float64{-0.19, 0.3, 0.2}},
		"z": {[3]float64{0.4, 0.3, 0.7}, [3]float64{0.19, 0.1, 0.6}, [3]float64{-0.19, 0.1, 0.6}},
	} {
		field := ""
		if axis != "" {
			field = `,"axis":"` + axis + `"`
		}
		made, _ := built(t, `{"version":1,"shape":"extrusion","outline_mm":[[0,0],[400,0],[400,300]],"length_mm":700`+field+`}`)
		low, high := made.Box()
		for i, size := range []float64{high.X - low.X, high.Y - low.Y, high.Z - low.Z} {
			if math.Abs(size-c.size[i]) > 1e-12 {
				t.Errorf("axis %q: size %d is %g m, expected %g m", axis, i, size, c.size[i])
			}
		}
		at := func(p [3]float64) struct{ X, Y, Z float64 } { return struct{ X, Y, Z float64 }{p[0], p[1], p[2]} }
		if !made.Contains(at(c.in)) || made.Contains(at(c.out)) {
			t.Errorf("axis %q: the upright side stands elsewhere", axis)
		}
	}
}

// A drawing whose y is up and whose z is aft.
func TestMeshUp(t *testing.T) {
	made, _ := built(t, `{"version":1,"shape":"mesh","file":"wedge.stl","unit":"mm","up":"y"}`)
	low, high := made.Box()
	// The wedge is 60 in x, 40 in y and 30 in z of the drawing.
	if size := [3]float64{high.X - low.X, high.Y - low.Y, high.Z - low.Z}; math.Abs(size[0]-0.06)+math.Abs(size[1]-0.03)+math.Abs(size[2]-0.04) > 1e-9 {
		t.Errorf("the tank measures %v m", size)
	}
	// z of the drawing is 0 on the flat side, which is now the port one, as z
	// became −y: full height there, sloping away to starboard.
	if !made.Contains(struct{ X, Y, Z float64 }{-0.029, 0.014, 0.02}) || made.Contains(struct{ X, Y, Z float64 }{-0.029, -0.014, 0.02}) {
		t.Error("turned the wrong way")
	}
	if near := float64(made.Capacity()) * 1e6; math.Abs(near-48) > 1e-9 {
		t.Errorf("holds %g mL, expected 48 mL", near)
	}
}
