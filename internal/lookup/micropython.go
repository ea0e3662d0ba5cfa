package lookup

import (
	"fmt"
	"strings"
)

// MicroPython writes a module: the arrays, gw_fault, and a function that gives the
// level with whole numbers alone. Plain Python runs it too.
func (t *Table) MicroPython(a About) string {
	var b strings.Builder
	b.WriteString(commented("# ", t.header(a)))
	b.WriteString("from array import array\n\n")
	fmt.Fprintf(&b, "GW_NO_LEVEL = %d\nGW_FULL_COUNT = %d\n", NoLevel, t.Full)
	for f, words := range faults {
		fmt.Fprintf(&b, "%s = %d  # %s\n", words.c, f, words.words)
	}
	b.WriteString("\n")
	if len(t.Points) > 0 {
		counts, levels := t.columns()
		b.WriteString(pyArray("H", "gw_counts", counts) + pyArray("h", "gw_levels", levels))
	} else {
		b.WriteString(pyArray("h", "gw_levels", t.Entries))
	}
	b.WriteString("\n\ndef gw_fault(counts):\n    \"\"\"What a count means: GW_FINE where there is a level.\"\"\"\n")
	b.WriteString("    if counts < 0 or counts > GW_FULL_COUNT:\n        return GW_NO_COUNT\n")
	last := len(t.Zones) - 1
	for _, z := range t.Zones[:last] {
		fmt.Fprintf(&b, "    if counts <= %d:\n        return %s\n", z.To, faults[z.Fault].c)
	}
	fmt.Fprintf(&b, "    return %s\n", faults[t.Zones[last].Fault].c)
	fmt.Fprintf(&b, "\n\ndef %s(counts):\n    \"\"\"The figure in %s, or GW_NO_LEVEL.\"\"\"\n", t.Quantity.Function(), t.Quantity.Words())
	b.WriteString("    if gw_fault(counts) != GW_FINE:\n        return GW_NO_LEVEL\n")
	if len(t.Points) > 0 {
		b.WriteString(t.pyPoints())
	} else {
		fmt.Fprintf(&b, "    i = (counts >> %d) - %d\n    return gw_levels[max(0, min(len(gw_levels) - 1, i))]\n", t.Shift, t.Base)
	}
	return b.String()
}

func (t *Table) pyPoints() string {
	line := "y0 + ((y1 - y0) * (counts - x0) + width // 2) // width"
	if !t.Rising {
		line = "y1 + ((y0 - y1) * (x1 - counts) + width // 2) // width"
	}
	return `    low = 0
    high = len(gw_counts) - 1
    if counts <= gw_counts[low]:
        return gw_levels[low]
    if counts >= gw_counts[high]:
        return gw_levels[high]
    while high - low > 1:
        middle = (low + high) // 2
        if gw_counts[middle] <= counts:
            low = middle
        else:
            high = middle
    x0 = gw_counts[low]
    x1 = gw_counts[high]
    y0 = gw_levels[low]
    y1 = gw_levels[high]
    width = x1 - x0
    return ` + line + `
`
}

func pyArray(code, name string, values []int) string {
	return fmt.Sprintf("%s = array(\"%s\", (\n%s))\n", name, code, rows(values, ","))
}
