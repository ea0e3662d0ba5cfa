package kin

import (
	"bytes"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/internal/strict"
)

const fixture = "testdata/invented-v1.type.json"

func sample(t testing.TB) (*Type, []byte) {
	t.Helper()
	data, err := os.ReadFile(fixture)
	if err != nil {
		t.Fatal(err)
	}
	kind, err := Read(bytes.NewReader(data), fixture)
	if err != nil {
		t.Fatal(err)
	}
	return kind, data
}

func TestSchemaInTheDocs(t *testing.T) {
	published, err := os.ReadFile("../../docs/schema/sender-type-v1.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(published, Schema) {
		t.Error("docs/schema/sender-type-v1.schema.json differs from the schema in use; copy internal/kin/sender-type-v1.schema.json there")
	}
}

// The metaschema is JSON Schema's own, https://json-schema.org/draft/2020-12/schema.
func TestSchemaAgainstItsMetaschema(t *testing.T) {
	meta, err := jsonschema.NewCompiler().Compile("https://json-schema.org/draft/2020-12/schema")
	if err != nil {
		t.Fatal(err)
	}
	validate := func(text []byte) error {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		return meta.Validate(doc)
	}
	if err := validate(Schema); err != nil {
		t.Error(err)
	}
	if validate(bytes.Replace(Schema, []byte(`"maxItems": 500`), []byte(`"maxItems": -500`), 1)) == nil {
		t.Error("a schema with a negative maxItems passes")
	}
}

func TestSchemaKnowsTheFieldsOfTheTypes(t *testing.T) {
	for location, typ := range map[string]reflect.Type{"#": reflect.TypeFor[Type](), "#/$defs/unit": reflect.TypeFor[Unit](), "#/$defs/knot": reflect.TypeFor[UnitPoint]()} {
		part, err := form.Part(location)
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for i := range typ.NumField() {
			name, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
			names = append(names, name)
		}
		slices.Sort(names)
		if !slices.Equal(names, strict.Fields(part)) {
			t.Errorf("%s: the schema has %v, the type %v", location, strict.Fields(part), names)
		}
		if part["additionalProperties"] != false {
			t.Errorf("%s takes fields that it doesn't know", location)
		}
		for name, field := range part["properties"].(map[string]any) {
			if field.(map[string]any)["description"] == nil {
				t.Errorf("%s: %s has no description", location, name)
			}
		}
	}
}

func TestSchemaHasTheLimitsOfTheCode(t *testing.T) {
	part := func(location string) map[string]any {
		p, err := form.Part(location)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	for _, c := range []struct {
		location, keyword string
		want              float64
	}{
		{"#/properties/units", "maxItems", MostUnits}, {"#/$defs/unit/properties/knots", "minItems", FewestMarks},
		{"#/$defs/unit/properties/knots", "maxItems", MostMarks}, {"#/properties/version", "const", Version},
	} {
		if v, ok := strict.Number(part(c.location), c.keyword); !ok || v != c.want {
			t.Errorf("%s %s: found %v, the code has %v", c.location, c.keyword, v, c.want)
		}
	}
}

// The fixture of version 1 opens for good, and is written as it was.
func TestFixture(t *testing.T) {
	kind, data := sample(t)
	text, err := kind.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(text, data) {
		t.Errorf("the program writes it as\n%s", text)
	}
	g, err := kind.Gather()
	if err != nil {
		t.Fatal(err)
	}
	if g.Known.Units != 6 || g.Known.Batches != 2 || len(g.Known.Knots) != 11 {
		t.Errorf("%d units of %d batches at %d knots", g.Known.Units, g.Known.Batches, len(g.Known.Knots))
	}
}

// What is gathered out of a type doesn't depend on the order of its units, and
// is the same every time.
func TestGatherIsTheSameInAnyOrder(t *testing.T) {
	kind, _ := sample(t)
	first, err := kind.Gather()
	if err != nil {
		t.Fatal(err)
	}
	want, _ := json.Marshal(first.Known)
	again := &Type{Version: Version, Name: kind.Name, Words: kind.Words, Marks: kind.Marks, Gives: kind.Gives}
	for _, i := range rand.New(rand.NewPCG(1, 1)).Perm(len(kind.Units)) {
		if again.Add(kind.Units[i]) {
			t.Error("a new unit replaced one")
		}
	}
	second, err := again.Gather()
	if err != nil {
		t.Fatal(err)
	}
	if got, _ := json.Marshal(second.Known); string(got) != string(want) {
		t.Errorf("found %s\nand   %s", got, want)
	}
}

func TestMerge(t *testing.T) {
	kind, _ := sample(t)
	left, right := *kind, *kind
	left.Units, right.Units = slices.Clone(kind.Units[:4]), slices.Clone(kind.Units[2:])
	right.Units[0].Date = "2026-01-01" // benched again elsewhere
	right.Units[0].Job = "another workshop's 7"
	a, twice, err := Merge(&left, &right)
	if err != nil || twice != 2 || len(a.Units) != 6 {
		t.Fatalf("%v: %d units, %d twice", err, len(a.Units), twice)
	}
	b, _, err := Merge(&right, &left)
	if err != nil {
		t.Fatal(err)
	}
	ta, _ := a.Encode()
	tb, _ := b.Encode()
	if !bytes.Equal(ta, tb) {
		t.Error("the order of the files matters")
	}
	if !strings.Contains(string(ta), "another workshop's 7") {
		t.Error("the later bench was dropped")
	}
	if _, twice, _ := Merge(a, a); twice != 6 {
		t.Errorf("merged with itself: %d twice", twice)
	}
	for _, change := range []func(*Type){func(k *Type) { k.Name = "other" }, func(k *Type) { k.Marks = "mark_mm" }, func(k *Type) { k.Gives = "volt" }} {
		other := *kind
		change(&other)
		if _, _, err := Merge(kind, &other); err == nil {
			t.Errorf("merged with %q %q %q", other.Name, other.Marks, other.Gives)
		}
	}
}

func TestAddReplacesAUnitBenchedAgain(t *testing.T) {
	kind, _ := sample(t)
	u := kind.Units[0]
	u.Date, u.Batch = "2026-02-02", "later"
	if !kind.Add(u) || len(kind.Units) != 6 {
		t.Error("the same serial number was counted twice")
	}
	u.Serial = ""
	if !kind.Add(u) || len(kind.Units) != 6 {
		t.Error("the same job and tank was counted twice")
	}
	u.Job = "99"
	if kind.Add(u) || len(kind.Units) != 7 {
		t.Error("another unit replaced one")
	}
}

func TestReadRefuses(t *testing.T) {
	_, data := sample(t)
	for _, c := range []struct{ from, to, want string }{
		{`"name": "`, `"nmae": "`, `unknown field "nmae"`},
		{`"mark": 10,`, `"mark": 10, "ohm": 5,`, `unknown field "ohm"`},
		{`"version": 1`, `"version": 2`, "version"},
		{`"gives": "ohm"`, `"gives": "ohms"`, "/gives"},
		{`"serial": "A-002"`, `"serial": "A-001"`, "/units/1: this unit is the one of units/0"},
		{`"mark": 10,`, `"mark": 0,`, "/units/0/knots/1/mark: found 0, expected more than the 0 before it"},
		{`"mark": 100,`, `"mark": 100.5,`, "/units/0/knots/10/mark: found 100.5, expected up to 100"},
		{`"noise_df": `, `"noise_df": 0, "noise_dg": `, `unknown field "noise_dg"`},
		{`"date": "2025-11-03"`, `"date": "2025-11-33"`, "/date"},
	} {
		text := strings.Replace(string(data), c.from, c.to, 1)
		if text == string(data) {
			t.Fatalf("nothing to change: %s", c.from)
		}
		_, err := Read(strings.NewReader(text), "f")
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: found %v, expected %s", c.to, err, c.want)
		}
	}
	turned := strings.Replace(string(data), `"mark": 50, "value": `, `"mark": 50, "value": 9`, 1)
	if _, err := Read(strings.NewReader(turned), "f"); err == nil || !strings.Contains(err.Error(), "turn back") {
		t.Errorf("a unit that turns back: %v", err)
	}
}

// A file cut anywhere is an error with a place, and no panic.
func TestReadOfACutFile(t *testing.T) {
	_, data := sample(t)
	for i := range len(data) - 2 {
		_, err := Read(bytes.NewReader(data[:i]), "f")
		var one *FileError
		if !errors.As(err, &one) || one.Msg == "" || strings.ContainsAny(err.Error(), "\n\x00") {
			t.Fatalf("cut after %d bytes: %v", i, err)
		}
	}
}

func TestWriteFile(t *testing.T) {
	kind, data := sample(t)
	path := filepath.Join(t.TempDir(), "a.type.json")
	if err := kind.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	if text, _ := os.ReadFile(path); !bytes.Equal(text, data) {
		t.Error("another file was written")
	}
	var one *FileError
	if err := kind.WriteFile(t.TempDir()); !errors.As(err, &one) {
		t.Errorf("written to a folder: %v", err)
	}
	if _, err := ReadFile(filepath.Join(t.TempDir(), "none")); !errors.As(err, &one) {
		t.Errorf("read from nowhere: %v", err)
	}
	kind.Name = ""
	if err := kind.WriteFile(path); !errors.As(err, &one) {
		t.Errorf("written without a name: %v", err)
	}
	if text, _ := os.ReadFile(path); !bytes.Equal(text, data) {
		t.Error("the old file is gone")
	}
}

// FuzzRead: nothing makes Read panic; what is read can be written and is the
// same when read again, and what is gathered of it are numbers.
func FuzzRead(f *testing.F) {
	_, data := sample(f)
	f.Add(data)
	for _, text := range []string{"", "{}", `{"version":2}`, `{"version":1,"name":"a","marks":"mark_mm","gives":"volt","units":[]}`,
		`{"version":1,"name":"a","marks":"mark_pct","gives":"ohm","units":[{"job":"1","knots":[{"mark":0,"value":1},{"mark":1,"value":2},{"mark":2,"value":3},{"mark":3,"value":3},{"mark":4,"value":4}]},{"job":"2","knots":[{"mark":0,"value":1},{"mark":1,"value":2},{"mark":2,"value":3},{"mark":3,"value":3},{"mark":5,"value":1000}]}]}`} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		kind, err := Read(bytes.NewReader(data), "f")
		if err != nil {
			return
		}
		text, err := kind.Encode()
		if err != nil {
			t.Fatalf("read and can't be written: %v", err)
		}
		back, err := Read(bytes.NewReader(text), "f")
		if err != nil {
			t.Fatalf("written and can't be read: %v\n%s", err, text)
		}
		if again, _ := back.Encode(); !bytes.Equal(again, text) {
			t.Fatal("not the same when read again")
		}
		if len(kind.Units) > 20 {
			return // gathering takes too long to be fuzzed
		}
		g, err := kind.Gather()
		if err != nil {
			return
		}
		if err := g.Known.Check(); err != nil {
			t.Fatalf("gathered and can't be used: %v", err)
		}
		if _, err := json.Marshal(g); err != nil {
			t.Fatal(err)
		}
	})
}
