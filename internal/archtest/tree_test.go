package archtest

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// root is the repository's root, from here.
const root = "../.."

// readTree reads every Go file in the repository, whatever system or build tag
// it is for, but for those that the go command passes over too.
func readTree(t *testing.T) []source {
	t.Helper()
	var files []source
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		base := d.Name()
		if d.IsDir() {
			if name != root && (strings.HasPrefix(base, ".") || strings.HasPrefix(base, "_") || base == "testdata") {
				return filepath.SkipDir
			}
			return nil
		}
		if filepath.Ext(base) != ".go" || strings.HasPrefix(base, ".") || strings.HasPrefix(base, "_") {
			return nil
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, name)
		if err != nil {
			return err
		}
		f, err := parse(filepath.ToSlash(rel), text)
		files = append(files, f)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// parse reads what the rules need from one file.
func parse(name string, text []byte) (source, error) {
	f, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return source{}, err
	}
	s := source{file: name, name: f.Name.Name, doc: f.Doc.Text()}
	timeName := ""
	for _, spec := range f.Imports {
		p, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			return source{}, err
		}
		s.imports = append(s.imports, p)
		if p == "time" {
			timeName = "time"
			if spec.Name != nil {
				timeName = spec.Name.Name
			}
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		sel, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := sel.X.(*ast.Ident); ok && timeName != "" && x.Name == timeName && slices.Contains(clocks, sel.Sel.Name) {
			s.clocks = append(s.clocks, sel.Sel.Name)
		}
		return true
	})
	return s, nil
}

// standardNames are the names at the top of the standard library.
func standardNames(t *testing.T) []string {
	t.Helper()
	var names []string
	for _, p := range goList(t, nil, "std") {
		first, _, _ := strings.Cut(p, "/")
		if first != "internal" && first != "vendor" && !slices.Contains(names, first) {
			names = append(names, first)
		}
	}
	return names
}

// goList runs go list from the root and returns the lines it prints, each
// once.
func goList(t *testing.T, env []string, args ...string) []string {
	t.Helper()
	var stderr bytes.Buffer
	cmd := exec.Command("go", append([]string{"list"}, args...)...)
	cmd.Dir, cmd.Stderr = root, &stderr
	cmd.Env = append(os.Environ(), env...)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list %s: %v\n%s", strings.Join(args, " "), err, stderr.String())
	}
	lines := strings.Fields(string(out))
	slices.Sort(lines)
	return slices.Compact(lines)
}
