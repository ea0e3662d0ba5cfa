package docket

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var day = time.Date(2026, 6, 1, 18, 0, 0, 0, time.UTC)

// filled is a receipt of a tank of 54 L of water whose sender is right.
func filled(id string, n int, litres, before, after float64) Seen {
	return Seen{Docket: Docket{ID: id, Kind: Receipt, Time: day.Add(time.Duration(n) * 24 * time.Hour), Litres: litres}, Before: before, After: after, UBefore: 0.005, UAfter: 0.005, Refill: true}
}

func waterTank() Tank {
	return Tank{Full: 0.054, Signal: func(l float64) float64 { return 240 - 207*l }}
}

// rightOnes are some receipts that agree.
func rightOnes() []Seen {
	return []Seen{filled("a", 1, 27, 0.2, 0.7), filled("b", 2, 21.6, 0.3, 0.7), filled("c", 3, 32.4, 0.1, 0.7)}
}

func verdictOf(l Learned, id string) Verdict {
	for _, v := range l.Verdicts {
		if v.Seen.Docket.ID == id {
			return v
		}
	}
	return Verdict{}
}

// The gallon is exactly 3.785411784 L or 4.54609 L (NIST Handbook 44, appendix C; from memory).
func TestWrongUnitIsNoticed(t *testing.T) {
	for _, c := range []struct {
		litres, kg float64
		tank       func() Tank
		want       string
	}{
		{27 / 3.785411784, 0, waterTank, "US gallons"},
		{27 / 4.54609, 0, waterTank, "imperial gallons"},
		{27 * 3.785411784, 0, waterTank, "litres were typed as US gallons"},
		{2.7, 0, waterTank, "ten times"},
		{270, 0, waterTank, "decimal point left out"},
		{27 * 0.49, 0, gasTank, "kilograms"},
		{0, 27, gasTank, "as litres"},
		{4, 0, waterTank, "another tank, or mistyped"},
	} {
		odd := filled("odd", 4, c.litres, 0.2, 0.7)
		odd.Docket.Kilograms = c.kg
		l := Learn(c.tank(), append(rightOnes(), odd))
		v := verdictOf(l, "odd")
		if v.Counts || !strings.Contains(v.Sentence, c.want) {
			t.Errorf("%g L, %g kg: counts %v, %q; expected %q in it", c.litres, c.kg, v.Counts, v.Sentence, c.want)
		}
		if !verdictOf(l, "a").Counts || l.N != 3 {
			t.Errorf("%g L, %g kg: %d count; expected the three that are right", c.litres, c.kg, l.N)
		}
	}
}

// The first docket of all in the wrong unit is noticed too.
func TestFirstDocketInTheWrongUnit(t *testing.T) {
	l := Learn(waterTank(), []Seen{filled("a", 1, 27/3.785411784, 0.2, 0.7)})
	if v := verdictOf(l, "a"); v.Counts || !strings.Contains(v.Sentence, "US gallons") || l.N != 0 || l.Helps {
		t.Errorf("counts %v, %q", v.Counts, v.Sentence)
	}
}

func TestDocketsThatDontCount(t *testing.T) {
	broken := filled("odd", 4, 20, -1, -1)
	broken.Refill, broken.Broken = false, true
	none := filled("odd", 4, 20, 0.40, 0.401)
	none.Refill = false
	double := filled("odd", 4, 27, 0.2, 0.7)
	struck := filled("odd", 4, 5, 0.2, 0.7)
	struck.Docket.Struck = true
	for name, c := range map[string]struct {
		odd  Seen
		want string
	}{
		"while the sender was broken": {broken, "no level then that can be believed"},
		"no refill":                   {none, "No refill was seen at that time"},
		"struck out":                  {struck, "Struck out"},
	} {
		before := Learn(waterTank(), rightOnes())
		l := Learn(waterTank(), append(rightOnes(), c.odd))
		v := verdictOf(l, "odd")
		if v.Counts || !strings.Contains(v.Sentence, c.want) {
			t.Errorf("%s: counts %v, %q", name, v.Counts, v.Sentence)
		}
		if !reflect.DeepEqual(l.Correction, before.Correction) {
			t.Errorf("%s: what was learned is other than without it", name)
		}
	}
	// Two for one refill: entered twice, and poured twice.
	other := double
	other.Docket.ID, other.Docket.Time = "again", other.Docket.Time.Add(time.Minute)
	l := Learn(waterTank(), append(rightOnes(), double, other))
	if v := verdictOf(l, "again"); v.Counts || !strings.Contains(v.Sentence, "another docket for the same refill") {
		t.Errorf("entered twice: counts %v, %q", v.Counts, v.Sentence)
	}
	double.Docket.Litres, other.Docket.Litres = 15, 12
	l = Learn(waterTank(), append(rightOnes(), double, other))
	for _, id := range []string{"odd", "again"} {
		if v := verdictOf(l, id); !v.Counts || !strings.Contains(v.Sentence, "counted together") {
			t.Errorf("poured twice: %s counts %v, %q", id, v.Counts, v.Sentence)
		}
	}
}

// A receipt that was typed wrong, and again rightly, is left out by what makes up the rise,
// whichever of them is the earlier; what was learned is as by the right ones alone.
func TestTypedAgain(t *testing.T) {
	for name, c := range map[string]struct {
		litres []float64 // for a rise of 27 L
		counts []bool
		aside  string
	}{
		"in another unit, then rightly":   {[]float64{27 / 3.785411784, 27.2}, []bool{false, true}, "alone makes up the rise"},
		"rightly, then in another unit":   {[]float64{27.2, 27 / 3.785411784}, []bool{true, false}, "alone makes up the rise"},
		"the same twice":                  {[]float64{27, 27}, []bool{true, false}, "alone makes up the rise"},
		"two pours":                       {[]float64{15, 12}, []bool{true, true}, "none is left out"},
		"of two pours, one of them twice": {[]float64{15, 12, 12}, []bool{true, true, false}, "make up the rise together"},
		"of two pours, one wrong first":   {[]float64{150, 15, 12}, []bool{false, true, true}, "make up the rise together"},
		"none of them fits":               {[]float64{2, 3}, []bool{false, false}, ""},
	} {
		list, right := rightOnes(), rightOnes()
		for i, litres := range c.litres {
			s := filled(fmt.Sprint("odd", i), 4, litres, 0.2, 0.7)
			s.Docket.Time = s.Docket.Time.Add(time.Duration(i) * time.Minute)
			if list = append(list, s); c.counts[i] || c.aside == "" {
				right = append(right, s)
			}
		}
		l := Learn(waterTank(), list)
		for i, want := range c.counts {
			v := verdictOf(l, fmt.Sprint("odd", i))
			if v.Counts != want || !want && !strings.Contains(v.Sentence, c.aside) || v.Sentence == "" {
				t.Errorf("%s: %g L counts %v: %q; expected %v, %q", name, c.litres[i], v.Counts, v.Sentence, want, c.aside)
			}
		}
		if is := Learn(waterTank(), right); l.N != is.N || !reflect.DeepEqual(l.Correction, is.Correction) {
			t.Errorf("%s: %d count; expected what the %d that are right say alone", name, l.N, is.N)
		}
	}
}

// A receipt while the sender was broken counts between known moments.
func TestBrokenBetweenKnownMoments(t *testing.T) {
	out := Seen{Docket: Docket{ID: "out", Kind: RanOut, Time: day}, Before: -1, After: -1}
	fill := Seen{Docket: Docket{ID: "fill", Kind: Receipt, Time: day.Add(time.Hour), Litres: 41, Stopped: true}, Before: -1, After: -1, Broken: true}
	l := Learn(gasTank(), []Seen{out, fill})
	if v := verdictOf(l, "fill"); !v.Counts || !strings.Contains(v.Sentence, "known moment") {
		t.Errorf("counts %v, %q", v.Counts, v.Sentence)
	}
}

// More than may be filled in is told, with whom to have look at it.
func TestOverfilled(t *testing.T) {
	v := verdictOf(Learn(gasTank(), []Seen{filled("a", 1, 52, 0.02, 0.99)}), "a")
	for _, want := range []string{"overfilled", "another unit", "capacity", "someone licensed"} {
		if !strings.Contains(v.Caution, want) {
			t.Errorf("%q; expected %q in it", v.Caution, want)
		}
	}
	if v := verdictOf(Learn(gasTank(), []Seen{filled("a", 1, 30, 0.02, 0.6)}), "a"); v.Caution != "" {
		t.Errorf("30 L into 54: %q", v.Caution)
	}
}

// What isn't stated is learned: the capacity from receipts between known moments.
func TestCapacityIsLearned(t *testing.T) {
	tank := waterTank()
	tank.Full = 0
	var list []Seen
	for i, before := range []float64{0.1, 0.2, 0.3, 0.15} {
		list = append(list, filled(fmt.Sprint(i), i, (0.9-before)*70, before, 0.9))
	}
	l := Learn(tank, list)
	if got := 1000 * float64(l.Capacity); math.Abs(got-70) > 4 {
		t.Errorf("a capacity of %.1f ± %.1f L; expected 70", got, 1000*float64(l.UCapacity))
	}
}

// A proposal shows a gas tank fuller than the dockets say, by their doubt, where it is
// rather full, and none is made that isn't better.
func TestProposalNeverInvitesOverfilling(t *testing.T) {
	made := 0
	for _, w := range shapes() {
		for seed := range uint64(3) {
			tank := gasTank()
			l := Learn(tank, season{dockets: 9, stops: 0.6, out: 0.3}.of(w, seed))
			if !l.Propose {
				continue
			}
			made++
			if w.right {
				t.Errorf("%s: %g and %g are proposed for a sender that is right", w.name, l.Lower, l.Upper)
			}
			for i := range 101 {
				shown := float64(i) / 100
				level, u := l.Correction.At(shown)
				display := (tank.Signal(shown) - l.Lower) / (l.Upper - l.Lower)
				if level >= fullFrom && i <= to && i%2 == 0 && display < level+u-1e-6 {
					t.Errorf("%s: with %g and %g it shows %.3f where dockets say %.3f", w.name, l.Lower, l.Upper, display, level)
				}
			}
		}
	}
	if made < 10 {
		t.Errorf("%d proposals of 30; expected some", made)
	}
}

// Laws: the order of the dockets makes no difference, what was learned rises throughout and
// is finite, and every docket has a verdict.
func TestLearnLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(t, "n")
		var list []Seen
		level := rapid.Float64Range(-1, 1)
		for i := range n {
			s := Seen{Before: level.Draw(t, "before"), After: level.Draw(t, "after"), UBefore: rapid.Float64Range(0, 0.1).Draw(t, "u"), Refill: rapid.Bool().Draw(t, "refill")}
			s.Docket = Docket{ID: fmt.Sprint(i), Kind: rapid.SampledFrom([]Kind{Receipt, Stopped, RanOut, Weighed}).Draw(t, "kind"), Time: day.Add(time.Duration(i) * time.Hour), Struck: rapid.IntRange(0, 5).Draw(t, "struck") == 0}
			switch {
			case s.Docket.Kind == Stopped || s.Docket.Kind == RanOut:
			case rapid.Bool().Draw(t, "kg"):
				s.Docket.Kilograms = rapid.Float64Range(0.1, 500).Draw(t, "amount")
			default:
				s.Docket.Litres = rapid.Float64Range(0.1, 500).Draw(t, "amount")
			}
			list = append(list, s)
		}
		l := Learn(gasTank(), list)
		turned := slices.Clone(list)
		rand.New(rand.NewPCG(1, 2)).Shuffle(len(turned), func(i, j int) { turned[i], turned[j] = turned[j], turned[i] })
		again := Learn(gasTank(), turned)
		if !reflect.DeepEqual(l.Correction, again.Correction) || l.Reason != again.Reason {
			t.Fatal("another order of the dockets gives other figures")
		}
		if len(l.Verdicts) != n {
			t.Fatalf("%d verdicts on %d dockets", len(l.Verdicts), n)
		}
		for _, v := range l.Verdicts {
			if v.Sentence == "" {
				t.Fatalf("nothing is said of %+v", v.Seen)
			}
		}
		if c := l.Correction; c != nil {
			for i, v := range c.Levels {
				if math.IsNaN(v) || math.IsNaN(c.U[i]) || i > 0 && v <= c.Levels[i-1] {
					t.Fatalf("levels %v", c.Levels)
				}
				if back := c.Shown(v); math.Abs(back-float64(i)/cells) > 1e-6 {
					t.Fatalf("the level %g goes back to %g; expected %g", v, back, float64(i)/cells)
				}
			}
		}
	})
}
