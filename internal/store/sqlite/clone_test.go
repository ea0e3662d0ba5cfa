package sqlite

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/store/storetest"
)

// TestCloneReaches walks through all that a job may hold. A copy shares what is
// in fields that can't be reached from outside; but for what a tank keeps of its
// shape, which is guarded by a lock and the same for all copies, nothing that
// can be changed may stand in one.
func TestCloneReaches(t *testing.T) {
	seen := map[reflect.Type]bool{}
	var walk func(reflect.Type, string, bool)
	walk = func(of reflect.Type, path string, hidden bool) {
		switch of.Kind() {
		case reflect.Pointer, reflect.Slice:
			if hidden {
				t.Errorf("%s is a %v that copies would share", path, of)
			}
			walk(of.Elem(), path, hidden)
		case reflect.Array:
			walk(of.Elem(), path, hidden)
		case reflect.Map, reflect.Interface, reflect.Func, reflect.Chan, reflect.UnsafePointer:
			t.Errorf("%s is a %v, which isn't copied", path, of)
		case reflect.Struct:
			if seen[of] {
				return
			}
			seen[of] = true
			for f := range of.NumField() {
				field := of.Field(f)
				if of == reflect.TypeFor[job.Tank]() && field.Name == "kept" {
					continue
				}
				walk(field.Type, path+"."+field.Name, hidden || !field.IsExported())
			}
		}
	}
	walk(reflect.TypeFor[job.Job](), "Job", false)
	if len(seen) < 15 {
		t.Errorf("only %d types were seen", len(seen))
	}
}

// TestClone fills a job with something in every field and looks for anything
// that the copy shares with it.
func TestClone(t *testing.T) {
	var j job.Job
	fill(reflect.ValueOf(&j).Elem(), 0)
	c := clone(&j)
	if !reflect.DeepEqual(&j, c) {
		t.Fatalf("the copy is %+v; want %+v", c, j)
	}
	n := 0
	apart(t, reflect.ValueOf(&j).Elem(), reflect.ValueOf(c).Elem(), "Job", &n)
	if n < 50 {
		t.Errorf("only %d pointers and lists were held against each other", n)
	}
	empty := clone(&job.Job{Tanks: []job.Tank{}})
	if empty.Tanks == nil || empty.Units != nil {
		t.Errorf("%+v; want an empty list and no units", empty)
	}
}

func fill(v reflect.Value, depth int) {
	switch v.Kind() {
	case reflect.Pointer:
		if depth < 12 {
			v.Set(reflect.New(v.Type().Elem()))
			fill(v.Elem(), depth+1)
		}
	case reflect.Slice:
		if depth < 12 {
			v.Set(reflect.MakeSlice(v.Type(), 2, 2))
			fill(v.Index(0), depth+1)
			fill(v.Index(1), depth+1)
		}
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), depth+1)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Field(i).CanSet() {
				fill(v.Field(i), depth+1)
			}
		}
	case reflect.String:
		v.SetString("x")
	case reflect.Float64:
		v.SetFloat(1.5)
	}
}

func apart(t *testing.T, a, b reflect.Value, path string, n *int) {
	switch a.Kind() {
	case reflect.Pointer, reflect.Slice:
		if a.IsNil() {
			return
		}
		if *n++; a.Pointer() == b.Pointer() {
			t.Errorf("%s is shared", path)
		}
		if a.Kind() == reflect.Pointer {
			apart(t, a.Elem(), b.Elem(), path, n)
			return
		}
		for i := range a.Len() {
			apart(t, a.Index(i), b.Index(i), fmt.Sprintf("%s[%d]", path, i), n)
		}
	case reflect.Array:
		for i := range a.Len() {
			apart(t, a.Index(i), b.Index(i), fmt.Sprintf("%s[%d]", path, i), n)
		}
	case reflect.Struct:
		for i := range a.NumField() {
			if a.Type().Field(i).IsExported() {
				apart(t, a.Field(i), b.Field(i), path+"."+a.Type().Field(i).Name, n)
			}
		}
	}
}

func TestMemory(t *testing.T) {
	var m memory
	j := storetest.Sample(t)
	for i := range 3 * remembered {
		id := job.ID(fmt.Sprint(i))
		m.add(id, "text", j)
		if m.find("0", "text") != j { // asked for again and again
			t.Fatalf("the job in use was forgotten after %d", i)
		}
		if m.find(id, "text") != j || m.find(id, "other text") != nil || m.find("none", "text") != nil {
			t.Fatalf("after %d", i)
		}
	}
	if len(m.jobs) != remembered || m.find("1", "text") != nil {
		t.Errorf("%d are remembered; want %d", len(m.jobs), remembered)
	}
}

func TestPack(t *testing.T) {
	for _, text := range []string{"", "x", strings.Repeat("a job file\n", 5000)} {
		for range 3 { // with the same packer
			packed, err := pack([]byte(text))
			if err != nil {
				t.Fatal(err)
			}
			r, err := gzip.NewReader(bytes.NewReader(packed))
			if err != nil {
				t.Fatal(err)
			}
			if got, err := io.ReadAll(r); err != nil || string(got) != text {
				t.Errorf("%d bytes came back as %d, %v", len(text), len(got), err)
			}
		}
	}
}
