package tankfile

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/finding"
	"gaugewright/internal/golden"
	"gaugewright/internal/tank"
)

// examples are the invented tank files, at least one of each shape.
func examples(t testing.TB) []string {
	t.Helper()
	paths, err := filepath.Glob("testdata/*.tank.json")
	if err != nil || len(paths) < 11 {
		t.Fatalf("found %d examples, %v", len(paths), err)
	}
	return paths
}

// beside opens the files that an example names.
func beside(name string) (io.ReadCloser, error) { return os.Open(filepath.Join("testdata", name)) }

// built makes a tank of a text, or ends the test.
func built(t testing.TB, text string) (*tank.Tank, []finding.Finding) {
	t.Helper()
	f, err := Read(strings.NewReader(text), "f")
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	made, found, err := f.Tank(beside)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return made, found
}

// near says whether a volume in litres is another but for rounding.
func near(t testing.TB, name string, found, want float64) {
	t.Helper()
	const tolerance = 1e-9 // as good as the sources
	if math.Abs(found-want) > tolerance*math.Abs(want) {
		t.Errorf("%s: found %.12g L, expected %.12g L", name, found, want)
	}
}

func litresOf(made *tank.Tank) float64 { return float64(made.Capacity()) * 1000 }

// Each example can be read, written as it stands, and built.
func TestExamples(t *testing.T) {
	shapes := map[Shape]bool{}
	for _, path := range examples(t) {
		f, err := ReadFile(path)
		if err != nil {
			t.Error(err)
			continue
		}
		if !strings.HasPrefix(f.Note, "Invented.") {
			t.Errorf("%s doesn't say that it is invented", path)
		}
		text, err := f.Encode()
		if err != nil {
			t.Error(err)
			continue
		}
		golden.Check(t, filepath.Base(path), text) // as Encode lays it out
		made, found, err := f.Tank(beside)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		for _, k := range found {
			t.Errorf("%s: %s", path, k.Text)
		}
		if c := litresOf(made); !(c > 20 && c < 400) {
			t.Errorf("%s holds %g L", path, c)
		}
		shapes[f.Shape] = true
	}
	if len(shapes) != 11 {
		t.Errorf("the examples have %d shapes, expected each of 11", len(shapes))
	}
}
