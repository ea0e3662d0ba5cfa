package outlook

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// With every scatter as likely as another at first, the mean of days has Student's t
// distribution with one degree of freedom less than there are days (W. S. Gosset,
// Biometrika 6, 1908; H. Jeffreys, Theory of Probability, for the prior): gonum's.
func TestScatterIsStudents(t *testing.T) {
	for _, n := range []float64{4, 6, 10, 20} {
		const sd = 0.06
		s := scattering{days: n}
		sum := 0.0
		for i, x := range scatterOf {
			s.p[i] = math.Pow(x, 1-n) * math.Exp(-(n-1)*sd*sd/(2*x*x))
			sum += s.p[i]
		}
		for i := range s.p {
			s.p[i] /= sum
		}
		want := distuv.StudentsT{Sigma: sd / math.Sqrt(n), Nu: n - 1}.Quantile(0.95)
		if got := s.within(0, 7); math.Abs(got/want-1) > 0.02 {
			t.Errorf("%g days: %.4f, want %.4f", n, got, want)
		}
	}
}

// The score against the closed form for a normal distribution (T. Gneiting and A. E.
// Raftery, JASA 102, 2007, eq. 5 of the example: σ[z(2Φ(z)-1)+2φ(z)-1/√π]).
func TestScore(t *testing.T) {
	n := distuv.UnitNormal
	x := make([]float64, 4000)
	for i := range x {
		x[i] = 3 + 2*n.Quantile((float64(i)+0.5)/float64(len(x)))
	}
	for _, y := range []float64{-1, 3, 4.5, 9} {
		z := (y - 3) / 2
		want := 2 * (z*(2*n.CDF(z)-1) + 2*n.Prob(z) - 1/math.Sqrt(math.Pi))
		if got := crps(x, y); math.Abs(got-want) > 2e-3 {
			t.Errorf("at %g: %.4f, want %.4f", y, got, want)
		}
	}
}

// The mean is what was drawn over the time it was watched, to the doubt of the two
// outermost levels, and its interval holds it; where habits don't change it holds
// their mean too, in about nine of ten histories, and isn't wide where days are alike.
func TestMeanUse(t *testing.T) {
	in, n := 0, 0
	for i := range plain {
		p := &plain[i]
		for k := range 20 {
			r := rand.New(rand.NewPCG(uint64(k), 21))
			days := 2 + r.IntN(12)
			l := p.live(r, 120, vienna)
			from := r.IntN(96)
			to := from + 96*days
			m := New(Config{Zone: vienna})
			l.feed(m, r, from, to, 4, 0.1, p.u*0.1, false)
			x := m.Rate()
			seen := (l.sum[to] - l.sum[from]) * 0.1 / float64(days)
			if math.Abs(x.Mid-seen) > 4*p.u*0.1/float64(days) || x.Low > x.Mid || x.High < x.Mid {
				t.Errorf("%s: %+v, drawn %.4f a day", p.name, x, seen)
			}
			n++
			if mean := l.sum[len(l.sum)-1] * 0.1 / 120; mean >= x.Low && mean <= x.High {
				in++
			}
			if i == 0 && days > 2 && x.High-x.Low > 0.2*x.Mid {
				t.Errorf("%s: %+v after %d days", p.name, x, days)
			}
		}
	}
	// Of those without a pause and of the fridge hardly any is missed, as the doubt of
	// levels is a bound.
	if in*100 < 85*n || in*100 > 97*n {
		t.Errorf("%d of %d intervals hold the mean use", in, n)
	}
}

// More is used on some weekdays, and that is told once there are enough of them.
func TestWeekdays(t *testing.T) {
	s := begun(vienna, 2026, 9, 7)
	s.hours(10*24, 0.001, weekender)
	if s.m.ByWeekday() != [7]float64{} {
		t.Error("ten days tell of the weekdays")
	}
	s.hours(32*24, 0.001, weekender)
	w := s.m.ByWeekday()
	sum := 0.0
	for _, x := range w {
		sum += x
	}
	if math.Abs(sum-1) > 1e-9 || math.Abs(w[0]-0.3) > 0.02 || math.Abs(w[6]-0.3) > 0.02 || math.Abs(w[3]-0.08) > 0.02 {
		t.Errorf("%.3f, want 0.3 at weekends and 0.08 on other days", w)
	}
}
