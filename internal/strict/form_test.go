package strict

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6/kind"
)

// jobs is a made-up form, as small as one can be.
var jobs = &Form{File: "job file", Content: "job", Version: 1, MaxBytes: 1 << 20, MaxDepth: 20, MaxEntries: 100, MaxFields: 20}

// sheds is a made-up form whose schema has a part elsewhere.
var sheds = &Form{
	File: "shed file", Content: "shed",
	Schema: []byte(`{"$id":"https://gaugewright.example/shed.json","type":"object","additionalProperties":false,"required":["version"],"not":{"required":["a","b"]},
		"dependentRequired":{"a":["width_mm","roof"]},
		"properties":{"version":{"const":1},"a":true,"b":true,"n":{"type":"integer","minimum":0,"maximum":9},"either":{"type":["number","string"]},
			"width_mm":{"type":"number"},"width_in":false,"door":{"$ref":"door.json#/$defs/door"},"roof":{},"yes":{"type":"boolean"},"marks":{"type":"array","items":{"type":"number"}}}}`),
	Parts:   [][]byte{[]byte(`{"$id":"https://gaugewright.example/door.json","$defs":{"door":{"type":"object","required":["lock"],"properties":{"lock":{"enum":["left","right"]},"hinges":{"minItems":1}},"allOf":[{"description":"here"}],"a/b":{"description":"there"}}}}`)},
	Version: 1, MaxBytes: 1000, MaxDepth: 4, MaxEntries: 5, MaxFields: 6, TooLarge: "make it smaller",
	Units: []Unit{{"mm", "millimetres"}},
	Explain: func(v Violation) []Problem {
		if _, ok := v.Kind.(*kind.FalseSchema); ok {
			return v.Say("%s of %s is not for sheds", v.Field(), Found(v.Value))
		}
		return nil
	},
}

// shed is what is in its files.
type shed struct {
	Version int       `json:"version"`
	N       int       `json:"n,omitempty"`
	Door    *door     `json:"door,omitempty"`
	Marks   []float64 `json:"marks,omitempty"`
	nameless
}

type nameless struct {
	Roof string `json:"roof,omitempty"`
}

type door struct {
	Lock string `json:"lock"`
}

func (s *shed) rules() []Problem {
	if s.N == 7 {
		return []Problem{{Path: []string{"n"}, Msg: "not on a shed"}}
	}
	return nil
}

func TestRead(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`{"version":1,"n":3,"door":{"lock":"left"}}`, ""},
		{`{"version":1.0,"n":3.0}`, ""},
		{`{"version":1,"n":7}`, `f:1:18: /n: not on a shed`},
		{`{"version":1,"n":1.5}`, `f:1:18: /n: found 1.5, expected a whole number`},
		{`{"version":1,"n":10}`, `f:1:18: /n: found 10, expected 0 to 9`},
		{`{"version":1,"yes":1}`, `f:1:20: /yes: found 1, expected true or false`},
		{`{"version":1,"either":true}`, `f:1:23: /either: found true, expected a number or text in double quotes`},
		{`{"version":1,"a":1,"width_mm":1}`, `f:1:1: missing field "roof", which "a" needs beside it`},
		{`{"version":1,"a":1,"b":1,"width_mm":1,"roof":1}`, `f:1:1: does not fit the schema of shed files`},
		{`{"version":1,"width_in":4}`, `f:1:25: /width_in: width_in of 4 is not for sheds`},
		{`{"version":1,"width_ft":4}`, `f:1:14: unknown field "width_ft"; write "width_mm" (millimetres)`},
		{`{"vresion":1}`, `f:1:2: unknown field "vresion"; did you mean "version"?`},
		{`{"version":1,"door":{"lock":"lft"}}`, `f:1:29: /door/lock: found text "lft", expected "left" or "right"; did you mean "left"?`},
		{`{"version":1,"door":{}}`, `f:1:21: /door: missing field "lock"`},
		{`{"version":3,"anything":{}}`, `f:1:12: /version: found 3: made by a newer version; this program reads up to version 1`},
		{`{"version":1,"roof":[[[[0]]]]}`, `f:1:24: /roof/0/0/0: nested more than 4 deep; a shed file is not`},
		{`{"version":1,"roof":[1,2,3,4,5,6]}`, `f:1:21: /roof: a list of more than 5 entries; a shed file has none so long`},
		{`{"a":1,"b":1,"c":1,"d":1,"e":1,"f":1,"g":1}`, `f:1:1: an object of more than 6 fields; a shed file has none so large`},
		{``, `f: the file is empty; expected a shed in JSON`},
	} {
		s, err := Read(sheds, strings.NewReader(c.text), "f", (*shed).rules)
		if errText(err) != c.want {
			t.Errorf("%s\nfound    %v\nexpected %s", c.text, err, c.want)
		}
		if (s == nil) != (err != nil) {
			t.Errorf("%s: found %v beside %v", c.text, s, err)
		}
	}
	if _, err := Read[shed](sheds, strings.NewReader(`{"version":1,"n":7}`), "f", nil); err != nil {
		t.Errorf("without rules: %v", err)
	}
}

func TestReadFileRefuses(t *testing.T) {
	folder := t.TempDir()
	if _, err := ReadFile[shed](sheds, folder, nil); errText(err) != folder+": this is a directory; expected a shed file" {
		t.Errorf("found %v", err)
	}
	missing := filepath.Join(folder, "none")
	_, err := ReadFile[shed](sheds, missing, nil)
	var one *FileError
	if !errors.Is(err, fs.ErrNotExist) || !errors.As(err, &one) || one.Line != 0 || one.Name != missing {
		t.Errorf("found %v", err)
	}
	large := filepath.Join(folder, "large")
	if err := os.WriteFile(large, make([]byte, 1001), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := ReadFile[shed](sheds, large, nil); errText(err) != large+": more than 0 MiB; a shed file is not so large, so this is another file" {
		t.Errorf("found %v", err)
	}
}

// A schema that is broken is this program's fault, and is said so and not blamed
// on the file.
func TestBrokenSchema(t *testing.T) {
	for _, schema := range []string{`{`, `{"$id":"https://gaugewright.example/a.json","type":7}`, `{"$id":"https://gaugewright.example/a.json","$ref":"b.json"}`} {
		f := &Form{File: "shed file", Content: "shed", Schema: []byte(schema), MaxBytes: 99, MaxDepth: 9, MaxEntries: 9, MaxFields: 9}
		for range 2 {
			if _, err := Read[shed](f, strings.NewReader(`{}`), "f", nil); !strings.HasPrefix(errText(err), "f: the built-in schema of shed files is broken: ") {
				t.Errorf("%s: found %v", schema, err)
			}
		}
	}
}

func TestPart(t *testing.T) {
	for _, c := range []struct{ location, want string }{
		{"#/properties/n", "map[maximum:9 minimum:0 type:integer]"},
		{"https://gaugewright.example/door.json#/$defs/door/properties/hinges", "map[minItems:1]"},
		{"https://gaugewright.example/door.json#/$defs/door/allOf/0", "map[description:here]"},
		{"https://gaugewright.example/door.json#/$defs/door/a~1b", "map[description:there]"},
		{"https://gaugewright.example/door.json#/$defs/door/allOf/1", "map[]"},
		{"#/properties/none", "map[]"},
		{"#/properties/%zz", "map[]"},
		{"https://gaugewright.example/none.json#", "map[]"},
	} {
		part, err := sheds.Part(c.location)
		if err != nil || fmt.Sprint(part) != c.want {
			t.Errorf("%s: found %v, %v; expected %s", c.location, part, err, c.want)
		}
	}
}

func TestEncode(t *testing.T) {
	s := &shed{Version: 1, Door: &door{"left"}, Marks: []float64{1, 2.5}, nameless: nameless{"<tin>"}}
	text, err := Encode(sheds, "shed 4", s, (*shed).rules)
	const want = `{
  "version": 1,
  "door": { "lock": "left" },
  "marks": [1, 2.5],
  "roof": "<tin>"
}
`
	if err != nil || string(text) != want {
		t.Errorf("found %v\n%s\nexpected\n%s", err, text, want)
	}
	for _, c := range []struct {
		shed shed
		want string
	}{
		{shed{Version: 1, N: 7}, "shed 4: /n: not on a shed"},
		{shed{Version: 1, Door: &door{"up"}}, `shed 4: /door/lock: found text "up", expected "left" or "right"`},
		{shed{Version: 1, nameless: nameless{"\xff"}}, "shed 4: /roof: text that is not UTF-8"},
		{shed{Version: 1, nameless: nameless{strings.Repeat("x", 1000)}}, "shed 4: comes to more than 0 MiB; make it smaller"},
	} {
		if _, err := Encode(sheds, "shed 4", &c.shed, (*shed).rules); errText(err) != c.want {
			t.Errorf("found %v, expected %s", err, c.want)
		}
	}
}

// Lists of plain values and objects of them and of such lists stand on one line
// where they fit; the file itself never does.
func TestLayout(t *testing.T) {
	long := strings.Repeat("9", 60)
	for _, c := range []struct{ compact, want string }{
		{`{}`, "{}\n"},
		{`{"a":1}`, "{\n  \"a\": 1\n}\n"},
		{`{"a":[[0,0],{"at":[1,2],"r":3}],"b":[],"c":{}}`, "{\n  \"a\": [\n    [0, 0],\n    { \"at\": [1, 2], \"r\": 3 }\n  ],\n  \"b\": [],\n  \"c\": {}\n}\n"},
		{`{"a":["[","{",{"b":["x"]}]}`, "{\n  \"a\": [\n    \"[\",\n    \"{\",\n    { \"b\": [\"x\"] }\n  ]\n}\n"},
		{`{"a":{"b":{"c":1}}}`, "{\n  \"a\": {\n    \"b\": { \"c\": 1 }\n  }\n}\n"},
		{`{"a":[` + long + `,` + long + `]}`, "{\n  \"a\": [\n    " + long + ",\n    " + long + "\n  ]\n}\n"},
	} {
		if found := string(layout([]byte(c.compact))); found != c.want {
			t.Errorf("%s\nfound\n%sexpected\n%s", c.compact, found, c.want)
		}
	}
}

func TestReportTellsEachOnceInOrder(t *testing.T) {
	text := []byte("{\n\"b\":1,\n\"a\":2}")
	one := Problem{Path: []string{"a"}, Msg: "one"}
	if err := sheds.Report("f", text, []Problem{one, one}); errText(err) != "f:3:5: /a: one" {
		t.Errorf("found %v", err)
	}
	err := sheds.Report("f", text, []Problem{one, {Path: []string{"b"}, Msg: "two"}, {Key: "a", Msg: "key"}, {Msg: "all"}})
	if want := "f:1:1: all\nf:2:5: /b: two\nf:3:1: key\nf:3:5: /a: one"; errText(err) != want {
		t.Errorf("found\n%v\nexpected\n%s", err, want)
	}
	if err := sheds.Report("f", text, nil); err != nil {
		t.Errorf("found %v", err)
	}
	var many []Problem
	for i := range 9 {
		many = append(many, Problem{Msg: fmt.Sprint(i)})
	}
	var list FileErrors
	if err := sheds.Report("job 4", nil, many); !errors.As(err, &list) || len(list) != MaxProblems || list[0].Error() != "job 4: 0" {
		t.Errorf("found %v", err)
	}
}
