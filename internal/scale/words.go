package scale

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Sentence says what 100 % means, in words for a customer, and on the scale
// Usable what 0 % means.
func (s Scale) Sentence() string {
	switch {
	case s.curved():
		return s.through.sentence(s.kind)
	case s.kind == Fill && s.dial:
		return fmt.Sprintf("100 %% = as full as this tank may be filled (%s on the dial).", s.permittedFill)
	case s.kind == Fill:
		return fmt.Sprintf("100 %% = as full as this tank may be filled (%s of the marks from empty to full).", s.permittedFill)
	case s.dial:
		return "100 % = the dial's own scale: the same figure as on the dial."
	default:
		return "100 % = the highest mark of the sender's own travel."
	}
}

func (t *through) sentence(kind Kind) string {
	told := ""
	if t.Words != "" {
		told = " Told " + t.Words + "."
	}
	if kind == Volume {
		text := "100 % = the whole tank to the brim" + t.amount(1, " (", ")") + "."
		if t.permitted > 0 && t.permitted < 1 {
			text += fmt.Sprintf(" As full as it may be filled is %s%s.", t.permitted, t.amount(float64(t.permitted), ", ", ""))
		}
		return text + told
	}
	top := "the tank full to the brim" + t.amount(1, " (", ")")
	if t.permitted > 0 && t.permitted < 1 {
		top = fmt.Sprintf("as full as this tank may be filled (%s of its water capacity%s)", t.permitted, t.amount(float64(t.permitted), ": ", ""))
	}
	if kind == Fill {
		return "100 % = " + top + "." + told
	}
	heel := fmt.Sprintf("%s of its water capacity is left, which can't be drawn", quantity.Share(t.bottom))
	if t.Capacity > 0 {
		heel = fmt.Sprintf("%s is left, which can't be drawn", quantity.CubicMetre(t.bottom)*t.Capacity)
	}
	return fmt.Sprintf("100 %% = %s, 0 %% = when %s.", top, heel) + told
}

// amount gives a part of the capacity in litres between two texts, or nothing
// where the capacity isn't known. It is cut to a tenth and not rounded: it must
// never say more than may be filled.
func (t *through) amount(part float64, before, after string) string {
	if t.Capacity == 0 {
		return ""
	}
	litres := math.Floor(part*float64(t.Capacity)*1e4+1e-6) / 10
	return before + quantity.Short(litres, 1) + " L" + after
}
