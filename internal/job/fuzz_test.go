package job

import (
	"bytes"
	"errors"
	"math"
	"testing"
	"time"
)

// FuzzRead: nothing makes Read panic; an error has a place and one line; and
// what is read can be written, and is the same when read again.
func FuzzRead(f *testing.F) {
	_, data := sample(f)
	f.Add(data)
	_, v2 := sampleV2(f)
	f.Add(v2)
	f.Add([]byte(`{"version":2,"number":"1","tanks":[],"history":[{"words":"","was":"","undo":[]},{"words":"x","was":"","undo":[{"op":"add","path":"/note","value":{"a":[null]}}]}]}`))
	for _, text := range []string{"", "{}", `{"version":2}`, `{"version":1,"number":"\ud800","tanks":[]}`,
		tankOf(`"setting":{"readout":"table","scale":"fill","table":[{"ohm":0,"pct":1},{"ohm":1,"pct":1e-9}]},"permitted_fill_pct":80`),
		tankOf(`"bench":{"readings":[{"mark_pct":1,"volt":0.5}]},"setting":{"readout":"two-point","scale":"mark","step_value":0.01,"lower_value":0,"upper_value":5},"sender":{"claimed":[{"empty_value":0,"full_value":5}]}`),
		tankOf(`"bench":{"marks":"mark_mm","gives":"volt","empty_mark":0,"full_mark":300,"readings":[],"struck":[{"mark_mm":1,"volt":0.5,"reason":"","struck":"2025-11-03T10:42:00Z","at":7}]}`),
		twoPoint(`"scale":"mark"`), reading(`{"mark_pct":1,"ohm":5,"sweep":"up","time":"2025-11-03T10:42:00Z"}`),
		shaped("lpg", "mm", "300", `"permitted_fill_pct":80,"heel_l":2,"shape":{"shape":"sphere","diameter_mm":300},`, "usable"),
		tankOf(`"gas":{"propane":0.6,"butane":0.4,"by":"volume"},"temperature_c":-10,"water_capacity_l":54,"price_per_kg":2,"currency":"EUR",` +
			`"loads":[{"name":"a","kw":[1,2],"plate":"net","hours_per_day":[1,2]},{"preset":"gas lamp","hours_per_day":3}]`),
		tankOf(`"checks":[{"when":"as left","tolerance_pct":2,"readings":[{"mark_l":1,"shown_pct":5}]}]`)} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		j, err := Read(bytes.NewReader(data), "f")
		if err != nil {
			for _, e := range each(err) {
				if bytes.ContainsAny([]byte(e.Error()), "\n\r\x00") || e.Msg == "" {
					t.Errorf("not one line: %q", e.Error())
				}
			}
			return
		}
		text, err := j.Encode()
		if err != nil {
			t.Fatalf("read and can't be written: %v", err)
		}
		back, err := Read(bytes.NewReader(text), "f")
		if err != nil {
			t.Fatalf("written and can't be read: %v\n%s", err, text)
		}
		same(t, back, j)
		for n := j.First(); n <= len(j.History); n++ { // a history that doesn't fit says so
			if was, err := j.At(n); err == nil && was.Number == "" {
				t.Error("a job without a number")
			}
		}
		if list := Diff(j, back); len(list) > 0 {
			t.Errorf("the same job differs: %v", list)
		}
		Diff(&Job{Number: "1"}, j)
		for _, k := range j.Tanks { // whatever was read can be worked with
			if k.Next() == "" {
				t.Error("nothing to do next, and not done")
			}
			k.Cautions()
			if n := len(k.Bench.Strip()); n != len(k.Bench.Readings)+len(k.Bench.Struck) {
				t.Errorf("a strip of %d lines", n)
			}
			if l, err := k.AtLevel(0.5); err == nil {
				if o, err := k.Outlook(l, time.Time{}); err == nil && (math.IsNaN(o.Amount.Mass.Mid) || math.IsNaN(o.Lasting.Left.Low) || math.IsNaN(o.Ask.Kilograms)) {
					t.Errorf("not a number: %+v", o)
				}
			}
		}
	})
}

// each takes an error of Read apart.
func each(err error) []*FileError {
	var list FileErrors
	if errors.As(err, &list) {
		return list
	}
	var one *FileError
	errors.As(err, &one)
	return []*FileError{one}
}
