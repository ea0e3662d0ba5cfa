package archtest

import (
	"path"
	"slices"
	"strings"
	"testing"
)

// The plan is in order: no room reaches up, none is there twice.
func TestPlan(t *testing.T) {
	for _, f := range planFaults(house) {
		t.Error(f)
	}
}

// The source keeps to the plan, and every room of the plan is there.
func TestHouse(t *testing.T) {
	files := readTree(t)
	for _, f := range faults(house, standardNames(t), files) {
		t.Error(f)
	}
	there := make(map[string]bool)
	for _, f := range files {
		there[f.where()] = true
	}
	for _, r := range house {
		if !there[r.name] {
			t.Errorf("%s is in the table and not in the source; build it, or take it out", r.name)
		}
	}
}

// The binary has only the modules that are allowed, on every system that it is
// made for.
func TestModules(t *testing.T) {
	for _, system := range []string{"linux", "darwin", "windows"} {
		found := goList(t, []string{"GOOS=" + system, "CGO_ENABLED=0"}, "-deps",
			"-f", "{{with .Module}}{{if not .Main}}{{.Path}}{{end}}{{end}}", "./cmd/gaugewright")
		if len(found) == 0 {
			t.Errorf("%s: no module found in the binary; expected at least %s", system, kong)
		}
		for _, f := range moduleFaults(binaryModules, found) {
			t.Errorf("%s: %s", system, f)
		}
	}
}

// Each rule catches a made-up file that breaks it, and passes one that doesn't.
func TestRulesCatch(t *testing.T) {
	std := []string{"time", "math", "net", "cmd"}
	for _, c := range []struct {
		name, file, text string
		say              string // "" for a file without fault
	}{
		{"down", "internal/curve/a.go", `package curve; import ("math"; "gaugewright/internal/quantity"; "gonum.org/v1/gonum/mat")`, ""},
		{"up", "internal/curve/a.go", `package curve; import "gaugewright/internal/span"`, "curve may not import span; it may import: quantity, finding, wording, doubt"},
		{"sideways", "internal/chart/a.go", `package chart; import "gaugewright/internal/finding"`, "chart may not import finding"},
		{"below an allowed room", "internal/chart/a.go", `package chart; import "gaugewright/internal/quantity/roman"`, "not in the house"},
		{"a program", "internal/record/a.go", `package record; import "gaugewright/cmd/gaugewright"`, "a program; nothing may import it"},
		{"a program from a test", "internal/record/a_test.go", `package record; import "gaugewright/cmd/gaugewright"`, "a program; nothing may import it"},
		{"test support in a test", "internal/doubt/a_test.go", `package doubt; import ("gaugewright/internal/peer"; "gaugewright/internal/browser"; "gaugewright/internal/readings")`, ""},
		{"test support outside one", "internal/doubt/a.go", `package doubt; import "gaugewright/internal/peer"`, "only _test.go files may import it"},
		{"test support in the program", "cmd/gaugewright/a.go", `package main; import "gaugewright/internal/browser"`, "only _test.go files may import it"},
		{"a test reaching up", "internal/doubt/a_test.go", `package doubt; import "gaugewright/internal/job"`, "doubt may not import job"},
		{"a test from outside", "internal/doubt/a_test.go", `package doubt_test; import "gaugewright/internal/doubt"`, ""},
		{"the program", "cmd/gaugewright/a.go", `package main; import ("gaugewright/internal/record"; "gaugewright/internal/quantity"; "github.com/alecthomas/kong")`, ""},
		{"a new room", "internal/cellar/a.go", `package cellar`, "cellar is not in the house; add it to the table"},
		{"a room within a room", "internal/curve/cellar/a.go", `package cellar`, "curve/cellar is not in the house"},
		{"a package outside internal", "lib/a.go", `package lib`, "lib is not in the house"},
		{"a second program", "cmd/other/a.go", `package main`, "cmd/other is not in the house"},
		{"a module", "internal/quantity/a.go", `package quantity; import "gonum.org/v1/gonum/mat"`, "it may use these modules: none"},
		{"a module like another", "internal/doubt/a.go", `package doubt; import "gonum.org/v1/gonumplus"`, "may not import gonum.org/v1/gonumplus"},
		{"a module in a test", "internal/quantity/a_test.go", `package quantity; import "pgregory.net/rapid"`, ""},
		{"cgo", "internal/quantity/a.go", `package quantity; import "C"`, "C compiler"},
		{"cgo in a test", "internal/quantity/a_test.go", `package quantity; import "C"`, "C compiler"},
		{"an import for one system", "internal/curve/a_windows.go", "//go:build ignore\n\npackage curve; import \"gaugewright/internal/job\"", "curve may not import job"},
		{"a named import", "internal/curve/a.go", `package curve; import . "gaugewright/internal/job"`, "curve may not import job"},
		{"a name that says nothing", "internal/util/a.go", `package util`, "says nothing"},
		{"a package unlike its folder", "internal/quantity/a.go", `package helpers`, "says nothing"},
		{"a standard name", "internal/time/a.go", `package time`, "standard package"},
		{"the clock", "internal/curve/a.go", `package curve; import "time"; var now = time.Now()`, "time.Now reads the clock"},
		{"the clock under another name", "internal/curve/a.go", `package curve; import t "time"; var f = t.Since`, "time.Since reads the clock"},
		{"a date", "internal/curve/a.go", `package curve; import "time"; var d = time.Date`, ""},
		{"the clock in a test", "internal/curve/a_test.go", `package curve; import "time"; var now = time.Now()`, ""},
		{"the clock in the program", "cmd/gaugewright/a.go", `package main; import "time"; var now = time.Now()`, ""},
		{"another comment", "internal/curve/doc.go", "// Curves are nice.\npackage curve", `expected it to begin "Package curve"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := parse(c.file, []byte(c.text))
			if err != nil {
				t.Fatal(err)
			}
			files := []source{f}
			if f.doc == "" && !f.test() { // the comment is not what this one is about
				files = append(files, source{file: path.Dir(c.file) + "/doc.go", name: f.name, doc: "Package " + f.name + " is made up."})
			}
			plan := house
			if strings.Contains(c.say, "says nothing") || strings.Contains(c.say, "standard package") {
				plan = append(slices.Clone(house), room{name: f.where()})
			}
			got := faults(plan, std, files)
			switch {
			case c.say == "" && len(got) != 0:
				t.Errorf("found %q; expected nothing", got)
			case c.say != "" && (len(got) != 1 || !strings.Contains(got[0], c.say)):
				t.Errorf("found %q; expected one fault with %q", got, c.say)
			}
		})
	}
}

func TestNoComment(t *testing.T) {
	got := faults(house, nil, []source{{file: "internal/curve/a.go", name: "curve"}})
	if len(got) != 1 || !strings.Contains(got[0], "no comment") {
		t.Errorf("found %q; expected the missing package comment", got)
	}
}

func TestPlanCatches(t *testing.T) {
	for _, c := range []struct {
		plan []room
		say  string
	}{
		{[]room{{name: "a", may: rooms("b")}, {name: "b"}}, "a may import b, which is not above it"},
		{[]room{{name: "a", may: rooms("a")}}, "a may import a, which is not above it"},
		{[]room{{name: "a"}, {name: "a"}}, "twice"},
	} {
		if got := planFaults(c.plan); len(got) != 1 || !strings.Contains(got[0], c.say) {
			t.Errorf("found %q; expected %q", got, c.say)
		}
	}
}

func TestModulesCatch(t *testing.T) {
	got := moduleFaults(binaryModules, []string{kong, chromedp})
	if len(got) != 1 || !strings.Contains(got[0], "module "+chromedp) {
		t.Errorf("found %q; expected %s alone", got, chromedp)
	}
}
