package web

import (
	"context"
	"errors"
	"net/http"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/kin"
	"gaugewright/internal/record"
	"gaugewright/internal/sitting"
	"gaugewright/internal/telling"
)

// tankType is the part of a tank's page on which its sender begins from a type.
type tankType struct {
	Key   string
	From  string // what is known of the sender already; "" where nothing is
	Types []option
}

// tankTypeOf lists the types that a tank's sender may be of: those whose marks and
// values are of the kind that its readings are.
func (s *Site) tankTypeOf(ctx context.Context, t job.Tank) tankType {
	b := tankType{Key: newKey()}
	if t.Sender.Known != nil {
		b.From = t.Sender.Known.From
	}
	all, err := s.allTypes(ctx)
	if err != nil {
		s.o.Log.Warn("sender types", "error", err)
	}
	for _, found := range all {
		if found.err != nil || !kindFits(t, found.kind) {
			continue
		}
		chosen := t.Sender.Known != nil && t.Sender.Known.From == found.Known.From
		b.Types = append(b.Types, option{Value: found.kind.Name, Name: found.kind.Name + ", " + unitsText(found), Chosen: chosen})
	}
	return b
}

// kindFits says whether a type's marks and values are those of a tank's bench, or
// its bench has none yet.
func kindFits(t job.Tank, kind *kin.Type) bool {
	if t.Sender.Known != nil && len(t.Bench.Readings) == 0 {
		t.Sender.Known = nil // another type takes its place
	}
	if unit, known := t.KnownUnit(); known && unit.Column() != kind.Marks {
		return false
	}
	signal, known := t.KnownSignal()
	return !known || signal.Column() == kind.Gives
}

// keepType begins a tank's sender from a type, or from its readings alone.
func (s *Site) keepType(w http.ResponseWriter, r *http.Request) error {
	_, at, err := s.tank(r)
	if err != nil {
		return err
	}
	name := r.PostFormValue("type")
	var known *kin.Known
	words := "the sender is told by its own readings alone"
	if name != "" {
		found, err := s.aType(r, name)
		if err != nil {
			return err
		}
		if found.err != nil {
			return refused("No sender can begin from this type yet: " + telling.Sentence(found.err.Error()))
		}
		own := found.Known
		known, words = &own, "the sender begins from the type "+cutTo(name, 60)
		if !kindFits(*at.Tank, found.kind) {
			return refused("Nothing was changed: this type was read in other units than this tank’s bench.")
		}
	}
	_, err = s.changeTank(r, job.Change{Words: words}, func(_ *job.Job, t *job.Tank) error {
		t.Sender.Known = known
		if known != nil {
			t.Sender.Type = name
		}
		return nil
	})
	if err != nil {
		return err
	}
	return goTo(w, r, at.Path+"/bench")
}

// byType suggests the marks that tell most of a sender of a known type; false where
// the bench is to be read as usual.
func byType(t job.Tank) (sitting.Next, bool) {
	k := t.Sender.Known
	if k == nil || !k.Differs() {
		return sitting.Next{}, false
	}
	unit := t.Unit()
	have := make([]float64, 0, len(t.Bench.Readings))
	for _, r := range t.Bench.Readings {
		if m, _, ok := r.Mark(); ok {
			have = append(have, unit.FromShown(m))
		}
	}
	low, high, err := sitting.Reach(t)
	plan, bad := k.Plan(typeReadings, curve.Options{Doubts: t.Bench.Doubts.Curve(unit)}, have...)
	if err != nil || bad != nil {
		return sitting.Next{}, false
	}
	left := typeReadings - len(have)
	if left <= 0 || plan.Enough == 0 && len(have) > 0 {
		if _, v, err := knownVerdict(t); err == nil && v.Judgement == kin.Refused {
			return sitting.Next{}, false // not of this type: read it in full
		}
		return sitting.Next{Words: "these readings are enough for a sender of this type; more are welcome anywhere"}, true
	}
	for _, n := range plan.Next {
		if n.Mark >= low && n.Mark <= high {
			return sitting.Next{Known: true, Mark: n.Mark, Sweep: curve.Up,
				Words: "next: " + unit.Text(n.Mark) + ", going up, which tells most of a sender of this type"}, true
		}
	}
	return sitting.Next{}, false
}

// typeReadings is how many readings tell a sender of a known type (common practice,
// no source): two to place it, and one to tell whether it belongs.
const typeReadings = 3

// knownVerdict weighs a tank's readings against what is known of its sender.
func knownVerdict(t job.Tank) (*curve.Curve, kin.Verdict, error) {
	k := t.Sender.Known
	if k == nil || !k.Differs() || len(t.Bench.Readings) == 0 {
		return nil, kin.Verdict{}, errors.New("nothing is known of the sender without its readings")
	}
	sheet, err := t.Sheet()
	if err != nil {
		return nil, kin.Verdict{}, err
	}
	return k.With(sheet, curve.Options{Doubts: t.Bench.Doubts.Curve(t.Unit())})
}

// typeOdds says, of a sender whose readings aren't those of its type, which of the
// workshop's types it may be.
func (s *Site) typeOdds(ctx context.Context, t job.Tank) []record.Sentence {
	_, v, err := knownVerdict(t)
	if err != nil || v.Judgement != kin.Refused {
		return nil
	}
	all, err := s.allTypes(ctx)
	if err != nil {
		return nil
	}
	var types []kin.Known
	var names []string
	for _, found := range all {
		if found.err == nil && kindFits(t, found.kind) {
			types, names = append(types, found.Known), append(names, found.kind.Name)
		}
	}
	sheet, err := t.Sheet()
	if err != nil || len(types) == 0 {
		return nil
	}
	odds, err := kin.Which(types, sheet, curve.Options{Doubts: t.Bench.Doubts.Curve(t.Unit())})
	if err != nil {
		return nil
	}
	return sentences(odds.Findings(names))
}
