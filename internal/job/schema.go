package job

import (
	"bytes"
	_ "embed" // the schema
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Schema is the JSON Schema (2020-12) of a job file. It is a description for
// people and other programs, and the very thing that Read checks a file with.
// What no schema can state, such as names that differ, stands at [Read]. The
// formats date and date-time are asserted.
//
//go:embed job-v1.schema.json
var Schema []byte

// Limits of a job file, as the schema has them.
const (
	// MaxBytes is the largest job file, 16 MiB.
	MaxBytes = 16 << 20
	// MaxTanks is how many tanks one job may have.
	MaxTanks = 100
	// MaxReadings is how many bench readings one tank may have.
	MaxReadings = 2000
	// MaxLPGFillPct is the largest permitted fill that is accepted for LPG, in
	// percent of the water capacity. 80 % is common practice, no source. Some
	// national tables allow a little more by volume at 60 °F: a filling density
	// of 42 % of the water's mass, as in 29 CFR 1910.110 for liquids of relative
	// density 0.504 to 0.510, comes to 82.8 % there by our own cross-check. From
	// 85 % at 0 °C propane fills its tank to the brim at 49 °C, which a tank in
	// the sun can reach; so no more than that is ever written down here. The
	// local code governs, and may ask for less.
	MaxLPGFillPct = 85
)

// compiled is the schema ready for use and as plain values. It is made when
// the first job is read, so that nothing else pays for it.
var compiled = sync.OnceValues(func() (*checker, error) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	if err != nil {
		return nil, fmt.Errorf("the built-in schema of job files is broken: %w", err)
	}
	root, _ := doc.(map[string]any)
	id, _ := root["$id"].(string)
	c := jsonschema.NewCompiler()
	c.RegisterFormat(&jsonschema.Format{Name: "date", Validate: isDate})
	c.RegisterFormat(&jsonschema.Format{Name: "date-time", Validate: isTime})
	c.AssertFormat()
	if err := c.AddResource(id, doc); err != nil {
		return nil, fmt.Errorf("the built-in schema of job files is broken: %w", err)
	}
	s, err := c.Compile(id)
	if err != nil {
		return nil, fmt.Errorf("the built-in schema of job files is broken: %w", err)
	}
	return &checker{s, root}, nil
})

// checker is the schema in both forms.
type checker struct {
	schema *jsonschema.Schema
	root   map[string]any
}

// at gives the part of the schema that a location such as
// "https://…#/$defs/ohm" names, or nil.
func (c *checker) at(location string) map[string]any {
	_, fragment, _ := strings.Cut(location, "#")
	fragment, err := url.PathUnescape(fragment)
	if err != nil {
		return nil
	}
	part := c.root
	for _, name := range strings.Split(fragment, "/")[1:] {
		part, _ = part[name].(map[string]any)
	}
	return part
}

// number gives a number of a part of the schema, such as its maximum.
func number(part map[string]any, keyword string) (float64, bool) {
	n, ok := part[keyword].(json.Number)
	if !ok {
		return 0, false
	}
	v, err := n.Float64()
	return v, err == nil
}

// isDate refuses what is no day of the calendar written YYYY-MM-DD.
func isDate(v any) error {
	if text, ok := v.(string); ok {
		_, err := time.Parse(time.DateOnly, text)
		return err
	}
	return nil
}

// isTime refuses what is no time of RFC 3339.
func isTime(v any) error {
	if text, ok := v.(string); ok {
		var t time.Time
		return t.UnmarshalText([]byte(text))
	}
	return nil
}
