package recording_test

import (
	"fmt"
	"strings"
	"testing"

	"gaugewright/internal/recording"
)

// clockCase is a history of rows 10 s apart, whose written clock is off by some
// seconds over some of them.
type clockCase struct {
	name  string
	n     int
	shift map[[2]int]int64 // rows from, to (not with it): seconds
	lost  map[int]int64    // seconds of nothing before a row
	// What comes of it: the rows that are given, and why others aren't.
	given [][2]int
	aside map[string]int64
}

const start = 1772352000

func (c clockCase) text() string {
	var b strings.Builder
	b.WriteString("time,ohm\n")
	at := int64(start)
	for i := range c.n {
		at += c.lost[i]
		written := at
		for rows, by := range c.shift {
			if i >= rows[0] && i < rows[1] {
				written += by
			}
		}
		fmt.Fprintf(&b, "%d,%d\n", written, i)
		at += 10
	}
	return b.String()
}

func TestWrongClocks(t *testing.T) {
	for _, c := range []clockCase{
		{name: "none", n: 1000, given: [][2]int{{0, 1000}}},
		{name: "never set", n: 1000, shift: map[[2]int]int64{{5, 8}: -start}, given: [][2]int{{0, 5}, {8, 1000}}, aside: map[string]int64{recording.NeverSet: 3}},
		{name: "never set at the start", n: 100, shift: map[[2]int]int64{{0, 40}: -start}, given: [][2]int{{40, 100}}, aside: map[string]int64{recording.NeverSet: 40}},
		{name: "never set for long", n: 2000, shift: map[[2]int]int64{{0, 1000}: -start}, given: [][2]int{{1000, 2000}}, aside: map[string]int64{recording.NeverSet: 1000}},
		{name: "counted from the start", n: 2000, shift: map[[2]int]int64{{0, 2000}: -start}, given: [][2]int{{0, 2000}}},
		{name: "2100", n: 1000, shift: map[[2]int]int64{{5, 6}: 4102444800 - start}, given: [][2]int{{0, 5}, {6, 1000}}, aside: map[string]int64{recording.YetToCome: 1}},
		{name: "one row ahead by a day", n: 1000, shift: map[[2]int]int64{{500, 501}: 86400}, given: [][2]int{{0, 500}, {501, 1000}}, aside: map[string]int64{recording.ClockAhead: 1}},
		{name: "one row ahead by ten minutes", n: 1000, shift: map[[2]int]int64{{500, 501}: 600}, given: [][2]int{{0, 500}, {501, 1000}}, aside: map[string]int64{recording.ClockAhead: 1}},
		{name: "rows ahead by an hour", n: 1000, shift: map[[2]int]int64{{500, 530}: 3600}, given: [][2]int{{0, 500}, {530, 1000}}, aside: map[string]int64{recording.ClockAhead: 30}},
		{name: "for three hours ahead by one", n: 5000, shift: map[[2]int]int64{{500, 1580}: 3600}, given: [][2]int{{0, 500}, {1580, 5000}}, aside: map[string]int64{recording.ClockAhead: 1080}},
		{name: "ahead by years", n: 1000, shift: map[[2]int]int64{{500, 530}: 9 * 365 * 86400}, given: [][2]int{{0, 500}, {530, 1000}}, aside: map[string]int64{recording.ClockAhead: 30}},
		{name: "ahead and then a gap", n: 1000, shift: map[[2]int]int64{{500, 530}: 86400}, lost: map[int]int64{530: 7200}, given: [][2]int{{0, 500}, {530, 1000}}, aside: map[string]int64{recording.ClockAhead: 30}},
		{name: "one row behind by a day", n: 1000, shift: map[[2]int]int64{{500, 501}: -86400}, given: [][2]int{{0, 500}, {501, 1000}}, aside: map[string]int64{recording.ClockBack: 1}},
		{name: "rows behind by an hour", n: 1000, shift: map[[2]int]int64{{500, 530}: -3600}, given: [][2]int{{0, 500}, {530, 1000}}, aside: map[string]int64{recording.ClockBack: 30}},
		{name: "a row behind at the start", n: 1000, shift: map[[2]int]int64{{0, 1}: -30 * 86400}, given: [][2]int{{1, 1000}}, aside: map[string]int64{recording.ClockBack: 1}},
		{name: "rows ahead at the start", n: 1000, shift: map[[2]int]int64{{0, 20}: 86400}, given: [][2]int{{20, 1000}}, aside: map[string]int64{recording.ClockAhead: 20}},
		{name: "rows ahead at the end", n: 1000, shift: map[[2]int]int64{{998, 1000}: 365 * 86400}, given: [][2]int{{0, 998}}, aside: map[string]int64{recording.ClockAhead: 2}},
		// What can't be told is taken as it stands: time already passed comes once.
		{name: "set back for good", n: 1000, shift: map[[2]int]int64{{500, 1000}: -600}, given: [][2]int{{0, 500}, {560, 1000}}, aside: map[string]int64{recording.ClockBack: 60}},
		{name: "set ahead for good", n: 1000, shift: map[[2]int]int64{{500, 1000}: 86400}, given: [][2]int{{0, 1000}}},
		{name: "a gap, and later set back by as much", n: 5000, shift: map[[2]int]int64{{4000, 5000}: -600}, lost: map[int]int64{500: 600}, given: [][2]int{{0, 4000}, {4060, 5000}}, aside: map[string]int64{recording.ClockBack: 60}},
		{name: "a gap", n: 1000, lost: map[int]int64{500: 40 * 86400}, given: [][2]int{{0, 1000}}},
		{name: "several", n: 3000, shift: map[[2]int]int64{{500, 501}: -start, {700, 720}: 7200, {1500, 1501}: 86400 * 400, {2000, 2030}: -7200}, lost: map[int]int64{1000: 9000}, given: [][2]int{{0, 500}, {501, 700}, {720, 1500}, {1501, 2000}, {2030, 3000}},
			aside: map[string]int64{recording.NeverSet: 1, recording.ClockAhead: 21, recording.ClockBack: 30}},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows, h, err := all(c.text(), recording.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var want []int
			for _, r := range c.given {
				for i := r[0]; i < r[1]; i++ {
					want = append(want, i)
				}
			}
			if len(rows) != len(want) {
				t.Errorf("%d rows, want %d", len(rows), len(want))
			}
			for i := range min(len(rows), len(want)) {
				if int(rows[i].Value) != want[i] {
					t.Errorf("row %d is %g, want %d", i, rows[i].Value, want[i])
					break
				}
			}
			aside, _ := h.Aside()
			got := map[string]int64{}
			for _, a := range aside {
				got[a.Why] = a.N
			}
			for why, n := range c.aside {
				if got[why] != n {
					t.Errorf("%d with %s, want %d; all: %v", got[why], why, n, got)
				}
			}
			if len(got) != len(c.aside) {
				t.Errorf("set aside: %v, want %v", got, c.aside)
			}
		})
	}
}

// A clock that is wrong for longer than is held back is still in order, and
// whatever comes of it every row is counted once.
func TestLongHistoryStaysInOrder(t *testing.T) {
	c := clockCase{n: 180_000, shift: map[[2]int]int64{{40_000, 120_000}: 30 * 86400, {150_000, 150_010}: -86400}}
	h, err := recording.NewHistory(strings.NewReader(c.text()), "h.csv", recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	n, before := int64(0), int64(0)
	for {
		row, err := h.Next()
		if err != nil {
			break
		}
		if row.Time < before {
			t.Fatalf("row %d goes back", n)
		}
		before = row.Time
		n++
	}
	aside, _ := h.Aside()
	for _, a := range aside {
		n += a.N
	}
	if n != int64(c.n) {
		t.Errorf("%d rows of %d: %+v", n, c.n, aside)
	}
}
