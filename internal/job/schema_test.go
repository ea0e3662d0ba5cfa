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
)

func TestSchemaInTheDocs(t *testing.T) {
	published, err := os.ReadFile("../../docs/schema/job-v1.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(published, Schema) {
		t.Error("docs/schema/job-v1.schema.json differs from the schema in use; copy internal/job/job-v1.schema.json there")
	}
}

// The metaschema is JSON Schema's own, https://json-schema.org/draft/2020-12/schema.
func TestSchemaAgainstItsMetaschema(t *testing.T) {
	meta, err := jsonschema.NewCompiler().Compile("https://json-schema.org/draft/2020-12/schema")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	if err != nil {
		t.Fatal(err)
	}
	if err := meta.Validate(doc); err != nil {
		t.Error(err)
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
	"sender":      reflect.TypeFor[Sender](),
	"claim":       reflect.TypeFor[Claim](),
	"bench":       reflect.TypeFor[Bench](),
	"reading":     reflect.TypeFor[Reading](),
	"setting":     reflect.TypeFor[Setting](),
	"entry":       reflect.TypeFor[Entry](),
	"check":       reflect.TypeFor[Check](),
	"check_point": reflect.TypeFor[CheckPoint](),
}

func TestSchemaKnowsTheFieldsOfTheTypes(t *testing.T) {
	c, err := compiled()
	if err != nil {
		t.Fatal(err)
	}
	objects := 0
	for name, part := range parts(c) {
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
		for i := range typ.NumField() {
			field, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
			fields = append(fields, field)
		}
		slices.Sort(fields)
		if known := fieldsOf(part); !slices.Equal(known, fields) {
			t.Errorf("%q: the schema has %v, the type %v", name, known, fields)
		}
	}
	if objects != len(definitions) {
		t.Errorf("the schema has %d kinds of object, the types are %d", objects, len(definitions))
	}
}

func TestSchemaDescribesEveryField(t *testing.T) {
	c, err := compiled()
	if err != nil {
		t.Fatal(err)
	}
	for name, part := range parts(c) {
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
				property = c.at(ref)
			}
		}
	}
}

// parts gives the whole schema as "" and its definitions by name.
func parts(c *checker) map[string]map[string]any {
	out := map[string]map[string]any{"": c.root}
	for name, d := range c.root["$defs"].(map[string]any) {
		out[name] = d.(map[string]any)
	}
	return out
}

func TestSchemaHasTheLimitsOfTheCode(t *testing.T) {
	c, err := compiled()
	if err != nil {
		t.Fatal(err)
	}
	limit := func(at, keyword string, want float64) {
		if v, ok := number(c.at("#"+at), keyword); !ok || v != want {
			t.Errorf("%s of %s: found %v, expected %v", keyword, at, v, want)
		}
	}
	limit("/$defs/ohm", "maximum", float64(curve.MaxOhm))
	limit("/$defs/pct", "maximum", curve.Dial.Limit())
	limit("/$defs/mark_mm", "maximum", curve.Height.Limit())
	limit("/$defs/mark_l", "maximum", curve.Volume.Limit())
	limit("/$defs/mark_kg", "maximum", curve.Mass.Limit())
	limit("/properties/tanks", "maxItems", MaxTanks)
	limit("/$defs/bench/properties/readings", "maxItems", MaxReadings)
	limit("/$defs/tank/then/properties/permitted_fill_pct", "maximum", MaxLPGFillPct)
	if v := c.root["properties"].(map[string]any)["version"].(map[string]any)["const"]; v != json.Number("1") || Version != 1 {
		t.Errorf("the schema is for version %v, the code writes %d", v, Version)
	}
	for i, u := range curve.MarkUnits {
		// The order in which the marks of a reading are asked for.
		if want := []string{"mark_pct", "mark_mm", "mark_l", "mark_kg"}[i]; u.Column() != want {
			t.Errorf("mark unit %d is %s, expected %s", i, u.Column(), want)
		}
	}
}
