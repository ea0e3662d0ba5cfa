package circuit_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/circuit"
)

// e_series.csv: the values of IEC 60063 (the list from memory; E96 agrees with its
// formula throughout).
func TestSeries(t *testing.T) {
	want := map[circuit.Series][]float64{}
	for _, row := range wireRows(t, "e_series.csv") {
		s := circuit.Series(row[0])
		want[s] = append(want[s], wireNumber(t, row[1]))
	}
	for s, count := range map[circuit.Series]int{circuit.E12: 12, circuit.E24: 24, circuit.E96: 96} {
		got, err := s.Values()
		if err != nil || len(got) != count || len(want[s]) != count {
			t.Fatalf("%s: %d values, %d in the list, %v", s, len(got), len(want[s]), err)
		}
		for i, v := range got {
			if v != want[s][i] {
				t.Errorf("%s, value %d: %v, want %v", s, i, v, want[s][i])
			}
		}
		all, err := s.Within(1e-3, 1e9)
		if err != nil || len(all) != 12*count+1 || all[0] != 1e-3 || all[len(all)-1] != 1e9 {
			t.Errorf("%s: %d values in twelve decades, %v", s, len(all), err)
		}
	}
}

func TestSeriesNearest(t *testing.T) {
	for _, test := range []struct {
		s       circuit.Series
		v, want float64
	}{{circuit.E12, 4500, 4700}, {circuit.E24, 4450, 4300}, {circuit.E24, 95, 91}, {circuit.E24, 96, 100}, {circuit.E96, 3300, 3320}, {circuit.E12, 110, 100}, {circuit.E96, 0.001, 0.001}, {circuit.E24, 47e3, 47e3}} {
		if got, err := test.s.Nearest(test.v); err != nil || got != test.want {
			t.Errorf("%s nearest to %v: %v, %v, want %v", test.s, test.v, got, err, test.want)
		}
	}
	for _, v := range []float64{0, -1, 1e10, math.NaN(), math.Inf(1)} {
		if got, err := circuit.E24.Nearest(v); err == nil {
			t.Errorf("nearest to %v: %v", v, got)
		}
	}
	if _, err := circuit.Series("E7").Within(1, 10); err == nil {
		t.Error("E7 taken")
	}
	if _, err := circuit.E24.Within(10, 1); err == nil {
		t.Error("a range that falls taken")
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]circuit.Series{circuit.E12, circuit.E24, circuit.E96}).Draw(t, "series")
		v := math.Pow(10, rapid.Float64Range(-3, 8.9).Draw(t, "decade"))
		got, err := s.Nearest(v)
		all, _ := s.Within(1e-3, 1e9)
		if err != nil {
			t.Fatal(err)
		}
		for _, other := range all {
			if math.Abs(other-v) < math.Abs(got-v) {
				t.Fatalf("%v is nearer to %v than %v", other, v, got)
			}
		}
	})
}
