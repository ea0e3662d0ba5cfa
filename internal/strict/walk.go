package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// errStop ends a walk after a problem that makes the rest not worth reading.
var errStop = errors.New("stop")

// walker reads JSON token by token, which the standard library's decoder of
// whole values can't replace: that takes the last of two fields of one name,
// and puts U+FFFD for half a surrogate pair, both without a word (RFC 8259,
// sections 4 and 8.2, leave both to the reader).
type walker struct {
	form     *Form
	text     []byte
	decoder  *json.Decoder
	path     []string
	problems []Problem
	// visit is told where each key (-1 for an entry of a list) and each value
	// starts.
	visit func(path []string, key, value int)
}

// walk gives the value in a text that is known to be valid JSON, as the schema
// checker takes it: map[string]any, []any, string, float64, bool, nil.
func (f *Form) walk(text []byte, visit func(path []string, key, value int)) (any, []Problem) {
	w := &walker{form: f, text: text, decoder: json.NewDecoder(bytes.NewReader(text)), visit: visit}
	w.decoder.UseNumber()
	v, err := w.value(-1)
	if err != nil && !errors.Is(err, errStop) {
		w.complain("", "not readable as JSON: %v", err)
	}
	return v, w.problems
}

// next gives the offset of the token that comes next.
func (w *walker) next() int {
	at := int(w.decoder.InputOffset())
	for at < len(w.text) && strings.IndexByte(" \t\r\n,:", w.text[at]) >= 0 {
		at++
	}
	return at
}

func (w *walker) complain(key, format string, args ...any) {
	w.problems = append(w.problems, Problem{Path: append([]string(nil), w.path...), Key: key, Msg: fmt.Sprintf(format, args...)})
}

func (w *walker) value(key int) (any, error) {
	start := w.next()
	if w.visit != nil {
		w.visit(w.path, key, start)
	}
	token, err := w.decoder.Token()
	if err != nil {
		return nil, err
	}
	switch t := token.(type) {
	case json.Delim:
		if len(w.path) >= w.form.MaxDepth {
			w.complain("", "nested more than %d deep; a %s is not", w.form.MaxDepth, w.form.File)
			return nil, errStop
		}
		if t == '{' {
			return w.object()
		}
		return w.list()
	case json.Number:
		v, err := t.Float64()
		if err != nil {
			w.complain("", "%s is too large a number", Clip(t.String()))
		}
		return v + 0, nil // -0 + 0 is 0
	case string:
		w.checkPairs("", w.text[start:w.decoder.InputOffset()])
		return t, nil
	}
	return token, nil
}

func (w *walker) object() (any, error) {
	fields := map[string]any{}
	for w.decoder.More() {
		start := w.next()
		token, err := w.decoder.Token()
		if err != nil {
			return nil, err
		}
		name, _ := token.(string)
		w.checkPairs(name, w.text[start:w.decoder.InputOffset()])
		if len(fields) == w.form.MaxFields {
			w.complain("", "an object of more than %d fields; a %s has none so large", w.form.MaxFields, w.form.File)
			return nil, errStop
		}
		if _, twice := fields[name]; twice {
			w.complain(name, "field %s stands twice; delete one of the two", Quoted(name))
		}
		w.path = append(w.path, name)
		fields[name], err = w.value(start)
		w.path = w.path[:len(w.path)-1]
		if err != nil {
			return nil, err
		}
	}
	_, err := w.decoder.Token()
	return fields, err
}

func (w *walker) list() (any, error) {
	entries := []any{}
	for w.decoder.More() {
		if len(entries) == w.form.MaxEntries {
			w.complain("", "a list of more than %d entries; a %s has none so long", w.form.MaxEntries, w.form.File)
			return nil, errStop
		}
		w.path = append(w.path, strconv.Itoa(len(entries)))
		v, err := w.value(-1)
		w.path = w.path[:len(w.path)-1]
		if err != nil {
			return nil, err
		}
		entries = append(entries, v)
	}
	_, err := w.decoder.Token()
	return entries, err
}

// checkPairs refuses \u escapes that are half of a surrogate pair: they stand
// for no character.
func (w *walker) checkPairs(key string, raw []byte) {
	for i := 0; i < len(raw); i++ {
		if raw[i] != '\\' {
			continue
		}
		i++ // now on the letter of the escape
		half, ok := surrogate(raw, i)
		if !ok {
			continue
		}
		if low, ok := surrogate(raw, i+6); half < 0xDC00 && ok && raw[i+5] == '\\' && low >= 0xDC00 {
			i += 10
			continue
		}
		w.complain(key, `\%s is half of a surrogate pair and stands for no character; write the character itself`, raw[i:i+5])
		return
	}
}

// surrogate reads "uD83D" at offset i of a string token and says whether it is
// one half of a surrogate pair.
func surrogate(raw []byte, i int) (rune, bool) {
	if i+5 > len(raw) || raw[i] != 'u' {
		return 0, false
	}
	v, err := strconv.ParseUint(string(raw[i+1:i+5]), 16, 16)
	return rune(v), err == nil && v >= 0xD800 && v <= 0xDFFF
}

// locate finds where problems stand in a text of valid JSON. Of two fields of
// one name the second is given.
func (f *Form) locate(text []byte, problems []Problem) map[string]int {
	places := map[string]int{}
	if text == nil {
		return places
	}
	wanted := map[string]bool{}
	keys := map[string]bool{} // names of the keys that are wanted somewhere
	for _, p := range problems {
		wanted[p.address()] = true
		keys[p.Key] = true
	}
	f.walk(text, func(path []string, key, value int) {
		if at := Pointer(path); wanted[at] {
			places[at] = value
		}
		if n := len(path) - 1; key >= 0 && keys[path[n]] {
			if at := (Problem{Path: path[:n], Key: path[n]}).address(); wanted[at] {
				places[at] = key
			}
		}
	})
	return places
}
