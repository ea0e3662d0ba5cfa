package record_test

import (
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/span"
)

// A setting that is only tried is drawn and told as the record would have it once
// it is kept, and the one that is kept stays as it is.
func TestWith(t *testing.T) {
	tried := 0
	for _, kept := range sample().Tanks {
		if kept.Setting == nil {
			continue
		}
		view := record.ViewOf(kept, quantity.Units{}, "tank-1")
		c, err := view.Fitted()
		if err != nil {
			continue
		}
		tried++
		least, greatest := c.Range()
		own := span.Ends{Lower: least, Upper: greatest * 1.5}
		later := kept
		if err := later.Key(own, *kept.Setting); err != nil {
			t.Fatalf("%s: %v", kept.Name, err)
		}
		got, want := view.With(*later.Setting), record.ViewOf(later, quantity.Units{}, "tank-1")
		a, _ := got.Rulers()
		b, ok := want.Rulers()
		if !ok || a.Wide.Desc != b.Wide.Desc || a.Caption != b.Caption {
			t.Errorf("%s: tried, the rulers say %q; kept, %q", kept.Name, a.Wide.Desc, b.Wide.Desc)
		}
		one, _ := got.KeyIn()
		two, _ := want.KeyIn()
		if one.Numbers != two.Numbers || len(one.Sentences) != len(two.Sentences) {
			t.Errorf("%s: tried, %+v; kept, %+v", kept.Name, one, two)
		}
		before, _ := view.Rulers()
		again, _ := record.ViewOf(kept, quantity.Units{}, "tank-1").Rulers()
		if before.Wide.Desc != again.Wide.Desc {
			t.Errorf("%s: trying another setting changed the view of the kept one", kept.Name)
		}
		keyed, err := kept.Setting.Keyed()
		if err != nil {
			t.Fatal(err)
		}
		beside, _ := got.RulersBeside(keyed)
		if !strings.HasSuffix(beside.Wide.Desc, "what is shown with "+keyed.String()+".") || len(beside.Wide.Shapes) <= len(a.Wide.Shapes) {
			t.Errorf("%s: beside the kept setting the rulers say %q", kept.Name, beside.Wide.Desc)
		}
	}
	if tried == 0 {
		t.Error("no tank of the sample was tried")
	}
	if _, ok := record.ViewOf(job.Tank{Name: "Empty"}, quantity.Units{}, "tank-1").Trial(); ok {
		t.Error("a tank without readings has a trial")
	}
}
