package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/docket"
	"gaugewright/internal/doors"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
	"gaugewright/internal/watch"
)

// docketBody is the page on which receipts are entered.
type docketBody struct {
	Name, Contents, Path, Tank string
	Accent                     chart.Accent
	Gas                        bool // the pump stops by itself at the permitted fill
	Cautions                   []string

	Saw  string // the refill that was just seen, in a sentence; "" where there is none
	Came *docketRow

	Key     string
	Amount  formField
	Units   cardPick
	Stopped bool
	Whens   cardPick
	At      formField
	Note    formField
	Photo   formField
	Held    string // the picture of a form that was refused

	Other      bool // the form of other moments is open
	OtherKey   string
	Whats      cardPick
	Weight     formField
	OtherWhens cardPick
	OtherAt    formField
	OtherNote  formField

	Rows    []docketRow
	Learned docketLearned
}

// docketRow is a docket with its verdict.
type docketRow struct {
	ID, What, When string
	Sentence       string
	Caution        string // what has to be seen to, where more was filled in than may be
	Note           string
	Photo          string // its address; ""
	Struck, Counts bool
	Units          []cardOption // in which else it may have been meant
	Doubted        bool         // that has to be asked
}

// docketLearned is what the dockets say together.
type docketLearned struct {
	Lead     string
	Grid     telling.Grid // what the sender shows, and what it is
	Capacity string
	Keyed    string // which end values to key in; ""
	Reason   string
	Ask      bool // who looks is to ask a fitter
	Cautions []string
}

// unitNames are the units in which a receipt may be; kilograms are of gas alone.
var unitNames = []cardOption{{Value: "L", Words: "litres"}, {Value: "kg", Words: "kilograms"}, {Value: "US gal", Words: "US gallons"}, {Value: "imp gal", Words: "imperial gallons"}}

// docketBodyOf is the page as it stands, with the form that was sent where there is
// one.
func (s *Site) docketBodyOf(r *http.Request, at docketAt, learned docket.Learned, refills []docket.Refill, sent *docketForm) docketBody {
	now, in := s.o.Now(), looksOf(at.Contents)
	b := docketBody{
		Name: orElse(at.Label.Label, at.Tank), Contents: in.words, Path: docketPath(at.Tank), Tank: leftTankPath(at.Tank),
		Accent: in.accent, Gas: at.Contents == job.LPG, Cautions: at.Cautions, Key: newKey(), OtherKey: newKey(),
	}
	refills = usefulRefills(refills, now)
	if len(refills) > 0 {
		b.Saw = sawWords(at.Label, refills[0], now)
	}
	b.form(at.Label, refills, learned, sent, now)
	for i, v := range learned.Verdicts {
		row := docketRowOf(at.Label, b.Path, v, now)
		if row.ID == r.PathValue("id") && sent == nil {
			came := row
			b.Came = &came
		}
		if i < mostEvents {
			b.Rows = append(b.Rows, row)
		}
	}
	b.Learned = learnedOf(at.Label, learned, s.who(r).Role == doors.Fitter)
	return b
}

// usefulRefills are those that can be told, the latest first, three at the most.
func usefulRefills(list []docket.Refill, now time.Time) []docket.Refill {
	var out []docket.Refill
	for _, f := range list {
		if !f.End.IsZero() && !f.End.After(now.Add(time.Minute)) && finite(f.Share) {
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b docket.Refill) int { return b.End.Compare(a.End) })
	return out[:min(3, len(out))]
}

// sawWords says what the sender saw come in.
func sawWords(l Label, f docket.Refill, now time.Time) string {
	return fmt.Sprintf("The sender saw %s come in, %s.", cameWords(l, f), refillWords(f, now))
}

// cameWords is how much came in, in litres or gallons as a pump has it.
func cameWords(l Label, f docket.Refill) string {
	if !finite(f.Litres) || !(f.Litres > 0) {
		return measure{100, "%"}.text(f.Share, 0.02)
	}
	full, unit := l.Units.VolumeIn(0.001)
	return measure{full, unit}.around(f.Litres, f.Low, f.High)
}

// refillWords is from when to when it came in.
func refillWords(f docket.Refill, now time.Time) string {
	zone := now.Location()
	from, to := f.Start.In(zone).Truncate(time.Minute), f.End.In(zone).Truncate(time.Minute)
	if from.Format(time.DateOnly) != to.Format(time.DateOnly) {
		return momentWords(from, now) + " to " + momentWords(to, now)
	}
	if !to.After(from) {
		return momentWords(to, now)
	}
	return momentWords(from, now) + " to " + to.Format("15:04")
}

// freshRefill is for how long a refill is taken to be the one that a receipt is for.
const freshRefill = 36 * time.Hour

// form fills in the fields: as they were sent, or as they are usual.
func (b *docketBody) form(l Label, refills []docket.Refill, learned docket.Learned, sent *docketForm, now time.Time) {
	f := sent
	if f == nil {
		when := "now"
		if len(refills) > 0 && now.Sub(refills[0].End) < freshRefill {
			when = refills[0].End.UTC().Format(time.RFC3339)
		}
		f = &docketForm{typed: newTyped(url.Values{"unit": {usualUnit(l, learned)}, "when": {when}, "other_when": {"now"}}, nil)}
	} else if f.text("form") == "other" {
		b.Other, b.OtherKey = true, f.text("key")
	} else {
		b.Key = f.text("key")
	}
	pick := func(name, label, hint string, list ...cardOption) cardPick {
		for i := range list {
			list[i].Chosen = list[i].Value == f.text(name)
			list[i].Value = coded + list[i].Value
		}
		return cardPick{Name: name, Label: label, Hint: hint, Fault: f.faults[name], List: list}
	}
	b.Amount = f.field("amount", "How much the receipt says", "The figure alone, or with its unit: 31.4, 7.4 US gal.", "decimal")
	units := slices.Clone(unitNames)
	if l.Contents != job.LPG {
		units = slices.Delete(units, 1, 2)
	}
	b.Units = pick("unit", "In", "A US gallon is 3.785 L, an imperial gallon 4.546 L.", units...)
	b.Stopped = f.text("stopped") != ""
	var whens []cardOption
	for _, r := range refills {
		whens = append(whens, cardOption{Value: r.End.UTC().Format(time.RFC3339), Words: refillWords(r, now) + ": " + cameWords(l, r)})
	}
	whens = append(whens, cardOption{Value: "now", Words: "just now"}, cardOption{Value: "at", Words: "at another time"})
	b.Whens = pick("when", "When it was filled", "A filling that the sender saw, or a time of yours.", whens...)
	b.At = f.field("at", "Another time", "By the clock of this place.", "")
	b.Note = f.field("note", "Note", "Such as which pump it was.", "")
	b.Photo = f.field("photo", "Picture of the receipt", "It is drawn anew before it is kept, smaller, and without what telephones write into pictures: where and when it was taken, and with what.", "")
	b.Held = f.text("held")
	if sent != nil && len(sent.photo) > 0 {
		b.Held = sent.held()
	}

	whats := []cardOption{{Value: string(docket.RanOut), Words: "it ran out: nothing came any more"}, {Value: string(docket.Weighed), Words: "it was weighed"}}
	if b.Gas {
		whats = append(whats, cardOption{Value: string(docket.Stopped), Words: "the pump stopped by itself, and there is no receipt"})
	}
	b.Whats = pick("what", "What it was", "Each such moment says how full the tank really was.", whats...)
	_, mass := l.Units.MassIn(0)
	b.Weight = f.field("weight", "By weight there was in it, "+mass, "What is in the tank, without the tank itself. Only where it was weighed.", "decimal")
	b.OtherWhens = pick("other_when", "When it was", "As near as you know it.", cardOption{Value: "now", Words: "just now"}, cardOption{Value: "at", Words: "at another time"})
	b.OtherAt = f.field("other_at", "Another time", "By the clock of this place.", "")
	b.OtherNote = f.field("other_note", "Note", "Anything that the next one should know.", "")
}

// usualUnit is the unit of the last receipt, or that in which amounts are shown.
func usualUnit(l Label, learned docket.Learned) string {
	for _, v := range learned.Verdicts {
		if d := v.Seen.Docket; d.Kind == docket.Receipt && !d.Struck {
			if figure, ok := figureOf(d); ok {
				if unit := unitBehind(d.Typed, figure); unit == "kg" && l.Contents == job.LPG || docketUnits[unit] {
					return unit
				}
			}
		}
	}
	_, unit := l.Units.VolumeIn(0)
	return unit
}

// docketRowOf is a docket with its verdict.
func docketRowOf(l Label, path string, v docket.Verdict, now time.Time) docketRow {
	d := v.Seen.Docket
	row := docketRow{ID: d.ID, When: momentWords(d.Time.Truncate(time.Minute), now), Sentence: v.Sentence, Caution: v.Caution, Note: d.Note, Struck: d.Struck, Counts: v.Counts && !d.Struck}
	switch d.Kind {
	case docket.Receipt:
		row.What = "Receipt: " + typedWords(d)
		if d.Stopped {
			row.What = "Receipt: " + typedWords(d) + ", the pump stopped by itself"
		}
	case docket.Stopped:
		row.What = "The pump stopped by itself"
	case docket.RanOut:
		row.What = "It ran out"
	case docket.Weighed:
		row.What = "Weighed: " + typedWords(d)
	}
	if d.Photo != "" {
		row.Photo = path + "/" + url.PathEscape(d.ID) + "/photo"
	}
	if figure, ok := figureOf(d); ok && !d.Struck {
		used := unitBehind(d.Typed, figure)
		for _, unit := range unitNames {
			if unit.Value != used && (unit.Value != "kg" || l.Contents == job.LPG) {
				row.Units = append(row.Units, unit)
			}
		}
		row.Doubted = !v.Counts
	}
	return row
}

// typedWords is the amount of a docket, as it was typed.
func typedWords(d docket.Docket) string {
	switch {
	case d.Typed != "":
		return d.Typed
	case d.Kilograms > 0:
		return quantity.Short(d.Kilograms, 2) + " kg"
	}
	return quantity.Short(d.Litres, 2) + " L"
}

// learnedOf is what the dockets say together. Of a gas tank nobody but a fitter is
// told what all of it holds, and nothing is told of what lies above the permitted
// fill.
func learnedOf(l Label, learned docket.Learned, fitter bool) docketLearned {
	var out docketLearned
	switch {
	case learned.N == 0:
		out.Lead = "Nothing yet: no receipt counts so far."
		return out
	case learned.Applied:
		out.Lead = "By " + howMany(learned.N, "docket", "dockets") + ". Levels are corrected by it from now on. What dockets can’t rule out counts from now on too: the doubt of a level may be larger than it was, also where they agree."
	default:
		out.Lead = "By " + howMany(learned.N, "docket", "dockets") + ". That isn’t enough yet to correct levels by."
	}
	out.Grid.Head = []string{"When there is", "the sender shows", "doubt"}
	for i, at := range learned.At {
		off, u := learned.Off[i], learned.UOff[i]
		if !finite(at) || !finite(off) || !finite(u) || l.Contents == job.LPG && l.Permitted > 0 && at > float64(l.Permitted) {
			continue
		}
		out.Grid.Rows = append(out.Grid.Rows, []string{
			quantity.Digits(100*at, 0) + " %", quantity.Digits(100*min(1, max(0, at+off)), 0) + " %", "± " + quantity.Digits(200*u, 0) + " points",
		})
	}
	if c := learned.Capacity; c > 0 && (fitter || l.Contents != job.LPG) {
		v, unit := l.Units.VolumeIn(c)
		u, _ := l.Units.VolumeIn(2 * learned.UCapacity)
		out.Capacity = fmt.Sprintf("The whole scale holds %s ± %s %s, as learned.", quantity.Short(v, 1), quantity.Short(u, 1), unit)
	}
	out.Reason, out.Cautions = learned.Reason, learned.Cautions
	if learned.Propose {
		out.Keyed = fmt.Sprintf("Other end values would show better: key in %s and %s %s.", quantity.Short(learned.Lower, 3), quantity.Short(learned.Upper, 3), signalUnit(l.Signal))
		out.Ask = !fitter
	}
	return out
}

// signalUnit is in what end values are keyed in.
func signalUnit(s watch.Signal) string {
	switch s {
	case watch.Ohm:
		return "Ω"
	case watch.Volt:
		return "V"
	case watch.Count:
		return "counts"
	case watch.Percent:
		return "%"
	}
	return ""
}
