package job

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// Sentences that more than one list of cautions has.
const (
	localCode = "The local code comes before anything written here. Leave connections, and every part that holds pressure or fuel, to someone licensed for that work."
	noGuard   = "A display shows what its sender gives. It finds no leak and stops no filling."
)

// Cautions gives what has to be said to whoever works on this tank or reads
// its display, in the order of weight: for LPG and for fuels, and for contents
// that aren't known; nothing for water and waste. They make no claim that
// something is safe, and defer to the local code and to licensed people.
//
// What they say of the dial's screws, of vapour and of ignition is general
// knowledge of the trade (common practice, no source).
func (t Tank) Cautions() []string {
	switch t.Contents {
	case LPG:
		return t.gasCautions()
	case Diesel, Petrol:
		return t.fuelCautions()
	case Water, Waste:
		return nil
	}
	return []string{
		"What is in this tank isn't stated. Find out first whether it burns or harms, and until then handle it as if it did.",
		noGuard,
		localCode,
	}
}

func (t Tank) gasCautions() []string {
	list := []string{
		"Gas can burn and explode. Work on the dial head off the tank, in open air, away from flames, sparks, telephones and anything that switches.",
		"The vapour is heavier than air and gathers low: in footwells, bilges, lockers and pits.",
		"Touch only the small screws that hold the dial. The larger fasteners around it hold the pressure: never slacken them.",
		fmt.Sprintf("Never fill beyond the permitted fill%s, whatever the display shows. The tank's own filling stop and level gauge decide, not this display.", t.permitted()),
	}
	if t.Setting != nil && !t.onFill() {
		if t.Unit() == curve.Dial && t.PermittedFillPct > 0 {
			list = append(list, fmt.Sprintf("This display shows the dial's own scale: as full as permitted is %s on it, not 100 %%.", pct(t.PermittedFillPct)))
		} else {
			list = append(list, "100 % on this display is the end of the sender's scale. It doesn't mean that the tank may be filled so far.")
		}
	}
	return append(list, noGuard, localCode)
}

func (t Tank) fuelCautions() []string {
	first := "Diesel burns, and its mist and hot vapour catch fire. Work in open air, away from flames, sparks and hot parts, and wipe up what is spilt."
	if t.Contents == Petrol {
		first = "Petrol gives off vapour that ignites from a spark, even in the cold, and gathers low. Work on the sender away from the tank, in open air, away from flames, sparks, telephones and anything that switches."
	}
	list := []string{first}
	if t.PermittedFillPct > 0 {
		list = append(list, fmt.Sprintf("Never fill beyond the permitted fill%s, whatever the display shows: the fuel needs room to expand.", t.permitted()))
	} else {
		list = append(list, "Don't fill to the brim, whatever the display shows: the fuel needs room to expand.")
	}
	return append(list, noGuard, localCode)
}

// permitted gives " (80 % of the water capacity)", or nothing where the
// permitted fill isn't stated.
func (t Tank) permitted() string {
	if t.PermittedFillPct == 0 {
		return ""
	}
	return fmt.Sprintf(" (%s of the water capacity)", pct(t.PermittedFillPct))
}

func pct(v float64) string { return quantity.Short(v, 2) + " %" }
