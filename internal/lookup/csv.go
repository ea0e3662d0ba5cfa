package lookup

import (
	"fmt"
	"strings"
)

// CSV writes the points or the entries as lines of count and level, after
// comment lines that begin with #. For entries the count is the first of those
// that an entry stands for.
func (t *Table) CSV(a About) string {
	var b strings.Builder
	b.WriteString(commented("# ", t.header(a)))
	fmt.Fprintf(&b, "count,%s\n", t.Quantity.Column())
	for _, p := range t.lines() {
		fmt.Fprintf(&b, "%d,%d\n", p.Count, p.Level)
	}
	return b.String()
}

// lines gives the points, or each entry with its first count.
func (t *Table) lines() []Point {
	if len(t.Points) > 0 {
		return t.Points
	}
	list := make([]Point, len(t.Entries))
	for i, v := range t.Entries {
		list[i] = Point{(t.Base + i) << t.Shift, v}
	}
	return list
}
