package tag

import (
	"strings"
	"testing"
)

// The penalty of a few small patterns, reckoned by hand by the rules of ISO/IEC
// 18004, 7.8.3.1.
func TestPenalty(t *testing.T) {
	for _, c := range []struct {
		name, rows string
		want       int
	}{
		// Half dark, no two alike side by side: nothing.
		{"a chequered board", "#.#./.#.#/#.#./.#.#", 0},
		// Rows of four: none is five long; nine squares alike; the share is 100 %.
		{"four by four dark", "####/####/####/####", 9*3 + 100},
		// Ten rows and columns of five, 3 each; sixteen squares; 100 %.
		{"five by five dark", "#####/#####/#####/#####/#####", 10*3 + 16*3 + 100},
		// The same with six: 4 each.
		{"six by six white", "....../....../....../....../....../......", 12*4 + 25*3 + 100},
		// 13 of 25 are dark: 4 % of 50 too many, below the first step of 5 points.
		{"a board of five", "#.#.#/.#.#./#.#.#/.#.#./#.#.#", 0},
	} {
		rows := strings.Split(c.rows, "/")
		m := Matrix{Size: len(rows), dark: make([]bool, len(rows)*len(rows))}
		for y, row := range rows {
			for x := range row {
				m.dark[y*m.Size+x] = row[x] == '#'
			}
		}
		if got := m.penalty(); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
	for row, want := range map[string]int{
		"#.###.#....":     40, // white behind
		"....#.###.#":     40, // white before
		"....#.###.#....": 80, // both
		"#.###.#...#":     0,
		"#.###.#":         0,
		"#####.#.#.#":     3,
		"#.#########":     3 + 4,
	} {
		if got := line(len(row), func(k int) bool { return row[k] == '#' }); got != want {
			t.Errorf("%s: %d, want %d", row, got, want)
		}
	}
}
