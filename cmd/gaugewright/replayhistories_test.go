package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/peer"
)

// More histories than the usual ones:
//
//	go test ./cmd/gaugewright -run TestReplayAgainstHistories -v -histories.seeds 1,2,3,4,5 -histories.kinds town,clock
var (
	historySeeds  = flag.String("histories.seeds", "1", "seeds of the histories that replay is tried on")
	historyKinds  = flag.String("histories.kinds", "", "their kinds; all unless given")
	historyFolder = flag.String("histories.keep", "", "a folder to keep them in")
)

// made is one history with the truth beside it.
type made struct {
	Kind  string   `json:"kind"`
	Seed  int      `json:"seed"`
	File  string   `json:"file"`
	Truth string   `json:"truth"`
	Every float64  `json:"every"`
	Args  []string `json:"args"`
	// Friction is the error that the float's friction leaves, either way, in
	// points. Nobody who knows a sender by its end values alone can know it.
	Friction float64 `json:"friction_pct"`
}

// truthRow is the tank as it was at a reading.
type truthRow struct {
	at                    float64 // Unix seconds
	level                 float64 // percent
	moving, broken, spike bool
	clock                 int     // 1: the written clock was wrong; 2: and stayed so to the end
	written               float64 // what the clock said
	ill                   int     // readings since the last broken one, or the start, or a gap
	illFor                float64
	inSpell               int // which reading of a broken spell, from 1
}

// score is how far levels were from the truth.
type score struct {
	errors   []float64
	inside   int // of level ± 2 u
	interval int // of low to high
}

func (s *score) add(e, u, level, low, high, truth float64) {
	s.errors = append(s.errors, math.Abs(e))
	if math.Abs(e) <= 2*u {
		s.inside++
	}
	if truth >= low-1e-9 && truth <= high+1e-9 {
		s.interval++
	}
}

func (s *score) join(o score) {
	s.errors = append(s.errors, o.errors...)
	s.inside += o.inside
	s.interval += o.interval
}

func (s *score) of(part float64) float64 {
	if len(s.errors) == 0 {
		return math.NaN()
	}
	slices.Sort(s.errors)
	return s.errors[int(part*float64(len(s.errors)-1))]
}

func (s *score) rms() float64 {
	sum := 0.0
	for _, e := range s.errors {
		sum += e * e
	}
	return math.Sqrt(sum / float64(len(s.errors)))
}

func (s *score) coverage() float64 { return 100 * float64(s.inside) / float64(len(s.errors)) }

func (s *score) row() string {
	if len(s.errors) == 0 {
		return "      –      –      –      –      –"
	}
	return fmt.Sprintf("%7.2f%7.2f%7.2f%7.2f%6.1f%%", s.of(0.5), s.of(0.95), s.of(1), s.rms(), s.coverage())
}

// verdict is all that is judged of one history.
type verdict struct {
	standing, moving score
	shownBroken      int // readings of a broken spell, from the second on, shown as a level
	shownFirst       int // first readings of one
	missing          int // sound readings without a level, long after anything was amiss
	late             int // the same, soon after
	wrongClock       int // levels at times that no right clock wrote
	lost             int // readings of a right clock that have no level line
	backward         int // lines before an earlier one
	worstAt          float64
	worst            float64
	lines            int
}

func readTruth(t *testing.T, path string) []truthRow {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []truthRow
	s := bufio.NewScanner(f)
	s.Scan()
	ill, illAt := 0, 0.0
	spell := 0
	for s.Scan() {
		cells := strings.Split(s.Text(), ",")
		var v [7]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(cells[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		r := truthRow{at: v[0], level: v[1], moving: v[2] == 1, broken: v[3] == 1, spike: v[4] == 1, clock: int(v[5]), written: v[6]}
		if len(out) == 0 || r.broken || r.at-out[len(out)-1].at > 60 && r.at-out[len(out)-1].at > 3*(out[len(out)-1].at-out[max(0, len(out)-2)].at) {
			ill, illAt = 0, r.at
		}
		if r.broken {
			spell++
			r.inSpell = spell
		} else {
			spell = 0
		}
		ill++
		r.ill, r.illFor = ill, r.at-illAt
		out = append(out, r)
	}
	return out
}

type replayLine struct {
	Time   any      `json:"time"`
	Level  *float64 `json:"level_pct"`
	U      *float64 `json:"u_pct"`
	Low    *float64 `json:"low_pct"`
	High   *float64 `json:"high_pct"`
	Status string   `json:"status"`
	Reason string   `json:"reason"`
}

func (l replayLine) at() (float64, error) {
	switch v := l.Time.(type) {
	case float64:
		return v, nil
	case string:
		t, err := time.Parse(time.RFC3339Nano, v)
		return float64(t.UnixNano()) / 1e9, err
	}
	return 0, fmt.Errorf("time %v", l.Time)
}

// judge holds the lines of a replay against the truth.
func judge(t *testing.T, m made, folder, out string) verdict {
	t.Helper()
	truth := readTruth(t, filepath.Join(folder, m.Truth))
	at := make(map[int64]int, len(truth))
	for i, r := range truth {
		// A clock that was set back writes times again that were right before.
		if k := int64(math.Round(r.written * 1000)); r.clock == 0 || at[k] == 0 {
			at[k] = i
		}
	}
	var v verdict
	seen := make([]bool, len(truth))
	before := math.Inf(-1)
	for line := range strings.Lines(out) {
		var l replayLine
		if err := json.Unmarshal([]byte(line), &l); err != nil {
			t.Fatalf("%s: %v: %s", m.File, err, line)
		}
		when, err := l.at()
		if err != nil {
			t.Fatalf("%s: %v", m.File, err)
		}
		v.lines++
		if when < before {
			v.backward++
		}
		before = when
		if strings.HasPrefix(l.Reason, "no reading") {
			continue
		}
		i, ok := at[int64(math.Round(when*1000))]
		if !ok || truth[i].clock == 1 {
			v.wrongClock++
			continue
		}
		r := truth[i]
		seen[i] = true
		if r.clock == 2 { // nobody can tell
			continue
		}
		switch {
		case l.Level == nil && r.broken:
		case l.Level == nil && r.spike:
		case l.Level == nil && (r.ill <= 10 || r.illFor <= 180):
			v.late++
		case l.Level == nil:
			v.missing++
		case r.broken && r.inSpell == 1:
			v.shownFirst++
		case r.broken:
			v.shownBroken++
		default:
			s := &v.standing
			if r.moving {
				s = &v.moving
			}
			e := *l.Level - r.level
			s.add(e, *l.U, *l.Level, *l.Low, *l.High, r.level)
			if math.Abs(e) > v.worst {
				v.worst, v.worstAt = math.Abs(e), r.at-truth[0].at
			}
		}
	}
	for i, r := range truth {
		if !seen[i] && r.clock == 0 {
			v.lost++
		}
	}
	return v
}

// What is watched is held against the truth, over histories that were made
// without any of this program's code, by testdata/histories.py.
func TestReplayAgainstHistories(t *testing.T) {
	t.Parallel()
	script, err := os.ReadFile("testdata/histories.py")
	if err != nil {
		t.Fatal(err)
	}
	folder := *historyFolder
	if folder == "" {
		folder = t.TempDir()
	}
	ask := map[string]any{"out": folder, "seeds": []int{}, "kinds": []string{}}
	var seeds []int
	for text := range strings.SplitSeq(*historySeeds, ",") {
		n, err := strconv.Atoi(text)
		if err != nil {
			t.Fatal(err)
		}
		seeds = append(seeds, n)
	}
	ask["seeds"] = seeds
	switch {
	case *historyKinds != "":
		ask["kinds"] = strings.Split(*historyKinds, ",")
	case raceDetector: // the watch starts no goroutine, and it takes ten times as long
		ask["kinds"], ask["seeds"] = []string{"town", "open", "clock"}, seeds[:1]
	}
	var list []made
	const parts = 6 // one script may run for a minute, and a machine may be busy
	for part := range parts {
		var some []made
		ask["part"] = []int{part, parts}
		peer.Python(t, []string{"numpy"}, string(script), ask, &some)
		list = append(list, some...)
	}

	var table strings.Builder
	head := func(name string) string {
		return fmt.Sprintf("%-12s |%7s%7s%7s%7s%7s |%7s%7s%7s%7s%7s | %6s %5s %5s %5s %5s %5s | %s\n", name,
			"median", "95 %", "max", "RMS", "±2u", "median", "95 %", "max", "RMS", "±2u", "broken", "first", "miss", "late", "clock", "lost", "worst at, s")
	}
	table.WriteString(head("history"))
	kinds := map[string]*verdict{}
	var ideal, stiff verdict // without friction, and with it
	var order []string
	for _, m := range list {
		args := append([]string{"replay", filepath.Join(folder, m.File), "--json"}, m.Args...)
		status, out, messages := command("", args...)
		if status == 2 {
			t.Fatalf("%s: %s", m.File, messages)
		}
		v := judge(t, m, folder, out)
		fmt.Fprintf(&table, "%-12s |%s |%s | %6d %5d %5d %5d %5d %5d | %.1f at %.0f\n", fmt.Sprintf("%s-%d", m.Kind, m.Seed), v.standing.row(), v.moving.row(),
			v.shownBroken, v.shownFirst, v.missing, v.late, v.wrongClock, v.lost, v.worst, v.worstAt)
		if v.backward > 0 {
			t.Errorf("%s: %d lines before an earlier one", m.File, v.backward)
		}
		by := &ideal
		if m.Friction > 0 {
			by = &stiff
		}
		by.standing.join(v.standing)
		by.moving.join(v.moving)
		all := kinds[m.Kind]
		if all == nil {
			all = &verdict{}
			kinds[m.Kind] = all
			order = append(order, m.Kind)
		}
		all.standing.join(v.standing)
		all.moving.join(v.moving)
		all.shownBroken += v.shownBroken
		all.shownFirst += v.shownFirst
		all.missing += v.missing
		all.late += v.late
		all.wrongClock += v.wrongClock
		all.lost += v.lost
		all.lines += v.lines
	}
	table.WriteString("\n" + head("kind"))
	var total verdict
	for _, k := range order {
		v := kinds[k]
		fmt.Fprintf(&table, "%-12s |%s |%s | %6d %5d %5d %5d %5d %5d |\n", k, v.standing.row(), v.moving.row(), v.shownBroken, v.shownFirst, v.missing, v.late, v.wrongClock, v.lost)
		total.standing.join(v.standing)
		total.moving.join(v.moving)
		total.shownBroken += v.shownBroken
		total.missing += v.missing
		total.lines += v.lines
	}
	fmt.Fprintf(&table, "%-12s |%s |%s | %6d       %5d\n", "all", total.standing.row(), total.moving.row(), total.shownBroken, total.missing)
	fmt.Fprintf(&table, "%-12s |%s |%s |\n", "ideal float", ideal.standing.row(), ideal.moving.row())
	fmt.Fprintf(&table, "%-12s |%s |%s |\n", "friction", stiff.standing.row(), stiff.moving.row())
	t.Logf("left standing, right moving; points\n%s", table.String())

	for _, k := range order {
		v := kinds[k]
		if v.shownBroken+v.shownFirst > 0 {
			t.Errorf("%s: %d readings of a broken spell are shown as a level", k, v.shownBroken+v.shownFirst)
		}
		if v.wrongClock > 0 {
			t.Errorf("%s: %d readings of a wrong clock count", k, v.wrongClock)
		}
		if v.lost > 0 {
			t.Errorf("%s: %d sound readings are lost", k, v.lost)
		}
		if part := float64(v.missing) / float64(v.lines); part > 0.002 {
			t.Errorf("%s: %d of %d readings have no level though nothing was amiss", k, v.missing, v.lines)
		}
		if e := v.standing.of(0.95); e > 1 {
			t.Errorf("%s: 95 %% of the errors standing are within %.2f points; wanted 1", k, e)
		}
		if e := v.moving.of(0.95); e > 2 && k != farFloat {
			t.Errorf("%s: 95 %% of the errors moving are within %.2f points; wanted 2", k, e)
		}
	}
	for _, s := range []struct {
		name string
		of   score
	}{{"standing, an ideal float", ideal.standing}, {"moving, an ideal float", ideal.moving}, {"moving, a float with friction", stiff.moving}} {
		if n := len(s.of.errors); n > 0 && s.of.coverage() < 93 {
			t.Errorf("%s: the level ± 2 u holds the truth %.1f %% of %d times; wanted 93 or more", s.name, s.of.coverage(), n)
		}
	}
}

// farFloat is the kind whose float stands half a metre from the middle of a long
// tank: a slope of the road of 3 %, which nobody tells the watch of, is seven
// points there, so nothing can hold it to two.
const farFloat = "heavy"
