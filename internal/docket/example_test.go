package docket

import (
	"math"
	"testing"
)

// Gelman, Carlin, Stern, Dunson, Vehtari, Rubin, Bayesian Data Analysis, exercise 2.8 (from
// memory): weights of students with a standard deviation of 20 pounds, a prior of 180 ± 40
// for their mean, and a mean of 150 in a sample. Of 10 students: 150.7 ± 6.2; of 100: 150.1 ±
// 2.0.
func TestUpdatesBesideAnExample(t *testing.T) {
	for _, c := range []struct {
		n       int
		mean, u float64
	}{{10, 150.7, 6.2}, {100, 150.1, 2.0}} {
		var s state
		s.mean[0], s.cov[0][0] = 180, 40*40
		for range c.n { // each at the mean: that alone counts
			r := row{y: 150, v: 20 * 20}
			r.a[0] = 1
			s.take(&r)
		}
		if math.Abs(s.mean[0]-c.mean) > 0.05 || math.Abs(math.Sqrt(s.cov[0][0])-c.u) > 0.05 {
			t.Errorf("%d students weigh %.2f ± %.2f pounds; the book has %.1f ± %.1f", c.n, s.mean[0], math.Sqrt(s.cov[0][0]), c.mean, c.u)
		}
	}
}
