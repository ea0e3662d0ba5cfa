package span

import (
	"fmt"
	"math"

	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// DefaultTolerance is what a fitter accepts of a display: ±2 points
// (common practice, no source).
const DefaultTolerance quantity.Share = 0.02

// UsualMarkDoubt is how closely a mark is held or read: to ±half a point of the
// marks from empty to full, such as a magnet held at a line of a dial by hand
// (common practice, no source).
const UsualMarkDoubt quantity.Share = 0.005

// Limits of what a check can be made with; beyond them it tells nothing.
const (
	maxMarkDoubt   quantity.Share = 0.25
	maxDisplayStep quantity.Share = 0.5
)

// Seen is what a display showed at a true mark.
type Seen struct {
	Mark  float64
	Shown quantity.Share
	Note  string
}

// CheckDoubt says how well the errors found in a check are known. What isn't in
// it, such as a scale that was set up wrongly, isn't in the verdicts either.
type CheckDoubt struct {
	// Step is the step in which the display shows, above 0 and up to half the
	// scale; 0 stands for what the shown figures tell, see [DisplayStep].
	Step quantity.Share
	// Mark is how far the true mark may have been from the one written down,
	// either way, in parts of the marks from empty to full: 0 (exact) to 0.25.
	Mark quantity.Share
	// Sender gives the standard uncertainty that the sender itself brings into
	// one look at the display, where it is known; nil where nothing is.
	Sender func(mark float64) (u quantity.Share, known bool)
	// Guard is the guard band in parts of the expanded uncertainty, 0 or more.
	Guard float64
}

// UsualDoubt is the doubt of a check of which nothing else is known.
func UsualDoubt() CheckDoubt { return CheckDoubt{Mark: UsualMarkDoubt, Guard: doubt.UsualGuard} }

// Parts is what a standard uncertainty is made of, each in parts of the scale.
type Parts struct{ Display, Mark, Sender quantity.Share }

// Proved is one mark of a check with its verdict.
type Proved struct {
	Seen
	Target      quantity.Share // what should be shown there
	Pass        bool           // |error| ≤ tolerance: the Verdict is Pass or ConditionalPass
	Verdict     doubt.Verdict
	Probability float64        // that the display is truly within the tolerance, 0..1
	U           quantity.Share // standard uncertainty of the error
	GuardBand   quantity.Share // w
	Parts       Parts          // of U
}

// Error gives shown − target.
func (p Proved) Error() quantity.Share { return p.Shown - p.Target }

// Odds says the probability in words: "97 %", "over 99 %", "under 1 %". It is
// cut to whole percent, so that it doesn't say more than is known.
func (p Proved) Odds() string {
	switch {
	case p.Probability > 0.99:
		return "over 99 %"
	case p.Probability < 0.01:
		return "under 1 %"
	}
	return quantity.Digits(math.Floor(p.Probability*100+1e-9), 0) + " %"
}

// Proof is a check of a display after setting.
type Proof struct {
	Pass      bool          // every mark is within the tolerance, and there was one
	Verdict   doubt.Verdict // the worst of the marks'
	Tolerance quantity.Share
	Doubt     CheckDoubt // as it was used, with the display's step filled in
	Rows      []Proved   // in the order they were taken
}

// Prove is [ProveWith] with the usual doubt.
func Prove(s scale.Scale, seen []Seen, tolerance quantity.Share) (Proof, error) {
	return ProveWith(s, seen, tolerance, UsualDoubt())
}

// ProveWith holds what a display showed against what it should show on a scale,
// mark by mark, by [doubt.Decide]. The tolerance is 0 < tolerance < 1; an error
// of exactly the tolerance is within it, whatever the rounding of its last
// digit.
//
// The standard uncertainty of an error combines
//   - the display's step, as step/√12 (JCGM 100:2008, F.2.2.1),
//   - the mark, as half-width/√3 (4.3.7), turned into points of the scale by
//     what the target would be that much to either side, the greater of the
//     two: beyond the ends, where the target stands still, it counts for
//     nothing,
//   - the sender, where it is known,
//
// and is taken for normal: one of the three rarely stands alone.
func ProveWith(s scale.Scale, seen []Seen, tolerance quantity.Share, d CheckDoubt) (Proof, error) {
	if !(tolerance > 0 && tolerance < 1) {
		return Proof{}, fmt.Errorf("a tolerance lies above 0 and below 100 points; found %g", float64(tolerance)*100)
	}
	if len(seen) == 0 {
		return Proof{}, fmt.Errorf("no readings of the display; a check needs at least one")
	}
	if err := d.usable(); err != nil {
		return Proof{}, err
	}
	if d.Step == 0 {
		d.Step = DisplayStep(seen)
	}
	p := Proof{Pass: true, Tolerance: tolerance, Doubt: d, Rows: make([]Proved, len(seen))}
	for i, v := range seen {
		row := Proved{Seen: v, Target: s.Target(v.Mark), Parts: d.parts(s, v.Mark)}
		row.U = row.Parts.combined()
		decision, err := doubt.Decide(float64(row.Error()), float64(row.U), float64(tolerance), d.Guard)
		if err != nil {
			return Proof{}, fmt.Errorf("reading %d of the display, %g at mark %g: %w", i+1, float64(v.Shown), v.Mark, err)
		}
		row.Verdict, row.Probability, row.GuardBand = decision.Verdict, decision.Probability, quantity.Share(decision.GuardBand)
		row.Pass = row.Verdict.Within()
		p.Pass = p.Pass && row.Pass
		p.Verdict = max(p.Verdict, row.Verdict)
		p.Rows[i] = row
	}
	return p, nil
}

// usable refuses doubts with which nothing could be told.
func (d CheckDoubt) usable() error {
	switch {
	case d.Step != 0 && !(d.Step > 0 && d.Step <= maxDisplayStep):
		return fmt.Errorf("a display can't show in steps of %g points; expected above 0, up to %g", float64(d.Step)*100, float64(maxDisplayStep)*100)
	case !(d.Mark >= 0 && d.Mark <= maxMarkDoubt):
		return fmt.Errorf("a mark can't be in doubt by %g points; expected 0 (exact) to %g", float64(d.Mark)*100, float64(maxMarkDoubt)*100)
	case !(d.Guard >= 0 && d.Guard <= 10):
		return fmt.Errorf("a guard band of %g times the doubt can't be kept; expected 0 (none) to 10", d.Guard)
	}
	return nil
}

// parts gives the standard uncertainties of an error at a mark by their source.
func (d CheckDoubt) parts(s scale.Scale, mark float64) Parts {
	empty, full := s.Whole()
	half := float64(d.Mark) * (full - empty)
	here := s.Target(mark)
	side := max(size(s.Target(mark+half)-here), size(s.Target(mark-half)-here))
	p := Parts{
		Display: quantity.Share(doubt.Resolution(float64(d.Step))),
		Mark:    quantity.Share(doubt.Rectangular(float64(side))),
	}
	if d.Sender != nil {
		if u, known := d.Sender(mark); known {
			p.Sender = u
		}
	}
	return p
}

func (p Parts) combined() quantity.Share {
	return quantity.Share(doubt.Combine(float64(p.Display), float64(p.Mark), float64(p.Sender)))
}

// DisplayStep gives the step of a display as far as what it showed tells: one
// point where all figures are whole percents, a tenth where they have one
// decimal, and so on down to a thousandth. A display of coarser steps can't be
// told from its figures; its step has to be given.
func DisplayStep(seen []Seen) quantity.Share {
	step := 1.0
	for ; step > 0.0015; step /= 10 {
		whole := true
		for _, v := range seen {
			n := float64(v.Shown) * 100 / step
			whole = whole && math.Abs(n-math.Round(n)) < 1e-6
		}
		if whole {
			break
		}
	}
	return quantity.Share(step / 100)
}

// Count gives how many marks passed.
func (p Proof) Count() (passed, of int) {
	return p.count(doubt.Pass, doubt.ConditionalPass), len(p.Rows)
}

func (p Proof) count(verdicts ...doubt.Verdict) int {
	n := 0
	for _, r := range p.Rows {
		for _, v := range verdicts {
			if r.Verdict == v {
				n++
			}
		}
	}
	return n
}
