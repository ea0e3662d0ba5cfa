package telling

import (
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// Proposal is what could be keyed in for a tank of a job, before it is stored.
type Proposal struct {
	Curve *curve.Curve
	Scale scale.Scale // as the setting to be has it
	Best  span.Choice
	Steps string // what the readout takes, see StepWords
	// How is the setting to be, but for the numbers: scale, step, margin, marks at
	// empty and full, by whom and when.
	How job.Setting
}

// Propose finds the best numbers for a tank. From how it takes the scale (the
// mark scale, unless one is named), the marks at empty and full, by whom and the date; step and margin are set from the
// wish, and what it asks for is kept with them. The tank isn't changed.
func Propose(t job.Tank, how job.Setting, w Wish) (Proposal, error) {
	c, err := t.Curve()
	if err != nil {
		return Proposal{}, err
	}
	if how.Scale == "" {
		how.Scale = string(scale.Mark)
	}
	how.StepOhm = float64(c.Signal().Step())
	if w.Step != nil {
		how.StepOhm = *w.Step
	} else if w.Readout == Table {
		how.StepOhm = 0
	}
	// The scale is the job's to tell, from the tank and the setting to be.
	t.Setting = &how
	sc, err := t.Scale()
	if err != nil {
		return Proposal{}, err
	}
	best, err := Best(c, sc, w)
	if err != nil {
		return Proposal{}, err
	}
	how.MarginOhm = quantity.Round(float64(best.Margin), 9)
	how.Objective, how.LowestOhm, how.HighestOhm = string(best.Objective), w.Lowest, w.Highest
	if w.Readout != TwoPoint {
		how.Points, how.StepPct = w.Points, w.PercentStep
	}
	return Proposal{Curve: c, Scale: sc, Best: best, Steps: StepWords(c.Signal(), w.Step), How: how}, nil
}

// Store keys the best numbers into the tank, or the end values that somebody chose
// in their place; see [job.Tank.Key]. No margin was kept for the latter, and nothing
// was made least.
func (p Proposal) Store(t *job.Tank, keyed *span.Ends) error {
	if keyed == nil {
		return t.Key(p.Best.Setting, p.How)
	}
	how := p.How
	how.MarginOhm, how.Objective, how.Points, how.StepPct = 0, "", 0, 0
	return t.Key(*keyed, how)
}

// Numbers tells the best numbers.
func (p Proposal) Numbers() Numbers { return Choice(p.Curve, p.Scale, p.Best, p.Steps) }

// StoredWords says what end values of somebody's own come to beside the best:
// "Stored 240 and 33 as keyed in: worst error 6.1 points, at 40 %. The best …".
func (p Proposal) StoredWords(keyed span.Ends) string {
	trial := span.Try(p.Curve, p.Scale, keyed)
	unit := ""
	if p.Curve.Signal() != curve.Ohms {
		unit = " " + p.Curve.Signal().Unit()
	}
	return fmt.Sprintf("Stored %s%s as keyed in: worst error %s points, at %s. The best would be %s, with %s points.",
		keyed, unit, Points(trial.Worst), Marks(p.Curve.Unit(), trial.WorstAt), p.Best.Setting, Points(p.Best.Worst))
}

// Set proposes and stores in one go. Keyed are end values of somebody's own; nil
// stores the best. Where there is an error the tank isn't changed.
func Set(t *job.Tank, how job.Setting, w Wish, keyed *span.Ends) (Proposal, error) {
	p, err := Propose(*t, how, w)
	if err != nil {
		return Proposal{}, err
	}
	return p, p.Store(t, keyed)
}
