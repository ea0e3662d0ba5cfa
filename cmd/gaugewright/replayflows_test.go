package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/peer"
)

// More histories than the usual ones, at any sampling, with a word on each:
//
//	go test ./cmd/gaugewright -run TestReplayTellsFlows -v -flows.seeds 1-20 -flows.kinds taps,leak-still -flows.least 0 -flows.tell
var (
	flowSeeds  = flag.String("flows.seeds", "1", "seeds of the histories of use, refills and leaks, such as 1,2 or 1-20")
	flowKinds  = flag.String("flows.kinds", "", "their kinds; all unless given")
	flowLeast  = flag.Float64("flows.least", 120, "seconds between readings that they have at least; 0 leaves them as they are, with up to 60,000 readings each")
	flowArgs   = flag.String("flows.args", "", "more arguments for replay, such as --steady none")
	flowTell   = flag.Bool("flows.tell", false, "tell of each history what went wrong")
	flowStrict = flag.Bool("flows.strict", false, "hold the kinds that are known to fall short to what is promised too")
	flowFolder = flag.String("flows.keep", "", "a folder to keep them in")
)

func seedsOf(t *testing.T, text string) (seeds []int) {
	t.Helper()
	for word := range strings.SplitSeq(text, ",") {
		from, to, many := strings.Cut(word, "-")
		if !many {
			to = from
		}
		a, err1 := strconv.Atoi(from)
		b, err2 := strconv.Atoi(to)
		if err1 != nil || err2 != nil {
			t.Fatalf("seeds %q: expected numbers, such as 1,2 or 1-20", text)
		}
		for s := a; s <= b; s++ {
			seeds = append(seeds, s)
		}
	}
	return seeds
}

// hours gives a moment as hours from the last reading back.
func hours(truth flowTruth, at float64) string {
	if math.IsInf(at, 1) {
		return "now"
	}
	return fmt.Sprintf("%.2f h before the end", (truth.Last-at)/3600)
}

// makeFlows has histories made, a part at a time: a script may run for a minute.
func makeFlows(t *testing.T, folder string, seeds []int, kinds []string, least float64, each func(flowMade, flowTruth)) {
	t.Helper()
	script, err := os.ReadFile("testdata/flows.py")
	if err != nil {
		t.Fatal(err)
	}
	parts := 3 * len(seeds)
	for part := range parts {
		var list []flowMade
		ask := map[string]any{"out": folder, "seeds": seeds, "kinds": kinds, "least": least, "part": []int{part, parts}}
		peer.Python(t, []string{"numpy"}, string(script), ask, &list)
		for _, m := range list {
			text, err := os.ReadFile(filepath.Join(folder, m.Truth))
			if err != nil {
				t.Fatal(err)
			}
			var truth flowTruth
			if err := json.Unmarshal(text, &truth); err != nil {
				t.Fatalf("%s: %v", m.Truth, err)
			}
			each(m, truth)
			if *flowFolder == "" {
				_ = os.Remove(filepath.Join(folder, m.File)) // of many, not all have room
			}
		}
	}
}

const flowHead = "%-14s %4s %9s %4s %4s %5s | %6s %6s %6s %6s | %6s %6s | %6s %7s | %7s %7s %6s %4s | %5s %4s | %6s %6s %6s %6s %6s %4s | %6s %6s %6s %4s | %5s\n"

func (v *flowVerdict) row(name string) string {
	figure := func(x float64) string {
		if math.IsNaN(x) {
			return "–"
		}
		return fmt.Sprintf("%.1f", x)
	}
	return fmt.Sprintf(flowHead, name, strconv.Itoa(v.histories), v.refills.String(), strconv.Itoa(v.invented), strconv.Itoa(v.guessed), strconv.Itoa(v.split),
		figure(part(v.amounts, 0.5)), figure(part(v.amounts, 0.95)), figure(part(v.amounts, 1)), figure(part(v.rises, 1)), figure(part(v.starts, 0.9)), figure(part(v.ends, 0.9)), v.held.percent(), v.heldRise.percent(),
		v.leaks.String(), v.leaksLate.String(), figure(part(v.leakRates, 0.5)), strconv.Itoa(v.falseLeaks), v.drains.String(), strconv.Itoa(v.falseDrops),
		figure(part(v.use, 0.5)), figure(part(v.use, 0.9)), figure(part(v.useWidth, 0.5)), v.useHeld.percent(), v.habitIn.percent(), strconv.Itoa(v.unknown), figure(part(v.leftErrors, 0.5)), figure(part(v.leftWidth, 0.5)), v.left.percent(), strconv.Itoa(v.leftUnknown),
		fmt.Sprintf("%.0f", 1e6*v.took.Seconds()/float64(max(1, v.rows))))
}

// What came in, what went out and how long it lasts are held against the truth, over
// histories that were made without any of this program's code, by testdata/flows.py.
func TestReplayTellsFlows(t *testing.T) {
	t.Parallel()
	folder := *flowFolder
	if folder == "" {
		folder = t.TempDir()
	}
	kinds := []string{}
	switch {
	case *flowKinds != "":
		kinds = strings.Split(*flowKinds, ",")
	case raceDetector: // nothing here starts a goroutine, and it takes ten times as long
		kinds = []string{"dayfill", "leak-still"}
	}
	verdicts, all := map[string]*flowVerdict{}, flowVerdict{}
	var order []string
	var words strings.Builder
	makeFlows(t, folder, seedsOf(t, *flowSeeds), kinds, *flowLeast, func(m flowMade, truth flowTruth) {
		v := judgeFlows(t, m, truth, folder, strings.Fields(*flowArgs))
		if *flowTell {
			fmt.Fprintf(&words, "%s-%d (every %g s, %s): %s\n", m.Kind, m.Seed, truth.Every, strings.Join(m.Args, " "), strings.Join(v.words, "; "))
		}
		if verdicts[m.Kind] == nil {
			verdicts[m.Kind] = &flowVerdict{}
			order = append(order, m.Kind)
		}
		verdicts[m.Kind].join(v)
		all.join(v)
	})
	var table strings.Builder
	fmt.Fprintf(&table, flowHead, "kind", "n", "refills", "inv", "p<½", "split", "median", "95 %", "max", "rise", "start", "end", "held", "by rise", "leak 5%", "leak", "rate", "inv", "drain", "inv",
		"use", "90 %", "width", "held", "habit", "none", "left", "width", "held", "none", "µs")
	for _, k := range order {
		table.WriteString(verdicts[k].row(k))
	}
	table.WriteString(all.row("all"))
	table.WriteString(usesTable(order, verdicts, &all))
	t.Logf("refills over 5 %% found, invented, told though unlikely, told as several | errors of amounts in points against what was filled, and against the rise | nine tenths of the errors of their start and end in minutes, where nothing hid them | held by the 90 %% intervals | leaks told before 5 %% was lost, told at the end, error of the rate in %%, invented | drains and drops told, invented | error of use in %%, held by the interval (in this history; of the habit), not told | futures held by the interval of time left, not told | µs a reading\n%s%s", table.String(), words.String())
	assertFlows(t, verdicts, all)
}

// fallShort are the kinds of which replay doesn't tell all that it should, and what
// is wrong; -flows.strict holds them to it too.
var fallShort = map[string]string{
	"leak-first":    "a leak that was there from the first reading can't be told from use unless --steady says what draws",
	"leak-daily":    "a leak of less than 0.1 % an hour beside daily use, read every five minutes, is now and then told late",
	"leak-constant": "a slow growth of even use is now and then told late",
	"leak-mended":   "a leak that begins within the first day may be missed",
	"stuck":         "use that shows when a float comes free is taken for a leak",
	"still-cloud":   "what the sun between clouds does is now and then told as a small refill",
	"slosh-white":   "a surface that always sways, read every two minutes, is now and then told as a small refill",
	"sloshfill":     "the same",
	"drive":         "the same",
	"pump":          "the same, and a stop of three minutes is short",
	"cut":           "a filling that has only just begun, or that the recording begins in, may be missed",
}

// assertFlows holds the figures to what is promised.
func assertFlows(t *testing.T, verdicts map[string]*flowVerdict, all flowVerdict) {
	t.Helper()
	for k, v := range verdicts {
		if fallShort[k] != "" && !*flowStrict {
			continue
		}
		if v.refills.yes < float64(v.refills.of) {
			t.Errorf("%s: %v refills over 5 %% found", k, v.refills)
		}
		if v.invented > 0 {
			t.Errorf("%s: %d refills invented", k, v.invented)
		}
		if v.falseLeaks > 0 {
			t.Errorf("%s: %d leaks invented", k, v.falseLeaks)
		}
		if v.leaks.yes < float64(v.leaks.of) {
			t.Errorf("%s: %v leaks told before 5 %% was lost", k, v.leaks)
		}
	}
	if n := all.spells.of; n > 20 && all.spells.yes < 0.95*float64(n) {
		t.Errorf("%v of the spells of use that were told were such; wanted 95 %%", all.spells)
	}
	if n := all.drawn[1].of; n > 20 && all.drawn[1].yes < 0.7*float64(n) {
		t.Errorf("%v spells of use over 2 points were told; wanted 70 %%", all.drawn[1])
	}
	if part := all.refills.yes / float64(max(1, all.refills.of)); all.refills.of > 0 && part < 0.97 {
		t.Errorf("%v refills over 5 %% found, of all kinds; wanted 97 %%", all.refills)
	}
	if e := part(all.amounts, 0.5); e > 1 {
		t.Errorf("half of the amounts are within %.1f points; wanted 1", e)
	}
	if n := all.useHeld.of; n > 20 && all.useHeld.yes < 0.85*float64(n) {
		t.Errorf("the intervals of use hold what was used in %v histories; wanted 85 %%", all.useHeld)
	}
}
