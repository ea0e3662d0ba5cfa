package doubt

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
)

// Trials is how many trials make one block: 10⁴, enough for a 95 % interval
// (JCGM 101:2008, 7.9.4: the greater of 10⁴ and 100/(1 − p)).
const Trials = 10_000

// Spread is what a Monte Carlo calculation found of one result.
type Spread struct {
	Mean, U   float64 // estimate and standard uncertainty
	Low, High float64 // ends of the probabilistically symmetric interval
}

// Propagation is the outcome of a Monte Carlo calculation.
type Propagation struct {
	Results []Spread
	Trials  int
	// Reached says that every figure is stable to within the tolerance; if not,
	// the calculation ended at its limit of trials.
	Reached bool
	// Error is twice the standard deviation of the least stable figure, in
	// parts of its tolerance: 1 or less where Reached.
	Error float64
}

// Rule says when a Monte Carlo calculation ends.
type Rule struct {
	// Tolerance is how stable each figure has to be, in the unit of the results,
	// above zero: twice the standard deviation of its mean over the blocks.
	Tolerance float64
	// P is the probability of the interval; 0 stands for 0.95.
	P float64
	// Blocks is the most blocks of Trials to make; 0 stands for 100. The least
	// is 2, since one block says nothing of stability.
	Blocks int
	// Seed begins the random numbers. The same seed gives the same figures on
	// any machine, whatever its number of cores.
	Seed uint64
}

// Model prepares one block's worth of trials: it gets the block's own random
// numbers, and gives a function that makes one trial and puts its results into
// out. It is called from several goroutines at once; what it prepares is used
// from one.
type Model func(random *rand.Rand) (trial func(out []float64))

// Propagate carries distributions through a model of n results by the Monte
// Carlo method, in blocks of Trials, until the mean, the standard uncertainty
// and both ends of the interval of every result are stable to within the
// tolerance. Blocks are shared out to all cores, and each has random numbers of
// its own, so that the outcome doesn't depend on how many there are.
//
// The figures are means over the blocks of what each block gives, which for
// blocks of this size differ from those of all trials together by far less
// than the tolerance.
//
// Source: JCGM 101:2008, 7.9 (adaptive procedure) and 7.7 (interval).
func Propagate(n int, model Model, rule Rule) (Propagation, error) {
	if n < 1 {
		return Propagation{}, fmt.Errorf("doubt: %d results to propagate to", n)
	}
	if !(rule.Tolerance > 0) {
		return Propagation{}, fmt.Errorf("doubt: a numerical tolerance lies above zero; found %g", rule.Tolerance)
	}
	if rule.P == 0 {
		rule.P = 0.95
	}
	if !(rule.P > 0 && rule.P < 1) {
		return Propagation{}, fmt.Errorf("doubt: a coverage probability lies between 0 and 1; found %g", rule.P)
	}
	if rule.Blocks == 0 {
		rule.Blocks = 100
	}
	rule.Blocks = max(2, rule.Blocks)

	c := &collector{sums: make([]tally, n), tolerance: rule.Tolerance}
	workers := max(1, min(runtime.GOMAXPROCS(0), rule.Blocks))
	// Blocks are made in rounds and counted in order, so the ones that a round
	// made too many are not counted, and the outcome is the same everywhere.
	scratch := make([]*block, workers)
	for first := 0; first < rule.Blocks && !c.done; first += workers {
		count := min(workers, rule.Blocks-first)
		var all sync.WaitGroup
		for w := range count {
			if scratch[w] == nil {
				scratch[w] = newBlock(n)
			}
			all.Go(func() { scratch[w].run(model, rule, uint64(first+w)) })
		}
		all.Wait()
		for w := range count {
			if c.done = c.add(scratch[w].results); c.done {
				break
			}
		}
	}
	return c.outcome(), nil
}

// block makes Trials trials and takes their figures.
type block struct {
	values  [][]float64 // by result, then by trial
	out     []float64
	results []Spread
}

func newBlock(n int) *block {
	b := &block{values: make([][]float64, n), out: make([]float64, n), results: make([]Spread, n)}
	for i := range b.values {
		b.values[i] = make([]float64, Trials)
	}
	return b
}

func (b *block) run(model Model, rule Rule, number uint64) {
	trial := model(rand.New(rand.NewPCG(rule.Seed, number)))
	for k := range Trials {
		trial(b.out)
		for i, v := range b.out {
			b.values[i][k] = v
		}
	}
	for i, v := range b.values {
		b.results[i] = Summarise(v, rule.P)
	}
}

// Summarise gives mean, standard deviation and the probabilistically symmetric
// interval of a set of trials, whose order it changes. With q the number of
// trials in the interval and r = (M − q)/2 left below it, the ends are the r-th
// and the (r + q)-th smallest value. Source: JCGM 101:2008, 7.6 and 7.7.
func Summarise(values []float64, p float64) Spread {
	n := len(values)
	mean := Mean(values)
	ss := 0.0
	for _, v := range values {
		ss += (v - mean) * (v - mean)
	}
	s := Spread{Mean: mean}
	if n > 1 {
		s.U = math.Sqrt(ss / float64(n-1))
	}
	q := min(n-1, int(p*float64(n)+0.5))
	r := max(1, (n-q+1)/2)
	s.Low = selectRank(values, r-1)
	// What is below the low end is to its left now.
	s.High = selectRank(values[r-1:], min(n-1, r-1+q)-(r-1))
	return s
}

// tally collects the figures of one result over the blocks: mean, uncertainty
// and both ends.
type tally struct{ sum, squares [4]float64 }

type collector struct {
	sums      []tally
	blocks    int
	tolerance float64
	error     float64
	done      bool
}

// add counts one block and says whether all figures are stable.
func (c *collector) add(results []Spread) bool {
	c.blocks++
	h := float64(c.blocks)
	c.error = 0
	for i, r := range results {
		t := &c.sums[i]
		for k, v := range [4]float64{r.Mean, r.U, r.Low, r.High} {
			t.sum[k] += v
			t.squares[k] += v * v
			if c.blocks < 2 {
				continue
			}
			mean := t.sum[k] / h
			variance := max(0, t.squares[k]-h*mean*mean) / (h - 1) / h
			c.error = max(c.error, 2*math.Sqrt(variance)/c.tolerance)
		}
	}
	return c.blocks >= 2 && c.error <= 1
}

func (c *collector) outcome() Propagation {
	h := float64(c.blocks)
	out := Propagation{Results: make([]Spread, len(c.sums)), Trials: c.blocks * Trials, Reached: c.done, Error: c.error}
	for i, t := range c.sums {
		out.Results[i] = Spread{t.sum[0] / h, t.sum[1] / h, t.sum[2] / h, t.sum[3] / h}
	}
	return out
}

// selectRank puts the value of the given rank (0: the smallest) in its place,
// nothing greater before it and nothing smaller behind it, and gives it.
// Quickselect with the median of three: linear time on the average.
func selectRank(v []float64, rank int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		mid := lo + (hi-lo)/2
		if v[mid] < v[lo] {
			v[mid], v[lo] = v[lo], v[mid]
		}
		if v[hi] < v[lo] {
			v[hi], v[lo] = v[lo], v[hi]
		}
		if v[hi] < v[mid] {
			v[hi], v[mid] = v[mid], v[hi]
		}
		pivot := v[mid]
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case rank <= j:
			hi = j
		case rank >= i:
			lo = i
		default:
			return v[rank]
		}
	}
	return v[rank]
}
