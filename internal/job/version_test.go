package job

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/internal/strict"
)

// Every field of version 2 stands in its sample, but for those of the shape,
// which are the tank file's.
func TestSampleUsesEveryField(t *testing.T) {
	_, data := sampleV2(t)
	var tree any
	if err := json.Unmarshal(data, &tree); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	fieldsIn(tree, used)
	for name, part := range parts(t) {
		for _, field := range strict.Fields(part) {
			if !used[field] && name != "tank_file" {
				t.Errorf("%s of %q isn't in %s", field, name, samplePathV2)
			}
		}
	}
}

func fieldsIn(v any, used map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for name, value := range v {
			used[name] = true
			if name != "shape" && name != "undo" {
				fieldsIn(value, used)
			}
			if ops, ok := value.([]any); ok && name == "undo" {
				for _, op := range ops {
					for field := range op.(map[string]any) {
						used[field] = true
					}
				}
			}
		}
	case []any:
		for _, e := range v {
			fieldsIn(e, used)
		}
	}
}

func TestReadOfACutFileOfVersion2(t *testing.T) {
	_, data := sampleV2(t)
	cutFile(t, data)
}

// What version 1 makes of a file, version 2 takes.
func TestForwardFitsTheNextSchema(t *testing.T) {
	_, data := sample(t)
	var tree map[string]any
	if err := json.Unmarshal(data, &tree); err != nil {
		t.Fatal(err)
	}
	toVersion2(tree)
	tree["version"] = 2
	text, err := json.Marshal(tree)
	if err != nil {
		t.Fatal(err)
	}
	j, err := Read(bytes.NewReader(text), "f")
	if err != nil {
		t.Fatal(err)
	}
	old, _ := sample(t)
	same(t, j, old)
}

// A file of version 1 is held to what version 1 knew.
func TestVersion1KnowsNoFieldsOfVersion2(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"version":1,"number":"1","tanks":[],"history":[]}`, `f:1:38: unknown field "history"; delete it, or write one of "customer", "date", "fitter", "note", "number", "tanks", "units", "vehicle" or "version"`},
		{tankOf(`"setting":{"readout":"ends-then-table","scale":"mark","lower_ohm":0,"upper_ohm":90}`), `f:2:22: /tanks/0/setting/readout: found text "ends-then-table", expected "two-point" or "table"`},
	} {
		if _, err := Read(strings.NewReader(c.text), "f"); err == nil || !strings.HasPrefix(err.Error(), c.want[:60]) {
			t.Errorf("found %v, expected %s", err, c.want)
		}
	}
}
