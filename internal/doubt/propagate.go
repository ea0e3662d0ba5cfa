package doubt

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
)

// Trials is how many trials usually make one block: 10⁴, enough for a 95 %
// interval (JCGM 101:2008, 7.9.4: the greater of 10⁴ and 100/(1 − p)).
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
	// Blocks is the most blocks to make; 0 stands for 100. The least is 2, since
	// one block says nothing of stability.
	Blocks int
	// Trials is how many trials make a block; 0 stands for the usual Trials.
	// Fewer are quicker and blunter, and 100 the least.
	Trials int
	// Seed begins the random numbers. The same seed gives the same figures on
	// any machine, whatever its number of cores.
	Seed uint64
}

// Model prepares one block's worth of trials: it gets the block's own random
// numbers, and gives a function that makes one trial and puts its results into
// out. It is called from several goroutines at once; what it prepares is used
// from one.
type Model func(random *rand.Rand) (trial func(out []float64))

// Bulk prepares one block's worth of trials of a model that makes them faster
// many at a time: it fills values[i], the trials of result i, for every i, all
// of one length. For the rest it is as a Model.
type Bulk func(random *rand.Rand) (fill func(values [][]float64))

// bulk turns a model of single trials into one of many.
func (m Model) bulk(n int) Bulk {
	// A few trials at a time are put by, and then stored result by result: that
	// writes to one place after another instead of to all of them by turns.
	const batch = 16
	return func(random *rand.Rand) func([][]float64) {
		trial := m(random)
		rows := make([]float64, batch*n)
		return func(values [][]float64) {
			for first := 0; first < len(values[0]); first += batch {
				count := min(batch, len(values[0])-first)
				for k := range count {
					trial(rows[k*n : (k+1)*n])
				}
				for i := range values {
					into := values[i][first : first+count]
					for k := range into {
						into[k] = rows[k*n+i]
					}
				}
			}
		}
	}
}

// Propagate carries distributions through a model of n results by the Monte
// Carlo method, block by block, until the mean, the standard uncertainty
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
	return PropagateBulk(n, model.bulk(n), rule)
}

// PropagateBulk is Propagate for a model that makes many trials at a time.
func PropagateBulk(n int, model Bulk, rule Rule) (Propagation, error) {
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
	if rule.Trials == 0 {
		rule.Trials = Trials
	}
	rule.Trials = max(100, rule.Trials)

	c := &collector{sums: make([]tally, n), tolerance: rule.Tolerance, trials: rule.Trials}
	workers := max(1, min(runtime.GOMAXPROCS(0), rule.Blocks))
	// Blocks are made in rounds and counted in order, so the ones that a round
	// made too many are not counted, and the outcome is the same everywhere.
	scratch := make([]*block, workers)
	for first := 0; first < rule.Blocks && !c.done; first += workers {
		count := min(workers, rule.Blocks-first)
		var all sync.WaitGroup
		for w := range count {
			if scratch[w] == nil {
				scratch[w] = newBlock(n, rule.Trials)
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

// block makes one block's trials and takes their figures.
type block struct {
	values  [][]float64 // by result, then by trial
	results []Spread
	tails   tails // room that is used again and again
}

func newBlock(n, trials int) *block {
	b := &block{values: make([][]float64, n), results: make([]Spread, n)}
	for i := range b.values {
		b.values[i] = make([]float64, trials)
	}
	return b
}

func (b *block) run(model Bulk, rule Rule, number uint64) {
	model(rand.New(rand.NewPCG(rule.Seed, number)))(b.values)
	for i, v := range b.values {
		b.results[i] = b.tails.summarise(v, rule.P)
	}
}

// Summarise gives mean, standard deviation and the probabilistically symmetric
// interval of a set of trials, whose order it changes. With q the number of
// trials in the interval and r = (M − q)/2 left below it, the ends are the r-th
// and the (r + q)-th smallest value. Source: JCGM 101:2008, 7.6 and 7.7.
func Summarise(values []float64, p float64) Spread { return new(tails).summarise(values, p) }

func (t *tails) summarise(values []float64, p float64) Spread {
	n := len(values)
	q := min(n-1, int(p*float64(n)+0.5))
	r := max(1, (n-q+1)/2)
	low, high := r-1, min(n-1, r-1+q) // ranks from 0
	t.low, t.high = math.Inf(-1), math.Inf(1)
	t.below, t.above = t.below[:0], t.above[:0]
	if n >= 8*sampled && r < n/8 {
		t.guess(values, r)
	}
	// One way through all: moments about the first value, which is near enough
	// to the others to lose no digits, and the few values of the tails.
	origin := values[0]
	var sum, squares float64
	lowBound, highBound, below, above := t.low, t.high, t.below, t.above
	for _, v := range values {
		d := v - origin
		sum += d
		squares += d * d
		if v <= lowBound {
			below = append(below, v)
		} else if v >= highBound {
			above = append(above, v)
		}
	}
	t.below, t.above = below, above
	s := Spread{Mean: origin + sum/float64(n)}
	if n > 1 {
		s.U = math.Sqrt(max(0, squares-sum*sum/float64(n)) / float64(n-1))
	}
	if len(t.below) > low && len(t.above) >= n-high {
		s.Low = SelectRank(t.below, low)
		s.High = SelectRank(t.above, len(t.above)-(n-high))
		return s
	}
	s.Low = SelectRank(values, low)
	s.High = SelectRank(values[low:], high-low) // what is below the low end is to its left now
	return s
}

// tails are the values at both ends, beyond bounds guessed from a sample. For
// the ends of an interval only these few have to be looked at closely; where a
// guess leaves too few, all are.
type tails struct {
	low, high    float64
	below, above []float64
}

// sampled is how many values the guess rests on.
const sampled = 256

// guess finds bounds that leave about twice as many values outside as the ends
// of the interval do: too few about once in a thousand times.
func (t *tails) guess(values []float64, r int) {
	n := len(values)
	var sample [sampled]float64
	for k := range sample {
		sample[k] = values[k*(n/sampled)]
	}
	outside := min(sampled/2-1, 4*r*sampled/(3*n)+6)
	t.low = SelectRank(sample[:], outside)
	t.high = SelectRank(sample[:], sampled-1-outside)
}

// tally collects the figures of one result over the blocks: mean, uncertainty
// and both ends.
type tally struct{ sum, squares [4]float64 }

type collector struct {
	sums      []tally
	blocks    int
	trials    int
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
	out := Propagation{Results: make([]Spread, len(c.sums)), Trials: c.blocks * c.trials, Reached: c.done, Error: c.error}
	for i, t := range c.sums {
		out.Results[i] = Spread{t.sum[0] / h, t.sum[1] / h, t.sum[2] / h, t.sum[3] / h}
	}
	return out
}

// SelectRank puts the value of the given rank (0: the smallest) in its place,
// nothing greater before it and nothing smaller behind it, and gives it.
// Quickselect with the median of three: linear time on the average. It puts the
// list into another order, and wants no NaN in it.
func SelectRank(v []float64, rank int) float64 {
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
