package tankfile

import (
	"fmt"
	"strings"
	"testing"

	"gaugewright/internal/finding"
	"gaugewright/internal/golden"
	"gaugewright/internal/tank"
)

// What is said of tanks that can be built and may not be right.
func TestFindings(t *testing.T) {
	const lying = `"shape":"horizontal-cylinder","diameter_mm":300,`
	var out strings.Builder
	for _, c := range []struct{ name, fields, kinds string }{
		{"agrees", lying + `"length_mm":800,"capacity_l":56`, ""},
		{"agrees within two per cent", lying + `"length_mm":800,"capacity_l":57.5`, ""},
		{"heads deeper than the shell", lying + `"length_mm":250,"heads":"hemispherical"`, KindDeepHeads},
		{"heads deeper, and the plate says so", lying + `"length_mm":250,"heads":"hemispherical","capacity_l":31.8`, ""},
		{"heads deeper in a part", `"shape":"joined","parts":[{"shape":"box","length_mm":300,"width_mm":300,"height_mm":300},{` + lying + `"length_mm":250,"heads":"hemispherical","x_mm":600}]`, KindDeepHeads},
		{"overall length as the straight part", lying + `"length_mm":800,"heads":"hemispherical","capacity_l":49.5`, tank.KindCapacityDiffers},
		{"straight part as the overall length", lying + `"overall_length_mm":800,"heads":"hemispherical","capacity_l":70.7`, tank.KindCapacityDiffers},
		{"both doubts", lying + `"length_mm":290,"heads":"hemispherical","capacity_l":14`, KindDeepHeads + " " + tank.KindCapacityDiffers},
		{"heads not stated", lying + `"length_mm":800,"capacity_l":62`, tank.KindCapacityDiffers},
		{"wall not taken off", `"shape":"box","length_mm":800,"width_mm":500,"height_mm":300,"capacity_l":113`, tank.KindCapacityDiffers},
		{"wall taken off inside sizes", `"shape":"box","length_mm":800,"width_mm":500,"height_mm":300,"wall_mm":5,"capacity_l":120`, tank.KindCapacityDiffers},
		{"permitted fill as the capacity", `"shape":"sphere","diameter_mm":600,"capacity_l":90`, tank.KindCapacityDiffers},
		{"stated permitted fill as the capacity", `"shape":"sphere","diameter_mm":600,"capacity_l":96,"permitted_fill_pct":85`, tank.KindCapacityDiffers},
		{"US gallons", `"shape":"sphere","diameter_mm":600,"capacity_l":30`, tank.KindCapacityDiffers},
		{"imperial gallons", `"shape":"sphere","diameter_mm":600,"capacity_l":25`, tank.KindCapacityDiffers},
		{"nothing explains it", `"shape":"sphere","diameter_mm":600,"capacity_l":150`, tank.KindCapacityDiffers},
		{"a small one", `"shape":"sphere","diameter_mm":100,"capacity_l":0.8`, tank.KindCapacityDiffers},
		{"a table", `"shape":"strapping","csv":"strapping.csv","capacity_l":60`, tank.KindCapacityDiffers},
		{"a mesh in another unit", `"shape":"mesh","file":"wedge.stl","unit":"in","capacity_l":48`, tank.KindCapacityDiffers},
		{"a mesh", `"shape":"mesh","file":"wedge.stl","unit":"cm","capacity_l":60`, tank.KindCapacityDiffers},
	} {
		made, found := built(t, `{"version":1,`+c.fields+`}`)
		var kinds []string
		fmt.Fprintf(&out, "%s\n    {%s}\n", c.name, c.fields)
		for _, f := range found {
			kinds = append(kinds, f.Kind)
			if f.Weight != finding.Doubt {
				t.Errorf("%s: %s is a %s", c.name, f.Kind, f.Weight)
			}
			fmt.Fprintf(&out, "    %s\n", f.Text)
		}
		if got := strings.Join(kinds, " "); got != c.kinds {
			t.Errorf("%s (%g L): found %q, expected %q", c.name, litresOf(made), got, c.kinds)
		}
	}
	golden.Check(t, "findings.txt", []byte(out.String()))
}

// The wall that is offered is the wall that was left out.
func TestWallOffered(t *testing.T) {
	for _, wall := range []string{"1", "3", "6.5"} {
		const sizes = `"shape":"horizontal-cylinder","diameter_mm":400,"length_mm":900,"heads":"kloepper"`
		inside, _ := built(t, `{"version":1,`+sizes+`,"wall_mm":`+wall+`}`)
		_, found := built(t, fmt.Sprintf(`{"version":1,%s,"capacity_l":%g}`, sizes, litresOf(inside)))
		if wall == "1" { // within two per cent: nobody asks
			if len(found) != 0 {
				t.Errorf("found %v", found)
			}
			continue
		}
		if want := "A wall of " + wall + " mm all round"; len(found) != 1 || !strings.Contains(found[0].Text, want) {
			t.Errorf("found %v, expected %s", found, want)
		}
	}
}
