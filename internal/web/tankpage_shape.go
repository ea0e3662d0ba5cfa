package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"net/url"
	"strconv"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/strict"
	"gaugewright/internal/tankfile"
)

// shapeValues writes a shape into the fields of the page.
func shapeValues(v url.Values, file *tankfile.File) {
	key := keyOf(file)
	v.Set("shape", key)
	senderValues(v, file)
	k, ok := kindOf(key)
	if !ok {
		return
	}
	fields := fieldsOf(file)
	for _, s := range k.sizes {
		v.Set(key+"."+s.name, fieldText(fields[s.name]))
	}
	switch key {
	case "outline":
		v.Set("outline.outline_mm", outlineText(file.OutlineMM))
	case "table":
		v.Set("table.table", tableText(file.Table))
	}
	if k.heads {
		v.Set(key+".heads", "flat")
		switch h := file.Heads; {
		case h == nil:
		case h.Both == "":
			v.Set(key+".heads", keptHeads)
		default:
			v.Set(key+".heads", h.Both)
		}
	}
	if k.wall {
		v.Set("wall_mm", figureField(file.WallMM))
	}
}

// ofWhole are the fields of a tank file that belong to the tank whatever its shape.
var ofWhole = []string{"name", "note", "capacity_l", "permitted_fill_pct", "heel_l", "heel_mm", "sensor", "sender", "turn_deg"}

// shape puts the shape that was typed into a tank. What a shape of the same kind
// has besides, such as a wheel arch taken away, stays.
func (f *typed) shape(t *job.Tank) {
	key := f.text("shape")
	switch {
	case key == "" || key == noShape:
		if t.Shape = nil; f.text("on.kind") != "" {
			f.blame("on.kind", "how the sender reaches into the tank is told against its shape; state the shape, or choose “not stated” here")
		}
		return
	case key == fileShape && t.Shape == nil:
		f.blame("shape", "there is no shape from a file any more; pick one")
		return
	}
	k, ok := kindOf(key)
	if !ok && key != fileShape {
		f.blame("shape", "there is no such shape; pick one")
		return
	}
	file := map[string]any{}
	if t.Shape != nil {
		file = fieldsOf(t.Shape)
	}
	if ok {
		f.typedShape(file, k, t)
	}
	f.sender(file)
	if f.wrong() {
		return
	}
	file["version"] = tankfile.Version
	text, err := json.Marshal(file)
	if err != nil {
		f.blameAll("the shape can't be written: " + err.Error())
		return
	}
	made, err := tankfile.Read(bytes.NewReader(text), "the shape")
	if err != nil {
		f.blameShape(err, key)
		return
	}
	made.Version = 0
	t.Shape = made
}

// typedShape puts the sizes of a shape of the page into the fields of a tank file.
func (f *typed) typedShape(file map[string]any, k shapeKind, t *job.Tank) {
	if keyOf(t.Shape) != k.key {
		for name := range file {
			stays := false
			for _, whole := range ofWhole {
				stays = stays || name == whole
			}
			if !stays {
				delete(file, name)
			}
		}
	}
	if _, named := file["name"]; !named {
		file["name"] = t.Name
	}
	file["shape"] = string(k.file)
	f.sizesInto(file, k.sizes, func(name string) string { return k.key + "." + name })
	if k.heads {
		f.headsInto(file, k.key)
	}
	delete(file, "wall_mm")
	if v, ok := f.length("wall_mm", false); ok && k.wall && v != 0 {
		file["wall_mm"] = v
	}
}

func (f *typed) headsInto(file map[string]any, key string) {
	heads := f.text(key + ".heads")
	if heads != keptHeads {
		delete(file, "heads")
		if heads != "" && heads != "flat" {
			file["heads"] = heads
		}
		if heads != "torispherical" {
			delete(file, "crown_mm")
			delete(file, "knuckle_mm")
		}
	}
	over, straight := f.text(key+".overall_length_mm"), f.text(key+".length_mm")
	switch {
	case over == "" && straight == "":
		f.blame(key+".overall_length_mm", "it has to be measured, over both heads or the straight part alone")
	case over != "" && straight != "":
		f.blame(key+".length_mm", "both lengths are there; keep the one that was measured and leave the other blank")
	}
}

// blameShape puts what a shape was refused for to its fields.
func (f *typed) blameShape(err error, key string) {
	var list strict.FileErrors
	var one *strict.FileError
	switch {
	case errors.As(err, &list):
	case errors.As(err, &one):
		list = strict.FileErrors{one}
	default:
		f.blameAll(err.Error())
		return
	}
	for _, e := range list {
		told := *e
		told.Msg = tapeWords.Replace(e.Msg)
		f.blameProblem(&told, func(path []string) string { return f.shapePlace(path, key) })
	}
}

// shapePlace names the field of a place within a tank file; "" where it has none.
func (f *typed) shapePlace(path []string, key string) string {
	if len(path) == 0 || path[0] == "" {
		return ""
	}
	switch path[0] {
	case "sensor":
		if len(path) > 1 && path[1] != "axis" {
			return "sensor." + path[1]
		}
		return "sensor.x_mm"
	case "sender":
		if len(path) > 1 && path[1] != "known_point" {
			return senderName(f.text("on.kind"), path[1])
		}
		return "on.kind"
	case "wall_mm", "turn_deg", "heel_l", "permitted_fill_pct":
		return path[0]
	case "heel_mm":
		return "heel_l"
	case "capacity_l":
		return "water_capacity_l"
	case "heads":
		return key + ".heads"
	}
	if k, ok := kindOf(key); ok {
		for _, s := range k.sizes {
			if s.name == path[0] {
				return key + "." + s.name
			}
		}
	}
	return ""
}

// tankPlace names the field of a place within a job's tank; "" where the page has
// none.
func (f *typed) tankPlace(path []string) string {
	if len(path) == 0 {
		return ""
	}
	switch path[0] {
	case "name", "contents", "water_capacity_l", "permitted_fill_pct", "heel_l":
		return path[0]
	case "wire":
		if len(path) == 1 || path[1] == "area_mm2" || path[1] == "awg" {
			return "wire.size"
		}
		return "wire." + path[1]
	case "sender":
		if len(path) > 2 && path[1] == "claimed" {
			return f.claimPlace(path[2])
		}
		if len(path) == 2 && (path[1] == "type" || path[1] == "batch" || path[1] == "serial") {
			return "sender." + path[1]
		}
		return "sender.description"
	case "shape":
		return f.shapePlace(path[1:], f.text("shape"))
	}
	return ""
}

// claimPlace names the field of the nth claim that was typed.
func (f *typed) claimPlace(text string) string {
	n, err := strconv.Atoi(text)
	for i, row := range f.rows("claimed") {
		if strings.TrimSpace(row) == "" {
			continue
		}
		if n--; n < 0 && err == nil {
			return claimName(i)
		}
	}
	return ""
}
