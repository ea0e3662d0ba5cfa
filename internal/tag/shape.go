package tag

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/tankfile"

	"github.com/fxamacker/cbor/v2"
)

// mostShape is the most bytes that a shape may take in a code.
const mostShape = 400

// shape puts the tank's shape into the payload with the names of the tank file,
// but without names and notes. One that is too large, or lies in another file, is
// left out where the scale doesn't go through it.
func (p *payload) shape(t *job.Tank) (notes []string, err error) {
	if t.Shape == nil {
		return nil, nil
	}
	shape, elsewhere, err := shapeMap(t.Shape)
	if err != nil {
		return nil, err
	}
	size := 0
	if !elsewhere {
		data, err := encoding.Marshal(shape)
		if err != nil {
			return nil, err
		}
		if size = len(data); size <= mostShape {
			p.Shape = shape
			return nil, nil
		}
	}
	why := fmt.Sprintf("it takes %d bytes, and a code has room for %d", size, mostShape)
	if elsewhere {
		why = "it lies in a file of its own"
	}
	if s := t.Setting; s != nil && scale.Kind(s.Scale) != scale.Mark {
		return nil, fmt.Errorf("the scale %q goes through the tank's shape, which isn't for a code: %s; describe the shape more simply, or choose the scale \"mark\"", s.Scale, why)
	}
	// What the shape told besides has to come back without it.
	if v := t.Capacity(); v > 0 {
		p.Capacity = number(quantity.Round(float64(v)*1000, 2))
	}
	p.Permitted = number(t.PermittedPct())
	if heel, stated := t.Heel(); stated {
		p.Heel = number(quantity.Round(float64(heel)*1000, 2))
	}
	return []string{"The tank's shape isn't in the code: " + why + "."}, nil
}

// shapeMap gives a shape with its numbers as they are written, and whether a part
// of it is in another file.
func shapeMap(f *tankfile.File) (shape map[string]any, elsewhere bool, err error) {
	text, err := json.Marshal(f)
	if err != nil {
		return nil, false, err
	}
	var v any
	d := json.NewDecoder(bytes.NewReader(text))
	if err := d.Decode(&v); err != nil {
		return nil, false, err
	}
	v = translate(v, func(v any) any {
		if f, ok := v.(float64); ok {
			return number(f)
		}
		return v
	})
	shape = v.(map[string]any) // a tank file is an object
	return shape, refers(shape), nil
}

// translate changes all that isn't a list or an object, and drops names and
// notes.
func translate(v any, leaf func(any) any) any {
	switch v := v.(type) {
	case map[string]any:
		out := make(map[string]any, len(v))
		for key, part := range v {
			if key != "name" && key != "note" {
				out[key] = translate(part, leaf)
			}
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, part := range v {
			out[i] = translate(part, leaf)
		}
		return out
	}
	return leaf(v)
}

// refers says whether a shape has parts in other files.
func refers(v any) bool {
	switch v := v.(type) {
	case map[string]any:
		for key, part := range v {
			if key == "file" || key == "csv" || refers(part) {
				return true
			}
		}
	case []any:
		for _, part := range v {
			if refers(part) {
				return true
			}
		}
	}
	return false
}

// restoreShape makes the shape of a payload; nil for none.
func (p *payload) restoreShape() (*tankfile.File, error) {
	if p.Shape == nil {
		return nil, nil
	}
	odd := false
	v := translate(p.Shape, func(v any) any {
		switch v := v.(type) {
		case string, bool:
			return v
		case int64, cbor.Tag:
			if f, ok := figure(v); ok {
				return f
			}
		}
		odd = true
		return nil
	})
	if odd || refers(v) {
		return nil, errors.New("the tank's shape has something that no shape in a code has")
	}
	text, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	var f tankfile.File
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return nil, fmt.Errorf("the tank's shape can't be read: %w", err)
	}
	// What a tank file would leave out or write otherwise isn't written in a code.
	again, _, err := shapeMap(&f)
	if err != nil {
		return nil, err
	}
	one, err := encoding.Marshal(p.Shape)
	two, also := encoding.Marshal(again)
	if err != nil || also != nil || !bytes.Equal(one, two) {
		return nil, errors.New("the tank's shape isn't written as a tank file would be")
	}
	if len(one) > mostShape {
		return nil, fmt.Errorf("the tank's shape takes %d bytes, and may take %d", len(one), mostShape)
	}
	return &f, nil
}
