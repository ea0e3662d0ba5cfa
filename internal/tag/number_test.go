package tag

import (
	"encoding/hex"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The decimal fraction 273.15 is the example of RFC 8949, 3.4.4: C4 82 21 19 6A
// B3; whole numbers are those of its appendix A.
func TestNumberExamples(t *testing.T) {
	for v, want := range map[number]string{
		273.15:  "c48221196ab3",
		0:       "00",
		23:      "17",
		24:      "1818",
		1000:    "1903e8",
		1000000: "1a000f4240",
		-100:    "3863",
		-1000:   "3903e7",
		0.5:     "c4822005",
	} {
		data, err := encoding.Marshal(v)
		if err != nil || hex.EncodeToString(data) != want {
			t.Errorf("%v is written %x, %v; want %s", v, data, err, want)
		}
		var got number
		if err := decoding.Unmarshal(data, &got); err != nil || got != v {
			t.Errorf("%s is read as %v, %v; want %v", want, got, err, v)
		}
	}
}

// Any finite figure comes back as it was, bit for bit.
func TestNumberRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.Float64(), rapid.Float64Range(0, 1e6), rapid.Map(rapid.IntRange(0, 1e9), func(n int) float64 { return float64(n) / 1000 })).Draw(t, "v")
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return
		}
		data, err := encoding.Marshal(number(v))
		if err != nil {
			t.Fatal(err)
		}
		var got number
		if err := decoding.Unmarshal(data, &got); err != nil || float64(got) != v {
			t.Fatalf("%v is written %x and read as %v, %v", v, data, got, err)
		}
	})
}

// A column keeps its figures exactly, in the largest power of ten that holds
// them.
func TestColumns(t *testing.T) {
	for _, c := range []struct {
		figures []float64
		want    column
	}{
		{[]float64{0, 25, 50}, column{0, 0, 25, 25}},
		{[]float64{0, 10, 30}, column{1, 0, 1, 2}},
		{[]float64{89.5, 44.25, 0}, column{-2, 8950, -4525, -4425}},
		{[]float64{0, 0}, column{0, 0, 0}},
		{[]float64{1e6, 2e6}, column{6, 1, 1}},
	} {
		if got, ok := toColumn(c.figures); !ok || !slices.Equal(got, c.want) {
			t.Errorf("%v is written %v, %v; want %v", c.figures, got, ok, c.want)
		}
	}
	for _, figures := range [][]float64{{1.0 / 3}, {1e-10}, {1e7, 1e-9}} {
		if got, ok := toColumn(figures); ok {
			t.Errorf("%v is written %v; it has too many digits", figures, got)
		}
	}
	for _, c := range []column{nil, {0}, {-10, 1}, {7, 1}, {0, 1 << 60, 1 << 60}, {0, math.MinInt64}} {
		if got, ok := c.figures(); ok {
			t.Errorf("%v is read as %v", c, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		places := rapid.IntRange(0, 6).Draw(t, "places")
		n := rapid.SliceOfN(rapid.IntRange(0, 1e5), 1, 20).Draw(t, "n")
		figures := make([]float64, len(n))
		for i := range n {
			figures[i] = fromDecimal(int64(n[i]), -places)
		}
		c, ok := toColumn(figures)
		got, also := c.figures()
		if !ok || !also || !slices.Equal(got, figures) {
			t.Fatalf("%v came back from %v as %v", figures, c, got)
		}
	})
}
