package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func TestSummarize(t *testing.T) {
	for _, c := range []struct {
		name, in, last string
		say            []string
		good           bool
	}{
		{"all well", `{"Action":"run","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Test":"TestA","Output":"{\"Action\":\"fail\",\"Test\":\"TestB\"}\n"}
{"Action":"pass","Package":"p","Test":"TestA"}
{"Action":"pass","Package":"p"}
{"Action":"skip","Package":"empty"}
`, "1 passed, 0 failed, 0 skipped", nil, true},
		{"a subtest fails", `{"Action":"output","Package":"p","Test":"TestA/one","Output":"    a_test.go:3: got 4\n"}
{"Action":"fail","Package":"p","Test":"TestA/one"}
{"Action":"pass","Package":"p","Test":"TestA/two"}
{"Action":"fail","Package":"p","Test":"TestA"}
{"Action":"fail","Package":"p"}
`, "1 passed, 2 failed, 0 skipped", []string{"failed: p TestA/one", "got 4"}, false},
		{"skipped with why", `{"Action":"output","Package":"p","Test":"TestA","Output":"    a_test.go:3: no anvil\n"}
{"Action":"skip","Package":"p","Test":"TestA"}
{"Action":"pass","Package":"p","Test":"TestB"}
`, "1 passed, 0 failed, 1 skipped", []string{"skipped: p TestA", "no anvil"}, true},
		{"doesn't compile", `{"Action":"build-output","ImportPath":"p [p.test]","Output":"a.go:1: undefined: x\n"}
{"Action":"build-fail","ImportPath":"p [p.test]"}
{"Action":"fail","Package":"p","FailedBuild":"p [p.test]"}
{"Action":"pass","Package":"q","Test":"TestB"}
`, "1 passed, 1 failed, 0 skipped", []string{"undefined: x"}, false},
		{"ends in the middle", `{"Action":"run","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Test":"TestA","Output":"half way\n"}
`, "0 passed, 1 failed, 0 skipped", []string{"half way"}, false},
		{"a package fails by itself", `{"Action":"pass","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Output":"exit status 3\n"}
{"Action":"fail","Package":"p"}
`, "1 passed, 1 failed, 0 skipped", []string{"exit status 3"}, false},
		{"plain text", "go: no such module\n", "0 passed, 0 failed, 0 skipped", []string{"no such module", "no test ran"}, false},
		{"nothing", "", "0 passed, 0 failed, 0 skipped", []string{"no test ran"}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out strings.Builder
			good, err := summarize(strings.NewReader(c.in), &out)
			if err != nil {
				t.Fatal(err)
			}
			lines := strings.Split(strings.TrimSpace(out.String()), "\n")
			if last := lines[len(lines)-1]; last != c.last || good != c.good {
				t.Errorf("good %v, last line %q; expected %v, %q", good, last, c.good, c.last)
			}
			for _, say := range c.say {
				if !strings.Contains(out.String(), say) {
					t.Errorf("%q doesn't say %q", out.String(), say)
				}
			}
		})
	}
}

// The same, with what the go command on this machine really prints.
func TestRealOutput(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":             "module made.up\ngo 1.21\n",
		"good/a_test.go":     "package good\nimport \"testing\"\nfunc TestA(t *testing.T) {}\nfunc TestB(t *testing.T) { t.Skip(\"no anvil\") }\n",
		"bad/a_test.go":      "package bad\nimport \"testing\"\nfunc TestC(t *testing.T) { t.Run(\"sub\", func(t *testing.T) { t.Error(\"got 4\") }) }\n",
		"broken/a_test.go":   "package broken\nimport \"testing\"\nfunc TestD(t *testing.T) { undefinedName() }\n",
		"panicked/a_test.go": "package panicked\nimport \"testing\"\nfunc TestE(t *testing.T) { panic(\"fell over\") }\n",
	} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("go", "test", "-json", "./...")
	cmd.Dir = dir
	text, err := cmd.CombinedOutput()
	if err == nil {
		t.Fatal("go test passed; expected it to fail")
	}
	var out strings.Builder
	good, err := summarize(strings.NewReader(string(text)), &out)
	// Failed: TestC, its subtest, TestE, and the package that doesn't compile.
	want := "1 passed, 4 failed, 1 skipped\n"
	if err != nil || good || !strings.HasSuffix(out.String(), want) {
		t.Errorf("good %v, error %v, %s\nexpected the last line %s", good, err, out.String(), want)
	}
	for _, say := range []string{"no anvil", "got 4", "undefinedName", "fell over"} {
		if !strings.Contains(out.String(), say) {
			t.Errorf("the report doesn't say %q:\n%s", say, out.String())
		}
	}
}
