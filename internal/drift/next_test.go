package drift_test

import (
	"math"
	"testing"
	"time"

	"gaugewright/internal/drift"
)

func date(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return d
}

// Worked by hand: the line through the day of the record, weights alike.
func TestNextCheck(t *testing.T) {
	record := date("2024-01-01")
	year := func(n float64) time.Time {
		return record.Add(time.Duration(n * 365.2425 * 24 * float64(time.Hour)))
	}
	for _, c := range []struct {
		name    string
		visits  []drift.Visit
		reserve float64
		months  int
		rate, u float64
	}{
		// Half a point a year, ±0.1: 2/(0.5 + 0.2) years from the record, less one.
		{"one visit", []drift.Visit{{year(1), 0.5, 0.1}}, 2, 22, 0.5, 0.1},
		// Nothing seen, good to ±0.25: 2/0.5 − 1 = 3 years.
		{"nothing seen", []drift.Visit{{year(1), 0, 0.25}}, 2, 36, 0, 0.25},
		// Σty/Σt² = (0.4 + 1.2)/(1 + 4) = 0.32; u = 0.1/√5, not widened: 2/(0.32 + 0.0894) − 2 = 2.885 years.
		{"two visits", []drift.Visit{{year(1), 0.4, 0.1}, {year(2), 0.6, 0.1}}, 2, 34, 0.32, 0.044721},
		{"no reserve", []drift.Visit{{year(1), 3, 0.1}}, 1, drift.LeastMonths, 3, 0.1},
		{"next to nothing", []drift.Visit{{year(3), 0, 0.01}}, 2, drift.MostMonths, 0, 0.003333},
		{"no visits", nil, 2, drift.UsualMonths, 0, 0},
	} {
		i, err := drift.NextCheck(record, c.visits, c.reserve)
		if err != nil {
			t.Fatal(err)
		}
		if c.name == "two visits" {
			// Residuals 0.08 and −0.04: χ² = 0.64 + 0.16 = 0.8, below 1 degree of freedom.
			c.u = 0.1 / math.Sqrt(5)
		}
		if i.Months != c.months || math.Abs(i.Rate-c.rate) > 1e-5 || math.Abs(i.RateU-c.u) > 1e-5 {
			t.Errorf("%s: %+v, expected %d months, %g ± %g", c.name, i, c.months, c.rate, c.u)
		}
	}
	// Visits that scatter beyond their doubt widen it.
	i, err := drift.NextCheck(record, []drift.Visit{{year(1), 2, 0.1}, {year(2), 0, 0.1}}, 5)
	if err != nil || i.RateU < 0.2 {
		t.Errorf("scattered visits: %+v, %v", i, err)
	}
	for _, v := range []drift.Visit{{record, 1, 0.1}, {year(1), 1, 0}, {year(1), math.NaN(), 1}} {
		if _, err := drift.NextCheck(record, []drift.Visit{v}, 2); err == nil {
			t.Errorf("%+v was taken", v)
		}
	}
}
