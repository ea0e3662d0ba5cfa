package drift

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/quantity"
)

// Visit is what one service found.
type Visit struct {
	Day    time.Time
	Change float64 // in points of the display since the record, the largest at any mark, with its sign
	U      float64 // its standard uncertainty in points, above 0
}

// Limits of the time to the next check, and what is proposed where nothing
// tells (common practice, no source).
const (
	LeastMonths = 3
	MostMonths  = 60
	UsualMonths = 12
)

// Interval is when to check again.
type Interval struct {
	Months   int     `json:"months"`
	Rate     float64 `json:"rate_points_per_year"`
	RateU    float64 `json:"rate_u_points_per_year"` // its standard uncertainty
	Reserve  float64 `json:"reserve_points"`         // what the tolerance leaves for drift
	Visits   int     `json:"visits"`                 // services it rests on
	Sentence string  `json:"sentence"`

	since float64 // years from the record to the last visit
}

// daysInYear is the mean of the calendar in use.
const daysInYear = 365.2425

// NextCheck proposes the time to the next check from what services found since
// the record. The rate b is that of the weighted straight line through no change
// on the day of the record,
//
//	b = Σ w·t·y / Σ w·t²,  u(b) = 1/√(Σ w·t²),  w = 1/u²
//
// u(b) being widened by the Birge ratio where the visits scatter by more than
// their doubt. The next check is due when |b|·t + 2·u(b)·t, the change with what
// could have gone unseen, reaches the reserve: the points that the tolerance
// leaves beside the setting's own error. With one visit that found nothing it is
// the bound of what it couldn't see that decides. It is held to 3 to 60 months.
//
// Its weakness: all visits lean on the same record, whose doubt is in each
// change and doesn't average out; and wear need not go in a straight line.
//
// That intervals follow what was seen is the idea of ILAC-G24:2022 / OIML D 10
// (from memory); the limits are common practice, no source.
func NextCheck(record time.Time, visits []Visit, reserve float64) (Interval, error) {
	if len(visits) == 0 {
		return unknownRate(reserve), nil
	}
	var top, below float64
	last := 0.0
	for i, v := range visits {
		t := v.Day.Sub(record).Hours() / 24 / daysInYear
		if !(t > 0) {
			return Interval{}, fmt.Errorf("service %d is dated %s and the record %s; a service comes after the record", i+1, v.Day.Format(time.DateOnly), record.Format(time.DateOnly))
		}
		if !(v.U > 0) || math.IsNaN(v.Change) || math.IsInf(v.Change, 0) {
			return Interval{}, fmt.Errorf("service %d states a change of %g ± %g points; expected a number with a doubt above 0", i+1, v.Change, v.U)
		}
		w := 1 / (v.U * v.U)
		top, below, last = top+w*t*v.Change, below+w*t*t, max(last, t)
	}
	b, u := top/below, 1/math.Sqrt(below)
	if n := len(visits); n > 1 {
		chi := 0.0
		for _, v := range visits {
			t := v.Day.Sub(record).Hours() / 24 / daysInYear
			chi += (v.Change - b*t) * (v.Change - b*t) / (v.U * v.U)
		}
		u *= max(1, math.Sqrt(chi/float64(n-1)))
	}
	i := Interval{Rate: value(b), RateU: value(u), Reserve: value(reserve), Visits: len(visits), since: last}
	i.fill(reserve, last)
	return i, nil
}

// fill works out the months from the last visit until the reserve is used up.
func (i *Interval) fill(reserve, since float64) {
	left := 0.0
	if reserve > 0 {
		left = reserve/(math.Abs(i.Rate)+2*i.RateU) - since
	}
	months := int(math.Floor(12*left + 1e-9))
	held := min(MostMonths, max(LeastMonths, months))
	i.Months = held
	why := fmt.Sprintf("%s by %s ± %s points a year, and the tolerance leaves %s points for it", services(i.Visits), quantity.Minus(quantity.Digits(i.Rate, 1)), quantity.Digits(2*i.RateU, 1), quantity.Digits(max(0, reserve), 1))
	if !i.fast() {
		why = fmt.Sprintf("%s no more than could go unseen, %s points a year, and the tolerance leaves %s points for it", services(i.Visits), quantity.Digits(math.Abs(i.Rate)+2*i.RateU, 1), quantity.Digits(max(0, reserve), 1))
	}
	i.Sentence = fmt.Sprintf("Check again in %s: %s.", monthsText(held), why)
}

func services(n int) string {
	if n == 1 {
		return "this service saw it move"
	}
	return fmt.Sprintf("%d services saw it move", n)
}

// fast says that the rate is beyond its doubt.
func (i Interval) fast() bool { return math.Abs(i.Rate) > 2*i.RateU && i.Visits > 0 }

// ahead is the same after keying in again: from now on, with what is left then.
func (i Interval) ahead(reserve float64) Interval {
	if i.Visits == 0 {
		return unknownRate(reserve)
	}
	i.Reserve = value(reserve)
	i.fill(reserve, 0)
	return i
}

// unknownRate is what is proposed where nothing tells how fast a sender moves.
func unknownRate(reserve float64) Interval {
	return Interval{Months: UsualMonths, Reserve: value(reserve),
		Sentence: fmt.Sprintf("Check again in %s: how fast this sender moves isn't known, for want of dates.", monthsText(UsualMonths))}
}

func monthsText(n int) string {
	switch {
	case n == 12:
		return "a year"
	case n%12 == 0:
		return fmt.Sprintf("%d years", n/12)
	}
	return fmt.Sprintf("%d months", n)
}
