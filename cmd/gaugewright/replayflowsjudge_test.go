package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// flowMade is a history of what came in and went out.
type flowMade struct {
	Kind  string   `json:"kind"`
	Seed  int      `json:"seed"`
	File  string   `json:"file"`
	Truth string   `json:"truth"`
	Rows  int      `json:"rows"`
	Args  []string `json:"args"`
}

// flowTruth is what truly happened; times are Unix seconds as the history's clock
// had them, amounts percent of the scale unless they are litres.
type flowTruth struct {
	Capacity float64 `json:"capacity_l"`
	Every    float64 `json:"every"`
	Last     float64 `json:"last"`
	Refills  []struct {
		Start   float64 `json:"start"`
		End     float64 `json:"end"`
		Amount  float64 `json:"pct"`
		From    float64 `json:"seen_from"` // a gap, or a broken spell, hides when it was
		To      float64 `json:"seen_to"`
		Rise    float64 `json:"net_pct"`      // less what was drawn meanwhile
		RiseAll float64 `json:"seen_net_pct"` // less what was drawn from From to To
	} `json:"refills"`
	Leaks []struct {
		Start   float64 `json:"start"`
		PerHour float64 `json:"per_hour_pct"`
		Lost5   float64 `json:"lost5"` // when it has lost 5 % of the tank
	} `json:"leaks"`
	Drains []struct {
		Start  float64 `json:"start"`
		End    float64 `json:"end"`
		Amount float64 `json:"pct"`
		Why    string  `json:"why"`
	} `json:"drains"`
	// Draws are what was drawn in spells: from when to when, and how much.
	Draws  [][3]float64 `json:"draws"`
	Gaps   [][2]float64 `json:"gaps"`
	Trips  [][2]float64 `json:"trips"`
	Sticks [][2]float64 `json:"sticks"`
	Faults [][3]any     `json:"faults"`
	Heat   []any        `json:"heat"` // how, and half of the swing with a fine day, parts of the scale
	Use    struct {
		Habit float64 `json:"habit_l_per_day"` // what is used on average by who has such habits
		Made  float64 `json:"made_l_per_day"`  // what was used in this history
	} `json:"use"`
	Left []float64 `json:"left_h"` // of many futures, in how many hours each is empty
	End  float64   `json:"end_pct"`
}

// flowEvent is a line of replay --events --json.
type flowEvent struct {
	Kind    string   `json:"kind"`
	Start   any      `json:"start"`
	End     any      `json:"end"`
	Amount  *float64 `json:"amount_pct"`
	Low     *float64 `json:"low_pct"`
	High    *float64 `json:"high_pct"`
	P       *float64 `json:"p"`
	PerHour *float64 `json:"per_hour_pct"`
	Why     string   `json:"why"`
	from    float64
	to      float64
}

// flowSummary is the line of replay --summary --json.
type flowSummary struct {
	Use  *float64                          `json:"use_l_per_day"`
	Low  *float64                          `json:"low"`
	High *float64                          `json:"high"`
	Left struct{ Low, Mid, High *float64 } `json:"time_left_h"`

	Swing     *float64 `json:"day_swing_pct"`
	SwingLow  *float64 `json:"day_swing_low_pct"`
	SwingHigh *float64 `json:"day_swing_high_pct"`
}

// share counts in how many of some cases something holds.
type share struct {
	yes float64
	of  int
}

func (s *share) add(yes bool) {
	s.of++
	if yes {
		s.yes++
	}
}

func (s share) String() string {
	if s.of == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f/%d", s.yes, s.of)
}

func (s share) percent() string {
	if s.of == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", 100*s.yes/float64(s.of))
}

// flowVerdict is all that is judged of some histories.
type flowVerdict struct {
	histories, rows   int
	took              time.Duration
	refills           share     // over 5 %, found
	invented, guessed int       // refills that weren't, with p from 0.5 and below
	split             int       // told as several
	amounts           []float64 // errors, points, against what was filled
	rises             []float64 // against the rise that could be seen
	starts, ends      []float64 // errors, minutes, of refills that nothing hid
	held, heldRise    share     // by the intervals of amounts
	leaks             share     // told before 5 % was lost
	leaksLate         share     // told at the end
	leakRates         []float64 // errors, percent of the rate
	falseLeaks        int
	drains            share // told as a drain or a drop
	falseDrops        int   // drains and drops that weren't
	use, useHabit     []float64
	useWidth          []float64 // half the interval, percent of the use
	leftWidth         []float64 // half the interval, percent of its middle
	leftErrors        []float64 // of the middle against that of the futures, percent
	useHeld, habitIn  share
	unknown           int // no use told
	left              share
	leftUnknown       int
	words             []string // what went wrong, for people

	spells      share     // of use, told that were
	drawn       [3]share  // of use over 1, 2 and 5 points, told
	drawnErrors []float64 // of their amounts, points
	drawnHeld   share
	swing       share // of the reading with the day, held
	swingKnown  share
}

func (v *flowVerdict) join(o flowVerdict) {
	v.histories, v.rows, v.took = v.histories+o.histories, v.rows+o.rows, v.took+o.took
	for _, p := range []struct {
		to   *share
		from share
	}{{&v.refills, o.refills}, {&v.held, o.held}, {&v.heldRise, o.heldRise}, {&v.leaks, o.leaks}, {&v.leaksLate, o.leaksLate}, {&v.drains, o.drains}, {&v.useHeld, o.useHeld}, {&v.habitIn, o.habitIn}, {&v.left, o.left},
		{&v.spells, o.spells}, {&v.drawn[0], o.drawn[0]}, {&v.drawn[1], o.drawn[1]}, {&v.drawn[2], o.drawn[2]}, {&v.drawnHeld, o.drawnHeld}, {&v.swing, o.swing}, {&v.swingKnown, o.swingKnown}} {
		p.to.yes, p.to.of = p.to.yes+p.from.yes, p.to.of+p.from.of
	}
	for _, p := range []struct {
		to   *int
		from int
	}{{&v.invented, o.invented}, {&v.guessed, o.guessed}, {&v.split, o.split}, {&v.falseLeaks, o.falseLeaks}, {&v.falseDrops, o.falseDrops}, {&v.unknown, o.unknown}, {&v.leftUnknown, o.leftUnknown}} {
		*p.to += p.from
	}
	for _, p := range []struct {
		to   *[]float64
		from []float64
	}{{&v.amounts, o.amounts}, {&v.rises, o.rises}, {&v.starts, o.starts}, {&v.ends, o.ends}, {&v.leakRates, o.leakRates}, {&v.use, o.use}, {&v.useHabit, o.useHabit}, {&v.useWidth, o.useWidth}, {&v.leftWidth, o.leftWidth}, {&v.leftErrors, o.leftErrors}, {&v.drawnErrors, o.drawnErrors}} {
		*p.to = append(*p.to, p.from...)
	}
	v.words = append(v.words, o.words...)
}

func (v *flowVerdict) say(format string, args ...any) {
	v.words = append(v.words, fmt.Sprintf(format, args...))
}

// part gives a quantile of the sizes of errors.
func part(errors []float64, q float64) float64 {
	if len(errors) == 0 {
		return math.NaN()
	}
	sizes := make([]float64, len(errors))
	for i, e := range errors {
		sizes[i] = math.Abs(e)
	}
	slices.Sort(sizes)
	return sizes[int(math.Ceil(q*float64(len(sizes)-1)))]
}

// believed says whether an event is told as more likely real than not.
func (e flowEvent) believed() bool { return e.P != nil && *e.P >= 0.5 }

func readFlows(out string) (events []flowEvent, s flowSummary, err error) {
	for line := range strings.Lines(out) {
		if strings.HasPrefix(line, `{"use_l_per_day"`) {
			if err := json.Unmarshal([]byte(line), &s); err != nil {
				return nil, s, fmt.Errorf("%w: %s", err, line)
			}
			continue
		}
		var e flowEvent
		if err := json.Unmarshal([]byte(line), &e); err != nil {
			return nil, s, fmt.Errorf("%w: %s", err, line)
		}
		if e.from, err = (replayLine{Time: e.Start}).at(); err != nil {
			return nil, s, err
		}
		e.to = math.Inf(1)
		if e.End != nil {
			if e.to, err = (replayLine{Time: e.End}).at(); err != nil {
				return nil, s, err
			}
		}
		events = append(events, e)
	}
	return events, s, nil
}

// replayFlows runs the verb over a history, or over its part up to a moment.
func replayFlows(t *testing.T, m flowMade, folder string, until float64, more []string) (events []flowEvent, s flowSummary, took time.Duration) {
	t.Helper()
	in, path := "", filepath.Join(folder, m.File)
	if !math.IsInf(until, 1) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var cut strings.Builder
		for line := range strings.Lines(string(text)) {
			at, _, _ := strings.Cut(line, ",")
			if when, err := writtenTime(at); err != nil || when <= until {
				cut.WriteString(line)
			}
		}
		in, path = cut.String(), "-"
	}
	begin := time.Now()
	args := slices.Concat([]string{"replay", path}, m.Args, []string{"--events", "--summary", "--json"}, more)
	status, out, messages := command(in, args...)
	took = time.Since(begin)
	if status == 2 {
		t.Fatalf("%s: %s", m.File, messages)
	}
	events, s, err := readFlows(out)
	if err != nil {
		t.Fatalf("%s: %v", m.File, err)
	}
	return events, s, took
}

func writtenTime(text string) (float64, error) {
	if strings.Contains(text, "T") {
		return (replayLine{Time: text}).at()
	}
	var v float64
	_, err := fmt.Sscanf(text, "%g", &v)
	return v, err
}
