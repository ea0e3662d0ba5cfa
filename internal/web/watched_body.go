package web

import (
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// watchedBody is the page of the levels.
type watchedBody struct {
	AsOf     string // the time of the figures
	Summary  string
	Alarms   string // that an alarm waits for somebody; ""
	Board    bool   // there is a page of alarms
	Tanks    []watchedTank
	First    []watchedTank // those whose levels aren't good, where there are others
	Feeds    []watchedFeed
	Cautions []watchedCautions
	Watch    watchedTrouble // what is amiss with the watch itself
}

// watchedTrouble is what is amiss with the watch itself.
type watchedTrouble struct {
	Failing string // in a sentence; "" where readings are kept
	Waiting string // what waits meanwhile
	Why     string // as the machine says it
	Lost    []watchedCount
	Notes   []string // the latest first
}

// watchedTank is one tank on it.
type watchedTank struct {
	ID, Name, Contents string
	Accent             chart.Accent
	Column             chart.Drawing

	Shown   bool
	Level   string // "61 %"; "" where none is shown
	Between string // "58 to 64 %"
	Volume  string // "55 ± 3 L"; "" where that isn't known
	Mass    string
	Vehicle string // whether it moves; "" where that isn't known

	Read     string   // the time of the reading that all rests on; "" where none came yet
	Age      string   // "4 s ago"
	AgeS     float64  // the same in seconds, for the script
	Lapse    float64  // for so many seconds more the level may be shown; for the script
	Stale    string   // "5 min"
	Last     []string // the last level that was good, where this one isn't: "61 %", "55 ± 3 L"
	LastRead string
	LastAge  string
	LastAgeS float64

	Status string   // in a sentence
	Class  string   // "good", "doubtful" or "none"
	NE107  string   // the status by the name of NAMUR NE 107; "" where all is good
	Means  string   // what 100 % means
	Gas    bool     // there are cautions
	Rests  []string // what the last reading was
	Counts []watchedCount
}

// watchedCount is a count with what was counted.
type watchedCount struct{ N, Name string }

// watchedFeed is one way by which readings come in.
type watchedFeed struct {
	Name, State, Class string
	Where              string // to what it is connected, or why it isn't
	Came               string // what came in by it
	Refused            []watchedCount
}

// watchedCautions are the cautions of the tanks that have the same ones.
type watchedCautions struct {
	Tanks string
	List  []string
}

func (s *Site) watchedBody(r *http.Request) watchedBody {
	now := s.o.Now()
	labels, levels, counts := s.o.Watch.Labels(), s.o.Watch.Levels(now), s.o.Watch.Counts()
	b := watchedBody{AsOf: now.Format("2 Jan, ") + now.Format(time.TimeOnly), Watch: watchedTroubleOf(s.o.Watch.Standing(), now), Alarms: s.alarmsLine(r), Board: s.board() != nil}
	ownIn(r.Context(), b.Watch.Why)
	for i, l := range labels {
		name := orElse(l.Label, l.Tank)
		var level watch.Level
		if i < len(levels) {
			level = levels[i]
		}
		ownIn(r.Context(), name, level.Source)
		t := watchedTankOf(l, level, now)
		t.ID, t.Name = "tank-"+strconv.Itoa(i+1), name
		if i < len(counts) {
			for _, c := range counts[i].Named() {
				t.Counts = append(t.Counts, watchedCount{strconv.FormatUint(c.N, 10), c.Name})
			}
		}
		if t.Class != "good" {
			b.First = append(b.First, t)
		}
		b.Tanks = append(b.Tanks, t)
		b.Cautions = cautioned(b.Cautions, name, l.Cautions)
	}
	b.Summary = watchedSummary(len(labels), len(b.First))
	if len(b.First) == len(labels) {
		b.First = nil
	}
	for _, f := range s.o.Watch.Feeds() {
		ownIn(r.Context(), f.Name, f.Where, f.Why)
		b.Feeds = append(b.Feeds, watchedFeedOf(f, now))
	}
	return b
}

func orElse(text, other string) string {
	if strings.TrimSpace(text) == "" {
		return other
	}
	return text
}

// cautioned adds a tank to those that have its cautions.
func cautioned(all []watchedCautions, name string, list []string) []watchedCautions {
	if len(list) == 0 {
		return all
	}
	for i := range all {
		if c := &all[i]; strings.Join(c.List, "\n") == strings.Join(list, "\n") {
			c.Tanks += ", " + name
			return all
		}
	}
	return append(all, watchedCautions{name, list})
}

// watchedTankOf says what there is to say of a level. No level is told, nor drawn,
// that isn't to be shown.
func watchedTankOf(l Label, v watch.Level, now time.Time) watchedTank {
	if !possible(v.Last.Share) {
		v.Last = watch.LastGood{}
	}
	in := looksOf(l.Contents)
	t := watchedTank{Contents: in.words, Accent: in.accent, Means: l.Sentence, Gas: len(l.Cautions) > 0,
		Status: watchedStatus(v, now.Location()), NE107: ne107(v.Status), Class: "none"}
	if strings.EqualFold(t.Contents, orElse(l.Label, l.Tank)) {
		t.Contents = "" // its name says it
	}
	if !v.Time.IsZero() {
		t.Read, t.AgeS, t.Age = clockWords(v.Time, now), v.Age.Seconds(), ago(v.Age)
		t.Rests = watchedReading(v)
	}
	if t.Shown = v.Shown && tellable(v); t.Shown {
		t.Class = "good"
		if v.Status != watch.Good {
			t.Class = "doubtful"
		}
		t.Level, t.Between = sharePct(v.Share, v.U), betweenPct(v)
		t.Volume, t.Mass = amounts(l.Units, v.Volume, v.Mass)
		t.Lapse, t.Stale = max(0, (v.Stale-v.Age).Seconds()), spell(v.Stale)
		switch v.Motion {
		case watch.Standing:
			t.Vehicle = "standing still"
		case watch.Moving:
			t.Vehicle = "moving"
		case watch.MotionUnknown:
		}
	}
	if last := v.Last; t.Class != "good" && !last.Time.IsZero() {
		t.Last = []string{sharePct(last.Share, last.U)}
		volume, mass := amounts(l.Units, last.Volume, last.Mass)
		for _, more := range []string{volume, mass} {
			if more != "" {
				t.Last = append(t.Last, more)
			}
		}
		age := now.Sub(last.Time)
		t.LastRead, t.LastAgeS, t.LastAge = clockWords(last.Time, now), age.Seconds(), ago(age)
	}
	t.Column = watchedColumn(l, v, t)
	return t
}

// tellable says whether a level has what a level is told by: a share that a tank can
// have, and its doubt.
func tellable(v watch.Level) bool {
	for _, s := range []quantity.Share{v.Share, v.U, v.Low, v.High} {
		if !possible(s) {
			return false
		}
	}
	return true
}

func possible(s quantity.Share) bool { return s >= -1 && s <= 2 } // false for NaN

// finite says whether a figure can be told.
func finite(v float64) bool { return math.Abs(v) <= 1e9 } // false for NaN

// amounts writes litres and kilograms in a person's units, "" for what isn't known.
func amounts(u quantity.Units, volume, mass figure) (string, string) {
	var v, m string
	if finite(volume.Mid) && finite(volume.U) && volume != (figure{}) {
		v = job.VolumeWords(u, volume)
	}
	if finite(mass.Mid) && finite(mass.U) && mass != (figure{}) {
		m = job.MassWords(u, mass)
	}
	return v, m
}
