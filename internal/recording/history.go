package recording

import (
	"cmp"
	"errors"
	"io"
	"slices"

	"gaugewright/internal/watch"
)

// History gives the readings of a history in the order of their times. Rows whose
// clock was wrong are set aside, doubled ones given once, swapped ones put in
// their place; see [History.Aside]. Which clock was wrong is told from the order
// of the rows alone:
//
//   - A time before 2015 or from 2100 on can't be, but where the first 65,536 rows
//     are all before: then the times are counted from some other moment, such as the
//     start of whatever wrote them, and taken as they are.
//   - A row up to two minutes behind the newest is placed by its time.
//   - Where the times step back by more, and before leapt ahead by as much, the
//     rows between were ahead.
//   - Otherwise the later rows are behind, unless more of them follow than there
//     are rows that they contradict: then those were ahead.
//   - A leap ahead that nothing later contradicts is a gap, but for a few rows at
//     an end of the file, which nothing vouches for.
//
// So a clock is found out that was wrong for up to 65,536 rows.
type History struct {
	*Reader
	placer placer
	ended  error
	signal watch.Signal
	looked bool
	turned bool
	sorted bool
}

// NewHistory begins to read a history; see [NewReader].
func NewHistory(from io.Reader, name string, o Options) (*History, error) {
	r, err := NewReader(from, name, o)
	if err != nil {
		return nil, err
	}
	return &History{Reader: r, signal: SignalOf(r.Column())}, nil
}

// SignalOf gives what a column holds. Milliamps and percents of the supply stand
// where a sender's own value does.
func SignalOf(column string) watch.Signal {
	switch column {
	case "volt":
		return watch.Volt
	case "count":
		return watch.Count
	case "level_pct":
		return watch.Percent
	}
	return watch.Ohm
}

// Next gives the next row by time; the errors are those of [Reader.Next].
func (h *History) Next() (Row, error) {
	if !h.looked {
		h.looked = true
		h.lookAhead()
	}
	for h.ended == nil && !h.placer.ready() {
		h.read()
	}
	if h.ended != nil && !errors.Is(h.ended, io.EOF) {
		return Row{}, h.ended
	}
	if row, ok := h.placer.next(); ok {
		return row, nil
	}
	return Row{}, h.ended
}

// read puts one more row into its place.
func (h *History) read() {
	var row Row
	if h.ended = h.Reader.Next(&row); h.ended == nil {
		h.placer.put(row)
	} else if errors.Is(h.ended, io.EOF) {
		h.placer.end()
	}
}

const (
	// looks is how many rows tell whether a file runs from the newest to the
	// oldest, and mostTurned how many of such a file can be held to turn it round.
	looks      = 512
	mostTurned = 4_000_000
	// jumbledLeast is how many rows tell at the least that they stand in no order.
	jumbledLeast = 16
)

// lookAhead finds out whether the file runs from the newest row to the oldest, as
// some programs write it, and turns it round; or in no order at all, and sorts it.
func (h *History) lookAhead() {
	rows := make([]Row, 0, looks)
	var up, down int
	more := func(most int) {
		for len(rows) < most {
			var row Row
			if h.ended = h.Reader.Next(&row); h.ended != nil {
				return
			}
			rows = append(rows, row)
		}
	}
	more(looks)
	for i := 1; i < len(rows); i++ {
		switch {
		case rows[i].Time > rows[i-1].Time:
			up++
		case rows[i].Time < rows[i-1].Time:
			down++
		}
	}
	if h.turned = down > few && down > 10*up; h.turned {
		more(mostTurned)
		if h.ended == nil {
			h.ended = &Error{h.name, 0, "the rows run from the newest to the oldest, and there are more of them than can be turned round; sort the file by its times first"}
			return
		}
		slices.Reverse(rows)
	} else if h.sorted = jumbled(rows); h.sorted {
		more(mostTurned)
		if h.ended == nil {
			h.ended = &Error{h.name, 0, "the rows stand in no order of time, and there are more of them than can be sorted; sort the file by its times first"}
			return
		}
		slices.SortStableFunc(rows, func(a, b Row) int { return cmp.Compare(a.Time, b.Time) })
	}
	if allBefore(rows) {
		more(window)
		h.placer.unset = allBefore(rows)
	}
	for _, row := range rows {
		h.placer.put(row)
	}
	if errors.Is(h.ended, io.EOF) {
		h.placer.end()
	}
}

// jumbled says whether rows stand in no order of time: a quarter of them and more step
// back, and as many ahead, by more than a late row does and by this much and that. Two
// sources by turns, the clock of one of which is wrong, step back by the same.
func jumbled(rows []Row) bool {
	var back []int64
	ahead := 0
	for i := 1; i < len(rows); i++ {
		switch d := rows[i].Time - rows[i-1].Time; {
		case d > slack:
			ahead++
		case d < -slack:
			back = append(back, -d)
		}
	}
	if n := len(rows); n < jumbledLeast || len(back) < n/4 || ahead < n/4 {
		return false
	}
	slices.Sort(back)
	middle, alike := back[len(back)/2], 0
	for _, b := range back {
		if abs(b-middle) <= max(slack, middle/10) {
			alike++
		}
	}
	return 2*alike < len(back)
}

// allBefore says whether all rows are of a clock that was never set.
func allBefore(rows []Row) bool {
	return len(rows) > 0 && !slices.ContainsFunc(rows, func(r Row) bool { return r.Time >= Earliest.UnixNano() })
}

// Unset says that the history's times are taken as they are, though of a clock that
// was never set.
func (h *History) Unset() bool { return h.placer.unset }

// Turned says that the file ran from the newest row to the oldest.
func (h *History) Turned() bool { return h.turned }

// Sorted says that the rows stood in no order of time and were sorted.
func (h *History) Sorted() bool { return h.sorted }

// Reading gives a row as the watch takes it, of a tank by its name in the watch.
func (h *History) Reading(row Row, tank string) watch.Reading {
	return watch.Reading{
		Tank: tank, Source: h.SourceOf(row), Time: row.When(), Clock: watch.SourceClock,
		Signal: h.signal, Said: row.Said, Value: row.Value, Tilt: row.tilt(),
	}
}

// Aside gives the rows that were set aside, by why, with the first of each; and
// how many rows stood behind a later one and were placed by their times.
func (h *History) Aside() (aside []Count, placed int64) { return h.placer.aside, h.placer.placed }
