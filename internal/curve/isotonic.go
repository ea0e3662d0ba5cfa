package curve

// Isotonic gives the non-decreasing sequence nearest to y in the weighted
// least-squares sense, by pooling adjacent violators. Weights are above zero;
// y and w have one length and are left as they are. In every block of equal
// fitted values Σw·y is preserved, and fitting a fit again changes nothing.
//
// Its weakness: a single wild value drags a whole block with it, which is why
// suspects are looked for first.
//
// Source: R. E. Barlow et al., Statistical Inference under Order Restrictions,
// 1972 (the pool-adjacent-violators algorithm; from memory).
func Isotonic(y, w []float64) []float64 {
	type block struct {
		mean, weight float64
		n            int
	}
	blocks := make([]block, 0, len(y))
	for i := range y {
		b := block{y[i], w[i], 1}
		for len(blocks) > 0 && blocks[len(blocks)-1].mean >= b.mean {
			a := blocks[len(blocks)-1]
			blocks = blocks[:len(blocks)-1]
			weight := a.weight + b.weight
			// Equal means stay exactly equal: no rounding enters a plateau.
			mean := a.mean
			if a.mean != b.mean {
				mean = a.mean + (b.mean-a.mean)*(b.weight/weight)
			}
			b = block{mean, weight, a.n + b.n}
		}
		blocks = append(blocks, b)
	}
	fit := make([]float64, 0, len(y))
	for _, b := range blocks {
		for range b.n {
			fit = append(fit, b.mean)
		}
	}
	return fit
}
