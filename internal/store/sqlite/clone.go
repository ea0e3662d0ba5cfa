package sqlite

import (
	"reflect"

	"gaugewright/internal/job"
)

// clone gives a copy of a job that shares nothing with it that can be changed.
// What a job keeps for itself, in fields that can't be reached from here, is
// shared: it is made for that.
func clone(j *job.Job) *job.Job {
	out := reflect.New(reflect.TypeFor[job.Job]()).Elem()
	out.Set(reflect.ValueOf(j).Elem())
	own(out)
	return out.Addr().Interface().(*job.Job)
}

// own gives a value, which is a copy so far, its own of all that it points to.
func own(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			p := reflect.New(v.Type().Elem())
			p.Elem().Set(v.Elem())
			own(p.Elem())
			v.Set(p)
		}
	case reflect.Slice:
		if !v.IsNil() {
			s := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
			reflect.Copy(s, v)
			v.Set(s)
			ownEach(v.Len(), v.Index)
		}
	case reflect.Array:
		ownEach(v.Len(), v.Index)
	case reflect.Struct:
		ownEach(v.NumField(), v.Field)
	case reflect.Map, reflect.Interface, reflect.Func, reflect.Chan, reflect.UnsafePointer:
		panic("sqlite: a job holds a " + v.Type().String() + ", which can't be copied here")
	}
}

func ownEach(n int, at func(int) reflect.Value) {
	for i := range n {
		if e := at(i); e.CanSet() {
			own(e)
		}
	}
}
