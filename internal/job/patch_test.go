package job

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/peer"
)

// trees draws plain values of JSON with names that a pointer has to escape.
func trees(depth int) *rapid.Generator[any] {
	name := rapid.SampledFrom([]string{"a", "b", "c", "", "~", "/", "~1", "0", "é"})
	leaves := []*rapid.Generator[any]{
		rapid.Just[any](nil), rapid.Bool().AsAny(), rapid.SampledFrom([]string{"", "x", "a/b~c", "<&>", "\u2028"}).AsAny(),
		rapid.Float64Range(-1e6, 1e6).AsAny(), rapid.SampledFrom([]float64{0, 1, 2, 1e-7, 1e22}).AsAny(),
	}
	if depth == 0 {
		return rapid.OneOf(leaves...)
	}
	below := rapid.Deferred(func() *rapid.Generator[any] { return trees(depth - 1) })
	return rapid.OneOf(append(leaves, rapid.SliceOfN(below, 0, 5).AsAny(), rapid.MapOfN(name, below, 0, 4).AsAny())...)
}

// edited draws a tree that differs from another here and there.
func edited(t *rapid.T, v any) any {
	if rapid.IntRange(0, 9).Draw(t, "other") == 0 {
		return trees(2).Draw(t, "tree")
	}
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for _, name := range members(v, nil) {
			if rapid.IntRange(0, 5).Draw(t, "drop") > 0 {
				out[name] = edited(t, v[name])
			}
		}
		return out
	case []any:
		out := []any{}
		for _, e := range v {
			if rapid.IntRange(0, 5).Draw(t, "drop") > 0 {
				out = append(out, edited(t, e))
			}
			if rapid.IntRange(0, 9).Draw(t, "more") == 0 {
				out = append(out, trees(1).Draw(t, "entry"))
			}
		}
		return out
	}
	return v
}

func cloned(t interface{ Fatal(...any) }, v any) (out any) {
	text, err := plainJSON(v)
	if err == nil {
		err = json.Unmarshal(text, &out)
	}
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The law of it: what the operations make of the one tree is the other.
func TestPatchMakesTheOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := trees(3).Draw(t, "from")
		to := edited(t, from)
		ops, err := patch(from, to)
		if err != nil {
			t.Fatal(err)
		}
		if equal(from, to) != (len(ops) == 0) {
			t.Fatalf("%d operations", len(ops))
		}
		got, err := apply(cloned(t, from), ops)
		if err != nil || !equal(got, to) {
			t.Fatalf("%v gives %v, %v; expected %v", ops, got, err, to)
		}
	})
}

// Debian's python3-jsonpatch does the same operations to the same effect.
func TestPatchAgainstPython(t *testing.T) {
	type pair struct{ From, To, Patch any }
	var in []pair
	gen := rapid.Custom(func(t *rapid.T) pair {
		from := trees(3).Draw(t, "from")
		return pair{From: from, To: edited(t, from)}
	})
	for i := range 400 {
		p := gen.Example(i)
		ops, err := patch(p.From, p.To)
		if err != nil {
			t.Fatal(err)
		}
		p.Patch = ops
		if ops == nil {
			p.Patch = []Operation{}
		}
		in = append(in, p)
	}
	var wrong []string
	peer.Python(t, []string{"jsonpatch"}, `
import json, sys, jsonpatch
wrong = []
for p in json.load(sys.stdin):
    got = jsonpatch.apply_patch(p["From"], p["Patch"])
    if got != p["To"]: wrong.append(json.dumps([p, got]))
print(json.dumps(wrong))
`, in, &wrong)
	for _, w := range wrong {
		t.Error(w)
	}
}

// And the undo of the sample's own history, with the sums by its own reckoning.
func TestUndoAgainstPython(t *testing.T) {
	j, data := sampleV2(t)
	var file any
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	var got struct{ Sums, Vehicles []string }
	peer.Python(t, []string{"jsonpatch"}, `
import json, sys, hashlib, jsonpatch
file = json.load(sys.stdin)
history = file.pop("history"); file.pop("signature"); file.pop("version")
sums, vehicles = [], []
for r in reversed(history):
    if not r["was"]: break
    file = jsonpatch.apply_patch(file, r["undo"])
    text = json.dumps(file, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    sums.append(hashlib.sha256(text.encode()).hexdigest()); vehicles.append(file["vehicle"])
print(json.dumps({"Sums": sums, "Vehicles": vehicles}))
`, file, &got)
	if len(got.Sums) != len(j.History)-1 || len(got.Sums) < 2 {
		t.Fatalf("%d sums of %d revisions", len(got.Sums), len(j.History))
	}
	for i, sum := range got.Sums {
		n := len(j.History) - 1 - i
		at, err := j.At(n)
		if err != nil {
			t.Fatal(err)
		}
		if sum != j.History[n].Was || got.Vehicles[i] != at.Vehicle {
			t.Errorf("revision %d: Python has %s and %q, expected %s and %q", n, sum, got.Vehicles[i], j.History[n].Was, at.Vehicle)
		}
	}
}

// Source: RFC 6902, appendix A, the examples of add, remove and replace, from
// memory.
func TestOperationsOfTheStandard(t *testing.T) {
	for _, c := range []struct{ name, doc, patch, want string }{
		{"A.1", `{"foo":"bar"}`, `[{"op":"add","path":"/baz","value":"qux"}]`, `{"baz":"qux","foo":"bar"}`},
		{"A.2", `{"foo":["bar","baz"]}`, `[{"op":"add","path":"/foo/1","value":"qux"}]`, `{"foo":["bar","qux","baz"]}`},
		{"A.3", `{"baz":"qux","foo":"bar"}`, `[{"op":"remove","path":"/baz"}]`, `{"foo":"bar"}`},
		{"A.4", `{"foo":["bar","qux","baz"]}`, `[{"op":"remove","path":"/foo/1"}]`, `{"foo":["bar","baz"]}`},
		{"A.5", `{"baz":"qux","foo":"bar"}`, `[{"op":"replace","path":"/baz","value":"boo"}]`, `{"baz":"boo","foo":"bar"}`},
		{"A.10", `{"foo":"bar"}`, `[{"op":"add","path":"/child","value":{"grandchild":{}}}]`, `{"foo":"bar","child":{"grandchild":{}}}`},
		{"A.12", `{"foo":"bar"}`, `[{"op":"add","path":"/baz/bat","value":"qux"}]`, `error`},
		{"A.16", `{"foo":["bar"]}`, `[{"op":"add","path":"/foo/-","value":["abc","def"]}]`, `{"foo":["bar",["abc","def"]]}`},
		{"whole", `{"foo":["bar"]}`, `[{"op":"replace","path":"","value":[1]}]`, `[1]`},
		{"escapes", `{"/":9,"~1":10}`, `[{"op":"replace","path":"/~01","value":11},{"op":"remove","path":"/~1"}]`, `{"~1":11}`},
		{"add replaces a member", `{"a":1}`, `[{"op":"add","path":"/a","value":null}]`, `{"a":null}`},
		{"no such member", `{}`, `[{"op":"replace","path":"/a","value":1}]`, `error`},
		{"nothing to remove", `{}`, `[{"op":"remove","path":"/a"}]`, `error`},
		{"beyond the list", `[1]`, `[{"op":"add","path":"/2","value":1}]`, `error`},
		{"at the list's end", `[1]`, `[{"op":"add","path":"/1","value":2}]`, `[1,2]`},
		{"after the last", `[1]`, `[{"op":"replace","path":"/-","value":2}]`, `error`},
		{"zeros before", `[1,2]`, `[{"op":"remove","path":"/01"}]`, `error`},
		{"below zero", `[1,2]`, `[{"op":"remove","path":"/-1"}]`, `error`},
		{"no slash", `{"a":1}`, `[{"op":"remove","path":"a"}]`, `error`},
		{"below a number", `{"a":1}`, `[{"op":"add","path":"/a/b","value":1}]`, `error`},
		{"the whole away", `{"a":1}`, `[{"op":"remove","path":""}]`, `error`},
		{"another operation", `{"a":1}`, `[{"op":"test","path":"/a","value":1}]`, `error`},
	} {
		var doc any
		var ops []Operation
		if err := json.Unmarshal([]byte(c.doc), &doc); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(c.patch), &ops); err != nil {
			t.Fatal(err)
		}
		got, err := apply(doc, ops)
		if c.want == "error" {
			if err == nil || !strings.HasPrefix(err.Error(), fmt.Sprintf("operation %d, ", len(ops))) {
				t.Errorf("%s: %v, %v", c.name, got, err)
			}
			continue
		}
		if text, err2 := plainJSON(got); err != nil || err2 != nil || !equal(got, cloned(t, json.RawMessage(c.want))) {
			t.Errorf("%s: %s, %v", c.name, text, err)
		}
	}
}

func TestEqual(t *testing.T) {
	for _, pair := range [][2]any{{nil, false}, {1.0, "1"}, {[]any{}, map[string]any{}}, {1.0, []any{}}, {map[string]any{"a": nil}, map[string]any{"b": nil}}, {math.Pi, 3.0}} {
		if equal(pair[0], pair[1]) || equal(pair[1], pair[0]) {
			t.Errorf("%v and %v", pair[0], pair[1])
		}
	}
}
