package series

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// back packs and unpacks a column and gives how many bytes it took.
func back(t interface {
	Helper()
	Fatalf(string, ...any)
}, column []int64) int {
	t.Helper()
	b := Pack([]byte{7}, column)
	got, rest, err := Unpack([]int64{3}, append(b[1:], 9, 9))
	if err != nil || b[0] != 7 || !bytes.Equal(rest, []byte{9, 9}) {
		t.Fatalf("%d numbers in %x: %v, rest %x", len(column), b, err, rest)
	}
	if got[0] != 3 || !slices.Equal(got[1:], column) {
		for i, v := range column {
			if i+1 >= len(got) || got[i+1] != v {
				t.Fatalf("number %d of %d differs: %d", i, len(column), v)
			}
		}
	}
	return len(b) - 1
}

func TestAnyColumnComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		widest := rapid.SampledFrom([]int64{1, 2, 5, 100, 1e5, 1e9, 1 << 41, 1 << 43, math.MaxInt64}).Draw(t, "widest")
		column := rapid.SliceOfN(rapid.Int64Range(-widest, widest), 0, 300).Draw(t, "column")
		summed := rapid.Bool().Draw(t, "summed up")
		factor := rapid.SampledFrom([]int64{1, 1, 10, 1000}).Draw(t, "factor")
		var before int64
		for i := range column {
			column[i] *= factor
			if summed {
				column[i] += before
			}
			before = column[i]
		}
		back(t, column)
	})
}

func TestExtremesComeBack(t *testing.T) {
	for _, c := range [][]int64{
		nil, {0}, {math.MinInt64}, {math.MaxInt64, math.MinInt64},
		{math.MinInt64, math.MaxInt64, math.MinInt64, math.MaxInt64, 0, 1, -1},
		slices.Repeat([]int64{math.MinInt64, 0}, 500),
		slices.Repeat([]int64{math.MaxInt64}, Most),
		slices.Repeat([]int64{1 << 42, -1 << 42, 0}, 700),
		slices.Repeat([]int64{1<<42 - 1, 1 << 20, 5, 5, 5}, 700),
		append(slices.Repeat([]int64{0}, 3000), slices.Repeat([]int64{1<<41 + 1, 17}, 300)...),
	} {
		back(t, c)
	}
}

// noise gives normally distributed numbers about a mean, rounded.
func noise(n int, mean, sigma float64) []int64 {
	r := rand.New(rand.NewPCG(1, uint64(n)))
	out := make([]int64, n)
	for i := range out {
		out[i] = int64(math.Round(mean + sigma*r.NormFloat64()))
	}
	return out
}

func TestSizes(t *testing.T) {
	for _, sigma := range []float64{0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1, 1.5, 2, 2.5, 3, 5, 10, 30, 100, 1e4, 1e8} {
		for _, n := range []int{10, 40, 4096} {
			var sum, bits int
			var mean = 1000.3
			for k := range 20 {
				c := noise(n+k, mean, sigma)[:n]
				bits += back(t, c) * 8
				sum += n
				_ = k
			}
			h := entropyOf(sigma, mean-math.Floor(mean))
			t.Logf("sigma %g n %d: %.3f bits, entropy %.3f (%.1f%%)", sigma, n, float64(bits)/float64(sum), h, 100*(float64(bits)/float64(sum)/h-1))
		}
	}
}

func entropyOf(sigma, mean float64) float64 {
	if sigma > 50 {
		return math.Log2(sigma * math.Sqrt(2*math.Pi*math.E))
	}
	var h float64
	for k := -400; k <= 400; k++ {
		p := 0.5 * (math.Erf((float64(k)+.5-mean)/sigma/math.Sqrt2) - math.Erf((float64(k)-.5-mean)/sigma/math.Sqrt2))
		if p > 1e-300 {
			h -= p * math.Log2(p)
		}
	}
	return h
}
