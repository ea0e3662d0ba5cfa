package job

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"gaugewright/internal/peer"
)

// Python's jsonschema finds the same files good and bad by the same schemas.
func TestSchemasAgainstPython(t *testing.T) {
	v1, err := os.ReadFile(samplePath)
	if err != nil {
		t.Fatal(err)
	}
	v2, err := os.ReadFile(samplePathV2)
	if err != nil {
		t.Fatal(err)
	}
	type file struct {
		Name    string
		Version int
		Text    json.RawMessage
		good    bool
	}
	list := []file{{"the sample of version 1", 1, v1, true}, {"the sample of version 2", 2, v2, true}}
	v2tank := func(fields string) string {
		return strings.Replace(tankOf(fields), `"version":1`, `"version":2`, 1)
	}
	for name, c := range map[string]struct {
		version int
		text    string
	}{
		"a version 1 field too many":             {1, `{"version":1,"number":"1","tanks":[],"history":[]}`},
		"another version":                        {2, `{"version":1,"number":"1","tanks":[]}`},
		"no number":                              {2, `{"version":2,"tanks":[]}`},
		"a blank number":                         {2, `{"version":2,"number":" ","tanks":[]}`},
		"a sign in a line":                       {2, `{"version":2,"number":"1\u0007","tanks":[]}`},
		"an unknown field":                       {2, v2tank(`"nothing":1`)},
		"gas too full":                           {2, v2tank(`"permitted_fill_pct":86`)},
		"two marks":                              {2, v2tank(`"bench":{"readings":[{"mark_pct":1,"mark_mm":1,"ohm":5}]}`)},
		"no value":                               {2, v2tank(`"bench":{"readings":[{"mark_pct":1}]}`)},
		"a negative doubt":                       {2, v2tank(`"bench":{"readings":[],"doubts":{"mark":-1}}`)},
		"no step of the meter":                   {2, v2tank(`"bench":{"readings":[],"doubts":{"meter_step":0}}`)},
		"a service without readings":             {2, v2tank(`"services":[{"note":"x"}]`)},
		"one knot":                               {2, v2tank(`"sender":{"known":{"from":"x","marks":"mark_pct","gives":"ohm","knots":[{"mark":0,"value":1,"u":1}]}}`)},
		"four modes":                             {2, v2tank(`"sender":{"known":{"from":"x","marks":"mark_pct","gives":"ohm","knots":[{"mark":0,"value":1,"u":1,"modes":[0,0,0,0]},{"mark":1,"value":2,"u":1}]}}`)},
		"half a unit":                            {2, v2tank(`"sender":{"known":{"from":"x","marks":"mark_pct","gives":"ohm","units":1.5,"knots":[{"mark":0,"value":1,"u":1},{"mark":1,"value":2,"u":1}]}}`)},
		"ends without a table":                   {2, v2tank(`"setting":{"readout":"ends-then-table","scale":"mark","lower_ohm":0,"upper_ohm":9}`)},
		"a table without ends":                   {2, v2tank(`"setting":{"readout":"ends-then-table","scale":"mark","then_table":[{"in_pct":0,"pct":0},{"in_pct":100,"pct":100}]}`)},
		"two points and a correction":            {2, v2tank(`"setting":{"readout":"two-point","scale":"mark","lower_ohm":0,"upper_ohm":9,"then_table":[{"in_pct":0,"pct":0},{"in_pct":100,"pct":100}]}`)},
		"another objective":                      {2, v2tank(`"setting":{"readout":"two-point","scale":"mark","lower_ohm":0,"upper_ohm":9,"objective":"best"}`)},
		"a step of nothing":                      {2, v2tank(`"checks":[{"when":"as left","tolerance_pct":2,"display_step_pct":0,"readings":[{"mark_pct":1,"shown_pct":1}]}]`)},
		"a revision without its undo":            {2, `{"version":2,"number":"1","tanks":[],"history":[{"words":"x","was":""}]}`},
		"a sum that is none":                     {2, `{"version":2,"number":"1","tanks":[],"history":[{"words":"x","was":"ab","undo":[]}]}`},
		"an operation of another kind":           {2, `{"version":2,"number":"1","tanks":[],"history":[{"words":"x","was":"","undo":[{"op":"move","path":"/a","from":"/b"}]}]}`},
		"a remove with a value":                  {2, `{"version":2,"number":"1","tanks":[],"history":[{"words":"x","was":"","undo":[{"op":"remove","path":"/a","value":1}]}]}`},
		"an add without a value":                 {2, `{"version":2,"number":"1","tanks":[],"history":[{"words":"x","was":"","undo":[{"op":"add","path":"/a"}]}]}`},
		"half a signature":                       {2, `{"version":2,"number":"1","tanks":[],"signature":{"time":"2026-11-03T12:00:00Z","key":"AAAA","value":"AAAA"}}`},
		"a signature without a time":             {2, `{"version":2,"number":"1","tanks":[],"signature":{"key":"` + strings.Repeat("A", 43) + `=","value":"` + strings.Repeat("A", 86) + `=="}}`},
		"a length that no wire has":              {2, v2tank(`"wire":{"area_mm2":1,"length_m":0}`)},
		"a shape that the tank's schema refuses": {2, v2tank(`"shape":{"shape":"box","length_mm":500}`)},
	} {
		list = append(list, file{name, c.version, json.RawMessage(c.text), false})
	}
	for _, f := range list {
		if _, err := Read(bytes.NewReader(f.Text), "f"); (err == nil) != f.good && f.Name != "another version" {
			t.Errorf("%s: %v", f.Name, err)
		}
	}
	var found []string
	peer.Python(t, []string{"jsonschema"}, `
import json, sys
from jsonschema import Draft202012Validator, RefResolver
given = json.load(sys.stdin)
validators = {}
for version, schema in given["Schemas"].items():
    Draft202012Validator.check_schema(schema)
    # The schema of tank files stands in it under its own $id (an embedded resource,
    # 2020-12 core, section 9.3.1), which this version of the library is shown.
    tank = schema["$defs"]["tank_file"]
    resolver = RefResolver(schema["$id"], schema, store={schema["$id"]: schema, tank["$id"]: tank})
    validators[version] = Draft202012Validator(schema, resolver=resolver)
print(json.dumps([f["Name"] for f in given["Files"] if validators[str(f["Version"])].is_valid(f["Text"])]))
`, map[string]any{"Schemas": map[string]json.RawMessage{"1": SchemaV1, "2": Schema}, "Files": list}, &found)
	if strings.Join(found, ", ") != "the sample of version 1, the sample of version 2" {
		t.Errorf("by Python these are good: %q", found)
	}
}
