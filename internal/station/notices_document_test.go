package station

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/notice"
	"gaugewright/internal/notice/hook"
)

// The AsyncAPI document has each field of a notice, says of each that is always there
// that it is, and has each priority and kind of a notice's own.
func TestNoticeInTheDocument(t *testing.T) {
	var d struct {
		Channels   map[string]struct{ Address string }
		Components struct {
			Schemas map[string]struct {
				Required   []string
				Properties map[string]struct {
					Enum []string
				}
			}
		}
	}
	if err := json.Unmarshal(mqtt.AsyncAPI, &d); err != nil {
		t.Fatal(err)
	}
	if got := strings.TrimPrefix(d.Channels["notice"].Address, "{root}/"); got != mqtt.NoticeTopic {
		t.Errorf("the document has %q; published is at %q", got, mqtt.NoticeTopic)
	}
	schema := d.Components.Schemas["notice"]
	of := reflect.TypeFor[hook.Post]()
	if len(schema.Properties) != of.NumField() {
		t.Errorf("%d fields are described; %d are published", len(schema.Properties), of.NumField())
	}
	for f := range of.Fields() {
		name, more, _ := strings.Cut(f.Tag.Get("json"), ",")
		if _, ok := schema.Properties[name]; !ok {
			t.Errorf("%s isn't described", name)
		}
		if always := more == ""; always != slices.Contains(schema.Required, name) {
			t.Errorf("%s is always there: %v; the document says otherwise", name, always)
		}
	}
	if !slices.Equal(schema.Properties["priority"].Enum, notice.Priorities) {
		t.Errorf("the priorities are %v", schema.Properties["priority"].Enum)
	}
	for _, kind := range []string{notice.KindTest, notice.KindUndelivered, "lost"} {
		if !slices.Contains(schema.Properties["kind"].Enum, kind) {
			t.Errorf("the kind %s isn't described", kind)
		}
	}
}
