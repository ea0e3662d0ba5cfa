package series

import (
	"bytes"
	"hash/crc32"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// back packs and unpacks a column, and gives how many bytes it took.
func back(t rapid.TB, column []int64) int {
	t.Helper()
	b := Pack([]byte{7}, column)
	got, rest, err := Unpack([]int64{3}, append(b[1:], 9, 9))
	if err != nil || b[0] != 7 || !bytes.Equal(rest, []byte{9, 9}) {
		t.Fatalf("%d numbers: %v, %d bytes left", len(column), err, len(rest))
	}
	if got[0] != 3 || len(got) != len(column)+1 {
		t.Fatalf("%d numbers come back as %d", len(column), len(got)-1)
	}
	for i, v := range column {
		if got[i+1] != v {
			t.Fatalf("number %d of %d is %d, expected %d", i, len(column), got[i+1], v)
		}
	}
	return len(b) - 1
}

func TestAnyColumnComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		widest := rapid.SampledFrom([]int64{1, 2, 5, 100, 1e5, 1e9, widest - 1, widest + 1, math.MaxInt64}).Draw(t, "widest")
		least := rapid.SampledFrom([]int{0, 2, 40, 200}).Draw(t, "least length")
		column := rapid.SliceOfN(rapid.Int64Range(-widest, widest), least, 300).Draw(t, "column")
		summed := rapid.IntRange(0, 2).Draw(t, "summed up")
		factor := rapid.SampledFrom([]int64{1, 1, 10, 1000, math.MinInt64}).Draw(t, "factor")
		for i := range column {
			column[i] *= factor
		}
		for range summed {
			for i := 1; i < len(column); i++ {
				column[i] += column[i-1]
			}
		}
		back(t, column)
	})
}

// TestNoiseWithLeapsComesBack goes through long columns whose noise, slope and level
// change, with the ways of foretelling that Pack chooses for them.
func TestNoiseWithLeapsComesBack(t *testing.T) {
	draw := rand.New(rand.NewPCG(5, 0))
	var ways [shapes]int
	for n := range 60 {
		column := make([]int64, 100+draw.IntN(3000))
		often := 200 + 10_000*(n%2) // every other column is of one noise, mostly
		level, slope, sigma := 0.0, 0.0, 1.0
		for i := range column {
			if draw.IntN(often) == 0 {
				sigma = math.Exp(12*draw.Float64() - 3)
			}
			if draw.IntN(300) == 0 {
				level += 1e6 * draw.NormFloat64()
			}
			if draw.IntN(300) == 0 {
				slope = math.Floor(100 * draw.NormFloat64())
			}
			level += slope
			column[i] = int64(math.Round(level + sigma*draw.NormFloat64()))
		}
		trial := newTrial(column)
		trial.search()
		ways[trial.best.shape]++
		back(t, column)
	}
	if slices.Contains(ways[:], 0) {
		t.Errorf("the shapes of residuals were chosen %v times; expected each", ways)
	}
}

func TestExtremesComeBack(t *testing.T) {
	for _, c := range [][]int64{
		nil, {0}, {math.MinInt64}, {math.MaxInt64, math.MinInt64},
		{math.MinInt64, math.MaxInt64, math.MinInt64, math.MaxInt64, 0, 1, -1},
		slices.Repeat([]int64{math.MinInt64, 0}, 500),
		slices.Repeat([]int64{math.MaxInt64}, Most),
		slices.Repeat([]int64{widest, -widest, 0}, 700),
		slices.Repeat([]int64{widest - 1, 1 << 20, 5, 5, 5}, 700),
		append(slices.Repeat([]int64{0}, 3000), slices.Repeat([]int64{widest/2 + 1, 17}, 300)...),
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

// entropy gives the bits of a normally distributed number that is rounded to whole
// steps: the sum of −p·log₂ p over the steps.
func entropy(mean, sigma float64) (bits float64) {
	reach := math.Ceil(12 * sigma)
	for k := math.Floor(mean - reach); k <= mean+reach; k++ {
		below, upTo := (k-0.5-mean)/sigma/math.Sqrt2, (k+0.5-mean)/sigma/math.Sqrt2
		if p := (math.Erfc(below) - math.Erfc(upTo)) / 2; p > 0 {
			bits -= p * math.Log2(p)
		}
	}
	return bits
}

// TestNoiseIsPackedToItsEntropy: what a long column of noise takes is held against
// the entropy of its distribution, which nothing can go below.
func TestNoiseIsPackedToItsEntropy(t *testing.T) {
	for _, c := range []struct{ sigma, most float64 }{
		{0.3, 1.2}, {0.5, 1.1}, {0.7, 1.04}, {1, 1.03}, {1.5, 1.025}, {2, 1.025}, {2.5, 1.025},
		{3, 1.025}, {5, 1.025}, {10, 1.025}, {30, 1.02}, {100, 1.02}, {1000, 1.02},
	} {
		const n = 4096
		bits := float64(8*back(t, noise(n, 1000.3, c.sigma))) / n
		bound := entropy(1000.3, c.sigma)
		if bits > bound*c.most {
			t.Errorf("noise of %g steps takes %.3f bits a number, its entropy is %.3f: %.3f times; expected %.3f at the most", c.sigma, bits, bound, bits/bound, c.most)
		}
	}
}

func TestFewBytes(t *testing.T) {
	regular := func(n int, by int64) []int64 {
		out := make([]int64, n)
		for i := range out {
			out[i] = 1_782_864_000_123 + by*int64(i)
		}
		return out
	}
	gaps := regular(4096, 10_000)
	for i := 1000; i < len(gaps); i++ {
		gaps[i] += 3_600_000
	}
	percent := noise(4096, 61, 0.4)
	for i := range percent {
		percent[i] *= 100
	}
	for _, c := range []struct {
		name   string
		column []int64
		most   int
	}{
		{"nothing", nil, 1},
		{"one number", []int64{1137}, 3},
		{"a constant", slices.Repeat([]int64{0}, 10), 2},
		{"a long constant", slices.Repeat([]int64{1137}, Most), 5},
		{"regular times", regular(40, 1000), 12},
		{"many regular times", regular(Most, 10_000), 13},
		{"a gap in them", gaps, 20},
		{"whole per cents, in hundredths", percent, 4096 * 13 / 80},
		{"ten readings", noise(10, 1137, 2.5), 12},
		{"forty readings", noise(40, 1137, 2.5), 27},
	} {
		if n := back(t, c.column); n > c.most {
			t.Errorf("%s: %d bytes, expected %d at the most", c.name, n, c.most)
		}
	}
}

// TestEachCutIsDamaged: what is cut short says so, wherever it is cut.
func TestEachCutIsDamaged(t *testing.T) {
	for _, column := range [][]int64{noise(500, 1137, 2.5), noise(3, 5, 1e9), slices.Repeat([]int64{1, 1, 1, 9}, 20), {1 << 40}} {
		b := Pack(nil, column)
		for n := range b {
			if _, rest, err := Unpack(nil, b[:n:n]); err != ErrDamaged || len(rest) != n {
				t.Fatalf("%d of %d bytes: %v", n, len(b), err)
			}
		}
	}
}

// TestZerosAreDamaged: a page that was never written isn't taken for columns.
func TestZerosAreDamaged(t *testing.T) {
	if _, _, err := Unpack(nil, make([]byte, 100)); err != ErrDamaged {
		t.Errorf("zeros are unpacked: %v", err)
	}
}

func FuzzUnpack(f *testing.F) {
	for _, column := range [][]int64{nil, {5}, noise(300, 1137, 2.5), noise(30, 0, 1e12), slices.Repeat([]int64{7}, 900), {math.MinInt64, math.MaxInt64, 3}, slices.Repeat([]int64{0, 1 << 39, 3}, 9)} {
		f.Add(Pack(nil, column))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		got, rest, err := Unpack(nil, b)
		switch {
		case err != nil && (err != ErrDamaged || len(got) > 0 || !bytes.Equal(rest, b)):
			t.Fatalf("%v, %d numbers", err, len(got))
		case err == nil && (len(got) > Most || !bytes.HasSuffix(b, rest)):
			t.Fatalf("%d numbers, %d bytes left", len(got), len(rest))
		case err == nil:
			back(t, got)
		}
		if rolls, _, err := UnpackRolls(nil, b); err != nil && (err != ErrDamaged || len(rolls) > 0) {
			t.Fatalf("%v, %d rolls", err, len(rolls))
		}
	})
}

// TestStudent holds the distribution against SciPy 1.10's stats.t.cdf.
func TestStudent(t *testing.T) {
	for _, c := range []struct {
		freedom   int
		t, expect float64
	}{
		{4, -3.5, 0.0124480817301114}, {4, -0.25, 0.407451005729591}, {4, 0, 0.5}, {4, 0.1, 0.537422079530273},
		{4, 1, 0.813049516849971}, {4, 2.5, 0.966616727594006}, {4, 8, 0.999338051545391},
		{16, -3.5, 0.00148177400582198}, {16, -0.25, 0.402884452702759}, {16, 0, 0.5}, {16, 0.1, 0.539206695274226},
		{16, 1, 0.83390250767351}, {16, 2.5, 0.988162887274227}, {16, 8, 0.999999722727618},
	} {
		if got := student(c.t, c.freedom); math.Abs(got-c.expect) > 1e-14 {
			t.Errorf("t of %d at %g: %.15g, expected %.15g", c.freedom, c.t, got, c.expect)
		}
	}
}

// TestTablesStayTheSame: columns that were packed once are unpacked by these tables
// for ever, on every machine.
func TestTablesStayTheSame(t *testing.T) {
	sum := crc32.NewIEEE()
	for i := range tables {
		total := 0
		for _, n := range slotsOf[i] {
			total += int(n)
		}
		if total != slots || slotsOf[i][escaped] == 0 {
			t.Errorf("table %d has %d slots, %d for the escape; expected %d and 1 or more", i, total, slotsOf[i][escaped], slots)
		}
		for _, e := range tables[i] {
			sum.Write([]byte{byte(e), byte(e >> 8), byte(e >> 16), byte(e >> 24)})
		}
	}
	if got := sum.Sum32(); len(tables) != 138 || got != 0x29b6e371 {
		t.Errorf("%d tables with the sum %#08x; expected 138 and 0x29b6e371", len(tables), got)
	}
}

// TestBeyondReach: the symbols that frequencies leaves out have less than half a
// slot.
func TestBeyondReach(t *testing.T) {
	for shape := range shapes {
		for step := leastStep; step <= mostStep; step++ {
			scale := scaleOf(shape, step)
			beyond := float64(int(8*scale)+3) - 0.5 - 1 // the centre is below 1
			p := student((beyond+1)/scale, 16-12*shape) - student(beyond/scale, 16-12*shape)
			if p*slots >= 0.5 {
				t.Errorf("shape %d, step %d: a symbol beyond the reach would have %.2f slots", shape, step, p*slots)
			}
		}
	}
}
