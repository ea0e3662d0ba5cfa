package drift

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/wording"
)

// SeenResult is a later check of a display held against the one made as left.
// Marks are in the shown unit of Marks, all else in points.
type SeenResult struct {
	Marks     string            `json:"marks"`
	Changed   bool              `json:"changed"`
	ErrorRate float64           `json:"error_rate"`
	P         float64           `json:"p"`
	Trials    int               `json:"trials"`
	Whole     Whole             `json:"whole"`
	Sharp     Sharp             `json:"sharp"`
	Rows      []SeenRow         `json:"rows"`    // by rising mark
	Unseen    float64           `json:"unseen"`  // the least even shift that would have been found, 95 times in 100
	Skipped   []float64         `json:"skipped"` // marks that the check as left doesn't reach
	Findings  []finding.Finding `json:"findings"`
}

// SeenRow is one mark of a later check.
type SeenRow struct {
	Mark   float64 `json:"mark"`
	Left   float64 `json:"left_error_pct"` // of the check as left, there
	Later  float64 `json:"later_error_pct"`
	Change float64 `json:"change_pct"`
	U      float64 `json:"u_pct"`
	Bound  float64 `json:"bound_pct"` // by all marks together
	Beyond bool    `json:"beyond_doubt"`
}

// CompareSeen holds a later check of a display against the one made as left, by
// the same two tests and with the same rate of false alarms as [Compare].
//
// Errors are compared, not figures: at a mark of both checks what was shown
// then and now, at another the error as left in a straight line between the
// marks beside it. Each look brings the display's step (of both checks), the
// mark and the sender's own scatter, as far as they are in d. It sees only what
// the display does: a cause is not looked for.
func CompareSeen(left, later []span.Seen, unit curve.MarkUnit, s scale.Scale, d span.CheckDoubt, options Options) (SeenResult, error) {
	rate, err := options.rate()
	if err != nil {
		return SeenResult{}, err
	}
	if len(left) == 0 || len(later) == 0 {
		return SeenResult{}, errors.New("a check of a display is compared with the one made as left; each needs at least one mark")
	}
	// The doubts of each look come from the rule of the check itself.
	before, err := looksOf(left, s, d)
	if err != nil {
		return SeenResult{}, fmt.Errorf("the check as left: %w", err)
	}
	after, err := looksOf(later, s, d)
	if err != nil {
		return SeenResult{}, fmt.Errorf("the later check: %w", err)
	}
	r := SeenResult{Marks: unit.Column(), ErrorRate: rate, Skipped: []float64{}}
	empty, full := s.Whole()
	near := 1e-9 * math.Abs(full-empty)
	var c change
	var weights [][]float64
	var used []seenAt
	for _, p := range after {
		w, ok := weightsAt(before, p.mark, near)
		if !ok {
			r.Skipped = append(r.Skipped, value(unit.ToShown(p.mark)))
			continue
		}
		e := 0.0
		for k, x := range w {
			e += x * before[k].e
		}
		c.r, weights, used = append(c.r, p.e-e), append(weights, w), append(used, p)
		r.Rows = append(r.Rows, SeenRow{Mark: value(unit.ToShown(p.mark)), Left: value(100 * e), Later: value(100 * p.e), Change: value(100 * (p.e - e))})
	}
	n := len(c.r)
	if n == 0 {
		return SeenResult{}, fmt.Errorf("no mark of the later check lies within those checked as left, %s to %s", unit.Text(before[0].mark), unit.Text(before[len(before)-1].mark))
	}
	if n > MostRows {
		return SeenResult{}, fmt.Errorf("the later check is at %d marks; a comparison takes %d at most", n, MostRows)
	}
	c.v, c.s = mat.NewSymDense(n, nil), mat.NewSymDense(n, nil)
	for i := range n {
		for k := i; k < n; k++ {
			sum := 0.0
			for j, q := range before {
				sum += weights[i][j] * weights[k][j] * q.u * q.u
			}
			if i == k {
				sum += used[i].u * used[i].u
			}
			c.v.SetSym(i, k, sum)
		}
	}
	v := judge(c, seenDirections(used, s), rate, options.Seed)
	r.P, r.Trials, r.Whole, r.Sharp, r.Changed = v.p, v.trials, v.whole, v.sharp, v.p < rate
	for i := range r.Rows {
		u := math.Sqrt(c.v.At(i, i))
		r.Rows[i].U, r.Rows[i].Bound = value(100*u), value(100*u*quantileSharp(rate/2/float64(n), math.Inf(1)))
		r.Rows[i].Beyond = math.Abs(r.Rows[i].Change) > r.Rows[i].Bound
	}
	r.Unseen = value(100 * v.least(v.directions[0]))
	r.say(unit, options)
	return r, nil
}

// seenAt is the error of a display at a mark, the mean of several looks, and its
// standard uncertainty.
type seenAt struct{ mark, e, u float64 }

func looksOf(seen []span.Seen, s scale.Scale, d span.CheckDoubt) ([]seenAt, error) {
	proof, err := span.ProveWith(s, seen, 0.5, d)
	if err != nil {
		return nil, err
	}
	rows := append([]span.Proved(nil), proof.Rows...)
	sort.SliceStable(rows, func(i, k int) bool {
		if rows[i].Mark != rows[k].Mark {
			return rows[i].Mark < rows[k].Mark
		}
		return rows[i].Shown < rows[k].Shown
	})
	var out []seenAt
	for i := 0; i < len(rows); {
		k, sum := i, 0.0
		for ; k < len(rows) && rows[k].Mark == rows[i].Mark; k++ {
			sum += float64(rows[k].Error())
		}
		// Looks at one mark share its doubt and the display's rounding; their mean
		// is taken to be known no better than one of them.
		out = append(out, seenAt{rows[i].Mark, sum / float64(k-i), max(float64(rows[i].U), 1e-9)})
		i = k
	}
	return out, nil
}

// weightsAt gives how the errors as left make up the one at a mark: false beyond
// those.
func weightsAt(before []seenAt, mark, near float64) ([]float64, bool) {
	w := make([]float64, len(before))
	for k, p := range before {
		if math.Abs(p.mark-mark) <= near {
			w[k] = 1
			return w, true
		}
	}
	for k := 1; k < len(before); k++ {
		p, q := before[k-1].mark, before[k].mark
		if mark > p && mark < q {
			t := (mark - p) / (q - p)
			w[k-1], w[k] = 1-t, t
			return w, true
		}
	}
	return nil, false
}

// seenDirections are those in which a display moves: evenly, in proportion to
// what it should show, and at one mark.
func seenDirections(used []seenAt, s scale.Scale) []direction {
	n := len(used)
	even, part := make([]float64, n), make([]float64, n)
	for i, p := range used {
		even[i], part[i] = 1, float64(s.Target(p.mark))
	}
	list := []direction{{cause: Offset, to: n, d: even, both: true}, {cause: Gain, to: n, d: part, both: true}}
	for i := range used {
		one := make([]float64, n)
		one[i] = 1
		list = append(list, direction{cause: Misread, from: i, to: i + 1, d: one, both: true})
	}
	return moving(list)
}

func (r *SeenResult) say(unit curve.MarkUnit, o Options) {
	add := func(kind string, weight finding.Weight, format string, args ...any) {
		r.Findings = append(r.Findings, finding.Finding{Kind: kind, Weight: weight, Text: fmt.Sprintf(format, args...)})
	}
	most := r.Rows[0]
	for _, row := range r.Rows {
		if math.Abs(row.Change) > math.Abs(most.Change) {
			most = row
		}
	}
	text := func(mark float64) string { return unit.Text(unit.FromShown(mark)) }
	if r.Changed {
		way := "more"
		if most.Change < 0 {
			way = "less"
		}
		add("changed", finding.Doubt, "The display has changed: at %s it shows %s points %s than in %s; %s.", text(most.Mark), points(most.Change), way, o.record(), oddsOfNoise(r.P))
		var beyond []string
		for _, row := range r.Rows {
			if row.Beyond {
				beyond = append(beyond, text(row.Mark))
			}
		}
		if len(beyond) > 0 {
			add("where", finding.Note, "The change is beyond doubt at %s.", wording.Several(beyond, "and"))
		} else {
			add("where", finding.Note, "No single mark is beyond doubt; it is all of them together that tell.")
		}
		add("bench", finding.Doubt, "What the display shows doesn't tell why: read the sender's own values on the bench and check those.")
	} else {
		add("no-change", finding.Note, "No change of the display is seen against %s: figures like these come about %s where nothing has changed. They would have shown, 95 times in 100, an even shift of %s points or more; a smaller one may be there unseen.",
			o.record(), often(r.P), quantity.Digits(r.Unseen, 1))
	}
	if len(r.Skipped) > 0 {
		texts := make([]string, len(r.Skipped))
		for i, m := range r.Skipped {
			texts[i] = text(m)
		}
		add("outside", finding.Note, "The check as left doesn't reach %s, so what was shown there is left out.", wording.Several(texts, "and"))
	}
}
