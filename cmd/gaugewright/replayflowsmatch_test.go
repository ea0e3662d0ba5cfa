package main

import (
	"math"
	"testing"
)

// judgeFlows holds what replay tells of a history against what truly happened.
func judgeFlows(t *testing.T, m flowMade, truth flowTruth, folder string, more []string) (v flowVerdict) {
	t.Helper()
	events, s, took := replayFlows(t, m, folder, math.Inf(1), more)
	v.histories, v.rows, v.took = 1, m.Rows, took
	near := max(600, 3*truth.Every)
	v.matchRefills(truth, events, near)
	v.matchFalls(truth, events, near)
	v.matchUses(truth, events)
	v.judgeSwing(truth, s)
	for _, l := range truth.Leaks {
		// A recording that ends when 5 % are lost.
		early, _, _ := replayFlows(t, m, folder, l.Lost5, more)
		found := findLeak(early, l.Start)
		v.leaks.add(found != nil)
		if found == nil {
			v.say("leak of %.3f %%/h not told when 5 %% were lost", l.PerHour)
		}
		found = findLeak(events, l.Start)
		v.leaksLate.add(found != nil)
		if found != nil && found.PerHour != nil {
			v.leakRates = append(v.leakRates, 100*(*found.PerHour/l.PerHour-1))
		}
	}
	v.judgeUse(truth, s)
	v.judgeLeft(truth, s)
	return v
}

func findLeak(events []flowEvent, begin float64) *flowEvent {
	for i, e := range events {
		if e.Kind == "leak" && e.believed() && e.to > begin {
			return &events[i]
		}
	}
	return nil
}

// matchRefills joins true refills and told ones that overlap in time into groups,
// and compares what each group sums up to: two pours with a short pause may be told
// as one.
func (v *flowVerdict) matchRefills(truth flowTruth, events []flowEvent, near float64) {
	var told []flowEvent
	for _, e := range events {
		if e.Kind == "refill" {
			told = append(told, e)
		}
	}
	n := len(truth.Refills)
	group := make([]int, n+len(told))
	for i := range group {
		group[i] = i
	}
	var root func(int) int
	root = func(i int) int {
		if group[i] != i {
			group[i] = root(group[i])
		}
		return group[i]
	}
	hit := make([]bool, n)
	for j, e := range told {
		any := false
		for i, r := range truth.Refills {
			if e.from < r.To+near && e.to > r.From-near {
				any = true
				if e.believed() {
					hit[i] = true
					group[root(n+j)] = root(i)
				}
			}
		}
		switch amount := value(e.Amount); {
		case any:
		case e.believed():
			v.invented++
			v.say("invented refill of %.1f %% at %s, p %.2f: %s", amount, hours(truth, e.from), value(e.P), e.Why)
		default:
			v.guessed++
		}
	}
	for i, r := range truth.Refills {
		if r.Amount > 5 {
			v.refills.add(hit[i])
			if !hit[i] {
				v.say("missed refill of %.1f %% at %s", r.Amount, hours(truth, r.Start))
			}
		}
	}
	for g := range group {
		var filled, rise, sum, low, high float64
		count, trueOnes := 0, 0
		var is, was [2]float64
		for i := range group {
			switch {
			case root(i) != g:
			case i < n:
				trueOnes++
				filled += truth.Refills[i].Amount
				r := truth.Refills[i]
				rise += r.RiseAll
				if was = [2]float64{r.Start, r.End}; r.From != r.Start || r.To != r.End {
					was[0] = math.NaN()
				}
			default:
				count++
				e := told[i-n]
				is = [2]float64{e.from, e.to}
				sum, low, high = sum+value(e.Amount), low+value(e.Low), high+value(e.High)
			}
		}
		if count == 0 || trueOnes == 0 {
			continue
		}
		if count > 1 {
			v.split++
		}
		v.amounts = append(v.amounts, sum-filled)
		v.rises = append(v.rises, sum-rise)
		if math.Abs(sum-filled) > 2 {
			v.say("amount %.1f instead of %.1f %% (rise seen %.1f) at %s", sum, filled, rise, hours(truth, told0(group, told, n, root, g).from))
		}
		if count == 1 && trueOnes == 1 && !math.IsNaN(was[0]) {
			v.starts = append(v.starts, (is[0]-was[0])/60)
			if !math.IsInf(is[1], 1) {
				v.ends = append(v.ends, (is[1]-was[1])/60)
			}
		}
		if count == 1 {
			v.held.add(filled >= low && filled <= high)
			v.heldRise.add(rise >= low && rise <= high)
		}
	}
}

func told0(group []int, told []flowEvent, n int, root func(int) int, g int) flowEvent {
	for i := n; i < len(group); i++ {
		if root(i) == g {
			return told[i-n]
		}
	}
	return flowEvent{}
}

// matchFalls judges leaks, drains and drops.
func (v *flowVerdict) matchFalls(truth flowTruth, events []flowEvent, near float64) {
	drained := make([]bool, len(truth.Drains))
	for _, e := range events {
		if !e.believed() {
			continue
		}
		switch e.Kind {
		case "leak":
			real := false
			for _, l := range truth.Leaks {
				real = real || e.to > l.Start
			}
			if !real {
				v.falseLeaks++
				v.say("invented leak from %s to %s, %.3f %%/h, %.1f %%, p %.2f: %s", hours(truth, e.from), hours(truth, e.to), value(e.PerHour), value(e.Amount), value(e.P), e.Why)
			}
		case "drain", "drop":
			real := false
			for i, d := range truth.Drains {
				if e.from < d.End+near && e.to > d.Start-near {
					real, drained[i] = true, true
				}
			}
			if !real {
				v.falseDrops++
				v.say("invented %s of %.1f %% at %s, p %.2f: %s", e.Kind, value(e.Amount), hours(truth, e.from), value(e.P), e.Why)
			}
		}
	}
	for i, d := range truth.Drains {
		v.drains.add(drained[i])
		if !drained[i] {
			v.say("%s of %.1f %% at %s not told", d.Why, d.Amount, hours(truth, d.Start))
		}
	}
}

func (v *flowVerdict) judgeUse(truth flowTruth, s flowSummary) {
	if truth.Use.Made <= 0 {
		return
	}
	if s.Use == nil {
		v.unknown++
		return
	}
	e := 100 * (*s.Use/truth.Use.Made - 1)
	v.use = append(v.use, e)
	low, high := value(s.Low), math.Inf(1)
	if s.High != nil {
		high = *s.High
	}
	v.useWidth = append(v.useWidth, 50*(high-low) / *s.Use)
	v.useHeld.add(truth.Use.Made >= low && truth.Use.Made <= high)
	v.say("use %.2f (%.2f to %.2f), made %.2f, habit %.2f L/day", *s.Use, low, high, truth.Use.Made, truth.Use.Habit)
	if truth.Use.Habit > 0 {
		v.useHabit = append(v.useHabit, 100*(*s.Use/truth.Use.Habit-1))
		v.habitIn.add(truth.Use.Habit >= low && truth.Use.Habit <= high)
	}
}

func (v *flowVerdict) judgeLeft(truth flowTruth, s flowSummary) {
	if len(truth.Left) == 0 {
		return
	}
	if s.Left.Low == nil && s.Left.High == nil {
		v.leftUnknown++
		return
	}
	low, high := value(s.Left.Low), math.Inf(1)
	if s.Left.High != nil {
		high = *s.Left.High
	}
	in := 0.0
	for _, l := range truth.Left {
		if l >= low && l <= high {
			in++
		}
	}
	v.left.of++
	if s.Left.Mid != nil && truth.Left[0] < never {
		mid := median(truth.Left)
		v.leftErrors = append(v.leftErrors, 100*(*s.Left.Mid/mid-1))
		v.leftWidth = append(v.leftWidth, 50*(high-low) / *s.Left.Mid)
	}
	v.left.yes += in / float64(len(truth.Left))
	v.say("left %.1f h (%.1f to %.1f), true median %.1f: %.0f %% of futures", value(s.Left.Mid), low, high, median(truth.Left), 100*in/float64(len(truth.Left)))
}

func value(p *float64) float64 {
	if p == nil {
		return 0
	}
	return *p
}

// never is a time left, h, of which nobody waits for the end.
const never = 5e5

func median(x []float64) float64 { return part(x, 0.5) }
