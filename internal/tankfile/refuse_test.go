package tankfile

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"gaugewright/internal/golden"
	"gaugewright/internal/strict"
)

// bad are files that are refused, each with one thing wrong.
var bad = []struct{ name, fields string }{
	{"no shape", `"name":"a"`},
	{"unknown shape", `"shape":"cylinder","diameter_mm":300`},
	{"capital shape", `"shape":"Box","length_mm":300`},
	{"version in quotes", `"version":"1","shape":"sphere"`},

	{"metres for millimetres", `"shape":"sphere","diameter_mm":0.4`},
	{"micrometres for millimetres", `"shape":"sphere","diameter_mm":400000`},
	{"zero", `"shape":"sphere","diameter_mm":0`},
	{"negative", `"shape":"sphere","diameter_mm":-400`},
	{"number in quotes", `"shape":"sphere","diameter_mm":"400"`},
	{"missing sizes", `"shape":"box","length_mm":300`},
	{"slip of the keyboard", `"shape":"box","lenght_mm":300,"width_mm":300,"height_mm":300`},
	{"another unit", `"shape":"sphere","diameter_cm":40`},
	{"no unit", `"shape":"sphere","diameter":400`},
	{"radius", `"shape":"sphere","radius_mm":200`},
	{"another shape's size", `"shape":"box","length_mm":300,"width_mm":300,"height_mm":300,"diameter_mm":20`},
	{"far", `"shape":"sphere","diameter_mm":400,"colour":"blue"`},
	{"a diameter of a frustum", `"shape":"frustum","height_mm":300,"diameter_mm":400`},
	{"the capacity in gallons", `"shape":"sphere","diameter_mm":400,"capacity_gal":9`},
	{"wall too thick", `"shape":"box","length_mm":300,"width_mm":30,"height_mm":300,"wall_mm":15`},
	{"wall unlikely", `"shape":"sphere","diameter_mm":400,"wall_mm":150`},
	{"twice", `"shape":"sphere","diameter_mm":400,"diameter_mm":300`},

	{"no length", `"shape":"horizontal-cylinder","diameter_mm":300`},
	{"two lengths", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":600,"overall_length_mm":800`},
	{"height of a cylinder", `"shape":"upright-cylinder","diameter_mm":300,"height_mm":600`},
	{"unknown head", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":600,"heads":"round"`},
	{"slip in a head", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":600,"heads":"kloeper"`},
	{"heads as a number", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":600,"heads":2`},
	{"heads of a standing one", `"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":600,"heads":{"bottom":"flat","top":"flat"}`},
	{"one head", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"heads":{"bottom":"flat"}`},
	{"head of no kind", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"heads":{"bottom":"flat","top":{"crown_mm":300}}`},
	{"radii missing", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"heads":"torispherical","crown_mm":300`},
	{"radii of one head missing", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"heads":{"bottom":"flat","top":"torispherical"}`},
	{"radii that nobody needs", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"crown_mm":300`},
	{"radii of a named head", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"heads":{"bottom":"flat","top":{"kind":"asme-fd","crown_mm":300}}`},
	{"crown too small", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"heads":"torispherical","crown_mm":140,"knuckle_mm":20`},
	{"radii swapped", `"shape":"upright-cylinder","diameter_mm":300,"length_mm":600,"heads":"torispherical","crown_mm":30,"knuckle_mm":300`},
	{"shorter than its heads", `"shape":"horizontal-cylinder","diameter_mm":400,"overall_length_mm":300,"heads":"hemispherical"`},
	{"shorter than its heads and walls", `"shape":"horizontal-cylinder","diameter_mm":400,"overall_length_mm":399,"heads":"hemispherical","wall_mm":3`},

	{"frustum without ends", `"shape":"frustum","height_mm":300`},
	{"half a round frustum", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":300`},
	{"half a square frustum", `"shape":"frustum","height_mm":300,"bottom_length_mm":300,"top_length_mm":300`},
	{"round and square", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":300,"top_diameter_mm":200,"top_width_mm":0`},
	{"frustum of two tips", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":0,"top_diameter_mm":0`},
	{"frustum with a thin end", `"shape":"frustum","height_mm":300,"bottom_diameter_mm":2,"top_diameter_mm":200`},
	{"tube wider than its ring", `"shape":"ring","diameter_mm":300,"tube_diameter_mm":400`},
	{"axis", `"shape":"ring","diameter_mm":600,"tube_diameter_mm":200,"axis":"Z"`},

	{"outline of one corner", `"shape":"extrusion","outline_mm":[[0,0]],"length_mm":300`},
	{"point of one number", `"shape":"extrusion","outline_mm":[[0,0],[300],[300,300]],"length_mm":300`},
	{"crossing outline", `"shape":"extrusion","outline_mm":[[0,0],[300,300],[300,0],[0,300]],"length_mm":300`},
	{"outline in metres", `"shape":"extrusion","outline_mm":[[0,0],[0.3,0],[0.3,0.3]],"length_mm":300`},
	{"rounded and through", `"shape":"extrusion","outline_mm":[[0,0],[300,0],{"at":[300,300],"through":[350,150],"corner_mm":20}],"length_mm":300`},
	{"corner too round", `"shape":"extrusion","outline_mm":[[0,0],[300,0],{"at":[300,300],"corner_mm":400}],"length_mm":300`},
	{"corner as a radius", `"shape":"extrusion","outline_mm":[[0,0],[300,0],{"at":[300,300],"radius_mm":20}],"length_mm":300`},
	{"outline narrower than its walls", `"shape":"extrusion","outline_mm":[[0,0],[300,0],[300,30],[0,30]],"length_mm":300,"wall_mm":20`},

	{"stack of nothing", `"shape":"stack","parts":[]`},
	{"size of a stack", `"shape":"stack","height_mm":300,"parts":[{"shape":"sphere","diameter_mm":300}]`},
	{"wall of a stack", `"shape":"stack","wall_mm":3,"parts":[{"shape":"sphere","diameter_mm":300}]`},
	{"wall of a part of a stack", `"shape":"stack","parts":[{"shape":"sphere","diameter_mm":300,"wall_mm":3}]`},
	{"wall deeper in a stack", `"shape":"stack","parts":[{"shape":"joined","parts":[{"shape":"sphere","diameter_mm":300,"wall_mm":3}]}]`},
	{"height of a part of a stack", `"shape":"stack","parts":[{"shape":"sphere","diameter_mm":300,"z_mm":3}]`},
	{"wall of joined tanks", `"shape":"joined","wall_mm":3,"parts":[{"shape":"sphere","diameter_mm":300}]`},
	{"part with a capacity", `"shape":"joined","parts":[{"shape":"sphere","diameter_mm":300,"capacity_l":14}]`},
	{"part with a version", `"shape":"joined","parts":[{"version":1,"shape":"sphere","diameter_mm":300}]`},
	{"part with a slip", `"shape":"joined","parts":[{"shape":"sphere","diametr_mm":300}]`},
	{"part of no shape", `"shape":"joined","parts":[{"diameter_mm":300}]`},
	{"whole tank with a place", `"shape":"sphere","diameter_mm":300,"x_mm":20`},
	{"wall of what is taken away", `"shape":"sphere","diameter_mm":300,"without":[{"shape":"sphere","diameter_mm":30,"wall_mm":3}]`},
	{"wall within what is taken away", `"shape":"sphere","diameter_mm":300,"without":[{"shape":"joined","parts":[{"shape":"sphere","diameter_mm":30,"wall_mm":3}]}]`},

	{"no table", `"shape":"strapping"`},
	{"table and file", `"shape":"strapping","csv":"a.csv","table":[{"height_mm":0,"volume_l":0},{"height_mm":5,"volume_l":1}]`},
	{"table out of order", `"shape":"strapping","table":[{"height_mm":0,"volume_l":0},{"height_mm":50,"volume_l":10},{"height_mm":50,"volume_l":30}]`},
	{"table that falls", `"shape":"strapping","table":[{"height_mm":0,"volume_l":0},{"height_mm":50,"volume_l":10},{"height_mm":60,"volume_l":9}]`},
	{"table of one row", `"shape":"strapping","table":[{"height_mm":50,"volume_l":10}]`},
	{"table in another unit", `"shape":"strapping","table":[{"height_cm":0,"volume_l":0},{"height_mm":50,"volume_l":10}]`},
	{"half a plan", `"shape":"strapping","length_mm":300,"table":[{"height_mm":0,"volume_l":0},{"height_mm":50,"volume_l":10}]`},
	{"wall of a table", `"shape":"strapping","wall_mm":3,"table":[{"height_mm":0,"volume_l":0},{"height_mm":50,"volume_l":10}]`},
	{"wall of a mesh", `"shape":"mesh","file":"a.stl","wall_mm":2`},
	{"mesh of no file", `"shape":"mesh","unit":"mm"`},
	{"mesh in feet", `"shape":"mesh","file":"a.stl","unit":"ft"`},
	{"mesh of another kind", `"shape":"mesh","file":"a.step"`},

	{"sensor outside", `"shape":"sphere","diameter_mm":300,"sensor":{"x_mm":400,"y_mm":0}`},
	{"sensor that lies", `"shape":"sphere","diameter_mm":300,"sensor":{"axis":[1,0,0]}`},
	{"sensor without direction", `"shape":"sphere","diameter_mm":300,"sensor":{"axis":[0,0,0]}`},
	{"heel twice", `"shape":"sphere","diameter_mm":300,"heel_l":1,"heel_mm":10`},
	{"heel of more than the tank", `"shape":"sphere","diameter_mm":300,"heel_l":20`},
	{"heel above the tank", `"shape":"sphere","diameter_mm":300,"heel_mm":301`},
	{"permitted fill", `"shape":"sphere","diameter_mm":300,"permitted_fill_pct":0.8`},

	{"sender of no kind", `"shape":"sphere","diameter_mm":300,"sender":{"rod_mm":250}`},
	{"unknown sender", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"arm"}`},
	{"rod without length", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"rod"}`},
	{"rod with an arm", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"rod","rod_mm":250,"arm_mm":100}`},
	{"float that can't move", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"rod","rod_mm":50,"float_mm":60}`},
	{"float that sinks", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"rod","rod_mm":250,"float_mm":20,"sinks_mm":30}`},
	{"stops the wrong way round", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"swinging-arm","pivot_height_mm":150,"arm_mm":100,"low_deg":50,"high_deg":-50}`},
	{"stop beyond upright", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"swinging-arm","pivot_height_mm":150,"arm_mm":100,"low_deg":-100,"high_deg":50}`},
	{"half an arm", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"dial","arm_mm":100,"low_deg":-50}`},
	{"dial of no arm", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"dial","marked":"angle"}`},
	{"angle without its unit", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"swinging-arm","pivot_height_mm":150,"arm_mm":100,"low":-50,"high_deg":50}`},
	{"known point", `"shape":"sphere","diameter_mm":300,"sender":{"kind":"dial","known_point":{"reads_pct":84,"is_pct":180}}`},
}

// Every message stands in a golden file, where a person can read them one after
// the other.
func TestRefuses(t *testing.T) {
	var out strings.Builder
	say := func(name, text string, err error) {
		if err == nil {
			t.Errorf("%s: accepted\n%s", name, text)
			return
		}
		var one *FileError
		if !errors.As(err, &one) || one.Line == 0 {
			t.Errorf("%s: a %T without a place: %v", name, err, err)
		}
		fmt.Fprintf(&out, "%s\n    %s\n%s\n", name, text, indented(err.Error()))
	}
	for _, c := range bad {
		text := `{"version":1,` + c.fields + `}`
		if strings.HasPrefix(c.fields, `"version"`) {
			text = "{" + c.fields + "}"
		}
		_, err := Read(strings.NewReader(text), "f")
		say(c.name, text, err)
	}
	for _, text := range []string{`{"shape":"sphere","diameter_mm":300}`, `{"version":2,"shape":"egg"}`, `[]`, `{"version":1,"shape":"sphere","diameter_mm":300} x`, `{"version":1`} {
		_, err := Read(strings.NewReader(text), "f")
		say("the file itself", text, err)
	}
	golden.Check(t, "refused.txt", []byte(out.String()))
}

func indented(text string) string { return "    " + strings.ReplaceAll(text, "\n", "\n    ") }

// What is wrong with the files that a tank file names is found in building it.
func TestTankRefuses(t *testing.T) {
	var out strings.Builder
	for _, c := range []struct{ name, fields, file string }{
		{"no such file", `"shape":"strapping","csv":"none.csv"`, ""},
		{"empty", `"shape":"strapping","csv":"a.csv"`, ""},
		{"no column", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume\n0,0\n"},
		{"semicolons", `"shape":"strapping","csv":"a.csv"`, "height_mm;volume_l\n0;0\n"},
		{"not a number", `"shape":"strapping","csv":"a.csv"`, "volume_l,height_mm\n0,0\nten,50\n"},
		{"comma", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume_l\n0,0\n50,\"1,5\"\n"},
		{"short row", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume_l\n0,0\n50\n"},
		{"one row", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume_l\n0,0\n"},
		{"out of order", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume_l\n0,0\n\n50,10\n40,20\n"},
		{"falls", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume_l\n0,0\n50,10\n60,9\n"},
		{"metres", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume_l\n0,0\n50000,10\n"},
		{"quote", `"shape":"strapping","csv":"a.csv"`, "height_mm,volume_l\n0,\"0\n"},
		{"a part in a file", `"shape":"joined","parts":[{"shape":"sphere","diameter_mm":300},{"shape":"strapping","csv":"a.csv","x_mm":600}]`, ""},
		{"heel of more than the table", `"shape":"strapping","csv":"a.csv","heel_l":50`, "height_mm,volume_l\n0,0\n50,10\n"},
		{"tip of a mesh", `"shape":"mesh","file":"a.stl"`, ""},
		{"parts that overlap", `"shape":"joined","parts":[{"shape":"sphere","diameter_mm":300},{"shape":"sphere","diameter_mm":300,"x_mm":200}]`, ""},
		{"inner volume outside", `"shape":"sphere","diameter_mm":300,"without":[{"shape":"sphere","diameter_mm":100,"x_mm":150,"z_mm":100}]`, ""},
	} {
		text := `{"version":1,` + c.fields + `}`
		f, err := Read(strings.NewReader(text), "f")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		_, _, err = f.Tank(func(name string) (io.ReadCloser, error) {
			if name == "none.csv" {
				return nil, &os.PathError{Op: "open", Path: name, Err: os.ErrNotExist}
			}
			return io.NopCloser(strings.NewReader(c.file)), nil
		})
		if err == nil {
			t.Errorf("%s: accepted", c.name)
			continue
		}
		fmt.Fprintf(&out, "%s\n    %s\n    %s\n%s\n", c.name, text, strings.ReplaceAll(c.file, "\n", `\n`), indented(err.Error()))
	}
	golden.Check(t, "refused-files.txt", []byte(out.String()))
}

// The 201st: the whole, three stacks of 50, the fourth and its 46th ball.
func TestReadRefusesTooManyParts(t *testing.T) {
	const ball = `{"shape":"sphere","diameter_mm":300},`
	row := `{"shape":"stack","parts":[` + strings.TrimSuffix(strings.Repeat(ball, 50), ",") + `]},`
	_, err := Read(strings.NewReader(`{"version":1,"shape":"joined","parts":[`+strings.TrimSuffix(strings.Repeat(row, 4), ",")+`]}`), "f")
	if err == nil || !strings.Contains(err.Error(), "/parts/3/parts/45: a tank of more than 200 parts; draw it as a mesh") {
		t.Errorf("found %v", err)
	}
}

func TestReadTellsSeveral(t *testing.T) {
	_, err := Read(strings.NewReader(`{"version":1,"shape":"box","length_mm":3,"width_mm":30000,"heigth_mm":5}`), "f")
	var list strict.FileErrors
	if !errors.As(err, &list) || len(list) != 3 {
		t.Errorf("found %v, expected three errors", err)
	}
}
