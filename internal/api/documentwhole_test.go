package api

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

// Every field and parameter of the document is described, and every operation has
// an id, an example where it has a parameter, and the bearer scheme.
func TestDocumentIsWhole(t *testing.T) {
	a, err := New(Options{})
	if err != nil {
		t.Fatal(err)
	}
	now, before, err := a.Documents()
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string][]byte{"3.1": now, "3.0": before} {
		var d struct {
			OpenAPI string
			Paths   map[string]map[string]struct {
				OperationID          string
				Summary, Description string
				Security             []map[string]any
				Parameters           []map[string]any
			}
			Components struct {
				Schemas map[string]struct {
					Properties map[string]map[string]any
				}
				SecuritySchemes map[string]any
			}
		}
		if err := json.Unmarshal(text, &d); err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(d.OpenAPI, name) || d.Components.SecuritySchemes["bearer"] == nil || len(d.Paths) != 17 {
			t.Errorf("%s: %s with %d paths", name, d.OpenAPI, len(d.Paths))
		}
		ids := map[string]bool{}
		for path, verbs := range d.Paths {
			for verb, op := range verbs {
				if ids[op.OperationID] || op.OperationID == "" || op.Summary == "" || op.Description == "" || len(op.Security) == 0 {
					t.Errorf("%s: %s %s: %+v", name, verb, path, op)
				}
				ids[op.OperationID] = true
				for _, p := range op.Parameters {
					schema, _ := p["schema"].(map[string]any)
					if p["description"] == nil || schema["example"] == nil && schema["examples"] == nil {
						t.Errorf("%s: %s %s: %v", name, verb, path, p)
					}
				}
			}
		}
		for schema, s := range d.Components.Schemas {
			for field, p := range s.Properties {
				if p["description"] == nil && p["$ref"] == nil {
					t.Errorf("%s: %s.%s has no description", name, schema, field)
				}
			}
		}
	}
	if bytes.Contains(now, []byte("$schema\"")) || bytes.Contains(now, []byte("://cdn")) {
		t.Error("something of the library's own is in the document")
	}
}
