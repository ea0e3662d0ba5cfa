package web

import (
	"encoding/json"
	"fmt"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/wording"
)

// pairIn reads two numbers of a line: apart by white space, semicolons or commas.
// A comma within one of two parts is a decimal one.
func pairIn(line string) ([2]float64, error) {
	parts := strings.Fields(strings.NewReplacer(";", " ", ", ", " ", "\t", " ").Replace(line))
	if len(parts) == 1 {
		parts = strings.Split(parts[0], ",")
	}
	var out [2]float64
	if len(parts) != 2 {
		return out, fmt.Errorf("found %q; expected two numbers, like 120 11.1", wording.Clip(strings.TrimSpace(line), 40))
	}
	for i, p := range parts {
		v, err := quantity.ParseNumber(strings.Trim(p, ","), true)
		if err != nil {
			return out, fmt.Errorf("found %q; expected a number", wording.Clip(p, 40))
		}
		out[i] = v
	}
	return out, nil
}

// linesOf gives the lines of a field that hold something, with their numbers.
func (f *typed) linesOf(name string, each func(line string) error) bool {
	for i, line := range strings.Split(f.now.Get(name), "\n") {
		if strings.TrimSpace(line) == "" {
			continue
		}
		if err := each(strings.TrimSpace(line)); err != nil {
			f.blame(name, "line %d: %v", i+1, err)
			return false
		}
	}
	return true
}

// outline reads corners, one a line.
func (f *typed) outline(name string) (any, bool) {
	list := []any{}
	ok := f.linesOf(name, func(line string) error {
		corner, through, arc := strings.Cut(line, "through")
		corner, radius, round := strings.Cut(corner, "r")
		at, err := pairIn(corner)
		if err != nil {
			return err
		}
		switch {
		case arc && round:
			return fmt.Errorf("a corner is rounded or reached by an arc, not both")
		case arc:
			by, err := pairIn(through)
			if err != nil {
				return err
			}
			list = append(list, map[string]any{"at": at, "through": by})
		case round:
			r, err := quantity.ParseNumber(strings.TrimSpace(radius), true)
			if err != nil {
				return fmt.Errorf("found %q for the radius of a corner; expected millimetres, like r30", wording.Clip(radius, 40))
			}
			list = append(list, map[string]any{"at": at, "corner_mm": r})
		default:
			list = append(list, at)
		}
		return nil
	})
	return list, ok
}

// table reads heights and litres, one pair a line. A first line of names, as
// spreadsheets have it, is passed over.
func (f *typed) table(name string) (any, bool) {
	list, first := []any{}, true
	ok := f.linesOf(name, func(line string) error {
		p, err := pairIn(line)
		if err != nil {
			if first && !strings.ContainsAny(line, "0123456789") {
				first = false
				return nil
			}
			return err
		}
		first = false
		list = append(list, map[string]any{"height_mm": p[0], "volume_l": p[1]})
		return nil
	})
	return list, ok
}

// outlineText and tableText write what outline and table read.
func outlineText(list []tankfile.Vertex) string {
	var b strings.Builder
	for _, v := range list {
		fmt.Fprintf(&b, "%s %s", quantity.Short(v.At[0], 9), quantity.Short(v.At[1], 9))
		if v.CornerMM != 0 {
			fmt.Fprintf(&b, " r%s", quantity.Short(v.CornerMM, 9))
		}
		if v.Through != nil {
			fmt.Fprintf(&b, " through %s %s", quantity.Short(v.Through[0], 9), quantity.Short(v.Through[1], 9))
		}
		b.WriteString("\n")
	}
	return b.String()
}

func tableText(list []tankfile.Row) string {
	var b strings.Builder
	for _, r := range list {
		fmt.Fprintf(&b, "%s %s\n", quantity.Short(r.HeightMM, 9), quantity.Short(r.VolumeL, 9))
	}
	return b.String()
}

// fieldsOf gives the fields of a part of a tank file by their names.
func fieldsOf(part any) map[string]any {
	out := map[string]any{}
	text, err := json.Marshal(part)
	if err == nil {
		err = json.Unmarshal(text, &out)
	}
	if err != nil {
		return map[string]any{} // a part that was read from JSON can be written so
	}
	return out
}

// fieldText writes a value for a field: a number or a word.
func fieldText(value any) string {
	switch v := value.(type) {
	case float64:
		return quantity.Short(v, 9)
	case string:
		return v
	}
	return ""
}
