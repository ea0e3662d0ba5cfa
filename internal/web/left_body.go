package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/watch"
)

// leftBody is the owner's page.
type leftBody struct {
	AsOf     string      // the time of the figures
	Alarms   string      // that an alarm waits for somebody; ""
	Board    bool        // there is a page of alarms
	Well     string      // whether anything needs a look, in a sentence
	First    []leftTank  // those that do
	Watch    leftTrouble // what is amiss with the watch itself
	Tanks    []leftTank
	Cautions []watchedCautions
	Fitter   bool   // the page of all figures is open to who looks
	Tell     string // the key for browsers that ask to be told; "": nothing is sent to any
	Mark     string // the same as long as the page but for its ages is
}

// leftTank is one tank on it.
type leftTank struct {
	leftSaid
	Column chart.Drawing
	Accent chart.Accent

	Age      string  // "4 s ago": of the reading that all rests on; "" where none came yet
	AgeS     float64 // the same in seconds, for the script
	StaleS   float64 // beyond that age, in seconds, the level isn't shown any more
	LastAge  string  // of the last good level
	LastAgeS float64

	Docket string // where its receipts are entered; "": nowhere, or not by who looks

	label Label
	level watch.Level
}

// leftSaid is what is said of a tank, but for what changes with every second.
type leftSaid struct {
	ID, Name, Contents string

	Class   string // "good", "doubtful", "none" or "waiting"
	Figure  string // "14"; "" where no level is shown
	Unit    string // "L"
	Of      string // "of 70 L, about a fifth"; "" where that can't be told
	Between string // "between 13 and 15 L"; ""
	Level   string // "20 %", under the sight column
	Lasts   string // how long it lasts, in a sentence; "" where that isn't known
	// LastsDoubt says that this rests on a level in doubt, and LastsNot why it can't be
	// told yet.
	LastsDoubt bool
	LastsNot   string

	Leak      string // that it leaks, in a sentence; "" where nothing says so
	LeakDo    string // what to do about it
	LeakSince string // since when, and how fast

	Wrong string // what is wrong, in a sentence; "" where nothing is
	Since string // since when that is: "Since 09:02."
	Do    string // what to do about it
	First string // in two or three words why to look at it first; ""

	LastFigure string // "14 L": the last good level, where none is shown
	Stale      string // "5 min"
	Gas        bool   // there are cautions
}

// leftTrouble is what is amiss with the watch itself.
type leftTrouble struct {
	Failing string   // in a sentence, with what to do; "" where nothing is
	Besides string   // since when, and what goes on all the same
	Note    string   // the latest of what else people should know
	Earlier []string // what came before it, the latest first
}

// shown says whether there is a level.
func (t leftTank) Shown() bool { return t.Figure != "" }

// Needs names how wide the figure with its unit is, in sizes of the letters around, so
// that they are drawn so large that they stay on one line. The letters are those of the
// page's style; the widest of the fonts that it names is reckoned with.
func (t leftTank) Needs() string {
	const digit, point, letter, gap = 3, 1.5, 1.3, 0.5
	points := float64(strings.Count(t.Figure, "."))
	need := digit*(float64(len(t.Figure))-points) + point*points + gap + letter*float64(len(t.Unit))
	for _, n := range []int{10, 12, 14, 16} {
		if need <= float64(n) {
			return fmt.Sprintf("needs-%d", n)
		}
	}
	return "needs-21"
}

// Page is the address of the tank's own page.
func (t leftTank) Page() string { return leftTankPath(t.label.Tank) }

// mark gives a mark that changes with everything that is said on the page.
func (b leftBody) mark() string {
	h := sha256.New()
	out := json.NewEncoder(h)
	_ = out.Encode([]any{b.Alarms, b.Well, b.Watch, b.Fitter}) // texts always can be written
	for _, t := range b.Tanks {
		_ = out.Encode(t.leftSaid)
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// leftTankOf says what there is to say of the n-th tank. No level is told, nor
// drawn, that isn't to be shown.
func leftTankOf(n int, l Label, v watch.Level, now time.Time) leftTank {
	if !possible(v.Last.Share) {
		v.Last = watch.LastGood{}
	}
	if v.Shown && !tellable(v) {
		v.Shown = false
	}
	in := looksOf(l.Contents)
	t := leftTank{Accent: in.accent, label: l, level: v}
	t.ID, t.Name, t.Contents, t.Gas = "tank-"+strconv.Itoa(n), orElse(l.Label, l.Tank), in.words, len(l.Cautions) > 0
	if strings.Contains(strings.ToLower(t.Name), strings.ToLower(t.Contents)) {
		t.Contents = "" // its name says it
	}
	if !v.Time.IsZero() {
		t.AgeS, t.Age = v.Age.Seconds(), ago(v.Age)
	}
	t.Class = leftClass(v)
	if v.Shown {
		a := leftAmountOf(l, v.Share, v.Low, v.High, v.Volume, v.Mass)
		t.Figure, t.Unit, t.Between, t.Of = a.figure, a.unit, a.between(), a.of()
		t.Level = sharePct(v.Share, 1) // to the point: more is the fitter's
		t.StaleS, t.Stale = v.Stale.Seconds(), spell(v.Stale)
		t.First = a.end()
	} else if last := v.Last; !last.Time.IsZero() {
		a := leftAmountOf(l, last.Share, last.Share, last.Share, last.Volume, last.Mass)
		t.LastFigure = a.figure + " " + a.unit
		age := max(0, now.Sub(last.Time))
		t.LastAgeS, t.LastAge = age.Seconds(), ago(age)
	}
	t.Wrong, t.Do = leftWrong(v)
	if t.Wrong != "" && !v.Since.IsZero() {
		t.Since = "Since " + leftClock(v.Since, now) + "."
	}
	switch t.Class {
	case "none":
		t.First = "no level"
	case "doubtful":
		t.First = "in doubt"
	case "waiting":
		t.First = ""
	}
	return t
}

// leftClass says how a level is to look: one that only has to settle isn't amiss.
func leftClass(v watch.Level) string {
	switch {
	case v.Shown && v.Status == watch.Good:
		return "good"
	case v.Shown:
		return "doubtful"
	case v.Time.IsZero() && v.Last.Time.IsZero(), v.Status == watch.Check && v.Fault == watch.Unsettled:
		return "waiting"
	}
	return "none"
}
