package web

import (
	"fmt"
	"net/http"
	"strings"

	"gaugewright/internal/chart"
	"gaugewright/internal/curve"
	"gaugewright/internal/drift"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/sitting"
	"gaugewright/internal/telling"
)

// checkBody is the page of one later check.
type checkBody struct {
	takeBody
	Chosen bool
	Setup  benchSetup
	Note   string

	Day, By  string
	On       string // the day as the forms say it
	Column   chart.Drawing
	Cautions []string
	Fold     bool
	Result   resultBody
	Found    foundBody
	Empty    bool // no reading was ever taken
}

// checkAsk is where the page stands: what its address or one of its forms says.
type checkAsk struct {
	benchAsk
	Setup *benchSetup
	Note  string
	Found *foundBody // a look at the display that couldn't be used
}

// resultBody is what the readings come to.
type resultBody struct {
	Wait     string // why there is nothing yet
	Changed  bool
	Verdict  string
	Rest     string // of the verdict: what couldn't have been seen
	Large    string // what to do, in the fewest words
	Numbers  string // what to key in; "" where nothing is
	Table    *record.Table
	Advice   []record.Sentence
	Next     string // the next step
	Lacks    string // why nothing is advised
	Rates    string
	Said     []record.Sentence
	Causes   []string // each with its odds
	Figure   *record.Figure
	Readings *record.Table
	Rebench  bool // its readings may become the bench
}

// checkPage is one later check: readings are taken, and judged at once.
func (s *Site) checkPage(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r)
	if err != nil {
		return err
	}
	s.left(r, d.kept, fmt.Sprintf("%d/later/%d/check", d.at.N, d.k+1))
	q := r.URL.Query()
	return s.showCheck(w, r, http.StatusOK, d, checkAsk{benchAsk: benchAsk{Mark: q.Get("mark"), Sweep: q.Get("sweep"), Said: q.Get("said")}}, nil)
}

// showCheck shows the page as the store has the check, with what was typed and
// couldn't be used still in its fields.
func (s *Site) showCheck(w http.ResponseWriter, r *http.Request, status int, d *desk, ask checkAsk, wrong *benchWrong) error {
	at, k := d.at, d.k
	service := at.Services[k]
	v := view{Page: "latercheck", Title: fmt.Sprintf("%s, later check %d of %s", at.Name, k+1, dayWords(service.Date)), Wide: true, Meter: true, Job: d.kept, Tank: at}
	if wrong == nil {
		wrong = &benchWrong{}
	}
	v.Fault = wrong.Text
	b := checkBody{takeBody: takeOf(laterForms(at, k), d.own, ask.benchAsk, *wrong), Chosen: true, Setup: setupOf(d.kept.Job, d.own), Note: service.Note,
		Day: dayWords(service.Date), By: service.By, On: service.Date, Empty: len(service.Readings)+len(service.Struck) == 0}
	b.Later, b.Query = true, "?on="+service.Date
	if ask.Setup != nil {
		b.Setup.typed(*ask.Setup)
		b.Setup.Doubts = ask.Setup.Doubts
		b.Note = ask.Note
	}
	b.Cautions, b.Fold = cautionLines(*at.Tank), true
	s.listen(&b.takeBody, s.meterIn(r))
	f := s.fitOf(d.kept, at.N)
	var tell *float64
	found, err := s.laterOf(f, k)
	if err == nil && found.Result.Tell != nil {
		mark := d.own.Unit().FromShown(found.Result.Tell.Mark)
		tell = &mark
	}
	marks := s.toCheck(f)
	next := b.place(d.own, ask.benchAsk, func(curve.Sweep) sitting.Next {
		return sitting.SuggestLater(d.own, marks, tell, err == nil && found.Dull())
	})
	texts := make([]string, len(marks))
	for i, m := range marks {
		texts[i] = quantity.Short(d.own.Unit().ToShown(m), 3)
	}
	b.Ladder = strings.Join(texts, " ")
	own := *at
	own.Tank = &d.own
	own.View = record.ViewOf(d.own, d.kept.Job.Shown(), "later")
	b.Column = benchColumn(&own, b.Low, b.High, next)
	b.strip(d.kept, &own)
	s.hand(&b.takeBody)
	b.Result = resultOf(at, d.own, found, err)
	b.Found = s.foundOf(d, ask.Found)
	v.Body = b
	return s.showAs(w, r, status, v)
}

// resultOf puts a check that was held against the record onto the page.
func resultOf(at *tankAt, own job.Tank, l telling.Later, err error) resultBody {
	var b resultBody
	sheet, bad := own.Sheet()
	if bad == nil {
		if f, ok := at.View.Later("then-and-now", sheet.Readings); ok && len(sheet.Readings) > 0 {
			b.Figure = &f
		}
	}
	switch {
	case len(own.Bench.Readings) == 0:
		b.Wait = "It comes with the first reading."
		return b
	case err != nil:
		b.Wait = telling.Sentence(err.Error())
		return b
	}
	b.Changed, b.Rates, b.Large, b.Lacks = l.Result.Changed, l.Rates(), l.Large(), l.Lacks
	for i, f := range l.Result.Findings {
		if i == 0 {
			first, rest, more := strings.Cut(f.Text, ". ")
			if b.Verdict = first; more {
				b.Verdict, b.Rest = first+".", rest
			}
			continue
		}
		b.Said = append(b.Said, record.SentenceOf(f))
	}
	b.Causes = l.CauseLines()
	grid, notes := l.Grid()
	table := gridTable("Then and now, mark by mark", grid, notes...)
	b.Readings = &table
	a := l.Advice
	if a == nil {
		return b
	}
	b.Advice = sentences(a.Findings)
	b.Next = nextStep(*a)
	b.Rebench = a.Do == drift.ReKey
	if a.Do != drift.ReKey || a.Mend {
		return b
	}
	if a.Lower != nil && a.Upper != nil {
		b.Numbers = keyedWords(*at.Tank, a.Setting())
	} else if len(a.Table) > 0 {
		t := record.Table{Heading: "What to key in", Columns: []record.Column{{Name: capital(own.Signal().Figures()), Numeric: true}, {Name: "Percent", Numeric: true}}}
		for _, e := range a.Table {
			t.Rows = append(t.Rows, record.Row{Cells: []string{own.Signal().Figure(quantity.Ohm(e.Value)), quantity.Short(e.Pct, 2)}})
		}
		b.Table = &t
	}
	return b
}

// nextStep says what to do now, for what was advised.
func nextStep(a drift.Advice) string {
	switch {
	case a.Do == drift.Leave:
		return "Nothing has to be keyed in. Print the record again if it is to show this check."
	case a.Mend:
		return "Do that, then begin another check. Key in anew only if the change stays."
	case a.Do == drift.ReKey:
		return "Note first what the display shows now. Then take these readings as the bench, key the numbers in on the page Set, and prove the display again."
	}
	return "Fit another sender, and read it on the bench of a copy of this job; Copy stands on the job’s card."
}
