package feedtest

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
)

// Page is the text of a page of the handbook: "feeds-can.md".
func Page(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile("../../../docs/" + name) // from the folder of a feed
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

var block = regexp.MustCompile("(?s)```toml\n(.*?)```")

// Blocks are the blocks of TOML of a page.
func Blocks(t testing.TB, name string) (list []string) {
	t.Helper()
	for _, m := range block.FindAllStringSubmatch(Page(t, name), -1) {
		list = append(list, m[1])
	}
	return list
}

// Decode reads TOML. A key that isn't known ends the test.
func Decode[C any](t testing.TB, text string) (c C) {
	t.Helper()
	meta, err := toml.Decode(text, &c)
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	if left := meta.Undecoded(); len(left) > 0 {
		t.Fatalf("unknown keys %v in\n%s", left, text)
	}
	return c
}

// Feeds are the tables of one kind of feed, by the feeds' names: what follows
// "can" in [can.boat]. There has to be one at least, and nothing else beside.
func Feeds[C any](t testing.TB, kind, text string) map[string]C {
	t.Helper()
	c := Decode[map[string]map[string]C](t, text)
	if len(c) != 1 || len(c[kind]) == 0 {
		t.Fatalf("no table %s, or others beside it, in\n%s", kind, text)
	}
	return c[kind]
}

// Examples expects so many blocks of TOML in a page, and that each makes one
// feed of the kind.
func Examples[C any](t testing.TB, build New[C], kind, name string, count int) {
	t.Helper()
	blocks := Blocks(t, name)
	if len(blocks) != count {
		t.Errorf("%d configurations in %s, expected %d", len(blocks), name, count)
	}
	for _, block := range blocks {
		feeds := Feeds[C](t, kind, block)
		if len(feeds) != 1 {
			t.Errorf("%d feeds in\n%s", len(feeds), block)
		}
		for name, c := range feeds {
			if _, err := build(name, c); err != nil {
				t.Errorf("%v in\n%s", err, block)
			}
		}
	}
}

// Documented expects that each key has a row in a table of a page.
func Documented(t testing.TB, name string, keys ...string) {
	t.Helper()
	text := Page(t, name)
	for _, key := range keys {
		if !strings.Contains(text, "| `"+key+"` |") {
			t.Errorf("%s says nothing of %s", name, key)
		}
	}
}
