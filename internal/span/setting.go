package span

import (
	"fmt"
	"sort"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// Setting is what is keyed into a readout.
type Setting interface {
	// Show gives what the readout displays at a resistance, 0..1.
	Show(quantity.Ohm) quantity.Share
	// String gives the numbers to key in.
	String() string
}

// Ends is the setting of a two-point readout: the ohms at 0 % (the lower range
// value) and at 100 % (the upper range value). For a falling sender Lower is
// the greater of the two.
type Ends struct {
	Lower, Upper quantity.Ohm
}

// Show gives (R − L)/(U − L), held to 0..1.
func (e Ends) Show(ohm quantity.Ohm) quantity.Share {
	return quantity.Share(min(1, max(0, (ohm-e.Lower)/(e.Upper-e.Lower))))
}

// String gives "0 and 101".
func (e Ends) String() string {
	return quantity.Short(float64(e.Lower), 4) + " and " + quantity.Short(float64(e.Upper), 4)
}

// ParseEnds reads "0:101", the ohms at 0 % and at 100 %.
func ParseEnds(text string) (Ends, error) {
	lower, upper, found := strings.Cut(text, ":")
	if !found {
		return Ends{}, fmt.Errorf("%q isn't a pair of end values; write the ohms at 0 %% and at 100 %% like 0:101", text)
	}
	var e Ends
	for _, part := range []struct {
		text string
		into *quantity.Ohm
	}{{lower, &e.Lower}, {upper, &e.Upper}} {
		v, err := quantity.ParseNumber(part.text, true)
		if err != nil {
			return Ends{}, fmt.Errorf("%q isn't a pair of end values: %w; write the ohms at 0 %% and at 100 %% like 0:101", text, err)
		}
		if v < 0 {
			return Ends{}, fmt.Errorf("%q isn't a pair of end values: %g is below zero ohms", text, v)
		}
		*part.into = quantity.Ohm(v)
	}
	if e.Lower == e.Upper {
		return Ends{}, fmt.Errorf("%q isn't a pair of end values: both are the same, so nothing could be shown between", text)
	}
	return e, nil
}

// Entry is one line of a table.
type Entry struct {
	Ohm   quantity.Ohm
	Share quantity.Share // shown there, 0..1
}

// Table is the setting of a table readout: two or more entries in rising order
// of ohms.
type Table []Entry

// Show gives the straight line between the entries beside the resistance, and
// the end entry's share beyond them.
func (t Table) Show(ohm quantity.Ohm) quantity.Share {
	i := sort.Search(len(t), func(i int) bool { return t[i].Ohm >= ohm })
	switch {
	case i == 0:
		return t[0].Share
	case i == len(t):
		return t[len(t)-1].Share
	}
	a, b := t[i-1], t[i]
	return a.Share + quantity.Share((ohm-a.Ohm)/(b.Ohm-a.Ohm))*(b.Share-a.Share)
}

// Texts gives the ohms and the percentages of the entries as they are keyed in.
func (t Table) Texts() (ohms, percents []string) { return t.TextsOf(curve.Ohms) }

// TextsOf is [Table.Texts] where the sender gives a signal.
func (t Table) TextsOf(signal curve.Signal) (values, percents []string) {
	a, b := make([]float64, len(t)), make([]float64, len(t))
	for i, e := range t {
		a[i], b[i] = float64(e.Ohm), float64(e.Share)*100
	}
	decimals := signal.Decimals()
	if signal == curve.Ohms {
		decimals = 2
	}
	return quantity.Aligned(a, decimals), quantity.Aligned(b, 2)
}

// String gives "0.6→0 %, 40.1→51 %, …".
func (t Table) String() string {
	parts := make([]string, len(t))
	for i, e := range t {
		parts[i] = quantity.Short(float64(e.Ohm), 2) + "→" + e.Share.String()
	}
	return strings.Join(parts, ", ")
}
