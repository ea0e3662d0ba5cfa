package web

import (
	"testing"

	"gaugewright/internal/browser"
)

func TestPreview(t *testing.T) {
	ctx := browser.Open(t)
	for name, w := range map[string]*watches{"good": stall(t), "broken": broken(t), "silent": silent(t), "early": early(t), "cutoff": cutOff(t), "twelve": twelve(t), "evil": evilWatch(t)} {
		b := open(t, w.options)
		browser.View(t, ctx, 390, 844, false)
		browser.Go(t, ctx, b.url+"/watched")
		for _, width := range []int{390, 820, 1440} {
			shoot(t, ctx, name, width, false)
			shoot(t, ctx, name, width, true)
		}
		for _, width := range []int{320, 390, 820, 1440} {
			browser.NoSidewaysScroll(t, ctx, width)
		}
	}
}
