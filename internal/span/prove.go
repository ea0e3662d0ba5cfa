package span

import (
	"fmt"

	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// DefaultTolerance is what a fitter accepts of a display: ±2 points
// (common practice, no source).
const DefaultTolerance quantity.Share = 0.02

// Seen is what a display showed at a true mark.
type Seen struct {
	Mark  float64
	Shown quantity.Share
	Note  string
}

// Proved is one mark of a check with its verdict.
type Proved struct {
	Seen
	Target quantity.Share // what should be shown there
	Pass   bool
}

// Error gives shown − target.
func (p Proved) Error() quantity.Share { return p.Shown - p.Target }

// Proof is a check of a display after setting.
type Proof struct {
	Pass      bool // every mark passed, and there was one
	Tolerance quantity.Share
	Rows      []Proved // in the order they were taken
}

// Prove holds what a display showed against what it should show on a scale. A
// mark passes when the two differ by no more than the tolerance, 0 < tolerance
// < 1; a difference of exactly the tolerance passes, whatever the rounding of
// its last digit.
func Prove(s scale.Scale, seen []Seen, tolerance quantity.Share) (Proof, error) {
	if !(tolerance > 0 && tolerance < 1) {
		return Proof{}, fmt.Errorf("a tolerance lies above 0 and below 100 points; found %g", float64(tolerance)*100)
	}
	if len(seen) == 0 {
		return Proof{}, fmt.Errorf("no readings of the display; a check needs at least one")
	}
	p := Proof{Pass: true, Tolerance: tolerance, Rows: make([]Proved, len(seen))}
	for i, v := range seen {
		row := Proved{Seen: v, Target: s.Target(v.Mark)}
		row.Pass = size(row.Error()) <= tolerance+1e-9
		p.Pass = p.Pass && row.Pass
		p.Rows[i] = row
	}
	return p, nil
}

// Count gives how many marks passed.
func (p Proof) Count() (passed, of int) {
	for _, r := range p.Rows {
		if r.Pass {
			passed++
		}
	}
	return passed, len(p.Rows)
}

// Sentence says the verdict in words: "3 of 3 within 2 points".
func (p Proof) Sentence() string {
	passed, of := p.Count()
	return fmt.Sprintf("%d of %d within %s points", passed, of, quantity.Short(float64(p.Tolerance)*100, 2))
}
