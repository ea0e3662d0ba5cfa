package job

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
	"gaugewright/internal/tankfile"
)

func TestSchemaInTheDocs(t *testing.T) {
	for name, own := range map[string][]byte{"job-v1.schema.json": SchemaV1, "job-v2.schema.json": Schema} {
		published, err := os.ReadFile("../../docs/schema/" + name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(published, own) {
			t.Errorf("docs/schema/%s differs from the schema in use; copy internal/job/%[1]s there", name)
		}
	}
}

// The metaschema is JSON Schema's own, https://json-schema.org/draft/2020-12/schema.
func TestSchemaAgainstItsMetaschema(t *testing.T) {
	meta, err := jsonschema.NewCompiler().Compile("https://json-schema.org/draft/2020-12/schema")
	if err != nil {
		t.Fatal(err)
	}
	for _, own := range [][]byte{SchemaV1, Schema} {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(own))
		if err != nil {
			t.Fatal(err)
		}
		if err := meta.Validate(doc); err != nil {
			t.Error(err)
		}
	}
	// That the check can fail at all:
	wrong, err := jsonschema.UnmarshalJSON(bytes.NewReader(bytes.Replace(Schema, []byte(`"maxItems": 100,`), []byte(`"maxItems": -100,`), 1)))
	if err != nil {
		t.Fatal(err)
	}
	if meta.Validate(wrong) == nil {
		t.Error("a schema with a negative maxItems passes")
	}
}

// definitions pairs the types with their parts of the schema.
var definitions = map[string]reflect.Type{
	"":            reflect.TypeFor[Job](),
	"tank":        reflect.TypeFor[Tank](),
	"gas":         reflect.TypeFor[Gas](),
	"load":        reflect.TypeFor[Load](),
	"wire":        reflect.TypeFor[Wire](),
	"units":       reflect.TypeFor[quantity.Units](),
	"sender":      reflect.TypeFor[senderFields](),
	"claim":       reflect.TypeFor[claimFields](),
	"bench":       reflect.TypeFor[Bench](),
	"struck":      reflect.TypeFor[struckFields](),
	"reading":     reflect.TypeFor[readingFields](),
	"setting":     reflect.TypeFor[settingFields](),
	"entry":       reflect.TypeFor[entryFields](),
	"check":       reflect.TypeFor[Check](),
	"doubts":      reflect.TypeFor[Doubts](),
	"service":     reflect.TypeFor[Service](),
	"correction":  reflect.TypeFor[Correction](),
	"known":       reflect.TypeFor[kin.Known](),
	"knot":        reflect.TypeFor[kin.Knot](),
	"revision":    reflect.TypeFor[Revision](),
	"operation":   reflect.TypeFor[Operation](),
	"signature":   reflect.TypeFor[Signature](),
	"check_point": reflect.TypeFor[CheckPoint](),
}

func TestSchemaKnowsTheFieldsOfTheTypes(t *testing.T) {
	objects := 0
	for name, part := range parts(t) {
		if part["type"] != "object" {
			continue
		}
		objects++
		if part["additionalProperties"] != false {
			t.Errorf("%q takes fields that it doesn't know", name)
		}
		typ, ok := definitions[name]
		if !ok {
			t.Errorf("%q has no type", name)
			continue
		}
		var fields []string
		for _, f := range reflect.VisibleFields(typ) {
			field, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if field != "-" && !f.Anonymous {
				fields = append(fields, field)
			}
		}
		slices.Sort(fields)
		if known := strict.Fields(part); !slices.Equal(known, fields) {
			t.Errorf("%q: the schema has %v, the type %v", name, known, fields)
		}
	}
	if objects != len(definitions) {
		t.Errorf("the schema has %d kinds of object, the types are %d", objects, len(definitions))
	}
}

func TestSchemaDescribesEveryField(t *testing.T) {
	for name, part := range parts(t) {
		if part["description"] == nil {
			t.Errorf("%q has no description", name)
		}
		properties, _ := part["properties"].(map[string]any)
		for field, p := range properties {
			property := p.(map[string]any)
			for property["description"] == nil {
				ref, ok := property["$ref"].(string)
				if !ok {
					t.Errorf("%q: %s has no description", name, field)
					break
				}
				property = at(t, ref)
			}
		}
	}
}

// parts gives the whole schema as "" and its definitions by name.
func parts(t *testing.T) map[string]map[string]any {
	root := at(t, "#")
	out := map[string]map[string]any{"": root}
	for name, d := range root["$defs"].(map[string]any) {
		out[name] = d.(map[string]any)
	}
	return out
}

// at gives a part of the schema.
func at(t *testing.T, location string) map[string]any {
	part, err := form.Part(location)
	if err != nil {
		t.Fatal(err)
	}
	return part
}

func TestSchemaHasTheLimitsOfTheCode(t *testing.T) {
	limit := func(place, keyword string, want float64) {
		if v, ok := strict.Number(at(t, "#"+place), keyword); !ok || v != want {
			t.Errorf("%s of %s: found %v, expected %v", keyword, place, v, want)
		}
	}
	limit("/$defs/ohm", "maximum", float64(curve.MaxOhm))
	limit("/$defs/pct", "maximum", curve.Dial.Limit())
	limit("/$defs/mark_mm", "maximum", curve.Height.Limit())
	limit("/$defs/mark_l", "maximum", curve.Volume.Limit())
	limit("/$defs/mark_kg", "maximum", curve.Mass.Limit())
	limit("/properties/tanks", "maxItems", MaxTanks)
	limit("/$defs/bench/properties/readings", "maxItems", MaxReadings)
	limit("/$defs/bench/properties/struck", "maxItems", MaxStruck)
	limit("/properties/history", "maxItems", MaxRevisions)
	limit("/$defs/known/properties/knots", "minItems", kin.FewestKnots)
	limit("/$defs/known/properties/knots", "maxItems", kin.MostKnots)
	limit("/$defs/knot/properties/modes", "maxItems", kin.MostModes)
	limit("/$defs/struck/properties/at", "maximum", MaxReadings+MaxStruck-1)
	limit("/$defs/tank/then/properties/permitted_fill_pct", "maximum", MaxLPGFillPct)
	if v := at(t, "#")["properties"].(map[string]any)["version"].(map[string]any)["const"]; v != json.Number("2") || Version != 2 {
		t.Errorf("the schema is for version %v, the code writes %d", v, Version)
	}
	for i, u := range curve.MarkUnits {
		// The order in which the marks of a reading are asked for.
		if want := []string{"mark_pct", "mark_mm", "mark_l", "mark_kg"}[i]; u.Column() != want {
			t.Errorf("mark unit %d is %s, expected %s", i, u.Column(), want)
		}
	}
}

// A job file's schema is usable alone: the schema of tank files stands in it,
// word for word.
func TestSchemaHoldsTheTankSchema(t *testing.T) {
	var own, held any
	if err := json.Unmarshal(tankfile.Schema, &own); err != nil {
		t.Fatal(err)
	}
	var whole struct {
		Defs map[string]any `json:"$defs"`
	}
	if err := json.Unmarshal(Schema, &whole); err != nil {
		t.Fatal(err)
	}
	if held = whole.Defs["tank_file"]; !reflect.DeepEqual(own, held) {
		t.Error("$defs/tank_file isn't the schema of tank files; put internal/tankfile/tank-v1.schema.json there, in both copies of the job schema")
	}
}
