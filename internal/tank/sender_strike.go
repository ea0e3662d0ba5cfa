package tank

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// strikeSlack is how far something may reach beyond the skin, in metres, before
// it is said to strike: a hundredth of a millimetre, less than is ever measured
// and more than is left over from looking for the skin.
const strikeSlack = 1e-5

// senderStrikes says what of a sender would strike the tank.
func senderStrikes(t *Tank, s Sender) []finding.Finding {
	if rod, ok := senderRod(s); ok {
		return rod.strikes(t)
	}
	if arm := senderArm(s); arm != nil {
		return arm.strikes(t)
	}
	return nil
}

func (r Rod) strikes(t *Tank) (list []finding.Finding) {
	floor, roof, known := senderFloorRoof(t)
	if !known {
		list = append(list, senderCantCheck())
	}
	if short := floor - (r.Mount - r.Length); short > strikeSlack {
		list = append(list, finding.Finding{Kind: KindRodTooLong, Weight: finding.Bad, Text: fmt.Sprintf(
			"The rod is %s too long for this tank: mounted at %s, it would reach %s below the floor under the sensor. Shorten it, or mount it higher.",
			quantity.Metre(short), quantity.Metre(r.Mount), quantity.Metre(short))})
	}
	if at, meets := r.meets(t, floor, roof); known && meets {
		list = append(list, finding.Finding{Kind: KindMeetsInside, Weight: finding.Bad, Text: fmt.Sprintf(
			"The rod would meet something built into the tank, %s above the lowest inside point. Mount it elsewhere, or take a shorter one.", quantity.Metre(at))})
	}
	if over := r.Mount - r.Head - roof; known && over > strikeSlack {
		list = append(list, finding.Finding{Kind: KindStrikesRoof, Weight: finding.Doubt, Text: fmt.Sprintf(
			"The float meets the roof %s before its upper stop, unless the opening above it is wide enough for it; what it shows there is not its highest mark.", quantity.Metre(over))})
	}
	return list
}

// meets looks for a place between floor and roof where the rod isn't inside the
// tank, from above.
func (r Rod) meets(t *Tank, floor, roof float64) (at float64, meets bool) {
	const steps = 64
	low, high := max(floor, r.Mount-r.Length)+strikeSlack, min(roof, r.Mount)-strikeSlack
	s := t.Sensor()
	for i := range steps + 1 {
		at = high + (low-high)*float64(i)/steps
		if !t.Contains(r3.Add(r3.Vec{X: s.X, Y: s.Y}, r3.Scale(at, s.Axis))) {
			return at, low < high
		}
	}
	return 0, false
}

// strikes looks at the float along the arm's travel: how far it would reach
// below the floor, above the roof, or whether its middle leaves the tank.
func (a Arm) strikes(t *Tank) (list []finding.Finding) {
	up := r3.Vec{Z: 1}
	var below, above float64
	var belowAt, aboveAt, wallAt float64
	wall, any := false, false
	for _, angle := range a.armAngles() {
		end := a.end(t, angle)
		floor, roof, ok := senderChord(t, r3.Vec{X: end.X, Y: end.Y}, up)
		if !ok || end.Z > floor+strikeSlack && end.Z < roof-strikeSlack && !t.Contains(end) {
			if !wall {
				wallAt = angle
			}
			wall = true
			continue
		}
		any = true
		if d := floor - (end.Z - a.Float/2); d > below {
			below, belowAt = d, angle
		}
		if d := end.Z + a.Float/2 - roof; d > above {
			above, aboveAt = d, angle
		}
	}
	if !any {
		if _, _, known := senderFloorRoof(t); !known {
			return []finding.Finding{senderCantCheck()}
		}
	}
	if below > strikeSlack {
		list = append(list, finding.Finding{Kind: KindStrikesFloor, Weight: finding.Bad, Text: fmt.Sprintf(
			"The arm would strike the floor: at %s its float would reach %s below it. Take a shorter arm, or a lower stop at a smaller angle.", senderDegrees(belowAt), quantity.Metre(below))})
	}
	if above > strikeSlack {
		list = append(list, finding.Finding{Kind: KindStrikesRoof, Weight: finding.Bad, Text: fmt.Sprintf(
			"The arm would strike the roof: at %s its float would reach %s above it. Take a shorter arm, or an upper stop at a smaller angle.", senderDegrees(aboveAt), quantity.Metre(above))})
	}
	if wall {
		end := a.end(t, wallAt)
		list = append(list, finding.Finding{Kind: KindStrikesWall, Weight: finding.Bad, Text: fmt.Sprintf(
			"The arm would strike the wall: at %s the middle of its float would stand %s forward and %s to port of the tank's middle, outside the tank or in what is built into it. Take a shorter arm, or let it point another way.",
			senderDegrees(wallAt), quantity.Metre(end.X), quantity.Metre(end.Y))})
	}
	return list
}

func senderCantCheck() finding.Finding {
	return finding.Finding{Kind: KindCantCheck, Weight: finding.Note,
		Text: "Whether the sender strikes floor, roof or wall can't be told: there is no tank at its place, or the tank's shape isn't known."}
}
