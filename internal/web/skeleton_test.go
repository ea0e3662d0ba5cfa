package web

import (
	"strings"
	"testing"
)

func TestFaultPage(t *testing.T) {
	b := open(t)
	status, text := b.get("/nowhere")
	if status != 404 || !strings.Contains(text, "There is no such page.") || !strings.Contains(text, "<main") {
		t.Errorf("a page that isn't there: %d\n%s", status, text)
	}
}
