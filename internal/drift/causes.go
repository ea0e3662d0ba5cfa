package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// ohmic says that the sender gives a resistance.
func (b *bench) ohmic() bool { return b.signal == curve.Ohms }

// arm says that the marks are heights, which an arm may carry.
func (b *bench) arm() bool { return b.unit == curve.Height }

// turn is how a cause turns what the record gives into what is given now: at a
// mark, with the cause's parameter. False where there is no answer.
type turn func(mark, parameter float64) (float64, bool)

// fitted is a cause fitted to the change.
type fitted struct {
	cause     Cause
	parameter float64
	u         float64
	from, to  int // places it acts on
	chi       float64
	log       float64 // logarithm of its weight beside the others
	turn      turn    // nil for noise and what has no name
}

// turns gives what each cause that acts on the whole sender does.
func (b *bench) turns() map[Cause]turn {
	at := func(mark float64) (float64, bool) {
		a := b.record.Ohm(mark, curve.Continue)
		return float64(a.Ohm), a.Known
	}
	list := map[Cause]turn{
		Gain: func(m, g float64) (float64, bool) { f, ok := at(m); return f * (1 + g), ok },
		Shift: func(m, d float64) (float64, bool) {
			return at(m + d)
		},
	}
	if b.ohmic() {
		list[Series] = func(m, r float64) (float64, bool) { f, ok := at(m); return f + r, ok }
		list[Leak] = func(m, g float64) (float64, bool) { f, ok := at(m); return f / (1 + f*g), ok }
	} else {
		list[Offset] = func(m, r float64) (float64, bool) { f, ok := at(m); return f + r, ok }
	}
	if b.arm() {
		list[Lever] = func(m, k float64) (float64, bool) { return at(m + k*(m-b.first())) }
	}
	return list
}

// reach gives the range in which a cause's parameter is looked for.
func (b *bench) reach(c Cause) (low, high float64) {
	const far = 5 // spans
	_, greatest := b.record.Range()
	top := max(float64(greatest), b.span)
	switch c {
	case Series:
		return 0, far * top
	case Leak:
		// Down to a hundredth of the greatest ohms.
		return 0, 100 / top
	case Offset:
		return -float64(greatest), far * top
	case Gain:
		return -0.95, far
	case Lever:
		return -0.5, 0.5
	}
	return -0.5 * b.travel, 0.5 * b.travel
}

// fit fits every cause and weighs them. Each is as likely as another beforehand,
// and within one that acts on some places each choice of places; the weight of
// a cause is then exp(−BIC/2) with BIC = −2 ln L + k·ln n (G. Schwarz, Annals of
// Statistics 6 (1978) 461–464), its parameter being one more that was fitted.
// Where the scatter is an estimate, L is that of the multivariate Student's t.
func (b *bench) fit(v verdict) []fitted {
	n := len(b.places)
	var inverse mat.SymDense
	_ = v.frame.chol.InverseTo(&inverse) // a warning about the conditioning; the figures stand
	nu := v.frame.freedom()
	log := func(chi float64, parameters int) float64 {
		return logLikelihood(chi, n, nu) - float64(parameters)/2*math.Log(float64(n))
	}
	list := []fitted{
		{cause: Unnamed, to: n, chi: 0, log: log(0, n)},
	}
	for _, cause := range []Cause{Series, Leak, Offset, Gain, Shift, Lever} {
		turn, is := b.turns()[cause]
		if !is {
			continue
		}
		if p, chi, u, ok := b.search(cause, turn, &inverse); ok {
			list = append(list, fitted{cause: cause, parameter: p, u: u, to: n, chi: chi, log: log(chi, 1), turn: turn})
		}
	}
	for _, cause := range []Cause{Wear, Dead, Misread} {
		if one, ok := b.local(cause, &inverse, log); ok {
			list = append(list, one)
		}
	}
	if one, ok := b.open(log); ok {
		list = append(list, one)
	}
	return weighed(list)
}

// logLikelihood gives the logarithm of the likelihood of what is left, but for
// what is the same for all.
func logLikelihood(chi float64, n int, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return -chi / 2
	}
	return -(nu + float64(n)) / 2 * math.Log1p(chi/nu)
}

// search finds the parameter of a cause that leaves least: the best of a grid,
// then by the golden section beside it.
func (b *bench) search(cause Cause, turn turn, inverse *mat.SymDense) (parameter, chi, u float64, ok bool) {
	n := len(b.places)
	left := make([]float64, n)
	of := func(p float64) float64 {
		for i, at := range b.places {
			f, known := turn(at.mark, p)
			if !known {
				return math.Inf(1)
			}
			left[i] = at.found - f
		}
		return quadratic(inverse, left)
	}
	low, high := b.reach(cause)
	// Even steps in the parameter pass small ones by; the steps grow with it.
	const steps = 40
	grid := make([]float64, 0, 2*steps+1)
	for k := steps; k >= 1 && low < 0; k-- {
		grid = append(grid, low*math.Pow(float64(k)/steps, 4))
	}
	grid = append(grid, 0)
	for k := 1; k <= steps; k++ {
		grid = append(grid, high*math.Pow(float64(k)/steps, 4))
	}
	best := 0
	value := make([]float64, len(grid))
	for i, p := range grid {
		value[i] = of(p)
		if value[i] < value[best] {
			best = i
		}
	}
	from, to := grid[max(0, best-1)], grid[min(len(grid)-1, best+1)]
	const golden = 0.6180339887498949
	x, y := to-golden*(to-from), from+golden*(to-from)
	fx, fy := of(x), of(y)
	for range 60 {
		if fx < fy {
			to, y, fy = y, x, fx
			x = to - golden*(to-from)
			fx = of(x)
		} else {
			from, x, fx = x, y, fy
			y = from + golden*(to-from)
			fy = of(y)
		}
	}
	parameter = (from + to) / 2
	chi = of(parameter)
	if math.IsInf(chi, 1) || parameter == 0 || chi >= of(0) {
		return 0, 0, 0, false // nothing of this cause is in the readings
	}
	// The uncertainty by the slope of the model where it fits: (d'V⁻¹d)^−½.
	d := make([]float64, n)
	step := max(1e-6*math.Abs(parameter), 1e-9*(high-low))
	for i, at := range b.places {
		up, ok1 := turn(at.mark, parameter+step)
		down, ok2 := turn(at.mark, parameter-step)
		if !ok1 || !ok2 {
			continue // the place says nothing of the parameter
		}
		d[i] = (up - down) / (2 * step)
	}
	size := quadratic(inverse, d)
	if !(size > 0) {
		return 0, 0, 0, false
	}
	return parameter, chi, 1 / math.Sqrt(size), true
}

// local fits a cause that acts on a run of neighbouring places, every run as
// likely as another, and gives the best run with the weight of all together.
func (b *bench) local(cause Cause, inverse *mat.SymDense, log func(chi float64, parameters int) float64) (fitted, bool) {
	n := len(b.places)
	shortest, longest := 1, 1
	switch cause {
	case Wear:
		shortest, longest = 2, min(n/2, longestRun)
	case Dead:
		shortest, longest = 3, min(n-1, longestRun)
	}
	best := fitted{cause: cause, chi: math.Inf(1)}
	var logs []float64
	base := quadratic(inverse, b.r)
	for long := shortest; long <= longest; long++ {
		for from := 0; from+long <= n; from++ {
			to := from + long
			r := b.r
			if cause == Dead {
				if !b.stands(from, to) {
					continue
				}
				r = append([]float64(nil), b.r...)
				for i := from; i < to; i++ {
					r[i] = b.places[i].found
				}
			}
			p, u := alongRun(inverse, r, from, to)
			if cause == Wear && b.ohmic() && p <= 0 {
				continue
			}
			// What is left when a fitted direction is taken out: χ² less the
			// square of the statistic along it.
			chi := base - (p/u)*(p/u)
			if cause == Dead {
				chi = quadratic(inverse, r) - (p/u)*(p/u)
			}
			chi = max(0, chi)
			logs = append(logs, log(chi, 1))
			if chi < best.chi {
				best = fitted{cause: cause, parameter: p, u: u, from: from, to: to, chi: chi}
			}
		}
	}
	if len(logs) == 0 {
		return fitted{}, false
	}
	top := logs[0]
	for _, l := range logs {
		top = max(top, l)
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	best.log = top + math.Log(sum/float64(len(logs)))
	p, from, to := best.parameter, b.places[best.from].mark, b.places[best.to-1].mark
	best.turn = func(mark, _ float64) (float64, bool) {
		a := b.record.Ohm(mark, curve.Continue)
		f := float64(a.Ohm)
		if mark >= from && mark <= to {
			if cause == Dead {
				f = p
			} else {
				f += p
			}
		}
		return f, a.Known
	}
	return best, true
}

// open is a run of two or more neighbouring places far beyond the record, while
// the others aren't. What is read over a gap in the track is anything, so each of
// its values counts as fitted, and only the others have to agree.
func (b *bench) open(log func(chi float64, parameters int) float64) (fitted, bool) {
	n := len(b.places)
	from, to := -1, -1
	far := func(i int) bool {
		return b.r[i] > openPart*b.span || !b.ohmic() && b.r[i] < -openPart*b.span
	}
	for i := range n {
		switch {
		case !far(i):
		case from < 0:
			from, to = i, i+1
		case to == i:
			to = i + 1
		default:
			return fitted{}, false // in two places
		}
	}
	if to-from < 2 || to-from > n-2 {
		return fitted{}, false
	}
	var keep []int
	least := math.Inf(1)
	for i := range n {
		if i >= from && i < to {
			least = min(least, math.Abs(b.r[i]))
		} else {
			keep = append(keep, i)
		}
	}
	left, v := make([]float64, len(keep)), mat.NewSymDense(len(keep), nil)
	for i, p := range keep {
		left[i] = b.r[p]
		for k := i; k < len(keep); k++ {
			v.SetSym(i, k, b.v.At(p, keep[k]))
		}
	}
	var chol mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(v) || chol.InverseTo(&inverse) != nil {
		return fitted{}, false
	}
	chi := quadratic(&inverse, left)
	return fitted{cause: Open, parameter: least, u: math.Sqrt(b.v.At(from, from)), from: from, to: to, chi: chi, log: log(chi, to-from)}, true
}

// openPart is how far beyond the record some marks are, in parts of the span,
// where the track is taken to be open there and not only worn (common practice,
// no source).
const openPart = 0.5

// stands says that over a run of places at three marks or more the record moves
// on, by more than three standard uncertainties of any of them, and the
// readings don't by a third of that.
func (b *bench) stands(from, to int) bool {
	marks := 1
	least, greatest := b.places[from].found, b.places[from].found
	u := 0.0
	for i := from; i < to; i++ {
		if i > from && b.places[i].mark > b.places[i-1].mark {
			marks++
		}
		least, greatest = min(least, b.places[i].found), max(greatest, b.places[i].found)
		u = max(u, math.Sqrt(b.v.At(i, i)))
	}
	moves := math.Abs(b.places[to-1].expected - b.places[from].expected)
	return marks >= 3 && moves > 3*u && greatest-least < moves/3
}

// alongRun fits one value to a run of places by generalised least squares.
func alongRun(inverse *mat.SymDense, r []float64, from, to int) (p, u float64) {
	var top, below float64
	for i := from; i < to; i++ {
		for k := range r {
			top += inverse.At(i, k) * r[k]
		}
		for k := from; k < to; k++ {
			below += inverse.At(i, k)
		}
	}
	return top / below, 1 / math.Sqrt(below)
}

func quadratic(m *mat.SymDense, x []float64) float64 {
	sum := 0.0
	for i, a := range x {
		for k, c := range x {
			sum += a * m.At(i, k) * c
		}
	}
	return sum
}

// shown gives a parameter and its unit for people and files.
func (b *bench) shown(cause Cause, p float64) (float64, string) {
	switch cause {
	case Leak:
		return quantity.Round(p, 12), "siemens"
	case Gain, Lever:
		return quantity.Round(p*100, 9), "percent"
	case Shift:
		return quantity.Round(b.unit.ToShown(p), 9), b.unit.Column()
	}
	return quantity.Round(p, 9), b.signal.Column()
}
