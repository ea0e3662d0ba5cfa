package drift

import "time"

// Visit is what one service found.
type Visit struct {
	Day    time.Time
	Change float64 // in points, the largest at any mark, with its sign
	U      float64 // its standard uncertainty in points
}

// Interval is when to check again.
type Interval struct {
	Months   int     `json:"months"`
	Rate     float64 `json:"rate_points_per_year"`
	RateU    float64 `json:"rate_u_points_per_year"`
	Reserve  float64 `json:"reserve_points"` // what the tolerance leaves for drift
	Sentence string  `json:"sentence"`
}
