package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// trialBody is what numbers do at every mark: the part of the page that is drawn
// anew while the sliders move.
type trialBody struct {
	Fault string // why it can't be told

	Said     string // how good they are, in one sentence
	Rulers   record.Figure
	Further  []record.Sentence
	Table    record.Table
	Why      []string
	Keep     string // of the button that keeps them; "" where they are the best
	Called   string
	Checks   string
	Excess   string // how much worse than the best
	PathRoot string
}

// trialOf works out what a setting does; the best one stays behind as a ghost.
func trialOf(at *tankAt, p telling.Proposal, setting span.Setting) (*trialBody, error) {
	best := exactSetting(setting) == exactSetting(p.Best.Setting)
	how := p.How
	if !best {
		how.MarginOhm = 0 // none was kept for them
	}
	t := *at.Tank
	if err := t.Key(setting, how); err != nil {
		return nil, err
	}
	v := at.View.With(*t.Setting)
	trial, ok := v.Trial()
	if !ok {
		_, err := t.Scale()
		return nil, fmt.Errorf("these numbers can't be tried: %w", err)
	}
	b := &trialBody{Called: setting.String(), PathRoot: at.Path}
	var others []span.Trial
	b.Rulers, _ = v.Rulers()
	if !best {
		b.Rulers, _ = v.RulersBeside(p.Best.Setting)
		others = []span.Trial{trial}
		b.Keep, b.Checks, b.Excess = exactSetting(setting), checksWords(at.Tank), excessWords(p, trial)
		b.Why = append(b.Why, telling.Why(p.Curve, p.Scale, trial))
	}
	b.Said = worstWords(p, trial)
	if k, ok := v.KeyIn(); ok && len(k.Sentences) > 1 {
		b.Further = k.Sentences[1:] // the first says what 100 % means, as the page does
	}
	b.Why = append(b.Why, telling.Why(p.Curve, p.Scale, p.Best.Trial))
	if _, table := setting.(span.Table); table {
		b.Called = fmt.Sprintf("a table of %d entries", len(setting.(span.Table)))
		b.Why = []string{span.Why(p.Curve, p.Scale, setting)} // its entries stand above
	}
	if both, ok := setting.(span.EndsThenTable); ok {
		b.Called = fmt.Sprintf("%s and the table of %d entries", both.Ends, len(both.Table))
		b.Why = []string{span.Why(p.Curve, p.Scale, setting)}
	}
	g, note := telling.Shown(p.Curve, p.Scale, p.Best.Trial, others)
	b.Table = gridTable("What will be shown", g, note)
	for i, row := range b.Table.Rows {
		b.Table.Rows[i].Strong = row.Cells[0] == "worst"
	}
	return b, nil
}

// worstWords says how far off a setting is at worst, and where.
func worstWords(p telling.Proposal, t span.Trial) string {
	with := t.Setting.String()
	if table, ok := t.Setting.(span.Table); ok {
		with = fmt.Sprintf("this table of %d entries", len(table))
	}
	if both, ok := t.Setting.(span.EndsThenTable); ok {
		with = fmt.Sprintf("%s and this table of %d entries", both.Ends, len(both.Table))
	}
	return fmt.Sprintf("With %s: worst error %s points, at %s.", with, telling.Points(t.Worst), telling.Marks(p.Curve.Unit(), t.WorstAt))
}

// excessWords says how much worse than the best numbers others are, by what was asked
// to be made least.
func excessWords(p telling.Proposal, t span.Trial) string {
	counted := "worst error"
	switch p.Best.Objective {
	case span.NearEmpty:
		counted = "worst error, counted as said,"
	case span.RMS:
		counted = "root-mean-square error"
	}
	more := p.Best.Objective.Score(t) - p.Best.Score
	by := telling.Points(quantity.Share(math.Abs(float64(more))))
	switch {
	case by == "0.0":
		return fmt.Sprintf("The %s is the same as with %s, to a tenth of a point.", counted, p.Best.Setting)
	case more < 0:
		return fmt.Sprintf("The %s is %s points less than with %s, and not all that was asked for is kept: look at the sentences below.", counted, by, p.Best.Setting)
	}
	return fmt.Sprintf("The %s is %s points more than with %s.", counted, by, p.Best.Setting)
}

// startsAt gives the setting that the rulers begin with: end values of somebody's
// own; else those that are kept for the same scale; else the best.
func startsAt(at *tankAt, p telling.Proposal, w *wished) span.Setting {
	if w.own != nil {
		return *w.own
	}
	if s := at.Setting; w.wish.Readout == telling.TwoPoint && s != nil && s.Readout == job.TwoPoint && s.Scale == w.how.Scale {
		if ends, err := s.Keyed(); err == nil {
			return ends
		}
	}
	return p.Best.Setting
}

// exactSetting writes a setting with all the digits that a job keeps, for a form to
// say which one it was made for: "0:101" for end values, "0=0 48.2=50 …" for a
// table.
func exactSetting(s span.Setting) string {
	full := func(v float64) string { return strconv.FormatFloat(quantity.Round(v, 9), 'g', -1, 64) }
	switch s := s.(type) {
	case span.Ends:
		return full(float64(s.Lower)) + ":" + full(float64(s.Upper))
	case span.Table:
		parts := make([]string, len(s))
		for i, e := range s {
			parts[i] = full(float64(e.Ohm)) + "=" + full(float64(e.Share)*100)
		}
		return strings.Join(parts, " ")
	case span.EndsThenTable:
		parts := []string{exactSetting(s.Ends)}
		for _, c := range s.Table {
			parts = append(parts, full(float64(c.In)*100)+">"+full(float64(c.Out)*100))
		}
		return strings.Join(parts, " ")
	}
	return s.String()
}
