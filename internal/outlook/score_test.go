package outlook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"
)

// score is how forecasts did.
type score struct {
	n, in, below, above    int
	crps, crpsLast, crpsMA float64 // of the logarithm of the time
	days, daysLast, daysMA float64 // of the time, in days
	width                  float64
}

// crps is the continuous ranked probability score of a sample (T. Gneiting and A. E.
// Raftery, Strictly Proper Scoring Rules, JASA 102, 2007, eq. 21), which is sorted.
func crps(x []float64, y float64) float64 {
	n := float64(len(x))
	var a, b float64
	for i, v := range x {
		a += math.Abs(v - y)
		b += v * (2*float64(i) + 1 - n)
	}
	return a/n - b/(n*n)
}

// textbook is the forecast from a rate and how days scatter: n days use rate·n ± s·√n,
// as a sample of times.
func textbook(rate, s, there float64) []float64 {
	out := make([]float64, 0, 99)
	far := Farthest.Hours() / 24
	for i := range 99 {
		z := math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/99-1)
		t := far
		if rate > 0 {
			// rate·t + z·s·√t = there
			q := (-z*s + math.Sqrt(z*z*s*s+4*rate*there)) / (2 * rate)
			t = min(far, q*q)
		}
		out = append(out, t)
	}
	slices.Sort(out)
	return out
}

// baselines give the last day's rate, and the exponentially weighted one (weight 0.3),
// each with the scatter of its errors in forecasting the next day.
func baselines(m *Model) (last, lastS, ewma, ewmaS float64) {
	var x []float64
	for i := range m.days {
		if d := &m.days[i]; d.whole() {
			x = append(x, d.amount)
		}
	}
	if len(x) == 0 {
		r := max(0, m.total/m.seconds*86400)
		return r, r / 2, r, r / 2
	}
	ewma = x[0]
	var a, b, n float64
	for i := 1; i < len(x); i++ {
		a += (x[i] - x[i-1]) * (x[i] - x[i-1])
		b += (x[i] - ewma) * (x[i] - ewma)
		n++
		ewma += 0.3 * (x[i] - ewma)
	}
	last = x[len(x)-1]
	if n < 2 {
		return max(0, last), max(0, last) / 2, max(0, ewma), max(0, ewma) / 2
	}
	return max(0, last), math.Sqrt(a / n), max(0, ewma), math.Sqrt(b / n)
}

// lengths are for how many days a person is watched before the forecast, at most.
type lengths struct{ least, most float64 }

// try makes a life, watches it for some time, and scores the forecast.
func (s *score) try(p *person, seed uint64, l lengths) {
	r := rand.New(rand.NewPCG(seed, 99))
	watched := math.Exp(math.Log(l.least) + r.Float64()*math.Log(l.most/l.least))
	zone, _ := time.LoadLocation("Europe/Vienna")
	life := p.live(r, int(watched)+420, zone)
	from := r.IntN(96)
	to := from + max(1, int(watched*96))
	perDay := math.Exp(math.Log(0.03) + r.Float64()*math.Log(8)) // 3 to 24 % of the tank on a usual day
	u := p.u * perDay
	m := New(Config{Zone: zone})
	every := []int{1, 2, 4, 4, 8}[r.IntN(5)]
	life.feed(m, r, from, to, every, perDay, u, r.Float64() < 0.3)
	level := 0.1 + 0.85*r.Float64()
	truth, ok := life.lasts(to, level/perDay)
	if !ok {
		truth = Farthest
	}
	st := Standing{Now: life.begin.Add(time.Duration(to) * life.step), Level: max(0, level+u*r.NormFloat64()), U: u, Shown: true}
	o := m.Ahead(st)
	if !o.Left.Known {
		return
	}
	s.n++
	slack := quarter
	switch {
	case truth < o.Left.Low-slack:
		s.below++
	case truth > o.Left.High+slack:
		s.above++
	default:
		s.in++
	}
	w := m.walk(m.reckon(), st, false)
	mine := make([]float64, len(w.times))
	for i, t := range w.times {
		mine[i] = t.Hours() / 24
	}
	a, as, b, bs := baselines(m)
	y := truth.Hours() / 24
	one, two := textbook(a, as, st.Level), textbook(b, bs, st.Level)
	s.days += crps(mine, y)
	s.daysLast += crps(one, y)
	s.daysMA += crps(two, y)
	for _, x := range [][]float64{mine, one, two} {
		for i := range x {
			x[i] = math.Log(x[i] + 1.0/24)
		}
	}
	y = math.Log(y + 1.0/24)
	s.crps += crps(mine, y)
	s.crpsLast += crps(one, y)
	s.crpsMA += crps(two, y)
	s.width += math.Log((o.Left.High.Hours() + 1) / (o.Left.Low.Hours() + 1))
}

func (s *score) String() string {
	n := float64(max(1, s.n))
	return fmt.Sprintf("%d | %.1f %% | %.1f | %.1f | %.3f | %.3f | %.3f | %.2f | %.2f | %.2f | %.1f |",
		s.n, 100*float64(s.in)/n, 100*float64(s.below)/n, 100*float64(s.above)/n,
		s.crps/n, s.crpsLast/n, s.crpsMA/n, s.days/n, s.daysLast/n, s.daysMA/n, math.Exp(s.width/n))
}

func (s *score) add(o *score) {
	s.n += o.n
	s.in += o.in
	s.below += o.below
	s.above += o.above
	s.crps += o.crps
	s.crpsLast += o.crpsLast
	s.crpsMA += o.crpsMA
	s.days += o.days
	s.daysLast += o.daysLast
	s.daysMA += o.daysMA
	s.width += o.width
}
