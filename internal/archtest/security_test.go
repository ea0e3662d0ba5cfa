package archtest

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// asvs is how many requirements of levels 1 and 2 each section of OWASP's ASVS
// 5.0.0 has; they are its first. Together they are the 253 that the standard says.
var asvs = map[string]int{
	"1.1": 2, "1.2": 9, "1.3": 11, "1.4": 3, "1.5": 2,
	"2.1": 3, "2.2": 3, "2.3": 4, "2.4": 1,
	"3.2": 2, "3.3": 4, "3.4": 6, "3.5": 5, "3.7": 2,
	"4.1": 3, "4.2": 1, "4.3": 2, "4.4": 4,
	"5.1": 1, "5.2": 3, "5.3": 2, "5.4": 3,
	"6.1": 3, "6.2": 12, "6.3": 4, "6.4": 4, "6.5": 5, "6.6": 3, "6.8": 4,
	"7.1": 3, "7.2": 4, "7.3": 2, "7.4": 5, "7.5": 2, "7.6": 2,
	"8.1": 2, "8.2": 3, "8.3": 1, "8.4": 1,
	"9.1": 3, "9.2": 4,
	"10.1": 2, "10.2": 2, "10.3": 4, "10.4": 11, "10.5": 5, "10.6": 2, "10.7": 3,
	"11.1": 2, "11.2": 3, "11.3": 3, "11.4": 4, "11.5": 1, "11.6": 1,
	"12.1": 3, "12.2": 2, "12.3": 4,
	"13.1": 1, "13.2": 5, "13.3": 2, "13.4": 5,
	"14.1": 2, "14.2": 4, "14.3": 3,
	"15.1": 3, "15.2": 3, "15.3": 7,
	"16.1": 1, "16.2": 5, "16.3": 4, "16.4": 3, "16.5": 3,
	"17.1": 1, "17.2": 4, "17.3": 2,
}

// The table of docs/security.md has every requirement of levels 1 and 2 once, each
// with a test that is in the tree or a reason.
func TestSecurityTable(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(root, "docs", "security.md"))
	if err != nil {
		t.Fatal(err)
	}
	tests := testsOf(t)
	open := map[string]bool{}
	all := 0
	for section, n := range asvs {
		for k := range n {
			open[fmt.Sprintf("%s.%d", section, k+1)] = true
			all++
		}
	}
	if all != 253 {
		t.Errorf("the list here has %d requirements; expected 253", all)
	}
	_, table, ok := strings.Cut(string(text), "## ASVS 5.0.0")
	if !ok {
		t.Fatal("there is no table")
	}
	row := regexp.MustCompile(`^\| ([0-9.]+)(?:–([0-9.]+))? \| (.+?) \| (.+) \|$`)
	named := regexp.MustCompile("`(Test[A-Za-z0-9_]+)`")
	found := 0
	for line := range strings.Lines(table) {
		m := row.FindStringSubmatch(strings.TrimRight(line, "\n"))
		if m == nil {
			continue
		}
		for _, id := range between(t, m[1], m[2]) {
			if !open[id] {
				t.Errorf("%s stands there twice, or isn't one of levels 1 and 2", id)
			}
			delete(open, id)
		}
		for _, test := range named.FindAllStringSubmatch(m[4], -1) {
			found++
			if !tests[test[1]] {
				t.Errorf("%s names the test %s, which isn't in the tree", m[1], test[1])
			}
		}
		if len(m[4]) < 4 {
			t.Errorf("%s has neither a test nor a reason", m[1])
		}
	}
	for id := range open {
		t.Errorf("%s is missing", id)
	}
	if found < 100 {
		t.Errorf("only %d tests are named", found)
	}
}

// between lists the requirements from one to another, both included.
func between(t *testing.T, from, to string) (list []string) {
	t.Helper()
	if to == "" {
		return []string{from}
	}
	in := false
	chapter, _, _ := strings.Cut(from, ".")
	for s := 1; s < 20; s++ {
		section := chapter + "." + strconv.Itoa(s)
		for k := range asvs[section] {
			id := fmt.Sprintf("%s.%d", section, k+1)
			in = in || id == from
			if in {
				list = append(list, id)
			}
			if id == to {
				return list
			}
		}
	}
	t.Errorf("%s–%s isn't a stretch of requirements", from, to)
	return nil
}

// testsOf lists the tests that the tree has.
func testsOf(t *testing.T) map[string]bool {
	t.Helper()
	list := map[string]bool{}
	declared := regexp.MustCompile(`(?m)^func (Test[A-Za-z0-9_]+)\(`)
	for _, top := range []string{"internal", "cmd", "tools"} {
		err := filepath.WalkDir(filepath.Join(root, top), func(path string, _ os.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, "_test.go") {
				return err
			}
			text, err := os.ReadFile(path)
			for _, m := range declared.FindAllSubmatch(text, -1) {
				list[string(m[1])] = true
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return list
}
