package tankfile

import (
	"bytes"
	"errors"
	"io"
	"os"
	"strings"
	"testing"

	"gaugewright/internal/strict"
)

// FuzzRead: nothing makes Read panic; an error has a place and one line; and
// what is read can be written, read again and built.
func FuzzRead(f *testing.F) {
	for _, path := range examples(f) {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, c := range bad {
		f.Add([]byte(`{"version":1,` + c.fields + `}`))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := Read(bytes.NewReader(data), "f")
		if err != nil {
			var list strict.FileErrors
			var one *FileError
			if !errors.As(err, &list) && errors.As(err, &one) {
				list = strict.FileErrors{one}
			}
			if len(list) == 0 {
				t.Fatalf("a %T", err)
			}
			for _, e := range list {
				if strings.ContainsAny(e.Error(), "\n\r\x00") || e.Msg == "" {
					t.Errorf("not one line: %q", e.Error())
				}
			}
			return
		}
		text, err := file.Encode()
		if err != nil {
			t.Fatalf("read and can't be written: %v", err)
		}
		back, err := Read(bytes.NewReader(text), "f")
		if err != nil {
			t.Fatalf("written and can't be read: %v\n%s", err, text)
		}
		again, err := back.Encode()
		if err != nil || !bytes.Equal(again, text) {
			t.Fatalf("written again it is another text (%v):\n%s\n%s", err, text, again)
		}
		made, _, err := file.Tank(func(string) (io.ReadCloser, error) {
			return io.NopCloser(strings.NewReader("height_mm,volume_l\n0,0\n100,50\n")), nil
		})
		if err == nil && !(made.Capacity() > 0) {
			t.Errorf("a tank of %s", made.Capacity())
		}
	})
}

// FuzzRows: nothing makes the reader of CSV tables panic, and an error begins
// with its place.
func FuzzRows(f *testing.F) {
	for _, text := range []string{"", "height_mm,volume_l\n0,0\n50,10\n", "\ufeffvolume_l, height_mm ,x\n0,0\n10,50,\n", "height_mm,volume_l\n0,\"\n", "a;b"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, lines, err := readRows(bytes.NewReader(data))
		if err != nil {
			if !strings.HasPrefix(err.Error(), ":") || len(err.Error()) < 4 {
				t.Errorf("found %q", err)
			}
			return
		}
		if len(rows) != len(lines) || len(rows) < 2 {
			t.Errorf("%d rows on %d lines", len(rows), len(lines))
		}
	})
}
