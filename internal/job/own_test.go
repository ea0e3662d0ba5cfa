package job

import (
	"reflect"
	"slices"
	"testing"
)

// spelled are the fields of text whose words are the program's or a format's.
var spelled = map[string]bool{
	"Date": true, "Time": true, "When": true, "Gives": true, "Marks": true, "Marked": true, "Sweep": true, "Scale": true, "Readout": true, "Objective": true,
	"Mix": true, "Plate": true, "Preset": true, "Metal": true, "Contents": true, "Kind": true, "Text": true, "Folder": true, "From": true,
	"Op": true, "Path": true, "Was": true, "Words": true, "Key": true, "Value": true,
	"Energy": true, "Mass": true, "Pressure": true, "Temperature": true, "Volume": true, "Unit": true,
	"Axis": true, "Between": true, "CSV": true, "Drawn": true, "MeshFile": true, "Shape": true, "Up": true, "Both": true, "What": true,
}

// A field that is added has to be told apart: a person's own words, or words that
// are put into another language.
func TestEveryTextIsOwnOrSpelled(t *testing.T) {
	seen := map[reflect.Type]bool{}
	var walk func(typ reflect.Type)
	walk = func(typ reflect.Type) {
		switch typ.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Array, reflect.Map:
			walk(typ.Elem())
		case reflect.Struct:
			if seen[typ] {
				return
			}
			seen[typ] = true
			for i := range typ.NumField() {
				f := typ.Field(i)
				if !f.IsExported() {
					continue
				}
				if f.Type.Kind() == reflect.String && ownFields[f.Name] == spelled[f.Name] {
					t.Errorf("%v.%s is in %v of the lists; expected one", typ, f.Name, map[bool]string{true: "both", false: "neither"}[ownFields[f.Name]])
				}
				walk(f.Type)
			}
		}
	}
	walk(reflect.TypeFor[Job]())
	if len(seen) < 10 {
		t.Fatalf("%d kinds of struct were looked at", len(seen))
	}
}

func TestOwnWords(t *testing.T) {
	j := &Job{Number: "7", Customer: "Tidewater Kitchen", Date: "2025-11-03", Tanks: []Tank{{Name: "Gas", Contents: LPG, Gas: &Gas{By: "mass"},
		Bench: Bench{By: "R. Moor", Readings: []Reading{{Sweep: "up", Note: "slow"}, {Note: "slow"}}}}}}
	if got, want := j.OwnWords(), []string{"7", "Tidewater Kitchen", "Gas", "R. Moor", "slow"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}
