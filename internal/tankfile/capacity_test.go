package tankfile

import (
	"fmt"
	"math"
	"testing"
)

// Volumes of one head in parts of the cube of its diameter. Source: integrated
// by another program (SciPy) from crown and knuckle radius, 12 digits; the
// hemisphere is π/12, the half ellipsoid π/24.
var headVolumes = map[string]float64{
	"flat": 0, "hemispherical": math.Pi / 12, "ellipsoidal-2-1": math.Pi / 24,
	"asme-fd": 0.0809990042912, "kloepper": 0.0989659951181, "korbbogen": 0.130771733522,
}

// Their depths in parts of the diameter; same source.
var headDepths = map[string]float64{
	"flat": 0, "hemispherical": 0.5, "ellipsoidal-2-1": 0.25,
	"asme-fd": 0.169337613708, "kloepper": 0.193774225170, "korbbogen": 0.254472732121,
}

// Hand formulas in litres, of lengths in decimetres.
func TestCapacities(t *testing.T) {
	const shell = math.Pi / 4 * 3 * 3 * 8 // a cylinder of 300 mm and 800 mm
	cases := []struct {
		name, fields string
		want         float64
	}{
		{"lying, flat unless given", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":800`, 56.5486677646}, // handbook figure
		{"athwart", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":800,"turn_deg":90`, shell},
		{"turned by any angle", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":800,"turn_deg":-37`, shell},
		{"two heads", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":800,"heads":{"left":"hemispherical","right":"ellipsoidal-2-1"}`, shell + 27*math.Pi/12 + 27*math.Pi/24},
		{"two heads, standing", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":800,"heads":{"bottom":"hemispherical","top":"flat"}`, shell + 27*math.Pi/12},
		{"two half balls and no shell", `"shape":"upright-cylinder","diameter_mm":300,"overall_length_mm":300,"heads":"hemispherical"`, 27 * math.Pi / 6},
		{"box", `"shape":"box","length_mm":800,"width_mm":500,"height_mm":300`, 120},
		{"sphere", `"shape":"sphere","diameter_mm":600`, 36 * math.Pi},
		{"round frustum", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":200,"top_diameter_mm":400`, math.Pi / 12 * 3 * (4 + 8 + 16)},
		{"cone", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":0,"top_diameter_mm":400`, math.Pi / 12 * 3 * 16},
		{"four-sided frustum", `"shape":"frustum","height_mm":300,"bottom_length_mm":200,"bottom_width_mm":200,"top_length_mm":400,"top_width_mm":400`, 4 + 8 + 16},
		{"wedge", `"shape":"frustum","height_mm":300,"bottom_length_mm":400,"bottom_width_mm":0,"top_length_mm":400,"top_width_mm":200`, 4 * 2 * 3 / 2},
		{"ring", `"shape":"ring","diameter_mm":650,"tube_diameter_mm":200`, 2 * math.Pi * 2.25 * math.Pi}, // Pappus
		{"ring on edge", `"shape":"ring","diameter_mm":650,"tube_diameter_mm":200,"axis":"y"`, 2 * math.Pi * 2.25 * math.Pi},
		{"outline along", `"shape":"extrusion","outline_mm":[[0,0],[400,0],[400,300]],"length_mm":700`, 6 * 7},
		{"outline athwart", `"shape":"extrusion","outline_mm":[[0,0],[400,300],[400,0]],"length_mm":700,"axis":"y"`, 6 * 7},
		{"outline down, a rounded corner", `"shape":"extrusion","outline_mm":[{"at":[0,0],"corner_mm":100},[400,0],[400,300],[0,300]],"length_mm":200,"axis":"z"`, 2 * (12 - (1 - math.Pi/4))},
		{"outline with an arc", `"shape":"extrusion","outline_mm":[{"at":[0,0],"through":[200,200]},[400,0]],"length_mm":200`, 2 * math.Pi / 2 * 4},
		{"stack", `"shape":"stack","parts":[{"shape":"box","length_mm":400,"width_mm":400,"height_mm":100},{"shape":"upright-cylinder","diameter_mm":200,"length_mm":150,"x_mm":50}]`, 16 + 1.5*math.Pi},
		{"stack of one", `"shape":"stack","parts":[{"shape":"sphere","diameter_mm":200}]`, 4.0 / 3 * math.Pi},
		{"joined", `"shape":"joined","parts":[{"shape":"box","length_mm":400,"width_mm":400,"height_mm":100},{"shape":"sphere","diameter_mm":200,"x_mm":400,"z_mm":50}]`, 16 + 4.0/3*math.Pi},
		{"without", `"shape":"box","length_mm":800,"width_mm":500,"height_mm":300,"without":[{"shape":"box","length_mm":400,"width_mm":200,"height_mm":100,"x_mm":100,"y_mm":150},{"shape":"horizontal-cylinder","diameter_mm":100,"length_mm":800,"z_mm":150}]`, 120 - 8 - math.Pi/4*8},
		{"turned, without", `"shape":"box","length_mm":800,"width_mm":500,"height_mm":300,"turn_deg":90,"without":[{"shape":"box","length_mm":200,"width_mm":100,"height_mm":100,"x_mm":-150,"y_mm":350}]`, 120 - 2},
		{"table", `"shape":"strapping","table":[{"height_mm":0,"volume_l":0},{"height_mm":50,"volume_l":10},{"height_mm":100,"volume_l":30}]`, 30},
		{"table in a file", `"shape":"strapping","csv":"strapping.csv","between":"smooth"`, 40},
		{"mesh", `"shape":"mesh","file":"wedge.stl","unit":"cm"`, 48},
		{"mesh in inches", `"shape":"mesh","file":"wedge.stl","unit":"in"`, 48 * 2.54 * 2.54 * 2.54},
	}
	for kind, v := range headVolumes {
		for _, shape := range []string{"horizontal", "upright"} {
			cases = append(cases, struct {
				name, fields string
				want         float64
			}{shape + " " + kind, fmt.Sprintf(`"shape":"%s-cylinder","diameter_mm":300,"length_mm":800,"heads":%q`, shape, kind), shell + 2*27*v},
				struct {
					name, fields string
					want         float64
				}{shape + " " + kind + ", overall", fmt.Sprintf(`"shape":"%s-cylinder","diameter_mm":300,"overall_length_mm":800,"heads":%q`, shape, kind),
					math.Pi/4*9*(8-2*3*headDepths[kind]) + 2*27*v})
		}
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			made, _ := built(t, `{"version":1,`+c.fields+`}`)
			near(t, c.name, litresOf(made), c.want)
		})
	}
}

// What a wall takes off, by hand.
func TestWalls(t *testing.T) {
	const cos, w = 0.9486832980505138, 0.1 // sides that lean by 1 in 3; a wall of 10 mm
	area := func(d float64) float64 { return math.Pi / 4 * d * d }
	for _, c := range []struct {
		name, fields string
		want         float64
	}{
		{"box", `"shape":"box","length_mm":800,"width_mm":500,"height_mm":300,"wall_mm":10`, 7.8 * 4.8 * 2.8},
		{"sphere", `"shape":"sphere","diameter_mm":620,"wall_mm":10`, 36 * math.Pi},
		{"ring", `"shape":"ring","diameter_mm":670,"tube_diameter_mm":220,"wall_mm":10`, 2 * math.Pi * 2.25 * math.Pi},
		{"flat ends", `"shape":"upright-cylinder","diameter_mm":320,"length_mm":820,"wall_mm":10`, area(3) * 8},
		{"flat ends, overall", `"shape":"upright-cylinder","diameter_mm":320,"overall_length_mm":820,"wall_mm":10`, area(3) * 8},
		{"curved ends", `"shape":"horizontal-cylinder","diameter_mm":320,"length_mm":800,"heads":"hemispherical","wall_mm":10`, area(3)*8 + 27*math.Pi/6},
		{"curved ends, overall", `"shape":"horizontal-cylinder","diameter_mm":320,"overall_length_mm":1120,"heads":"hemispherical","wall_mm":10`, area(3)*8 + 27*math.Pi/6},
		{"one of each", `"shape":"horizontal-cylinder","diameter_mm":320,"length_mm":810,"heads":{"left":"flat","right":"ellipsoidal-2-1"},"wall_mm":10`, area(3)*8 + 27*math.Pi/24},
		// The proportions of DIN 28011 and 28013 are of the outside diameter Da:
		// with a wall of Da/100 the heads hold 0.099134862939 and 0.131106468670 of
		// the cube of the inside one. Source: integrated by another program
		// (SciPy) from the radii, 12 digits.
		{"kloepper", `"shape":"horizontal-cylinder","diameter_mm":1000,"length_mm":1500,"heads":"kloepper","wall_mm":10`, area(9.8)*15 + 2*0.099134862939*math.Pow(9.8, 3)},
		{"korbbogen", `"shape":"upright-cylinder","diameter_mm":1000,"length_mm":1500,"heads":"korbbogen","wall_mm":10`, area(9.8)*15 + 2*0.131106468670*math.Pow(9.8, 3)},
		// Given radii are inside ones, so a wall leaves them alone.
		{"radii", `"shape":"horizontal-cylinder","diameter_mm":320,"length_mm":800,"heads":"torispherical","crown_mm":300,"knuckle_mm":30,"wall_mm":10`, area(3)*8 + 2*27*headVolumes["kloepper"]},
		// The radius goes from 1 to 2 in 3: at a height z it is 1 + z/3 − w/cos.
		{"cone", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":200,"top_diameter_mm":400,"wall_mm":10`,
			cone(1+w/3-w/cos, 2-w/3-w/cos, 3-2*w)},
		// Of a tip there is room only above the inner tip, at z = 3·w/cos.
		{"tip", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":0,"top_diameter_mm":200,"wall_mm":10`, cone(0, (3-w)/3-w/cos, 3-w-3*w/cos)},
		{"pyramid", `"shape":"frustum","height_mm":300,"bottom_length_mm":200,"bottom_width_mm":200,"top_length_mm":400,"top_width_mm":400,"wall_mm":10`,
			4 / math.Pi * cone(1+w/3-w/cos, 2-w/3-w/cos, 3-2*w)},
		{"tip of a pyramid, downward", `"shape":"frustum","height_mm":300,"bottom_length_mm":200,"bottom_width_mm":200,"top_length_mm":0,"top_width_mm":0,"wall_mm":10`,
			4 / math.Pi * cone((3-w)/3-w/cos, 0, 3-w-3*w/cos)},
		{"outline", `"shape":"extrusion","outline_mm":[[0,0],[820,0],[820,520],[0,520]],"length_mm":320,"wall_mm":10`, 8 * 5 * 3},
		{"parts of a joined tank", `"shape":"joined","parts":[{"shape":"box","length_mm":420,"width_mm":420,"height_mm":120,"wall_mm":10},{"shape":"sphere","diameter_mm":200,"x_mm":500}]`, 16 + 4.0/3*math.Pi},
	} {
		made, _ := built(t, `{"version":1,`+c.fields+`}`)
		near(t, c.name, litresOf(made), c.want)
	}
}

// cone is the volume of a frustum of radii a and b.
func cone(a, b, height float64) float64 { return math.Pi / 3 * height * (a*a + a*b + b*b) }
