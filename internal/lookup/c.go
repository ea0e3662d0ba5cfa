package lookup

import (
	"fmt"
	"strings"
)

// C writes a header for C99 and C++: the arrays, gw_fault, and a function that
// gives the level with integers of 32 bits at most, and for points by a binary
// search. Counts are uint16_t.
func (t *Table) C(a About) string {
	var b strings.Builder
	b.WriteString("/*\n" + commented(" * ", t.header(a)) + " */\n")
	b.WriteString("#ifndef GW_LOOKUP_H\n#define GW_LOOKUP_H\n\n#include <stdint.h>\n\n")
	fmt.Fprintf(&b, "#define GW_NO_LEVEL (%d)\n#define GW_FULL_COUNT %du\n", NoLevel, t.Full)
	for f, words := range faults {
		fmt.Fprintf(&b, "#define %s %d /* %s */\n", words.c, f, words.words)
	}
	b.WriteString("\n")
	if len(t.Points) > 0 {
		counts, levels := t.columns()
		fmt.Fprintf(&b, "#define GW_POINTS %du\n", len(t.Points))
		b.WriteString(cArray("uint16_t", "gw_counts", counts) + cArray("int16_t", "gw_levels", levels))
	} else {
		fmt.Fprintf(&b, "#define GW_ENTRIES %du\n", len(t.Entries))
		b.WriteString(cArray("int16_t", "gw_levels", t.Entries))
	}
	b.WriteString("\n/* What a count means: GW_FINE where there is a level. */\nstatic inline int gw_fault(uint16_t counts)\n{\n")
	if t.Full < MostFull {
		b.WriteString("    if (counts > GW_FULL_COUNT) return GW_NO_COUNT;\n")
	}
	last := len(t.Zones) - 1
	for _, z := range t.Zones[:last] {
		fmt.Fprintf(&b, "    if (counts <= %du) return %s;\n", z.To, faults[z.Fault].c)
	}
	fmt.Fprintf(&b, "    return %s;\n}\n\n", faults[t.Zones[last].Fault].c)
	fmt.Fprintf(&b, "/* The figure in %s, or GW_NO_LEVEL. */\nstatic inline int32_t %s(uint16_t counts)\n{\n", t.Quantity.Words(), t.Quantity.Function())
	if len(t.Points) > 0 {
		b.WriteString(t.cPoints())
	} else {
		b.WriteString(t.cEntries())
	}
	b.WriteString("}\n\n#endif\n")
	return b.String()
}

func (t *Table) columns() (counts, levels []int) {
	for _, p := range t.Points {
		counts, levels = append(counts, p.Count), append(levels, p.Level)
	}
	return counts, levels
}

func (t *Table) cPoints() string {
	line := "(y0 + ((y1 - y0) * ((int32_t)counts - x0) + width / 2) / width)"
	if !t.Rising {
		line = "(y1 + ((y0 - y1) * (x1 - (int32_t)counts) + width / 2) / width)"
	}
	return `    uint16_t low = 0u;
    uint16_t high = (uint16_t)(GW_POINTS - 1u);
    int32_t x0, x1, y0, y1, width;

    if (gw_fault(counts) != GW_FINE) return GW_NO_LEVEL;
    if (counts <= gw_counts[low]) return gw_levels[low];
    if (counts >= gw_counts[high]) return gw_levels[high];
    while (high - low > 1) {
        uint16_t middle = (uint16_t)((low + high) / 2);
        if (gw_counts[middle] <= counts) low = middle;
        else high = middle;
    }
    x0 = (int32_t)gw_counts[low];
    x1 = (int32_t)gw_counts[high];
    y0 = (int32_t)gw_levels[low];
    y1 = (int32_t)gw_levels[high];
    width = x1 - x0;
    return ` + line + `;
`
}

func (t *Table) cEntries() string {
	return fmt.Sprintf(`    int32_t i;

    if (gw_fault(counts) != GW_FINE) return GW_NO_LEVEL;
    i = ((int32_t)counts >> %d) - %d;
    if (i < 0) i = 0;
    if (i > (int32_t)GW_ENTRIES - 1) i = (int32_t)GW_ENTRIES - 1;
    return gw_levels[i];
`, t.Shift, t.Base)
}

// rowOf is how many figures stand in a line.
const rowOf = 12

func cArray(kind, name string, values []int) string {
	return fmt.Sprintf("static const %s %s[%d] = {\n%s};\n", kind, name, len(values), rows(values, ","))
}

// rows sets figures in lines, with the sign after each.
func rows(values []int, sign string) string {
	var b strings.Builder
	for i, v := range values {
		if i%rowOf == 0 {
			b.WriteString("    ")
		}
		fmt.Fprintf(&b, "%d", v)
		switch {
		case i == len(values)-1:
			b.WriteString(sign + "\n")
		case i%rowOf == rowOf-1:
			b.WriteString(sign + "\n")
		default:
			b.WriteString(sign + " ")
		}
	}
	return b.String()
}
