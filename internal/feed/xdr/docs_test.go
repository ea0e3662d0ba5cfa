package xdr

import (
	"os"
	"regexp"
	"testing"

	"github.com/BurntSushi/toml"
)

// The configurations in the documentation are read, key by key, and can run.
func TestDocumentation(t *testing.T) {
	text, err := os.ReadFile("../../../docs/feeds-xdr.md")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile("(?s)```toml\n(.*?)```").FindAllSubmatch(text, -1)
	if len(blocks) != 3 {
		t.Errorf("%d configurations, expected 3", len(blocks))
	}
	for _, block := range blocks {
		var c struct {
			Feeds map[string]Config `toml:"xdr"`
		}
		meta, err := toml.Decode(string(block[1]), &c)
		if err != nil || len(meta.Undecoded()) > 0 || len(c.Feeds) != 1 {
			t.Errorf("%v, unknown keys %v, %d feeds in\n%s", err, meta.Undecoded(), len(c.Feeds), block[1])
		}
		for name, config := range c.Feeds {
			if _, err := New("xdr/"+name, config); err != nil {
				t.Error(err)
			}
		}
	}
}
