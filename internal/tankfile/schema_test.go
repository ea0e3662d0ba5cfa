package tankfile

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
)

func TestSchemaInTheDocs(t *testing.T) {
	published, err := os.ReadFile("../../docs/schema/tank-v1.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(published, Schema) {
		t.Error("docs/schema/tank-v1.schema.json differs from the schema in use; copy internal/tankfile/tank-v1.schema.json there")
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
	wrong, err := jsonschema.UnmarshalJSON(bytes.NewReader(bytes.Replace(Schema, []byte(`"maxItems": 50,`), []byte(`"maxItems": -50,`), 1)))
	if err != nil {
		t.Fatal(err)
	}
	if meta.Validate(wrong) == nil {
		t.Error("a schema with a negative maxItems passes")
	}
}

// defs gives the parts of the schema by name.
func defs(t *testing.T) map[string]map[string]any {
	t.Helper()
	root, err := form.Part("#")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string]any{}
	for name, d := range root["$defs"].(map[string]any) {
		out[name] = d.(map[string]any)
	}
	return out
}

// fieldsOf lists the fields of a type in JSON, with those of the types in it.
func fieldsOf(typ reflect.Type) (out []string) {
	for i := range typ.NumField() {
		f := typ.Field(i)
		if f.Anonymous {
			out = append(out, fieldsOf(f.Type)...)
		} else if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "-" {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// The shapes together have the fields of the types and no others, and so have
// the senders; what else is an object has those of its own type.
func TestSchemaKnowsTheFieldsOfTheTypes(t *testing.T) {
	same := func(name string, found, want []string) {
		t.Helper()
		slices.Sort(found)
		if found = slices.Compact(found); !slices.Equal(found, want) {
			t.Errorf("%s: the schema has %v, the types %v", name, found, want)
		}
	}
	defs := defs(t)
	var shapes, senders []string
	for name, part := range defs {
		if part["type"] != "object" || name == "tank" || name == "part" || name == "sender" {
			continue
		}
		if part["additionalProperties"] != false {
			t.Errorf("%q takes fields that it doesn't know", name)
		}
		fields := strict.Fields(part)
		switch {
		case slices.Contains(fields, "shape"):
			shapes = append(shapes, fields...)
		case slices.Contains(fields, "marks"):
			senders = append(senders, fields...)
		}
	}
	whole := append(fieldsOf(reflect.TypeFor[File]()), fieldsOf(reflect.TypeFor[Part]())...)
	slices.Sort(whole)
	same("shapes", shapes, slices.Compact(whole))
	same("senders", senders, fieldsOf(reflect.TypeFor[Sender]()))
	same("heads", append(strict.Fields(defs["lying_heads"]), strict.Fields(defs["standing_heads"])...), fieldsOf(reflect.TypeFor[Heads]()))
	for name, typ := range map[string]reflect.Type{
		"sensor": reflect.TypeFor[Sensor](), "known_point": reflect.TypeFor[KnownPoint](), "row": reflect.TypeFor[Row](),
		"corner": reflect.TypeFor[Vertex](), "head_sizes": reflect.TypeFor[Head](),
	} {
		same(name, strict.Fields(defs[name]), fieldsOf(typ))
	}
}

func TestSchemaDescribesEveryField(t *testing.T) {
	defs := defs(t)
	for name, part := range defs {
		if part["description"] == nil {
			t.Errorf("%q has no description", name)
		}
		properties, _ := part["properties"].(map[string]any)
		for field, p := range properties {
			property, ok := p.(map[string]any)
			for ok && property["description"] == nil {
				ref, _ := property["$ref"].(string)
				if property = defs[strings.TrimPrefix(ref, "#/$defs/")]; property == nil {
					t.Errorf("%q: %s has no description", name, field)
					break
				}
			}
		}
	}
}

func TestSchemaHasTheNamesAndLimitsOfTheCode(t *testing.T) {
	defs := defs(t)
	list := func(part map[string]any) (out []string) {
		for _, v := range part["enum"].([]any) {
			out = append(out, v.(string))
		}
		return out
	}
	want := []string{}
	for _, s := range []Shape{LyingCylinder, UprightCylinder, Box, Sphere, Frustum, Ring, Extrusion, Stack, Joined, Strapping, Mesh} {
		want = append(want, string(s))
		if _, ok := defs[strings.ReplaceAll(string(s), "-", "_")]; !ok {
			t.Errorf("%s has no part in the schema", s)
		}
	}
	if found := list(defs["shape"]); !slices.Equal(found, want) {
		t.Errorf("the shapes are %v, expected %v", found, want)
	}
	if found := list(defs["sender"]["properties"].(map[string]any)["kind"].(map[string]any)); !slices.Equal(found, []string{KindRod, KindArm, KindDial}) {
		t.Errorf("the senders are %v", found)
	}
	if v, _ := strict.Number(defs["strapping"]["properties"].(map[string]any)["table"].(map[string]any), "maxItems"); v != maxRows {
		t.Errorf("the longest table is %v", v)
	}
	if v, _ := strict.Number(defs["size"], "minimum"); v != tank.MinExtent*1000 {
		t.Errorf("the smallest size is %v", v)
	}
	if v := defs["version"]["const"]; v != json.Number("1") || Version != 1 {
		t.Errorf("the schema is for version %v, the code for %d", v, Version)
	}
}

// The schema takes each example by another way than Read, too.
func TestSchemaTakesTheExamples(t *testing.T) {
	c := jsonschema.NewCompiler()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	if err != nil {
		t.Fatal(err)
	}
	if err := c.AddResource("tank.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("tank.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range examples(t) {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(v); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
}
