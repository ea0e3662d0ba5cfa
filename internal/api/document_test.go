package api

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"gaugewright/internal/peer"
)

var update = flag.Bool("update", false, "write docs/openapi.json and docs/openapi-3.0.json anew")

// Npm packages that ./check installs for these tests, and where.
const (
	npmPlace    = "../../.cache/npm/node_modules"
	npmVariable = "GAUGEWRIGHT_OPENAPI_NPM" // another folder node_modules
)

// npm gives the folder of npm packages, and ends the test where one isn't there.
func npm(t *testing.T, packages ...string) string {
	t.Helper()
	place := os.Getenv(npmVariable)
	if place == "" {
		place = npmPlace
	}
	place, err := filepath.Abs(place)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range packages {
		if _, err := os.Stat(filepath.Join(place, p)); err != nil {
			peer.Missing(t, "the npm package %s isn't there; ./check installs it, or name a folder node_modules that has it in %s", p, npmVariable)
		}
	}
	return place
}

// The documents in docs are those that the code makes: with -update they are
// written.
func TestDocumentInDocs(t *testing.T) {
	a, err := New(Options{})
	if err != nil {
		t.Fatal(err)
	}
	now, before, err := a.Documents()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string][]byte{"openapi.json": now, "openapi-3.0.json": before} {
		path := "../../docs/" + name
		if *update {
			if err := os.WriteFile(path, text, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if kept, err := os.ReadFile(path); err != nil || !bytes.Equal(kept, text) {
			t.Errorf("docs/%s isn't what the code makes (%v); write it anew with go test ./internal/api -run TestDocumentInDocs -update", name, err)
		}
		if got := ask(t, "GET", serving(t, newStall())+Path+"/"+name, ""); got.text != string(text) || got.head.Get("Content-Type") != "application/json" {
			t.Errorf("%s/%s isn't docs/%s", Path, name, name)
		}
	}
}

// Both documents are what the OpenAPI Initiative's own schemas of OpenAPI 3.1 and
// 3.0 ask for, as the npm package @seriousme/openapi-schema-validator has them; and
// it does find what is wrong.
func TestDocumentAgainstItsSchema(t *testing.T) {
	node := peer.Tool(t, "node", "nodejs")
	place := npm(t, "@seriousme/openapi-schema-validator")
	program := filepath.Join(t.TempDir(), "validate.mjs")
	if err := os.WriteFile(program, []byte(`
import { readFileSync } from "node:fs";
const { Validator } = await import(process.argv[2] + "/@seriousme/openapi-schema-validator/index.js");
const told = [];
for (const text of JSON.parse(readFileSync(0, "utf8"))) {
  const v = new Validator();
  const found = await v.validate(JSON.parse(text));
  told.push({ version: v.version, valid: found.valid });
}
console.log(JSON.stringify(told));
`), 0o600); err != nil {
		t.Fatal(err)
	}
	a, err := New(Options{})
	if err != nil {
		t.Fatal(err)
	}
	now, before, err := a.Documents()
	if err != nil {
		t.Fatal(err)
	}
	texts := []string{string(now), string(before),
		strings.Replace(string(now), `"operationId"`, `"operationid"`, 1),
		strings.Replace(string(now), `"in": "path"`, `"in": "somewhere"`, 1),
		strings.Replace(string(before), `"type": "string"`, `"type": "text"`, 1),
		strings.Replace(string(before), `"responses": {`, `"answers": {`, 1),
	}
	given, err := json.Marshal(texts)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(node, program, place)
	cmd.Stdin = bytes.NewReader(given)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var told []struct {
		Version string
		Valid   bool
	}
	if err := json.Unmarshal(out, &told); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for i, x := range told {
		version := "3.1"
		if i == 1 || i > 3 {
			version = "3.0"
		}
		if x.Valid != (i < 2) || x.Version != version {
			t.Errorf("document %d: %+v", i, x)
		}
	}
}

// asDocumented says whether an answer is what the document has for its address: a
// schema of OpenAPI 3.1 is one of JSON Schema 2020-12, which a library of its own
// reads.
func asDocumented(t *testing.T, path, answer string) error {
	t.Helper()
	text, err := os.ReadFile("../../docs/openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	path, _, _ = strings.Cut(path, "?")
	if parts := strings.Split(path, "/"); len(parts) > 2 && parts[1] == "tanks" {
		parts[2] = "%7Btank%7D"
		path = strings.Join(parts, "/")
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	if err := c.AddResource("openapi.json", document); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("openapi.json#/paths/" + strings.ReplaceAll(Path+path, "/", "~1") + "/get/responses/200/content/application~1json/schema")
	if err != nil {
		t.Fatal(err)
	}
	value, err := jsonschema.UnmarshalJSON(strings.NewReader(answer))
	if err != nil {
		t.Fatal(err)
	}
	return schema.Validate(value)
}
