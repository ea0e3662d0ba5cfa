package station

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/api"
	"gaugewright/internal/feed/mqtt"
)

// Each field of what is published of use and time left, and of what came in and went
// out, is in the AsyncAPI document with its type, and the other way round; and so are
// the examples there.
func TestFlowsInAsyncAPI(t *testing.T) {
	var doc struct {
		Components struct {
			Messages map[string]struct {
				Examples []struct{ Payload json.RawMessage }
			}
			Schemas map[string]struct {
				Required   []string
				Properties map[string]struct {
					Type   any
					Format string
				}
			}
		}
	}
	if err := json.Unmarshal(mqtt.AsyncAPI, &doc); err != nil {
		t.Fatal(err)
	}
	for name, of := range map[string]reflect.Type{"outlook": reflect.TypeFor[api.Outlook](), "flow": reflect.TypeFor[api.Flow]()} {
		schema := doc.Components.Schemas[name]
		for f := range of.Fields() {
			tag := f.Tag.Get("json")
			p, ok := schema.Properties[tag]
			if !ok || !slices.Contains(schema.Required, tag) {
				t.Errorf("%s: the schema has no %s, or doesn't require it", name, tag)
				continue
			}
			delete(schema.Properties, tag)
			kind := f.Type
			nullable := kind.Kind() == reflect.Pointer
			if nullable {
				kind = kind.Elem()
			}
			var want any = "number"
			if kind == reflect.TypeFor[string]() || kind == reflect.TypeFor[time.Time]() {
				want = "string"
			}
			if nullable {
				want = []any{want, "null"}
			}
			if !reflect.DeepEqual(p.Type, want) || (kind == reflect.TypeFor[time.Time]()) != (p.Format == "date-time") {
				t.Errorf("%s: %s is %v %q, expected %v", name, tag, p.Type, p.Format, want)
			}
		}
		for tag := range schema.Properties {
			t.Errorf("%s: the schema has %s, which isn't published", name, tag)
		}
		examples := doc.Components.Messages[name].Examples
		if len(examples) == 0 {
			t.Errorf("%s has no examples", name)
		}
		for _, e := range examples {
			strict := json.NewDecoder(strings.NewReader(string(e.Payload)))
			strict.DisallowUnknownFields()
			if err := strict.Decode(reflect.New(of).Interface()); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}
