package archtest

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// The checks run the tests of some rooms without the race detector, which would
// make long searches ten times as long. That is fair only where there is nothing
// to race: no goroutine, lock or channel, and no function handed to Monte Carlo,
// which runs on every core.
func TestQuietRooms(t *testing.T) {
	text, err := os.ReadFile("../../check")
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`(?m)^quiet='([a-z/ ]+)'$`).FindSubmatch(text)
	if found == nil {
		t.Fatal(`check has no line like quiet='span lookup'`)
	}
	for _, room := range strings.Fields(string(found[1])) {
		files, err := filepath.Glob(filepath.Join("..", filepath.FromSlash(room), "*.go"))
		if err != nil || len(files) == 0 {
			t.Errorf("check calls the room %s quiet, which has no Go files (%v)", room, err)
		}
		for _, path := range files {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			source, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range noises(t, path, source) {
				t.Errorf("check calls the room %s quiet; %s", room, f)
			}
		}
	}
}

// Each noise is heard in a made-up file.
func TestQuietRoomsCatch(t *testing.T) {
	for _, c := range []struct {
		body  string
		heard bool
	}{
		{`func f() {}`, false},
		{`func f() { go f() }`, true},
		{`var c chan int`, true},
		{`import "sync"; var m sync.Mutex`, true},
		{`import "sync/atomic"; var n atomic.Int64`, true},
		{`import "gaugewright/internal/doubt"; var f = doubt.PropagateBulk`, true},
		{`import "gaugewright/internal/doubt"; var f = doubt.Mean`, false},
	} {
		if got := noises(t, "a.go", []byte("package a; "+c.body)); (len(got) > 0) != c.heard {
			t.Errorf("%s: heard %q, expected a fault: %v", c.body, got, c.heard)
		}
	}
}

// noises says what in a file could race.
func noises(t *testing.T, path string, source []byte) (faults []string) {
	t.Helper()
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, path, source, 0)
	if err != nil {
		t.Fatal(err)
	}
	say := func(at token.Pos, what string) { faults = append(faults, set.Position(at).String()+" "+what) }
	for _, i := range file.Imports {
		if name, _ := strconv.Unquote(i.Path.Value); name == "sync" || name == "sync/atomic" {
			say(i.Pos(), "imports "+name)
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			say(n.Pos(), "starts a goroutine")
		case *ast.ChanType:
			say(n.Pos(), "has a channel")
		case *ast.SelectorExpr:
			if x, ok := n.X.(*ast.Ident); ok && x.Name == "doubt" && strings.HasPrefix(n.Sel.Name, "Propagate") {
				say(n.Pos(), "hands a function to doubt."+n.Sel.Name)
			}
		}
		return true
	})
	return faults
}
