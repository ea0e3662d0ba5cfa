package web

import (
	"fmt"
	"net/http"
	"slices"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/sitting"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

// proveBody is the page on which a display is checked.
type proveBody struct {
	Key    string
	Keyed  string // what was keyed in; "" where nothing was
	Why    string // why no check can be made; "" where one can
	When   string
	Mark   string // where to go next, in the shown unit, without it
	Unit   string
	Should string // what the display should show there, in percent
	Walked bool   // every mark to look at has been
	To     []proveMark
	Shown  string // as it was typed
	Tol    string
	Step   string // of the display, in points; "" for what its figures tell
	Doubt  string // of a mark, in the shown unit; "" for what is usual
	By     string
	Note   string
	Anew   bool
	Checks []proveCheck
	Live   bool // a running watch has this tank
}

// proveMark is one of the marks to look at.
type proveMark struct {
	Text, Value, Should string
	Done, Now           bool
}

// proveCheck is one check with its verdict.
type proveCheck struct {
	Title, By string
	Verdict   string
	Pass      bool
	Grid      telling.Grid
	Looks     []proveLook // of the rows
	Said      []record.Sentence
	Lines     []string
	Few       string // how many marks are still wanted
}

// proveLook names a row for the button that takes it out.
type proveLook struct{ Ref, Was, Words string }

func (s *Site) provePage(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	s.left(r, kept, r.PathValue("n")+"/prove")
	q := r.URL.Query()
	return s.showProof(w, r, kept, at, proveBody{Mark: q.Get("mark"), When: q.Get("when")}, "")
}

// showProof shows the page; what the body has already stays in its fields.
func (s *Site) showProof(w http.ResponseWriter, r *http.Request, kept *job.Kept, at *tankAt, b proveBody, fault string) error {
	s.proof(&b, kept, at)
	return s.show(w, r, view{Page: "prove", Title: "Prove " + at.Name, Job: kept, Tank: at, Fault: fault, Wide: true, Body: b})
}

// proof fills in what is known of a tank's checks, and which look is next.
func (s *Site) proof(b *proveBody, kept *job.Kept, at *tankAt) {
	b.Key, b.Unit = newKey(), at.Unit().Symbol()
	if at.Setting != nil {
		if keyed, err := at.Setting.Keyed(); err == nil {
			b.Keyed = keyedWords(*at.Tank, keyed)
		}
	}
	if b.When != job.AsFound && b.When != job.AsLeft {
		b.When = job.AsLeft
		if b.Keyed == "" {
			b.When = job.AsFound
		}
	}
	if b.By == "" {
		b.By = kept.Job.Fitter
	}
	if b.Tol == "" {
		b.usual(at.Checks)
	}
	if b.Keyed == "" && b.When == job.AsLeft {
		b.Why = "Nothing has been keyed in for this tank yet, so there is nothing to prove."
	}
	b.fill(at, s.o.Now().Format(time.DateOnly))
	_, b.Live = s.feedOf(kept, at, s.o.Now())
}

// usual begins the fields with what the last check was made with.
func (b *proveBody) usual(checks []job.Check) {
	b.Tol = quantity.Short(float64(span.DefaultTolerance)*100, 2)
	if len(checks) == 0 {
		return
	}
	last := checks[len(checks)-1]
	b.Tol = quantity.Short(last.TolerancePct, 2)
	if last.DisplayStepPct != nil {
		b.Step = quantity.Short(*last.DisplayStepPct, 6)
	}
	if last.MarkDoubt != nil {
		b.Doubt = quantity.Short(*last.MarkDoubt, 6)
	}
}

// keyedWords says what was keyed in.
func keyedWords(t job.Tank, keyed span.Setting) string {
	if table, ok := keyed.(span.Table); ok {
		return fmt.Sprintf("a table of %d entries", len(table))
	}
	if both, ok := keyed.(span.EndsThenTable); ok {
		return fmt.Sprintf("%s %s, then a table of %d entries", both.Ends, t.Signal().Unit(), len(both.Table))
	}
	return keyed.String() + " " + t.Signal().Unit()
}

// fill works out the checks, and which mark is next.
func (b *proveBody) fill(at *tankAt, today string) {
	unit := at.Unit()
	sc, err := at.Scale()
	if err != nil {
		b.Why = capital(err.Error()) + "."
		return
	}
	proofs, err := at.Proofs()
	if err != nil {
		b.Why = capital(err.Error()) + "."
		return
	}
	looked := map[string]bool{}
	for i, p := range proofs {
		c := checkOf(unit, i, p)
		b.Checks = append(b.Checks, c)
		if i == len(proofs)-1 && p.Check.When == b.When && p.Check.Date == today {
			for _, row := range p.Proof.Rows {
				looked[unit.Text(row.Mark)] = true
			}
		}
	}
	slices.Reverse(b.Checks) // the newest first
	marks, err := sitting.ToProve(*at.Tank)
	if err != nil {
		b.Why = capital(err.Error()) + "."
		return
	}
	b.Walked = true
	for _, m := range marks {
		p := proveMark{Text: unit.Text(m), Value: markValue(unit, m), Should: telling.Points(sc.Target(m)), Done: looked[unit.Text(m)]}
		if !p.Done && b.Walked {
			b.Walked = false
			if b.Mark == "" {
				b.Mark = p.Value
			}
		}
		b.To = append(b.To, p)
	}
	if b.Mark == "" && len(marks) > 0 {
		b.Mark = markValue(unit, marks[len(marks)/2])
	}
	if m, err := sitting.ParseMark(unit, b.Mark); err == nil {
		b.Should = telling.Points(sc.Target(m))
		for i := range b.To {
			b.To[i].Now = b.To[i].Value == b.Mark
		}
	}
}

// markValue writes a mark for a field, in its shown unit.
func markValue(u curve.MarkUnit, mark float64) string {
	return quantity.Short(u.ToShown(mark), 3)
}

func checkOf(unit curve.MarkUnit, i int, p job.Proved) proveCheck {
	c := proveCheck{Title: "As left", Verdict: telling.Verdict(p.Proof), Pass: p.Proof.Pass, Said: sentences(p.Proof.Findings())}
	if p.Check.When == job.AsFound {
		c.Title = "As found"
	}
	if d, err := time.Parse(time.DateOnly, p.Check.Date); err == nil {
		c.Title += ", " + d.Format("2 January 2006")
	}
	c.By = p.Check.By
	c.Grid, c.Lines = telling.Proof(unit, p.Proof)
	marks := map[float64]bool{}
	for k, row := range p.Proof.Rows {
		marks[row.Mark] = true
		c.Looks = append(c.Looks, proveLook{fmt.Sprintf("%d.%d", i, k), lookWords(p.Check.Readings[k]), unit.Text(row.Mark)})
	}
	if left := job.MarksToProve - len(marks); left > 0 {
		c.Few = fmt.Sprintf("%d more marks, from bottom to top, make it a proof.", left)
		if left == 1 {
			c.Few = "One more mark makes it a proof."
		}
	}
	return c
}
