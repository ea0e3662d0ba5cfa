package recording

import (
	"sort"
	"time"
)

// Times before Earliest and from Latest on no reading was taken at: a clock that
// was never set begins at 1970, 1980 or 2000, and one that lost its mind ends
// beyond 2100.
var (
	Earliest = time.Date(2015, 1, 1, 0, 0, 0, 0, time.UTC)
	Latest   = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
)

// Why a row is set aside.
const (
	NeverSet   = "a clock that was never set"
	YetToCome  = "a time that can't be yet"
	ClockAhead = "a clock that was ahead"
	ClockBack  = "a clock that was behind"
	Doubled    = "the same row again"
)

const (
	// slack is how far behind the newest a row may stand and still be placed by
	// its time: two minutes, as the watch has it for readings that come late.
	slack = int64(2 * time.Minute)
	// window is how many rows are held back before they are given, which is how
	// far a clock may have been wrong and still be found out: at a reading every
	// 10 s seven days.
	window = 1 << 16
	// few is how many rows at an end of the history don't vouch for one another.
	few    = 3
	day    = int64(24 * time.Hour)
	second = int64(time.Second)
)

// placer puts rows into the order of their times and finds those whose clock was
// wrong, from nothing but the order in which they stand.
//
// A row up to two minutes behind the newest is placed by its time. One that is
// further behind contradicts those before it that are later: either their clock
// was ahead, or its own is behind. It is the former where the times leapt ahead
// by as much as they now step back, or where more rows follow behind than there
// are ahead; else the latter, and rows are set aside until the times are past
// where they were. A leap ahead that nothing contradicts is a gap.
type placer struct {
	rows  []Row // in the order of time; those from head on weren't given yet
	head  int
	begun bool // something was given
	unset bool // no clock was ever set: times are taken as they are
	leaps []leap
	// back are the rows behind that may yet turn out to be right, and against how
	// many they stand.
	back    []Row
	against int
	aside   counts
	placed  int64 // rows that stood before an earlier one
}

// leap is a step ahead of more than the slack.
type leap struct {
	to   int64 // the time of the row after it
	size int64
}

func (p *placer) newest() int64 { return p.rows[len(p.rows)-1].Time }

// put takes the next row of the file.
func (p *placer) put(r Row) {
	switch {
	case r.Time < Earliest.UnixNano() && !p.unset:
		p.set(r, NeverSet)
		return
	case r.Time >= Latest.UnixNano():
		p.set(r, YetToCome)
		return
	}
	p.take(r)
}

func (p *placer) take(r Row) {
	if len(p.rows) == p.head && !p.begun {
		p.rows = append(p.rows, r)
		return
	}
	newest := p.newest()
	if r.Time >= newest-slack && !p.goesOn(r, newest) {
		if len(p.back) > 0 {
			p.dropBack()
		}
		p.insert(r, newest)
		return
	}
	if p.reached(r.Time) {
		p.set(r, ClockBack)
		return
	}
	if len(p.back) == 0 {
		if back := newest - r.Time; p.thereAndBack(r, back) {
			p.take(r)
			return
		}
		p.against = len(p.rows) - p.after(r.Time)
	}
	p.back = append(p.back, r)
	if len(p.back) > p.against+p.against/8+1 {
		p.believeBack()
	}
}

// goesOn says whether a row still belongs to those behind, though nearly past the
// time where they went back.
func (p *placer) goesOn(r Row, newest int64) bool {
	n := len(p.back)
	return n > 0 && r.Time <= newest && abs(r.Time-p.back[n-1].Time) <= slack
}

// reached says whether rows later than a time were given already.
func (p *placer) reached(t int64) bool { return p.head > 0 && p.rows[p.head-1].Time > t }

// after gives the place of the first row that is later than a time.
func (p *placer) after(t int64) int {
	return p.head + sort.Search(len(p.rows)-p.head, func(i int) bool { return p.rows[p.head+i].Time > t })
}

// thereAndBack sets the rows since a leap ahead aside where the step back from
// them undoes it.
func (p *placer) thereAndBack(r Row, back int64) bool {
	passed := len(p.rows) - p.after(r.Time) // the rows that it contradicts
	for i := len(p.leaps) - 1; i >= 0; i-- {
		l := p.leaps[i]
		from := p.after(l.to - 1)
		if from <= p.head && p.begun || from == 0 {
			continue
		}
		since := len(p.rows) - from
		// Undone: by as much, but for a row or two before and behind; or, of
		// a few rows, to before them. A gap may happen to be as long as a clock is
		// later set back, so that many rows aren't given up for few.
		apart := min(slack, 4*(p.newest()-l.to)/int64(max(1, since-1))+2*second)
		undone := abs(back-l.size) <= apart && since <= 4*passed+few
		between := r.Time < l.to && r.Time >= l.to-l.size-slack && since <= few
		if !undone && !between {
			continue
		}
		p.cut(from, ClockAhead)
		return true
	}
	return false
}

// cut sets the rows from a place on aside.
func (p *placer) cut(from int, why string) {
	for _, r := range p.rows[from:] {
		p.set(r, why)
	}
	p.rows = p.rows[:from]
	for len(p.leaps) > 0 && (from == 0 || p.leaps[len(p.leaps)-1].to > p.newest()) {
		p.leaps = p.leaps[:len(p.leaps)-1]
	}
}

// believeBack takes the rows behind for right, and sets those aside that they
// contradict.
func (p *placer) believeBack() {
	back := p.back
	p.back = nil
	p.cut(p.after(back[0].Time), ClockAhead)
	for _, r := range back {
		p.take(r)
	}
}

// dropBack sets the rows behind aside: the times are past where they were.
func (p *placer) dropBack() {
	for _, r := range p.back {
		p.set(r, ClockBack)
	}
	p.back = p.back[:0]
}

// insert places a row by its time.
func (p *placer) insert(r Row, newest int64) {
	if size := r.Time - newest; size > slack {
		if len(p.leaps) > 0 && len(p.leaps) >= 256 {
			p.leaps = p.leaps[:copy(p.leaps, p.leaps[128:])]
		}
		p.leaps = append(p.leaps, leap{r.Time, size})
	}
	i := len(p.rows)
	for i > p.head && p.rows[i-1].Time > r.Time {
		i--
	}
	for k := i - 1; k >= p.head && p.rows[k].Time == r.Time; k-- {
		if same(p.rows[k], r) {
			p.set(r, Doubled)
			return
		}
	}
	p.rows = append(p.rows, r)
	if i < len(p.rows)-1 {
		p.placed++
		copy(p.rows[i+1:], p.rows[i:])
		p.rows[i] = r
	}
}

// same says whether two rows of one time are the same reading.
func same(a, b Row) bool {
	return a.source == b.source && a.Said == b.Said && (a.Value == b.Value || a.Value != a.Value && b.Value != b.Value)
}

// ready says whether a row can be given: when so many are held that nothing that
// may still come would change its place.
func (p *placer) ready() bool { return len(p.rows)-p.head > window && len(p.back) == 0 }

// end settles what the end of the file leaves open.
func (p *placer) end() {
	p.dropBack()
	if n := len(p.rows); n-p.head > 1 {
		if l := len(p.leaps); l > 0 {
			last := p.leaps[l-1]
			from := p.after(last.to - 1)
			if n-from <= few && last.size > day && last.size > last.to-last.size-p.rows[p.head].Time {
				p.cut(from, ClockAhead)
			}
		}
	}
	p.start()
}

// start sets rows at the beginning aside whose clock was behind: few of them,
// more than a day before all others, and further than those reach.
func (p *placer) start() {
	if p.begun || len(p.leaps) == 0 || len(p.rows) == 0 {
		return
	}
	first := p.leaps[0]
	n := p.after(first.to - 1)
	if n <= few && n < len(p.rows)-n && first.size > day && first.size > p.newest()-first.to {
		for _, r := range p.rows[:n] {
			p.set(r, ClockBack)
		}
		p.rows = p.rows[n:]
		p.leaps = p.leaps[1:]
	}
}

// next gives the oldest row.
func (p *placer) next() (Row, bool) {
	if p.head == len(p.rows) {
		return Row{}, false
	}
	if !p.begun {
		p.start()
		p.begun = true
	}
	r := p.rows[p.head]
	p.head++
	if p.head >= 2*window { // a row stays, so that the newest is known
		p.rows = p.rows[:copy(p.rows, p.rows[p.head-1:])]
		p.head = 1
	}
	return r, true
}

func (p *placer) set(r Row, why string) { p.aside.add(why, r.Line, nil) }

func abs(v int64) int64 { return max(v, -v) }
