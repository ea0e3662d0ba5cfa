package job

import (
	"fmt"
	"math"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
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
		switch permitted := t.PermittedPct(); {
		case t.kind() == scale.Volume && permitted > 0:
			list = append(list, fmt.Sprintf("This display shows the part of the whole tank that is filled: as full as permitted is %s on it, not 100 %%.", pct(permitted)))
		case t.kind() == scale.Volume:
			list = append(list, "100 % on this display is the whole tank to the brim. It must never be filled so far.")
		case t.Unit() == curve.Dial && permitted > 0 && t.permittedOnDial() > 0:
			list = append(list, fmt.Sprintf("This display shows the dial's own scale: as full as permitted is %s on it, not 100 %%.", pct(t.permittedOnDial())))
		default:
			list = append(list, "100 % on this display is the end of the sender's scale. It doesn't mean that the tank may be filled so far.")
		}
	}
	return append(list, noGuard, localCode)
}

// permittedOnDial gives the mark of a dial at the permitted fill, in percent, cut
// to a tenth where it goes through the shape; 0 where it can't be told.
func (t Tank) permittedOnDial() float64 {
	if t.Shape == nil {
		return t.PermittedFillPct
	}
	f, err := t.Filling()
	if err != nil {
		return 0
	}
	return math.Floor(f.Mark(t.PermittedPct()/100)*1000+1e-6) / 10
}

func (t Tank) fuelCautions() []string {
	first := "Diesel burns, and its mist and hot vapour catch fire. Work in open air, away from flames, sparks and hot parts, and wipe up what is spilt."
	if t.Contents == Petrol {
		first = "Petrol gives off vapour that ignites from a spark, even in the cold, and gathers low. Work on the sender away from the tank, in open air, away from flames, sparks, telephones and anything that switches."
	}
	list := []string{first}
	if t.PermittedPct() > 0 {
		list = append(list, fmt.Sprintf("Never fill beyond the permitted fill%s, whatever the display shows: the fuel needs room to expand.", t.permitted()))
	} else {
		list = append(list, "Don't fill to the brim, whatever the display shows: the fuel needs room to expand.")
	}
	return append(list, noGuard, localCode)
}

// permitted gives " (80 % of the water capacity)", or nothing where the
// permitted fill isn't stated.
func (t Tank) permitted() string {
	if t.PermittedPct() == 0 {
		return ""
	}
	return fmt.Sprintf(" (%s of the water capacity)", pct(t.PermittedPct()))
}

func pct(v float64) string { return quantity.Short(v, 2) + " %" }
