package job

import (
	"reflect"

	"gaugewright/internal/kin"
)

// ownFields are the fields of a job that hold a person's own words: names, notes
// and descriptions, which are never put into another language. Each field of text
// is either here or in the test beside.
var ownFields = map[string]bool{
	"Number": true, "Customer": true, "Vehicle": true, "Fitter": true, "Note": true, "Name": true, "By": true,
	"Meter": true, "Description": true, "Reason": true, "Currency": true, "Type": true, "Batch": true, "Serial": true,
}

// OwnWords gives every text in the job that a person wrote.
func (j *Job) OwnWords() []string {
	var out []string
	seen := map[string]bool{"": true}
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.Pointer:
			if !v.IsNil() {
				walk(v.Elem())
			}
		case reflect.Slice, reflect.Array:
			if k := v.Type().Elem().Kind(); k == reflect.Struct || k == reflect.Pointer {
				for i := range v.Len() {
					walk(v.Index(i))
				}
			}
		case reflect.Struct:
			t := v.Type()
			if t == reflect.TypeFor[Gas]() {
				return // by mass or by volume
			}
			if known, ok := v.Interface().(kin.Known); ok {
				for _, text := range known.OwnWords() {
					if !seen[text] {
						seen[text] = true
						out = append(out, text)
					}
				}
				return
			}
			for i := range t.NumField() {
				f := t.Field(i)
				if !f.IsExported() {
					continue
				}
				if f.Type.Kind() != reflect.String {
					walk(v.Field(i))
				} else if text := v.Field(i).String(); ownFields[f.Name] && !seen[text] {
					seen[text] = true
					out = append(out, text)
				}
			}
		}
	}
	walk(reflect.ValueOf(j))
	if j.Signature != nil {
		out = append(out, KeyMark(j.Signature.Key)) // its letters are no words
	}
	return out
}
