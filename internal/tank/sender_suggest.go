package tank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// UsualClearance is what is kept free of floor, roof and walls where nothing
// else is asked for. Common practice, no source.
const UsualClearance quantity.Metre = 0.010

// Suggestion is a sender that fits a tank, its sizes in whole millimetres.
type Suggestion[S Sender] struct {
	Sender S
	Seen   Seen
	Text   string
}

// SuggestRod gives the longest rod, in whole millimetres, that keeps a
// clearance off the floor, with mounting face, float and stops as those of
// like; its length is not looked at. Where the float would come nearer to the
// roof than the clearance, the upper stop is moved down.
func SuggestRod(t *Tank, like Rod, clear quantity.Metre) (Suggestion[Rod], error) {
	none := Suggestion[Rod]{}
	if err := suggestClear(clear); err != nil {
		return none, err
	}
	floor, roof, known := senderFloorRoof(t)
	if !known {
		return none, fmt.Errorf("no rod can be suggested: there is no tank under the sensor's place, or its shape isn't known; expected a place over the inside")
	}
	rod := like
	rod.Length = suggestDown(like.Mount - floor - float64(clear))
	if least := like.Mount - roof + float64(clear); least > like.Head {
		rod.Head = -suggestDown(-least)
	}
	if err := rod.Check(); err != nil {
		return none, fmt.Errorf("no rod fits with %s of clearance under a mounting face at %s: %w", clear, quantity.Metre(like.Mount), err)
	}
	seen, err := See(t, rod)
	if err != nil {
		return none, err
	}
	s := Suggestion[Rod]{Sender: rod, Seen: seen}
	s.Text = fmt.Sprintf("A rod of %s below the mounting face keeps %s off the floor", quantity.Metre(rod.Length), clear)
	if rod.Head != like.Head {
		s.Text += fmt.Sprintf("; with its upper stop %s below the face the float keeps %s off the roof", quantity.Metre(rod.Head), clear)
	}
	s.Text += suggestSees(seen)
	return s, nil
}

// SuggestArm gives the longest arm, in whole millimetres, whose float keeps a
// clearance off floor, roof and walls over all of its travel, with pivot,
// stops, float and direction as those of like; its length is not looked at. A
// Pivot of 0 lets the height of the pivot be chosen as well, so that most of
// the capacity is seen.
//
// Its limit: every arm shorter than the one found is taken to fit too, which
// holds where nothing stands between the pivot and the float's path.
func SuggestArm(t *Tank, like Arm, clear quantity.Metre) (Suggestion[Arm], error) {
	none := Suggestion[Arm]{}
	if err := suggestClear(clear); err != nil {
		return none, err
	}
	trial := like
	trial.Length, trial.Pivot = 0.001, max(like.Pivot, 0)
	trial.Sinks = 0 // held to the arm's length by Check, which isn't known yet
	if err := trial.Check(); err != nil {
		return none, err
	}
	if !senderUpright(t) {
		return none, fmt.Errorf("an arm tells heights along the tank's upright; the sensor's axis leans, expected an upright one")
	}
	if _, _, known := senderFloorRoof(t); !known {
		return none, fmt.Errorf("no arm can be suggested: there is no tank at the sensor's place, or its shape isn't known; expected a place over the inside")
	}
	arm, seen, err := suggestLongest(t, like, clear)
	if like.Pivot == 0 {
		arm, seen, err = suggestPivot(t, like, clear)
	}
	if err != nil {
		return none, err
	}
	s := Suggestion[Arm]{Sender: arm, Seen: seen}
	s.Text = fmt.Sprintf("An arm of %s on a pivot at %s, from %s to %s, keeps %s off floor, roof and walls",
		quantity.Metre(arm.Length), quantity.Metre(arm.Pivot), senderDegrees(arm.Low), senderDegrees(arm.High), clear) + suggestSees(seen)
	return s, nil
}

func suggestClear(clear quantity.Metre) error {
	if !(clear >= 0 && clear <= MaxExtent) {
		return fmt.Errorf("the clearance is %s; expected 0 mm or more", clear)
	}
	return nil
}

// suggestDown rounds down to whole millimetres; a length that is one but for
// its last digits stays.
func suggestDown(v float64) float64 { return math.Floor(v*1000+1e-6) / 1000 }

func suggestSees(s Seen) string {
	text := fmt.Sprintf(", and sees %s %% of the capacity, with the surface from %s to %s.", quantity.Short(math.Floor(float64(s.Share)*1000)/10, 1), s.Low, s.High)
	for _, f := range s.Findings {
		if f.Weight == finding.Bad {
			text += " " + f.Text
		}
	}
	return text
}

func suggestLongest(t *Tank, like Arm, clear quantity.Metre) (Arm, Seen, error) {
	arm := like
	low, high := t.Box()
	fits, not := 0, int(math.Ceil(r3.Norm(r3.Sub(high, low))*1000))+1
	for not-fits > 1 {
		mid := (fits + not) / 2
		if arm.Length = float64(mid) / 1000; arm.fits(t, float64(clear)) {
			fits = mid
		} else {
			not = mid
		}
	}
	arm.Length = float64(fits) / 1000
	if fits == 0 {
		return arm, Seen{}, fmt.Errorf("no arm on a pivot at %s keeps %s off floor, roof and walls; expected a pivot farther from them, a smaller float or less clearance", quantity.Metre(like.Pivot), clear)
	}
	seen, err := See(t, arm)
	return arm, seen, err
}

// suggestPivot tries pivots at sixteen heights, then ever closer about the best
// of them, down to a millimetre.
func suggestPivot(t *Tank, like Arm, clear quantity.Metre) (best Arm, most Seen, err error) {
	top := int(float64(t.Height()) * 1000)
	step := max(1, top/16)
	err = fmt.Errorf("no arm keeps %s off floor, roof and walls, wherever its pivot; expected a smaller float or less clearance", clear)
	try := func(mm int) {
		arm := like
		arm.Pivot = float64(mm) / 1000
		arm, seen, e := suggestLongest(t, arm, clear)
		if mm > 0 && e == nil && (err != nil || seen.Share > most.Share) {
			best, most, err = arm, seen, nil
		}
	}
	for mm := step; mm < top; mm += step {
		try(mm)
	}
	for err == nil && step > 1 {
		step = max(1, step/4)
		centre := int(math.Round(best.Pivot * 1000))
		for k := 1; k <= 4; k++ {
			try(centre - k*step)
			try(centre + k*step)
		}
	}
	return best, most, err
}

// fits says whether the float keeps clear over all of the travel: whether the
// ball around it, looked at in ten directions, lies within the tank.
func (a Arm) fits(t *Tank, clear float64) bool {
	radius := (a.Float/2 + clear) * (1 - 1e-9)
	along := a.direction()
	athwart := r3.Vec{X: -along.Y, Y: along.X}
	points := []r3.Vec{athwart, r3.Scale(-1, athwart)}
	for i := range 8 {
		s, c := math.Sincos(float64(i) * math.Pi / 4)
		points = append(points, r3.Add(r3.Scale(c, along), r3.Vec{Z: s}))
	}
	for _, angle := range a.armAngles() {
		end := a.end(t, angle)
		for _, p := range points {
			if !t.Contains(r3.Add(end, r3.Scale(radius, p))) {
				return false
			}
		}
	}
	return true
}
