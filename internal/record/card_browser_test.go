package record_test

import (
	"bytes"
	"testing"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

// On every screen the cards need no sideways scrolling and break no rule of
// axe-core; printed, each stays on one sheet, in the size of A6 or a little more.
func TestCardOnScreen(t *testing.T) {
	for name, j := range map[string]*job.Job{"sample": sample(), "long names": long(), "empty": {}} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := cards(t, j).HTML(&b, record.A4); err != nil {
				t.Fatal(err)
			}
			sound(t, b.Bytes())
			ctx := opened(t, b.Bytes())
			for _, width := range []int{320, 820, 1440} {
				browser.NoSidewaysScroll(t, ctx, width)
				lettering(t, ctx, width)
			}
			for _, dark := range []bool{false, true} {
				browser.View(t, ctx, 390, 900, dark)
				for _, v := range browser.Axe(t, ctx) {
					t.Errorf("dark %v: %s", dark, v)
				}
			}
			if asked := browser.Requests(ctx); len(asked) != 1 {
				t.Errorf("the page asked for %q; expected itself and nothing else", asked)
			}
			if name != "sample" {
				return
			}
			_, words, _, _, pages := printed(t, b.Bytes(), "A4")
			if pages != 2 {
				t.Errorf("three cards take %d sheets", pages)
			}
			on := map[string]int{}
			for _, w := range words {
				on[w.text] = w.page
			}
			// The name of a tank and the last word of its card are on one sheet.
			if on["Propane"] != 1 || on["water"] != 1 || on["Heater"] != 2 {
				t.Errorf("the cards are on sheets %d, %d and %d", on["Propane"], on["water"], on["Heater"])
			}
		})
	}
}
