package flow

// shift finds the place at which the mean of some figures most likely changed: where
// the last k of them differ most from those before, by the likelihood ratio of a normal
// distribution with one unknown spread, which is largest where
// n₁n₂/(n₁+n₂)·(m₁−m₂)² is (Hinkley, Biometrika 57 (1970) 1-17). At least so many have
// to be on either side; k is 0 where there are too few.
func shift(x []float64, least int) (k int, before, after float64) {
	total := 0.0
	for _, v := range x {
		total += v
	}
	n := len(x)
	best, sum := -1.0, 0.0
	for i := n - 1; i > 0; i-- {
		sum += x[i]
		n2 := float64(n - i)
		n1 := float64(i)
		if n-i < least || i < least {
			continue
		}
		m1, m2 := (total-sum)/n1, sum/n2
		if g := n1 * n2 / (n1 + n2) * (m1 - m2) * (m1 - m2); g > best {
			best, k, before, after = g, n-i, m1, m2
		}
	}
	return k, before, after
}
