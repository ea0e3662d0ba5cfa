package web

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
)

// shotsVariable names the folder into which tests put pictures of the pages,
// for someone to look at; none are made without it.
const shotsVariable = "GAUGEWRIGHT_SHOTS"

// shoot makes a picture of the page as it stands.
func shoot(t *testing.T, ctx context.Context, page string, width int, dark bool) {
	t.Helper()
	folder := os.Getenv(shotsVariable)
	if folder == "" {
		return
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	shade := "light"
	if dark {
		shade = "dark"
	}
	heights := map[int]int{390: 844, 820: 1180, 1440: 900}
	browser.Screenshot(t, ctx, width, heights[width], dark, filepath.Join(folder, fmt.Sprintf("%s-%d-%s.png", page, width, shade)))
}

// asks gives the answer to a question that changes nothing; it is put again where the
// page has made room for another before it was answered.
func asks[T any](ctx context.Context, question string) (answer T, err error) {
	for {
		answer, err = chromedp.Run(ctx, chromedp.Evaluate[T](question))
		if err == nil || ctx.Err() != nil || !strings.Contains(err.Error(), "navigated or closed") && !strings.Contains(err.Error(), "context was destroyed") {
			return answer, err
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// textOf gives what can be read in an element.
func textOf(t *testing.T, ctx context.Context, selector string) string {
	t.Helper()
	text, err := asks[string](ctx, fmt.Sprintf("document.querySelector(%q)?.innerText ?? ''", selector))
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(text, "\u00a0", " ")
}

// waitText waits until an element says something.
func waitText(t *testing.T, ctx context.Context, selector, want string) {
	t.Helper()
	got := ""
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if got = textOf(t, ctx, selector); strings.Contains(got, want) {
			return
		}
	}
	t.Fatalf("%s says %q; expected it to say %q", selector, got, want)
}
