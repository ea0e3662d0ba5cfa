package record_test

import (
	"bytes"
	"slices"
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
			// Each card is whole: its name and its foot, with the start of the job
			// file's hash, are on one sheet.
			names, feet := map[string]int{}, []int{}
			for _, w := range words {
				names[w.text] = w.page
				if w.text == checksum[:12]+"…" {
					feet = append(feet, w.page)
				}
			}
			if want := []int{names["Propane"], names["Fresh"], names["Heater"]}; !slices.Equal(want, []int{1, 1, 2}) || !slices.Equal(feet, want) {
				t.Errorf("the cards begin on the sheets %d and end on %d; expected 1, 1 and 2", want, feet)
			}
		})
	}
}
