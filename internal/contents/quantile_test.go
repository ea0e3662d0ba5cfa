package contents

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The quantiles are those of the sorted list, to the bit.
func TestQuantilesAsSorted(t *testing.T) {
	value := rapid.OneOf(rapid.Float64Range(0, 1e9), rapid.SampledFrom([]float64{0, 1, 2, 3}))
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfN(value, 2, 400).Draw(t, "list")
		if rapid.Bool().Draw(t, "in order") {
			slices.Sort(list)
		}
		sorted := slices.Clone(list)
		slices.Sort(sorted)
		at := func(p float64) float64 {
			k := p * float64(len(sorted)-1)
			i := int(k)
			return sorted[i] + (k-float64(i))*(sorted[min(i+1, len(sorted)-1)]-sorted[i])
		}
		want := Estimate{at(0.025), at(0.5), at(0.975)}
		if got := quantiles(list, 0.025, 0.5, 0.975); got != want {
			t.Fatalf("found %v; expected %v", got, want)
		}
		slices.Sort(list)
		if !slices.Equal(list, sorted) {
			t.Fatal("the list has other elements than before")
		}
	})
}

func BenchmarkQuantiles(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	list := make([]float64, lastsTrials)
	for b.Loop() {
		for i := range list {
			list[i] = random.ExpFloat64()
		}
		quantiles(list, 0.025, 0.5, 0.975)
	}
}
