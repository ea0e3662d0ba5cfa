package sitting

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// SteadyRule says when a value stands still. The zero value of each field is
// the usual (common practice, no source).
type SteadyRule struct {
	For     time.Duration // it has stood for so long; 1 s
	AtLeast int           // in so many samples; 3
	// Silence is the longest time between two samples that is still one run of
	// the meter; 2 s. A meter that is slower than that is never found steady.
	Silence time.Duration
	// The tolerance is the largest of these: a floor in the shown unit of the
	// signal (a tenth of the step in which readouts take it: 0.1 Ω, 1 mV,
	// 1 µA, 0.01 %), a part of the value (0.001), and some of the meter's own
	// last digits (2).
	Floor  quantity.Ohm
	Part   float64
	Digits float64
	// Hold is how far, in tolerances, a value may stray from the middle that it
	// was found steady at before it counts as moved; 2.
	Hold float64
}

// mostInWindow keeps the window to what a bench meter gives in its time; one
// that gives more than 4096 samples within For is never found steady.
const mostInWindow = 4096

// Steady tells when the value of one meter stands still, by the times that the
// samples carry and by no clock of its own. The zero value isn't ready: use
// [NewSteady]. It isn't safe for use by several goroutines.
//
// A value stands still once all samples of the last second, three or more that
// span it, lie within the tolerance of one another, the least to the greatest.
// That begins a spell. It lasts while each sample lies within twice the
// tolerance of the middle it was found at, and ends with one that doesn't, with
// anything that is no value, with another signal, with a silence of the meter
// and with a clock that was set back; the next one needs a whole second again.
//
// What it can't see: a creep slower than the tolerance in a second, as of a
// float that still settles. 0.05 Ω a second passes for steady at 40 Ω, and shows
// only in that the spell ends within a few seconds and another begins. And a
// clock set forward by less than Silence makes the second shorter.
type Steady struct {
	rule   SteadyRule
	window []Sample // readings of one run, oldest first
	spells int64
	stands bool
	middle float64
	digits int  // decimals of the meter, the most seen
	fine   bool // its last digit was seen to move by one
}

// NewSteady gives a Steady that goes by a rule.
func NewSteady(o SteadyRule) *Steady {
	if o.For <= 0 {
		o.For = time.Second
	}
	if o.AtLeast <= 0 {
		o.AtLeast = 3
	}
	if o.Silence <= 0 {
		o.Silence = 2 * time.Second
	}
	if o.Part <= 0 {
		o.Part = 0.001
	}
	if o.Digits <= 0 {
		o.Digits = 2
	}
	if o.Hold <= 0 {
		o.Hold = 2
	}
	return &Steady{rule: o}
}

// Add takes the next sample of the meter and gives it back with its Spell.
// Nothing else of it is changed.
func (s *Steady) Add(x Sample) Sample {
	x.Spell = 0
	if v := float64(x.Value); x.State != Reading || math.IsNaN(v) || math.IsInf(v, 0) {
		s.forget()
		return x
	}
	if n := len(s.window); n > 0 {
		last := s.window[n-1]
		if last.Signal != x.Signal {
			s.digits, s.fine = 0, false
		}
		if gap := x.At.Sub(last.At); gap < 0 || gap > s.rule.Silence || last.Signal != x.Signal {
			s.forget()
		}
	}
	s.learn(x)
	if s.stands && math.Abs(float64(x.Value)-s.middle) > s.rule.Hold*s.tolerance(s.middle, x.Signal)*hair {
		s.forget()
	}
	s.push(x)
	if !s.stands && s.still() {
		s.stands, s.middle = true, s.median()
		s.spells++
	}
	if s.stands {
		x.Spell = s.spells
	}
	return x
}

// hair keeps a value that lies at a limit to the last digit from being judged
// by its rounding.
const hair = 1 + 1e-9

// Value gives what to take as the reading: the median of the last second, to
// the decimals that the meter shows. It is false while nothing stands still.
func (s *Steady) Value() (quantity.Ohm, bool) {
	if !s.stands {
		return 0, false
	}
	return quantity.Ohm(quantity.Round(s.median(), s.digits)), true
}

// forget ends the spell and what led to it.
func (s *Steady) forget() { s.window, s.stands = s.window[:0], false }

// push adds a sample and drops those that the window doesn't need to have its
// samples and span its time.
func (s *Steady) push(x Sample) {
	s.window = append(s.window, x)
	drop := 0
	for drop+s.rule.AtLeast < len(s.window) && x.At.Sub(s.window[drop+1].At) >= s.rule.For {
		drop++
	}
	drop = max(drop, len(s.window)-mostInWindow)
	s.window = slices.Delete(s.window, 0, drop)
}

// still says whether the window shows a value that stands.
func (s *Steady) still() bool {
	n := len(s.window)
	if n < s.rule.AtLeast || s.window[n-1].At.Sub(s.window[0].At) < s.rule.For {
		return false
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, w := range s.window {
		low, high = min(low, float64(w.Value)), max(high, float64(w.Value))
	}
	return high-low <= s.tolerance((low+high)/2, s.window[0].Signal)*hair
}

func (s *Steady) median() float64 {
	values := make([]float64, len(s.window))
	for i, w := range s.window {
		values[i] = float64(w.Value)
	}
	slices.Sort(values)
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}

func (s *Steady) tolerance(v float64, signal curve.Signal) float64 {
	floor := float64(s.rule.Floor)
	if floor <= 0 {
		floor = float64(signal.Step()) / 10
	}
	t := max(floor, s.rule.Part*math.Abs(v))
	if s.fine {
		t = max(t, s.rule.Digits*math.Pow10(-s.digits))
	}
	return t
}

// learn sees how fine the meter shows: the most decimals that any value had. A
// value may end in zeros that aren't seen, so that this says something of the
// meter only once its last digit was seen to move by one.
func (s *Steady) learn(x Sample) {
	if d := decimals(float64(x.Value)); d > s.digits {
		s.digits, s.fine = d, false
	}
	if n := len(s.window); n > 0 {
		moved := math.Abs(float64(x.Value - s.window[n-1].Value))
		if digit := math.Pow10(-s.digits); moved > 0.5*digit && moved < 1.5*digit {
			s.fine = true
		}
	}
}

// mostDecimals is as fine as any meter shows.
const mostDecimals = 6

// decimals says how many decimals a value is written with, noise of a
// conversion apart.
func decimals(v float64) int {
	text := strconv.FormatFloat(quantity.Round(v, mostDecimals), 'f', -1, 64)
	_, after, _ := strings.Cut(text, ".")
	return len(after)
}
