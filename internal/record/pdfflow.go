package record

// How firmly a slab holds on to the next.
type hold int

const (
	free   hold = iota
	gentle      // stays on one page with the next if all that hold on to one another fit on a page
	firm        // as gentle; and if they don't fit, still with those that hold firmly
)

// slab is a strip of the page, over its whole width, that is never cut.
type slab struct {
	space  float64 // over it; none at the head of a page
	height float64
	hold   hold
	draw   func(top float64) // may be nil
	// head is drawn again over the slab when it begins a page: the head of a
	// table whose rows go on.
	head *slab
	// box is drawn round slabs that follow one another with the same box, on
	// each page anew.
	box *box
	// columns, where it is set, flows over columns and pages; height is then
	// the least that is begun at the foot of a page.
	columns *columns
	newPage bool // begins a page, but for the first
}

// box is what stands round slabs.
type box struct {
	over, under float64 // room between the box and what is in it
	draw        func(top, bottom float64)
}

// columns is entries that fill columns from the left, as evenly as they can.
type columns struct {
	count   int
	heights []float64
	draw    func(entry, column int, top float64)
	ruled   func(top, bottom float64)
	pad     float64 // over and under
}

// sheet is where slabs are put.
type sheet interface {
	newPage()
}

// flow puts slabs on pages from top to bottom of the space given.
type flow struct {
	sheet       sheet
	top, bottom float64
	y           float64 // where the next slab begins
	fresh       bool    // nothing on this page yet
	open        *box
	openTop     float64
	loose       int // slabs before this one hold gently on to too many for a page
}

func (f *flow) turn() {
	f.shut(false)
	f.sheet.newPage()
	f.y, f.fresh = f.top, true
}

// shut draws the box that is open round what is in it on this page; the last
// time ends it.
func (f *flow) shut(last bool) {
	if f.open != nil {
		f.y += f.open.under
		f.open.draw(f.openTop, f.y)
		if last {
			f.open = nil
		}
	}
}

// put puts all slabs on pages.
func (f *flow) put(slabs []slab) {
	f.y, f.fresh = f.top, true
	kept := 0 // slabs before this one are already known to stay together
	for i := range slabs {
		s := &slabs[i]
		if f.open != nil && s.box != f.open {
			f.shut(true)
		}
		if s.newPage && !f.fresh {
			f.turn()
		}
		if i >= kept {
			kept = f.keep(slabs, i)
		}
		if f.open != s.box || f.fresh {
			f.begin(s)
		} else {
			f.y += s.space
		}
		if s.columns != nil {
			f.pour(s.columns)
			continue
		}
		if s.draw != nil {
			s.draw(f.y)
		}
		f.y += s.height
		f.fresh = false
	}
	f.shut(true)
}

// begin goes to where a slab stands that opens a box or begins a page.
func (f *flow) begin(s *slab) {
	if !f.fresh {
		f.y += s.space
	}
	if s.box != nil {
		f.open, f.openTop = s.box, f.y
		f.y += s.box.over
	}
	if f.fresh && s.head != nil {
		s.head.draw(f.y)
		f.y += s.head.height
	}
}

// keep turns the page if the slabs that belong together from i on don't fit on
// what is left of it, and gives the first slab for which that has to be asked
// again.
func (f *flow) keep(slabs []slab, i int) int {
	left, page := f.bottom-f.y, f.bottom-f.top
	for _, h := range []hold{gentle, firm} {
		if h == gentle && i < f.loose {
			continue
		}
		end := i + 1
		for end < len(slabs) && slabs[end-1].hold >= h {
			end++
		}
		chain := slabs[i:end]
		if extent(chain, f.open, f.fresh) <= left {
			return end
		}
		if !f.fresh && extent(chain, nil, true) <= page {
			f.turn()
			return end
		}
		if h == gentle {
			f.loose = end
		}
	}
	if !f.fresh && extent(slabs[i:i+1], f.open, false) > left {
		f.turn()
	}
	return i + 1
}

// extent is the height of slabs that follow one another, with the space over
// the first unless it begins a page, and the room in their boxes, one of which
// may be open already.
func extent(slabs []slab, open *box, fresh bool) float64 {
	h := 0.0
	for i := range slabs {
		s := &slabs[i]
		if open != nil && s.box != open {
			h += open.under
			open = nil
		}
		if !fresh {
			h += s.space
		} else if s.head != nil {
			h += s.head.height
		}
		if s.box != open || fresh && s.box != nil {
			h += s.box.over
			open = s.box
		}
		h += s.height
		fresh = false
	}
	if open != nil {
		h += open.under
	}
	return h
}

// pour fills columns, page after page.
func (f *flow) pour(c *columns) {
	for from := 0; from < len(c.heights); {
		room := f.bottom - f.y - 2*c.pad
		n := c.fitting(from, room)
		if n == 0 && !f.fresh {
			f.turn()
			continue
		}
		n = max(n, 1)
		// The lowest height that takes them keeps the columns even.
		low, high := 0.0, room
		for range 40 {
			if mid := (low + high) / 2; c.fitting(from, mid) >= n {
				high = mid
			} else {
				low = mid
			}
		}
		top := f.y + c.pad
		column, y, deepest := 0, top, top
		for k := from; k < from+n; k++ {
			if y > top && y+c.heights[k] > top+high+1e-6 {
				column, y = column+1, top
			}
			c.draw(k, min(column, c.count-1), y)
			y += c.heights[k]
			deepest = max(deepest, y)
		}
		c.ruled(f.y, deepest+c.pad)
		f.y, f.fresh = deepest+c.pad, false
		if from += n; from < len(c.heights) {
			f.turn()
		}
	}
}

// fitting gives how many entries from one on fit into columns of a height.
func (c *columns) fitting(from int, height float64) int {
	column, y := 0, 0.0
	for k := from; k < len(c.heights); k++ {
		h := c.heights[k]
		if y+h > height+1e-6 {
			if column, y = column+1, 0; column == c.count || h > height+1e-6 {
				return k - from
			}
		}
		y += h
	}
	return len(c.heights) - from
}
