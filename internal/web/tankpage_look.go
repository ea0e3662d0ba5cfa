package web

import (
	"encoding/json"
	"strings"
	"sync"

	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/telling"
)

// tankLook is what a tank of those sizes is: its section and its figures.
type tankLook struct {
	Why     string // nothing can be drawn
	Figure  *record.Figure
	Lines   []string
	Plate   string // what the plate says beside that
	Heights telling.Grid
	Notes   []string
	Said    []record.Sentence
	Lean    bool // what leaning does is told as well
}

// leanings keeps what leaning was found to do to a tank, by its tank file: for
// a tank with dished heads it takes longer to reckon than all the rest.
type leanings struct {
	sync.Mutex
	known map[string][]finding.Finding
}

// leaningsKept is how many tanks are remembered.
const leaningsKept = 200

func (l *leanings) get(key string) ([]finding.Finding, bool) {
	l.Lock()
	defer l.Unlock()
	list, ok := l.known[key]
	return list, ok
}

func (l *leanings) put(key string, list []finding.Finding) {
	l.Lock()
	defer l.Unlock()
	if l.known == nil || len(l.known) >= leaningsKept {
		l.known = map[string][]finding.Finding{}
	}
	l.known[key] = list
}

var leaned leanings

// lookOf works out a tank. What leaning does is told where it was asked for, or is
// known already.
func lookOf(t job.Tank, lean bool) tankLook {
	var out tankLook
	if t.Shape == nil {
		out.Why = "Pick the drawing that is most like the tank; then it is drawn here by its sizes, with the litres that stand at each height."
		return out
	}
	made, sender, found, err := t.Built()
	if err != nil {
		out.Why = "It can't be drawn: " + telling.Sentence(plainWords.Replace(strings.TrimPrefix(err.Error(), "tank "+quoted(t.Name)+": shape: ")))
		return out
	}
	file := *t.Shape
	if file.CapacityL == 0 {
		file.CapacityL = t.WaterCapacityL
	}
	file.PermittedFillPct = t.PermittedPct()
	if t.HeelL > 0 {
		file.HeelL, file.HeelMM = &t.HeelL, nil
	}
	r := telling.TankReport{File: &file, Tank: made, Levels: made.Upright(), Sender: sender, Findings: found}
	out.Lines = r.Lines()
	if file.CapacityL > 0 {
		out.Plate = "The plate says " + quantity.CubicMetre(file.CapacityL/1000).String() + "."
	}
	out.Heights, out.Notes = r.Heights()
	key, _ := json.Marshal(file)
	list, known := leaned.get(string(key))
	switch {
	case known:
		r.Findings = list
	default:
		if err := r.Tell(lean); err != nil {
			out.Why = "Something of the sender can't be: " + telling.Sentence(plainWords.Replace(err.Error()))
		}
		if lean && out.Why == "" {
			leaned.put(string(key), r.Findings)
		}
	}
	out.Lean = known || lean
	out.Said = sentences(r.Findings)
	for i := range out.Said {
		if out.Said[i].Weight == finding.Note.String() {
			out.Said[i].Word = ""
		}
	}
	if f, ok := record.SectionOf(t, "look"); ok {
		out.Figure = &f
	}
	return out
}

func quoted(name string) string {
	text, _ := json.Marshal(name)
	return string(text)
}
