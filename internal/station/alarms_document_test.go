package station

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/feed/mqtt"
)

// The AsyncAPI document has each field of an alarm with its type, and each state, kind
// and priority, and none besides.
func TestAlarmInTheDocument(t *testing.T) {
	var d struct {
		Channels   map[string]struct{ Address string }
		Components struct {
			Schemas map[string]struct {
				Required   []string
				Properties map[string]struct {
					Type   any
					Enum   []string
					Format string
				}
			}
		}
	}
	if err := json.Unmarshal(mqtt.AsyncAPI, &d); err != nil {
		t.Fatal(err)
	}
	if got := strings.NewReplacer("{root}/", "", "{tank}/{alarm}", "gas/leak").Replace(d.Channels["alarm"].Address); got != mqtt.AlarmTopic("gas/leak") {
		t.Errorf("the document has %q; published is at %q", got, mqtt.AlarmTopic("gas/leak"))
	}
	schema := d.Components.Schemas["alarm"]
	of := reflect.TypeFor[alarm.Published]()
	if len(schema.Properties) != of.NumField() || len(schema.Required) != of.NumField() {
		t.Errorf("%d fields are described and %d required; %d are published", len(schema.Properties), len(schema.Required), of.NumField())
	}
	for f := range of.Fields() {
		p := schema.Properties[f.Tag.Get("json")]
		own, null := f.Type, f.Type.Kind() == reflect.Pointer
		if null {
			own = own.Elem()
		}
		var want any = map[reflect.Kind]string{reflect.String: "string", reflect.Bool: "boolean", reflect.Struct: "string"}[own.Kind()]
		if null {
			want = []any{want, "null"}
		}
		if !reflect.DeepEqual(p.Type, want) || (p.Format == "date-time") != (own == reflect.TypeFor[time.Time]()) || !slices.Contains(schema.Required, f.Tag.Get("json")) {
			t.Errorf("%s is %v %q; expected %v, and required", f.Tag.Get("json"), p.Type, p.Format, want)
		}
		if tag := f.Tag.Get("enum"); tag != strings.Join(p.Enum, ",") {
			t.Errorf("%s is one of %v in the document and of %s elsewhere", f.Name, p.Enum, tag)
		}
	}
	same(t, "states", schema.Properties["state"].Enum, alarm.States)
	same(t, "kinds", schema.Properties["kind"].Enum, alarm.Kinds)
	same(t, "priorities", schema.Properties["priority"].Enum, alarm.Priorities)
}

func same[S ~string](t *testing.T, what string, got []string, list []S) {
	t.Helper()
	var want []string
	for _, s := range list {
		want = append(want, string(s))
	}
	slices.Sort(want)
	got = slices.Sorted(slices.Values(got))
	if !slices.Equal(got, want) {
		t.Errorf("%s: %v; expected %v", what, got, want)
	}
}
