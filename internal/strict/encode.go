package strict

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Encode gives a value as a file of a form: UTF-8, LF, fields in the order of
// the type, numbers in the fewest digits that read back as the same value. What
// Read would refuse is refused with what is wrong with it; the name, such as
// "job 7", is for messages.
func Encode[T any](f *Form, name string, value *T, rules func(*T) []Problem) ([]byte, error) {
	if path := notUTF8(reflect.ValueOf(*value), nil); path != nil {
		return nil, &FileError{Name: name, Path: Pointer(path), Msg: "text that is not UTF-8"}
	}
	compact, err := marshal(value)
	if err != nil {
		return nil, &FileError{Name: name, Msg: fmt.Sprintf("can't be written: %v", err), Cause: err}
	}
	tooLarge := &FileError{Name: name, Msg: fmt.Sprintf("comes to more than %d MiB; %s", f.MaxBytes>>20, f.TooLarge)}
	if len(compact) > f.MaxBytes {
		return nil, tooLarge
	}
	asRead, problems, err := judge(f, compact, rules)
	if err != nil {
		return nil, &FileError{Name: name, Msg: err.Error(), Cause: err}
	}
	if len(problems) > 0 {
		return nil, f.Report(name, nil, problems)
	}
	// What is written is what will be read, in which -0 has become 0.
	if compact, err = marshal(asRead); err != nil {
		return nil, &FileError{Name: name, Msg: fmt.Sprintf("can't be written: %v", err), Cause: err}
	}
	text := layout(compact)
	if len(text) > f.MaxBytes {
		return nil, tooLarge
	}
	return text, nil
}

// marshal writes compact JSON without the escapes that only HTML needs.
func marshal(value any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(value)
	return b.Bytes(), err
}

// notUTF8 finds text that the encoder would change without a word.
func notUTF8(v reflect.Value, path []string) []string {
	switch v.Kind() {
	case reflect.String:
		if !utf8.ValidString(v.String()) {
			return path
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return notUTF8(v.Elem(), path)
		}
	case reflect.Slice:
		for i := range v.Len() {
			if found := notUTF8(v.Index(i), append(path, strconv.Itoa(i))); found != nil {
				return found
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			within := path
			field := v.Type().Field(i)
			name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
			if name == "-" || !field.IsExported() && !field.Anonymous {
				continue // the encoder passes it over as well
			}
			if !field.Anonymous {
				within = append(path, name)
			}
			if found := notUTF8(v.Field(i), within); found != nil {
				return found
			}
		}
	}
	return nil
}

// lineWidth is how long an object may be to stand on one line.
const lineWidth = 100

// layout sets compact JSON out for people: two blanks for each level, and a
// list of plain values, such as a point, or an object of plain values and such
// lists, such as a reading, on one line where it fits.
func layout(compact []byte) []byte {
	var wide bytes.Buffer
	if err := json.Indent(&wide, compact, "", "  "); err != nil {
		panic("strict: the encoder's own text is not JSON: " + err.Error())
	}
	lines := bytes.Split(bytes.TrimSpace(wide.Bytes()), []byte("\n"))
	lines = join(lines, '[', "")
	lines = join(lines, '{', " ")
	return append(bytes.Join(lines, []byte("\n")), '\n')
}

// join puts on one line whatever begins with a bracket, has nothing in it that
// takes several lines, and fits; but the whole file. The pad stands next to the
// brackets.
func join(lines [][]byte, bracket byte, pad string) [][]byte {
	out := make([][]byte, 0, len(lines))
	for i := 0; i < len(lines); i++ {
		if joined, skip := oneLine(lines[i:], bracket, pad); skip > 0 && i > 0 {
			out = append(out, joined)
			i += skip
		} else {
			out = append(out, lines[i])
		}
	}
	return out
}

// oneLine joins the lines from the bracket that ends the first of them to the
// one that closes it. It gives how many lines went into the first, 0 where it
// doesn't fit.
func oneLine(lines [][]byte, bracket byte, pad string) (joined []byte, skip int) {
	if lines[0][len(lines[0])-1] != bracket {
		return nil, 0
	}
	joined = append(joined, lines[0]...)
	for i, line := range lines[1:] {
		text := bytes.TrimLeft(line, " ")
		if closes := text[0] == '}' || text[0] == ']'; i == 0 || closes {
			joined = append(append(joined, pad...), text...)
			if closes {
				return joined, i + 1
			}
		} else {
			joined = append(append(joined, ' '), text...)
		}
		if len(joined) > lineWidth || opens(text) {
			return nil, 0
		}
	}
	return nil, 0
}

// opens says whether an indented line ends with the start of an object or a
// list; a text ends with a quote or a comma.
func opens(line []byte) bool {
	end := line[len(line)-1]
	return end == '{' || end == '['
}
