package mqtt

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"gaugewright/internal/feed"
	"gaugewright/internal/peer"
	"gaugewright/internal/watch"
)

// asyncAPIVariable says where the schema of AsyncAPI 3.0.0 documents is: the file
// schemas/3.0.0.json of the npm package @asyncapi/specs, which its makers publish.
const (
	asyncAPIVariable = "GAUGEWRIGHT_ASYNCAPI"
	asyncAPIPlace    = "../../../.cache/npm/node_modules/@asyncapi/specs/schemas/3.0.0.json"
)

func TestAsyncAPIInTheDocs(t *testing.T) {
	published, err := os.ReadFile("../../../docs/asyncapi.json")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(published, AsyncAPI) {
		t.Error("docs/asyncapi.json differs from internal/feed/mqtt/asyncapi.json; copy it there")
	}
}

// The document is what the schema of AsyncAPI 3.0.0 asks for, as one library of
// Go and one of Python read it; and they do find what is wrong.
func TestAsyncAPIAgainstItsSchema(t *testing.T) {
	path := os.Getenv(asyncAPIVariable)
	if path == "" {
		path = asyncAPIPlace
	}
	text, err := os.ReadFile(path)
	if err != nil {
		peer.Missing(t, "no schema of AsyncAPI 3.0.0 (%v); ./check installs it, or name schemas/3.0.0.json of the npm package @asyncapi/specs in %s", err, asyncAPIVariable)
	}
	docs := map[string]string{"good": string(AsyncAPI)}
	for name, change := range map[string][2]string{
		"a verb that isn't one": {`"action": "send"`, `"action": "publish"`},
		"QoS 3":                 {`"qos": 1`, `"qos": 3`},
		"no such part":          {`"operations"`, `"operation"`},
		"a type that isn't one": {`"type": "object"`, `"type": "thing"`},
		"another version":       {`"3.0.0"`, `"2.6.0"`},
	} {
		wrong := strings.Replace(string(AsyncAPI), change[0], change[1], 1)
		if wrong == string(AsyncAPI) {
			t.Fatalf("%s: the document has no %s", name, change[0])
		}
		docs[name] = wrong
	}
	var meta any
	if err := json.Unmarshal(text, &meta); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("http://asyncapi.com/definitions/3.0.0/asyncapi.json", meta); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("http://asyncapi.com/definitions/3.0.0/asyncapi.json")
	if err != nil {
		t.Fatal(err)
	}
	var python map[string][]string
	peer.Python(t, []string{"jsonschema"}, `
import json, sys, jsonschema
given = json.load(sys.stdin)
v = jsonschema.Draft7Validator(given["Schema"])
print(json.dumps({name: [e.json_path + ": " + e.message[:300] for e in v.iter_errors(json.loads(text))] for name, text in given["Docs"].items()}))`,
		map[string]any{"Schema": meta, "Docs": docs}, &python)
	for name, text := range docs {
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(doc); (err == nil) != (name == "good") {
			t.Errorf("%s, in Go: %v", name, err)
		}
		if (len(python[name]) == 0) != (name == "good") {
			t.Errorf("%s, in Python: %s", name, strings.Join(python[name], "\n"))
		}
	}
}

// document is the AsyncAPI document as plain JSON.
func document(t testing.TB) map[string]any {
	t.Helper()
	var d map[string]any
	if err := json.Unmarshal(AsyncAPI, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

// in goes down a document.
func in(t testing.TB, d any, path ...string) any {
	t.Helper()
	for _, p := range path {
		m, _ := d.(map[string]any)
		if d = m[p]; d == nil {
			t.Fatalf("the document has no %s at %s", p, strings.Join(path, "/"))
		}
	}
	return d
}

// schemaOf compiles the schema of a payload: draft 07, which AsyncAPI's own
// schemas are made of.
func schemaOf(t testing.TB, name string) *jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft7)
	c.AssertFormat()
	if err := c.AddResource("asyncapi.json", document(t)); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("asyncapi.json#/components/schemas/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Each field of a level is in the schema with its type, and the other way round.
func TestLevelSchema(t *testing.T) {
	doc := document(t)
	for name, of := range map[string]reflect.Type{
		"level": reflect.TypeFor[watch.Published](), "last_good": reflect.TypeFor[watch.PublishedGood](),
	} {
		properties := maps.Clone(in(t, doc, "components", "schemas", name, "properties").(map[string]any))
		var required []string
		for _, r := range in(t, doc, "components", "schemas", name, "required").([]any) {
			required = append(required, r.(string))
		}
		for f := range of.Fields() {
			tag, option, _ := strings.Cut(f.Tag.Get("json"), ",")
			p, ok := properties[tag].(map[string]any)
			if !ok {
				t.Errorf("%s: the schema has no %s", name, tag)
				continue
			}
			delete(properties, tag)
			if want := option != "omitempty"; slices.Contains(required, tag) != want {
				t.Errorf("%s: %s required: %v, expected %v", name, tag, !want, want)
			}
			of, nullable := f.Type, f.Type.Kind() == reflect.Pointer && option != "omitempty"
			if of.Kind() == reflect.Pointer {
				of = of.Elem()
			}
			want := map[reflect.Type]any{reflect.TypeFor[string](): "string", reflect.TypeFor[float64](): "number", reflect.TypeFor[time.Time](): "string"}[of]
			if nullable {
				want = []any{want, "null"}
			}
			switch {
			case of == reflect.TypeFor[watch.PublishedGood]():
				if p["$ref"] != "#/components/schemas/last_good" {
					t.Errorf("%s: %s is %v", name, tag, p)
				}
			case !reflect.DeepEqual(p["type"], want) || (of == reflect.TypeFor[time.Time]()) != (p["format"] == "date-time"):
				t.Errorf("%s: %s is %v %v, expected %v", name, tag, p["type"], p["format"], want)
			}
		}
		for tag := range properties {
			t.Errorf("%s: the schema has %s, which isn't published", name, tag)
		}
	}
	statuses := in(t, doc, "components", "schemas", "level", "properties", "status", "enum").([]any)
	for s := watch.Good; s <= watch.Maintenance; s++ {
		if int(s) >= len(statuses) || statuses[s] != s.String() {
			t.Errorf("status %v isn't in %v", s, statuses)
		}
	}
	for m := watch.MotionUnknown; m <= watch.Moving; m++ {
		if motions := in(t, doc, "components", "schemas", "level", "properties", "motion", "enum").([]any); motions[m] != m.String() {
			t.Errorf("motion %v isn't in %v", m, motions)
		}
	}
}

// The fields that the decoder says it takes are those of the schema.
func TestReadingSchemaFields(t *testing.T) {
	var of []string
	for name := range in(t, document(t), "components", "schemas", "reading", "properties").(map[string]any) {
		of = append(of, name)
	}
	_, err := feed.Decode(nil, []byte(`{"nothing":1}`), feed.Defaults{Tank: "fresh"})
	if err == nil {
		t.Fatal("an unknown field is taken")
	}
	_, expected, _ := strings.Cut(err.Error(), "expected")
	var takes []string
	for _, m := range regexp.MustCompile(`"(\w+)"`).FindAllStringSubmatch(expected, -1) {
		takes = append(takes, m[1])
	}
	slices.Sort(of)
	slices.Sort(takes)
	if len(takes) == 0 || !slices.Equal(of, takes) {
		t.Errorf("the schema has %q, the decoder takes %q", of, takes)
	}
}

// Whatever is sent, the schema and the decoder agree on whether it is a reading.
func TestReadingSchemaAndDecoderAgree(t *testing.T) {
	schema := schemaOf(t, "readings")
	good, bad := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		text := somePayload(t)
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		byRules := schema.Validate(doc)
		_, byDecoder := feed.Decode(nil, []byte(text), feed.Defaults{Tank: "fresh", Source: "mqtt", Arrived: time.Now()})
		if (byRules == nil) != (byDecoder == nil) {
			t.Fatalf("%s: the schema says %v, the decoder %v", text, byRules, byDecoder)
		}
		if byRules == nil {
			good++
		} else {
			bad++
		}
	})
	// One in five is good; that none of a hundred is, is one chance in 1e10. Asking
	// for ten of them would fail one run in a thousand.
	if good == 0 || bad == 0 {
		t.Errorf("drew %d good and %d bad ones: none of a kind", good, bad)
	}
}

// somePayload draws a payload, about one in five of them a good one.
func somePayload(t *rapid.T) string {
	value := rapid.SampledFrom([]string{"118.4", "0", "-5", "1e3", "200", "null", "null", `"x"`, `""`, "true", "{}", "[]"})
	when := rapid.SampledFrom([]string{`"2026-11-01T14:02:00Z"`, `"2026-11-01T14:02:00.25+01:00"`, "1793541720", "1.5", "null", `"yesterday"`, `"2026-11-01"`, `""`, "false"})
	text := rapid.SampledFrom([]string{`"dry joint"`, `""`, "null", "1"})
	object := func(t *rapid.T) string {
		var fields []string
		add := func(name string, v *rapid.Generator[string], often int) {
			if rapid.IntRange(0, often).Draw(t, name) == 0 {
				fields = append(fields, fmt.Sprintf("%q:%s", name, v.Draw(t, "value")))
			}
		}
		add("ohm", value, 1)
		add("volt", value, 5)
		add("count", value, 5)
		add("level_pct", value, 5)
		add("time", when, 2)
		add("pitch_deg", value, 5)
		add("roll_deg", value, 5)
		add("fault", text, 4)
		add("tank", text, 20)
		add("Ohm", value, 20)
		return "{" + strings.Join(fields, ",") + "}"
	}
	one := rapid.OneOf(rapid.Custom(object), rapid.Custom(object), value)
	if rapid.Bool().Draw(t, "list") {
		return "[" + strings.Join(rapid.SliceOfN(one, 0, 3).Draw(t, "elements"), ",") + "]"
	}
	return one.Draw(t, "payload")
}

// The document's own examples are what it says.
func TestAsyncAPIExamples(t *testing.T) {
	messages := in(t, document(t), "components", "messages").(map[string]any)
	for name, m := range messages {
		ref := in(t, m, "payload", "$ref").(string)
		schema := schemaOf(t, strings.TrimPrefix(ref, "#/components/schemas/"))
		for _, e := range in(t, m, "examples").([]any) {
			payload := e.(map[string]any)["payload"]
			if err := schema.Validate(payload); err != nil {
				t.Errorf("%s: %v: %v", name, e, err)
			}
			text, err := json.Marshal(payload)
			if err != nil {
				t.Fatal(err)
			}
			if name == "level" {
				strict := json.NewDecoder(bytes.NewReader(text))
				strict.DisallowUnknownFields()
				if err := strict.Decode(new(watch.Published)); err != nil {
					t.Errorf("%s: %s: %v", name, text, err)
				}
			}
			if name == "reading" {
				if _, err := feed.Decode(nil, text, feed.Defaults{Tank: "fresh", Arrived: time.Now()}); err != nil {
					t.Errorf("%s: %s: %v", name, text, err)
				}
			}
		}
	}
}
