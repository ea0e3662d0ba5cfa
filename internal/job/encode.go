package job

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Encode gives the job as a file: UTF-8, LF, fields in the order of the types,
// numbers in the fewest digits that read back as the same value. A job that
// Read would refuse is refused with what is wrong with it; its version is
// always written as [Version].
func (j *Job) Encode() ([]byte, error) {
	name := strings.TrimSpace("job " + clip(j.Number))
	if j.Version != 0 && j.Version != Version {
		return nil, &FileError{Name: name, Path: "/version", Msg: fmt.Sprintf("found %d; this program writes version %d", j.Version, Version)}
	}
	if path := notUTF8(reflect.ValueOf(*j), nil); path != nil {
		return nil, &FileError{Name: name, Path: pointer(path), Msg: "text that is not UTF-8"}
	}
	whole := *j
	whole.Version = Version
	whole.Tanks = append([]Tank{}, j.Tanks...)
	for i := range whole.Tanks {
		// A list that is nil is an empty list in the file and never null.
		if t := &whole.Tanks[i]; t.Bench.Readings == nil {
			t.Bench.Readings = []Reading{}
		}
	}
	compact, err := marshal(&whole)
	if err != nil {
		return nil, &FileError{Name: name, Msg: fmt.Sprintf("can't be written: %v", err), cause: err}
	}
	tooLong := &FileError{Name: name, Msg: fmt.Sprintf("comes to more than %d MiB; divide it into several jobs", MaxBytes>>20)}
	if len(compact) > MaxBytes {
		return nil, tooLong
	}
	asRead, problems, err := judge(compact)
	if err != nil {
		return nil, &FileError{Name: name, Msg: err.Error(), cause: err}
	}
	if len(problems) > 0 {
		return nil, report(name, nil, problems)
	}
	// What is written is what will be read, in which -0 has become 0.
	if compact, err = marshal(asRead); err != nil {
		return nil, &FileError{Name: name, Msg: fmt.Sprintf("can't be written: %v", err), cause: err}
	}
	text := layout(compact)
	if len(text) > MaxBytes {
		return nil, tooLong
	}
	return text, nil
}

// marshal writes compact JSON without the escapes that only HTML needs.
func marshal(j *Job) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(j)
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
			name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
			if found := notUTF8(v.Field(i), append(path, name)); found != nil {
				return found
			}
		}
	}
	return nil
}

// lineWidth is how long an object may be to stand on one line.
const lineWidth = 100

// layout sets compact JSON out for people: two blanks for each level, and an
// object of plain values, such as a reading, on one line where it fits.
func layout(compact []byte) []byte {
	var wide bytes.Buffer
	if err := json.Indent(&wide, compact, "", "  "); err != nil {
		panic("job: the encoder's own text is not JSON: " + err.Error())
	}
	lines := bytes.Split(bytes.TrimSpace(wide.Bytes()), []byte("\n"))
	var out bytes.Buffer
	for i := 0; i < len(lines); i++ {
		if joined, skip := oneLine(lines[i:]); skip > 0 && i > 0 {
			out.Write(joined)
			i += skip
		} else {
			out.Write(lines[i])
		}
		out.WriteByte('\n')
	}
	return out.Bytes()
}

// oneLine joins the lines of an object that starts on the first of them and
// has no object or list in it. It gives how many lines went into the first, 0
// where it doesn't fit.
func oneLine(lines [][]byte) (joined []byte, skip int) {
	if !bytes.HasSuffix(lines[0], []byte("{")) {
		return nil, 0
	}
	joined = append(joined, lines[0]...)
	for i, line := range lines[1:] {
		text := bytes.TrimLeft(line, " ")
		joined = append(append(joined, ' '), text...)
		if text[0] == '}' {
			return joined, i + 1
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

// Checksum gives the SHA-256 of a job file's bytes in hexadecimal, for a
// record to say which file it was made from.
func Checksum(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
