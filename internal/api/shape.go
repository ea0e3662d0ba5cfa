package api

import (
	"math"
	"time"

	"gaugewright/internal/quantity"
)

// said is a text, or null where there is none.
func said(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}

// rounded is a number to so many digits behind the point, or null where it isn't
// one.
func rounded(v float64, digits int) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = quantity.Round(v, digits)
	return &v
}

// when is a time in UTC, or null where there is none.
func when(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	return &t
}
