package web

import (
	"errors"
	"net/http"
	"slices"
	"sort"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/record"
	"gaugewright/internal/telling"
)

// planned is how many readings ahead the page looks.
const planned = 3

// curveBody is the page of a curve.
type curveBody struct {
	Waits string // why there is no curve yet, and what is missing
	Sick  string // what is wrong with the sender itself

	Figure   *record.Figure
	Findings []record.Sentence
	Spans    record.Findings
	Terms    *record.Table
	Points   *record.Table
	Budget   *record.Table
	Plan     record.Findings
	Ask      *askBody
}

// curvePage shows what the sender does.
func (s *Site) curvePage(w http.ResponseWriter, r *http.Request) error {
	f, err := s.fitNow(r)
	if err != nil {
		return err
	}
	at := f.at
	s.left(r, f.kept, at.Path+"/curve")
	v := view{Page: "curve", Title: at.Name + ": curve", Wide: true, Job: f.kept, Tank: at}
	c, err := at.View.Fitted()
	var body curveBody
	var sender *curve.SenderError
	switch {
	case errors.As(err, &sender):
		body.Sick = telling.Sentence(sender.Text)
	case err != nil:
		body.Waits = telling.Sentence(err.Error())
	default:
		body.of(at, c)
		body.Findings = append(body.Findings, s.typeOdds(r.Context(), *at.Tank)...)
	}
	if c != nil && c.Ordered() {
		if body.Ask, v.Fault = ask(c, r.URL.Query()); v.Fault != "" {
			v.Title = at.Name + ": curve, question refused"
		}
	}
	v.Body = body
	return s.show(w, r, v)
}

// of fills the page with what a curve tells.
func (b *curveBody) of(at *tankAt, c *curve.Curve) {
	if f, ok := at.View.Curve(); ok {
		b.Figure = &f
	}
	b.Findings = worstFirst(at.View.Findings().List)
	points := gridTable("Points of the curve", telling.CurvePoints(c), telling.CurveNote(c))
	b.Points = &points
	if !c.Ordered() {
		b.Sick = telling.Sentence(c.Disorder())
		b.Findings = slices.DeleteFunc(b.Findings, func(s record.Sentence) bool { return s.Text == b.Sick })
		return
	}
	b.Spans = at.spans(c)
	terms := termsOf(c)
	b.Terms = &terms
	// The mark that is least well known, as the command line has it.
	known := c.Ohm(c.LeastKnown(), curve.Refuse)
	if budget, ok := c.BudgetOfMark(known.Ohm, curve.Refuse); ok {
		title, g, notes := telling.Budget(c.Unit(), c.Signal(), known, budget)
		for i := range notes {
			notes[i] = telling.Sentence(notes[i])
		}
		table := gridTable(title, g, notes...)
		b.Budget = &table
	}
	if empty, full, err := at.Ends(); err == nil {
		unit := c.Unit()
		title, list := telling.Plan(c.Plan(planned, unit.FromShown(empty), unit.FromShown(full)))
		b.Plan = record.Findings{Heading: title, List: quietNotes(list)}
	}
}

// spans is what the readings say of the spans in the data sheet or, where it
// claims none, of the usual ones.
func (at *tankAt) spans(c *curve.Curve) record.Findings {
	if f := at.View.Claims(); len(f.List) > 0 {
		return f
	}
	f := record.Findings{Heading: "Among the usual spans"}
	empty, full, err := at.Ends()
	if err != nil {
		return f
	}
	odds, err := telling.OddsOf(c, nil, c.Unit().FromShown(empty), c.Unit().FromShown(full))
	if err == nil {
		f.List = quietNotes(telling.OddsFindings(c, odds))
	}
	return f
}

// worstFirst puts what has to be looked at before what is only said.
func worstFirst(list []record.Sentence) []record.Sentence {
	rank := map[string]int{finding.Bad.String(): 0, finding.Doubt.String(): 1}
	of := func(s record.Sentence) int {
		if r, ok := rank[s.Weight]; ok {
			return r
		}
		return 2
	}
	out := append([]record.Sentence(nil), list...)
	sort.SliceStable(out, func(a, b int) bool { return of(out[a]) < of(out[b]) })
	return out
}

// quietNotes makes sentences of findings; a note's weight isn't said.
func quietNotes(list []finding.Finding) []record.Sentence {
	out := sentences(list)
	for i, f := range list {
		if f.Weight == finding.Note {
			out[i].Word = ""
		}
	}
	return out
}
