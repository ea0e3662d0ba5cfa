package web

import "testing"

// Every page can be read, also those that no other test shows.
func TestTemplates(t *testing.T) {
	if len(templates()) < 20 {
		t.Fatalf("only %d pages", len(templates()))
	}
	for name := range templates() {
		if pageOf(name).Lookup("layout") == nil {
			t.Errorf("%s has no layout around it", name)
		}
	}
}
