package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// event is one line of go test -json; see "go doc test2json". Lines about
// builds have ImportPath in place of Package.
type event struct {
	Action, Package, Test, Output, ImportPath, FailedBuild string
}

// run is one test of one package, or, with no test named, the package itself
// or a build.
type run struct {
	name  string
	pkg   string
	test  bool
	ended string // "pass", "fail" or "skip"; "" if its end was never told
	lines []string
}

// output is the last of what the run printed, indented.
func (r *run) output() string {
	const most = 60
	lines := r.lines
	var b strings.Builder
	if len(lines) > most {
		fmt.Fprintf(&b, "    (%d lines more)\n", len(lines)-most)
		lines = lines[len(lines)-most:]
	}
	for _, l := range lines {
		b.WriteString("    " + strings.TrimRight(l, "\n") + "\n")
	}
	return b.String()
}

// report is everything that go test told.
type report struct {
	runs  []*run
	byKey map[string]*run
}

func read(in io.Reader) (*report, error) {
	r := &report{byKey: make(map[string]*run)}
	lines := bufio.NewReader(in)
	for {
		line, err := lines.ReadBytes('\n')
		if len(bytes.TrimSpace(line)) > 0 {
			r.add(line)
		}
		if err == io.EOF {
			return r, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

func (r *report) add(line []byte) {
	var e event
	if json.Unmarshal(line, &e) != nil || e.Action == "" {
		// The go command says some things in plain text.
		e = event{Action: "build-output", ImportPath: "go test", Output: string(line)}
	}
	key, name := e.Package+" "+e.Test, e.Package
	switch {
	case e.ImportPath != "":
		key, name = "build "+e.ImportPath, e.ImportPath
	case e.Test != "":
		name = e.Package + " " + e.Test
	}
	x := r.byKey[key]
	if x == nil {
		x = &run{name: name, pkg: e.Package, test: e.Test != ""}
		r.byKey[key] = x
		r.runs = append(r.runs, x)
	}
	switch e.Action {
	case "output", "build-output":
		if !strings.HasPrefix(e.Output, "=== ") {
			x.lines = append(x.lines, e.Output)
		}
	case "pass", "fail", "skip":
		x.ended = e.Action
	case "build-fail":
		x.ended = "fail"
	}
}

// bad tells whether a test failed; one whose end was never told, because the
// program ended first, counts as failed.
func (r *run) bad() bool { return r.test && (r.ended == "fail" || r.ended == "") }

// unexplained lists the packages that failed while none of their tests did:
// they didn't compile, or ended before or after their tests.
func (r *report) unexplained() []*run {
	explained := make(map[string]bool)
	for _, x := range r.runs {
		if x.bad() {
			explained[x.pkg] = true
		}
	}
	var list []*run
	for _, x := range r.runs {
		if !x.test && x.pkg != "" && x.ended == "fail" && !explained[x.pkg] {
			list = append(list, x)
		}
	}
	return list
}

func (r *report) counts() (passed, failed, skipped int) {
	for _, x := range r.runs {
		switch {
		case x.bad():
			failed++
		case x.test && x.ended == "pass":
			passed++
		case x.test && x.ended == "skip":
			skipped++
		}
	}
	return passed, failed + len(r.unexplained()), skipped
}

// told is one thing to show.
type told struct{ name, output string }

func (r *report) failures() (list []told) {
	for _, x := range r.runs {
		// A failed build is shown here and counted by its package.
		if x.bad() || x.pkg == "" && (x.ended == "fail" || x.name == "go test") {
			list = append(list, told{x.name, x.output()})
		}
	}
	for _, x := range r.unexplained() {
		list = append(list, told{x.name, x.output()})
	}
	return list
}

func (r *report) skips() (list []told) {
	for _, x := range r.runs {
		if x.test && x.ended == "skip" {
			list = append(list, told{x.name, x.output()})
		}
	}
	return list
}
