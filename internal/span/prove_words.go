package span

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/doubt"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Sentence says how many marks were within the tolerance: "3 of 3 within 2
// points".
func (p Proof) Sentence() string {
	passed, of := p.Count()
	return fmt.Sprintf("%d of %d within %s points", passed, of, inPoints(p.Tolerance))
}

// Judgement is Sentence with what the doubt makes of it: "3 of 3 within 2
// points, 1 of them by less than the doubt".
func (p Proof) Judgement() string {
	text := p.Sentence()
	switch n := p.count(p.Verdict); p.Verdict {
	case doubt.ConditionalPass:
		if n == len(p.Rows) {
			return text + ", but by less than the doubt"
		}
		return fmt.Sprintf("%s, %d of them by less than the doubt", text, n)
	case doubt.ConditionalFail:
		return fmt.Sprintf("%s, %d outside by no more than the doubt", text, n)
	case doubt.Fail:
		if p.doubtless() {
			return text
		}
		return fmt.Sprintf("%s, %d outside by more than the doubt", text, n)
	}
	return text
}

// doubtless says whether nothing was in doubt, so that there was no guard band.
func (p Proof) doubtless() bool {
	for _, r := range p.Rows {
		if r.GuardBand > 0 {
			return false
		}
	}
	return true
}

// Rule says in one sentence how the verdicts are found.
func (p Proof) Rule() string {
	if p.doubtless() {
		return fmt.Sprintf("Rule: within %s points is a pass, beyond is a fail; no guard band is kept, as nothing is in doubt (JCGM 106, 8.2).", inPoints(p.Tolerance))
	}
	guard := "the doubt itself (about 95 %)"
	if p.Doubt.Guard != doubt.UsualGuard {
		guard = fmt.Sprintf("%s times the doubt (which is about 95 %%)", quantity.Short(p.Doubt.Guard, 2))
	}
	return fmt.Sprintf("Rule: the guard band is %s; a pass is within %s points by at least the guard band, a fail is outside by more than it, and what lies between is conditional (JCGM 106, 8.3).",
		guard, inPoints(p.Tolerance))
}

// Sources says what the doubt is made of.
func (p Proof) Sources() string {
	list := []string{"the display's step of " + counted(p.Doubt.Step)}
	if p.Doubt.Mark > 0 {
		list = append(list, "a mark held to ±"+counted(p.Doubt.Mark))
	}
	known := 0
	for _, r := range p.Rows {
		if r.Parts.Sender > 0 {
			known++
		}
	}
	switch {
	case known == len(p.Rows):
		list = append(list, "the sender's own scatter and hysteresis")
	case known > 0:
		list = append(list, fmt.Sprintf("at %d of %d marks the sender's own scatter and hysteresis", known, len(p.Rows)))
	}
	text := strings.Join(list[:len(list)-1], ", ")
	if text != "" {
		text += " and "
	}
	return text + list[len(list)-1]
}

// Findings tells where the check is too coarse to pass anything, and what would
// cure it.
func (p Proof) Findings() []finding.Finding {
	var worst *Proved
	coarse := 0
	for i, r := range p.Rows {
		if r.GuardBand >= p.Tolerance {
			coarse++
			if worst == nil || r.U > worst.U {
				worst = &p.Rows[i]
			}
		}
	}
	if coarse == 0 {
		return nil
	}
	where := "so no mark could pass, whatever was shown"
	if coarse < len(p.Rows) {
		where = fmt.Sprintf("so %d of %d marks could not pass, whatever was shown", coarse, len(p.Rows))
	}
	return []finding.Finding{{Kind: "coarse-check", Weight: finding.Doubt, Text: fmt.Sprintf(
		"This check is too coarse: its guard band is %s points and the tolerance %s, %s. It would help to %s.",
		up(worst.GuardBand), inPoints(p.Tolerance), where, strings.Join(p.cures(*worst), ", or to "))}}
}

// cures lists what would let a mark pass: each alone, where it can.
func (p Proof) cures(r Proved) []string {
	limit := float64(p.Tolerance / r.GuardBand * r.U) // u for which nothing of the tolerance is left
	// room gives the factor by which one source has to shrink, if that is enough.
	room := func(own quantity.Share, others ...quantity.Share) (float64, bool) {
		rest := 0.0
		for _, o := range others {
			rest = doubt.Combine(rest, float64(o))
		}
		if !(own > 0) || rest >= limit {
			return 0, false
		}
		return math.Sqrt(limit*limit-rest*rest) / float64(own), true
	}
	var list []string
	mark, byMark := room(r.Parts.Mark, r.Parts.Display, r.Parts.Sender)
	step, byStep := room(r.Parts.Display, r.Parts.Mark, r.Parts.Sender)
	const least = 1e-4 // closer than this nobody holds or reads
	byMark = byMark && float64(p.Doubt.Mark)*mark >= least
	byStep = byStep && float64(p.Doubt.Step)*step >= least
	if byMark {
		list = append(list, fmt.Sprintf("hold the mark closer than ±%s points", down(p.Doubt.Mark*quantity.Share(mark))))
	}
	if byStep {
		list = append(list, fmt.Sprintf("read a display with a finer step than %s points", down(p.Doubt.Step*quantity.Share(step))))
	}
	if !byMark && !byStep && float64(r.Parts.Sender) < limit {
		list = append(list, "hold the mark closer and read a display with a finer step")
	}
	return append(list, fmt.Sprintf("allow more than %s points", up(r.GuardBand)))
}

func inPoints(s quantity.Share) string { return quantity.Short(float64(s)*100, 2) }

func counted(s quantity.Share) string {
	if text := quantity.Short(float64(s)*100, 3); text != "1" {
		return text + " points"
	}
	return "1 point"
}

// up and down print points with one decimal more than a fitter reads, rounded
// to the side that keeps the sentence true.
func up(s quantity.Share) string {
	return quantity.Short(math.Ceil(float64(s)*1e4-1e-6)/100, 2)
}

func down(s quantity.Share) string {
	return quantity.Short(math.Floor(float64(s)*1e4+1e-6)/100, 2)
}
