package browser

import (
	"context"
	_ "embed" // for the script
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/peer"

	"github.com/chromedp/chromedp"
)

// AxeVariable names the environment variable that says where axe.min.js is.
const AxeVariable = "GAUGEWRIGHT_AXE"

// axePlace is where ./check puts it, from the repository's root.
const axePlace = ".cache/npm/node_modules/axe-core/axe.min.js"

//go:embed axe.js
var axeScript string

// Violation is one rule of axe-core that the page breaks.
type Violation struct {
	ID     string   // the rule, such as "image-alt"
	Impact string   // "minor", "moderate", "serious" or "critical"
	Help   string   // the rule in a sentence
	Tags   []string // the guidelines it comes from, such as "wcag2a"
	Nodes  []Node   // what breaks it, in the order of the page
}

// Node is one element that breaks a rule.
type Node struct {
	Target  string // a selector that finds it
	HTML    string // its source, cut short
	Summary string // what to do
}

// String sets the violation out for a test's message, with the first few
// elements.
func (v Violation) String() string {
	const most = 5
	var b strings.Builder
	fmt.Fprintf(&b, "%s (%s): %s", v.ID, v.Impact, v.Help)
	for i, n := range v.Nodes {
		if i == most {
			fmt.Fprintf(&b, "\n  and %d more", len(v.Nodes)-most)
			break
		}
		fmt.Fprintf(&b, "\n  %s: %s\n    %s", n.Target, n.HTML, strings.ReplaceAll(n.Summary, "\n", "\n    "))
	}
	return b.String()
}

// Axe checks the page, as it stands in the window now, against the rules of
// axe-core for WCAG 2.0, 2.1 and 2.2 at levels A and AA, and its best
// practices, and returns what is broken. What the rules can't decide is
// logged. Dark colours and narrow windows are checked by a [View] before it.
//
// Without axe-core the test ends as peer.Missing says.
func Axe(t testing.TB, ctx context.Context) []Violation {
	t.Helper()
	path, err := axePath()
	if err != nil {
		peer.Missing(t, "%v", err)
	}
	source, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	there, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`typeof axe !== "undefined"`))
	if err == nil && !there {
		err = chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](string(source)))
	}
	if err != nil {
		t.Fatalf("%s can't be loaded into the page: %v", path, err)
	}
	got, err := chromedp.Run(ctx, chromedp.Evaluate[struct {
		Passed     int
		Undecided  []string
		Violations []Violation
	}](axeScript, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("axe-core ended with an error: %v", err)
	}
	if got.Passed+len(got.Violations) == 0 {
		t.Fatal("no rule of axe-core applied to the page; expected some: is the page empty?")
	}
	if len(got.Undecided) > 0 {
		t.Logf("axe-core can't decide, look for yourself:\n  %s", strings.Join(got.Undecided, "\n  "))
	}
	return got.Violations
}

// axePath finds axe.min.js, or says how to get it.
func axePath() (string, error) {
	if path := os.Getenv(AxeVariable); path != "" {
		if _, err := os.Stat(path); err != nil {
			return "", fmt.Errorf("no axe-core at %s, which %s names; name the file axe.min.js", path, AxeVariable)
		}
		return path, nil
	}
	root, err := repositoryRoot()
	if err != nil {
		return "", err
	}
	path := filepath.Join(root, filepath.FromSlash(axePlace))
	if _, err := os.Stat(path); err != nil {
		return "", fmt.Errorf("no axe-core at %s; ./check installs it, or name an axe.min.js in %s", axePlace, AxeVariable)
	}
	return path, nil
}

// repositoryRoot is the nearest folder upwards that has a go.mod.
func repositoryRoot() (string, error) {
	start, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for dir := start; ; dir = filepath.Dir(dir) {
		_, err := os.Stat(filepath.Join(dir, "go.mod"))
		if err == nil {
			return dir, nil
		}
		if !errors.Is(err, fs.ErrNotExist) {
			return "", err
		}
		if dir == filepath.Dir(dir) {
			return "", fmt.Errorf("no go.mod in %s or above it", start)
		}
	}
}
