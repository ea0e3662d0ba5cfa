package web

import (
	"encoding/json"
	"fmt"
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

// recall keeps what was worked out of something, by a name of all that went into
// it, where that takes longer than all else on a page.
type recall[T any] struct {
	mu    sync.Mutex
	known map[string]T
}

// recalled is how many are kept; then it begins anew.
const recalled = 200

func (r *recall[T]) get(key string) (T, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	v, ok := r.known[key]
	return v, ok
}

func (r *recall[T]) put(key string, v T) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.known == nil || len(r.known) >= recalled {
		r.known = map[string]T{}
	}
	r.known[key] = v
}

// leaned is what leaning was found to do to a tank, by its tank file.
var leaned recall[[]finding.Finding]

// lookOf works out a tank. What leaning does is told where it was asked for, or is
// known already.
func lookOf(t job.Tank, lean bool) tankLook {
	var out tankLook
	if t.Shape == nil {
		out.Why = "Pick the drawing that is most like the tank; then it is drawn here by its sizes, with the litres that stand at each height."
		return out
	}
	made, sender, found, err := t.Built()
	if name := otherFile(t.Shape.Body); err != nil && name != "" {
		out.Why = fmt.Sprintf("The shape stands in a file of its own, %q, which isn't here. Pick the drawing that is most like the tank, or paste a strapping table of it; gaugewright tank --strap makes one where the file is.", name)
		return out
	}
	if err != nil {
		out.Why = "It can't be drawn: " + telling.Sentence(tapeWords.Replace(strings.TrimPrefix(err.Error(), fmt.Sprintf("tank %q: shape: ", t.Name))))
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
			out.Why = "Something of the sender can't be: " + telling.Sentence(tapeWords.Replace(err.Error()))
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
