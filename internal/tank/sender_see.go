package tank

import (
	"fmt"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Seen is what a sender can see of an upright tank, and what it can't.
type Seen struct {
	// Low and High are the heights of the surface between which it follows,
	// held to the tank.
	Low, High quantity.Metre
	// Below is the dead bottom: what the tank still holds when the sender has
	// come to its lowest. Above is the dead top: what more the tank takes
	// after the sender has come to its highest.
	Below, Above quantity.CubicMetre
	Share        quantity.Share // of the capacity, between the two
	Findings     []finding.Finding
}

// Kinds of findings about a sender in a tank.
const (
	KindDeadBottom   = "dead-bottom"
	KindDeadTop      = "dead-top"
	KindSeesNothing  = "sees-nothing"
	KindRodTooLong   = "rod-too-long"
	KindStrikesFloor = "strikes-floor"
	KindStrikesRoof  = "strikes-roof"
	KindStrikesWall  = "strikes-wall"
	KindMeetsInside  = "meets-inside"
	KindCantCheck    = "clearance-unknown"
)

// muchUnseen is the share of the capacity from which on a dead bottom or top
// is something to look at before relying on the sender. Common practice, no
// source.
const muchUnseen = 0.1

// See puts a sender into an upright tank: its dead bottom and top in litres,
// what is shown there, and what it would strike. An arm tells heights along
// the tank's upright; with a sensor whose axis leans it is an error.
func See(t *Tank, s Sender) (Seen, error) {
	if err := s.Check(); err != nil {
		return Seen{}, err
	}
	if arm := senderArm(s); arm != nil && !senderUpright(t) {
		return Seen{}, fmt.Errorf("an arm tells heights along the tank's upright; the sensor's axis leans, expected an upright one")
	}
	low, high := s.Reach()
	bottom, top := t.Upright().Reach()
	seen := Seen{Low: min(top, max(bottom, low)), High: min(top, max(bottom, high))}
	strikes := senderStrikes(t, s)
	if rod, ok := senderRod(s); ok {
		// A float held down by the roof never comes to its upper stop.
		if _, roof, known := senderFloorRoof(t); known {
			if held := quantity.Metre(roof - rod.Float + rod.Sinks); held < seen.High {
				seen.High = max(seen.Low, held)
			}
		}
	}
	seen.Below = t.Upright().Volume(seen.Low)
	seen.Above = t.Capacity() - t.Upright().Volume(seen.High)
	visible := t.Capacity() - seen.Below - seen.Above
	seen.Share = quantity.Share(max(0, visible/t.Capacity()))
	if !(seen.High > seen.Low) || !(visible > 0) {
		seen.Share = 0
		seen.Findings = append(strikes, finding.Finding{Kind: KindSeesNothing, Weight: finding.Bad,
			Text: fmt.Sprintf("It sees nothing of this tank: it follows the surface from %s to %s, and the tank's inside goes from %s to %s at the sensor.", low, high, bottom, top)})
		return seen, nil
	}
	seen.Findings = append(seen.dead(t, s), strikes...)
	return seen, nil
}

func (s Seen) dead(t *Tank, sender Sender) (list []finding.Finding) {
	capacity := t.Capacity()
	share := func(v quantity.CubicMetre) string { return quantity.Short(float64(v/capacity)*100, 1) + " %" }
	weight := func(v quantity.CubicMetre) finding.Weight {
		if float64(v/capacity) >= muchUnseen {
			return finding.Doubt
		}
		return finding.Note
	}
	if s.Below > capacity*1e-6 {
		list = append(list, finding.Finding{Kind: KindDeadBottom, Weight: weight(s.Below), Text: fmt.Sprintf(
			"The last %s (%s of the capacity) can't be seen: below %s of height the sender stands at its lowest and shows %s, with %s in the tank as with none.",
			senderLitres(s.Below), share(s.Below), s.Low, senderMark(sender, s.Low), senderLitres(s.Below))})
	}
	if s.Above > capacity*1e-6 {
		list = append(list, finding.Finding{Kind: KindDeadTop, Weight: weight(s.Above), Text: fmt.Sprintf(
			"The topmost %s (%s of the capacity) can't be seen: above %s of height the sender stands at its highest and shows %s. Don't fill by it beyond that: it can't tell how much room is left.",
			senderLitres(s.Above), share(s.Above), s.High, senderMark(sender, s.High))})
	}
	return list
}

// senderMark prints the mark at a height in the unit the sender is marked in.
func senderMark(s Sender, h quantity.Metre) string {
	mark, _ := s.Mark(h)
	if _, ok := senderRod(s); ok {
		return quantity.Metre(mark).String()
	}
	return quantity.Short(mark*100, 1) + " %"
}

// senderLitres prints a volume to a tenth of a litre, smaller ones to a
// hundredth.
func senderLitres(v quantity.CubicMetre) string {
	decimals := 1
	if v < 0.001 {
		decimals = 2
	}
	return quantity.Short(float64(v)*1000, decimals) + " L"
}

// senderRod gives the rod that a sender is.
func senderRod(s Sender) (Rod, bool) {
	switch s := s.(type) {
	case Rod:
		return s, true
	case *Rod:
		return *s, true
	}
	return Rod{}, false
}

// senderArm gives the arm of a sender that has one.
func senderArm(s Sender) *Arm {
	switch s := s.(type) {
	case Arm:
		return &s
	case *Arm:
		return s
	case Dial:
		return s.Arm
	case *Dial:
		return s.Arm
	}
	return nil
}
