package record

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// counted is a sheet that only counts its pages.
type counted struct{ pages int }

func (c *counted) newPage() { c.pages++ }

// spot is where something came to stand.
type spot struct {
	slab, page  int
	top, bottom float64
}

// Laws of the flow: every slab is drawn once and in order, within its page and
// under the one before; slabs that hold firmly on to one another are on one page
// if they can be, and so are those that hold gently; boxes lie round what is in
// them.
func TestFlowLaws(t *testing.T) {
	const top, bottom = 40.0, 740.0
	rapid.Check(t, func(t *rapid.T) {
		var spots []spot
		sheet := &counted{}
		type drawn struct {
			box         *box
			page        int
			top, bottom float64
		}
		var boxes []drawn
		var slabs []slab
		var shared *box
		for i := range rapid.IntRange(0, 40).Draw(t, "slabs") {
			if rapid.IntRange(0, 4).Draw(t, "box") == 0 {
				shared = nil
				if rapid.Bool().Draw(t, "boxed") {
					b := &box{over: 9, under: 11}
					b.draw = func(top, bottom float64) {
						boxes = append(boxes, drawn{b, sheet.pages, top, bottom})
					}
					shared = b
				}
			}
			s := slab{space: rapid.Float64Range(0, 20).Draw(t, "space"), height: rapid.Float64Range(0, 300).Draw(t, "height"),
				hold: hold(rapid.IntRange(0, 2).Draw(t, "hold")), box: shared}
			s.draw = func(at float64) { spots = append(spots, spot{i, sheet.pages, at, at + s.height}) }
			slabs = append(slabs, s)
		}
		f := flow{sheet: sheet, top: top, bottom: bottom}
		f.put(slabs)
		if len(spots) != len(slabs) {
			t.Fatalf("%d of %d slabs drawn", len(spots), len(slabs))
		}
		for i, s := range spots {
			if s.slab != i {
				t.Fatalf("slab %d drawn where %d belongs", s.slab, i)
			}
			if s.top < top-1e-6 || s.bottom > bottom+1e-6 {
				t.Fatalf("slab %d stands at %g to %g; the page goes from %g to %g", i, s.top, s.bottom, top, bottom)
			}
			if i > 0 && s.page == spots[i-1].page && s.top < spots[i-1].bottom-1e-6 {
				t.Fatalf("slab %d begins at %g, over the end of the one before at %g", i, s.top, spots[i-1].bottom)
			}
			if i > 0 && s.page < spots[i-1].page {
				t.Fatalf("slab %d went back to page %d", i, s.page)
			}
			if slabs[i].box != nil {
				if !slices.ContainsFunc(boxes, func(d drawn) bool {
					return d.box == slabs[i].box && d.page == s.page && d.top <= s.top && d.bottom >= s.bottom-1e-6
				}) {
					t.Fatalf("slab %d on page %d at %g to %g isn't in its box: %v", i, s.page, s.top, s.bottom, boxes)
				}
			}
		}
		for _, d := range boxes {
			if d.bottom > bottom+1e-6 {
				t.Fatalf("a box ends at %g", d.bottom)
			}
		}
		// The least slabs that hold on to one another, and fit on a page with
		// their boxes, stand on one.
		for i := 0; i < len(slabs); {
			end := i + 1
			for end < len(slabs) && slabs[end-1].hold == firm {
				end++
			}
			loose := i == 0 || slabs[i-1].hold == free // begins a group of either kind
			if loose && extent(slabs[i:end], nil, true) <= bottom-top && spots[i].page != spots[end-1].page {
				t.Fatalf("slabs %d to %d hold firmly and are on pages %d and %d", i, end-1, spots[i].page, spots[end-1].page)
			}
			i = end
		}
	})
}

// Columns: every entry is drawn once and in order, within the page, under the
// one before or at the head of the next column; columns that end on a page are
// even to within the highest entry.
func TestColumnsLaws(t *testing.T) {
	const top, bottom = 40.0, 340.0
	rapid.Check(t, func(t *rapid.T) {
		sheet := &counted{}
		c := &columns{count: rapid.IntRange(1, 4).Draw(t, "count"), pad: 3}
		c.heights = rapid.SliceOfN(rapid.Float64Range(5, 120), 1, 80).Draw(t, "heights")
		type at struct {
			entry, column, page int
			top                 float64
		}
		var seen []at
		c.draw = func(entry, column int, y float64) { seen = append(seen, at{entry, column, sheet.pages, y}) }
		c.ruled = func(float64, float64) {}
		f := flow{sheet: sheet, top: top, bottom: bottom}
		f.put([]slab{{height: rapid.Float64Range(0, 290).Draw(t, "over it")}, {height: 20, columns: c}})
		if len(seen) != len(c.heights) {
			t.Fatalf("%d of %d entries drawn", len(seen), len(c.heights))
		}
		for i, s := range seen {
			if s.entry != i || s.column < 0 || s.column >= c.count || s.top < top || s.top+c.heights[i] > bottom+1e-6 {
				t.Fatalf("entry %d: %+v", i, s)
			}
			if i == 0 {
				continue
			}
			before := seen[i-1]
			switch {
			case s.page > before.page:
			case s.column == before.column && math.Abs(s.top-before.top-c.heights[i-1]) < 1e-6:
			case s.column == before.column+1:
			default:
				t.Fatalf("entry %d stands at %+v, the one before at %+v", i, s, before)
			}
		}
	})
}
