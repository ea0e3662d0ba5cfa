package span

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Objective says what makes one setting better than another.
type Objective string

const (
	// Worst makes the largest error at the readings least. The zero value of
	// Objective means the same.
	Worst Objective = "worst"
	// NearEmpty makes the largest weighted error least; an error counts
	// 1 + 3·(1 − target) times, so four times at empty, once at full and in
	// proportion between. What is left is what somebody plans by: five points
	// wrong are a twentieth of a full tank and half of what is left at ten. The
	// error in parts of what is left would grow beyond all bounds at empty;
	// this weight follows it as far as a quarter and stays finite.
	NearEmpty Objective = "near-empty"
	// NeverHigh shows at no reading more than there is, and then makes the
	// largest error least: an owner told less than there is runs out of nothing.
	NeverHigh Objective = "never-high"
	// RMS makes the root of the mean square of the errors at the readings
	// least, every reading counting the same.
	RMS Objective = "rms"
)

// Objectives lists every objective, the usual one first.
var Objectives = []Objective{Worst, NearEmpty, NeverHigh, RMS}

// ParseObjective reads an objective's word; nothing stands for Worst.
func ParseObjective(text string) (Objective, error) {
	if text == "" {
		return Worst, nil
	}
	for _, o := range Objectives {
		if text == string(o) {
			return o, nil
		}
	}
	return "", fmt.Errorf("objective %q is not known; expected worst, near-empty, never-high or rms", text)
}

// Sentence says in words what the objective makes least.
func (o Objective) Sentence() string {
	switch o {
	case NearEmpty:
		return "Chosen for the least error near empty: an error at empty counts four times, one at full once, in proportion between."
	case NeverHigh:
		return "Chosen so that no reading is shown as more than there is, and then for the least error."
	case RMS:
		return "Chosen for the least root-mean-square error over the readings."
	}
	return "Chosen for the least worst error over the readings."
}

// Weight gives how many times an error counts where a target (0..1) should be
// shown.
func (o Objective) Weight(target quantity.Share) float64 {
	if o == NearEmpty {
		return 1 + 3*(1-float64(target))
	}
	return 1
}

// hair is what a display may show too much with NeverHigh: a billionth of a
// point when a setting is sought, and, for the rounding of what is found, a
// millionth when it is judged.
const (
	hair      = 1e-9
	hairFound = 1e-6
)

// Score gives what the objective makes least for a trial, as a share: the
// worst error, the worst weighted error, or the root-mean-square error. With
// NeverHigh a trial that reads high is scored by its worst error all the same.
func (o Objective) Score(t Trial) quantity.Share {
	switch o {
	case NearEmpty:
		score := 0.0
		for _, r := range t.Rows {
			score = max(score, o.Weight(r.Target)*math.Abs(float64(r.Error())))
		}
		return quantity.Share(score)
	case RMS:
		sum := 0.0
		for _, r := range t.Rows {
			sum += float64(r.Error()) * float64(r.Error())
		}
		return quantity.Share(math.Sqrt(sum / float64(len(t.Rows))))
	}
	return t.Worst
}

// band says how far above and below its target a reading may be shown for a
// score of one point, in points, and what is allowed above besides.
func (o Objective) band(target float64) (up, down, slack float64) {
	switch o {
	case NearEmpty:
		w := o.Weight(quantity.Share(target / 100))
		return 1 / w, 1 / w, 0
	case NeverHigh:
		return 0, 1, hair
	}
	return 1, 1, 0
}

// greatestScore is more, in points, than any display can score.
func (o Objective) greatestScore() float64 {
	if o == NearEmpty {
		return 400
	}
	return 100
}

// at is one reading: its ohms in the rising orientation, its target in percent,
// and how far above and below the target it may be shown for a score of one.
type at struct {
	ohm, target     float64
	up, down, slack float64
}

// ceiling is the most that may be shown of a reading for a score of e points.
func (r *at) ceiling(e float64) float64 { return r.target + e*r.up + r.slack }

// floor is the least.
func (r *at) floor(e float64) float64 { return r.target - e*r.down }

// score gives what showing a figure scores, apart for too high and too low;
// one of them is 0 or less.
func (r *at) score(shown float64) (high, low float64) {
	over := shown - r.target
	low = -over / r.down
	switch {
	case r.up > 0:
		high = over / r.up
	case over > hairFound:
		high = math.Inf(1)
	}
	return high, low
}
