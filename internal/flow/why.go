package flow

import (
	"fmt"
	"math"
)

// why is what an event was told by.
type why uint8

const (
	whyNot why = iota
	whyRose
	whyAcross
	whyBegan
	whySteady
	whyOff
	whyFaster
	whyConstant
	whyLet
	whyFell
	whyLower
	whyConstantRose
	whyConstantAnyway
)

// ofWaste gives the reason as it is for a tank that fills up: what is a rise elsewhere
// is a fall there.
func (w why) ofWaste() why {
	switch w {
	case whyRose:
		return whyFell
	case whyAcross:
		return whyLower
	case whyConstant:
		return whyConstantRose
	}
	return w
}

func (w why) sentence(r *record) string {
	switch w {
	case whyRose:
		return "The level rose while the vehicle stood."
	case whyFell:
		return "The level fell at once while the vehicle stood."
	case whyLower:
		return "The level was lower after a time without good levels than before it."
	case whyAcross:
		return "The level was higher after a time without good levels than before it."
	case whyBegan:
		return fmt.Sprintf("A steady fall of %s points an hour began, and hasn't paused since.", figure(r.PerHour))
	case whySteady:
		return fmt.Sprintf("It falls by %s points an hour without a pause, faster than what is fitted draws.", figure(r.PerHour))
	case whyOff:
		return fmt.Sprintf("It falls by %s points an hour in hours in which everything is off.", figure(r.PerHour))
	case whyFaster:
		return fmt.Sprintf("It fell by %s points a minute, faster than a tap draws.", figure(r.Told))
	case whyConstantRose:
		return "The level didn't change while something must have come in, then it rose at once."
	case whyConstant:
		return "The level didn't change while the tank must have been used, then it fell at once."
	case whyConstantAnyway:
		return "The level didn't change for a while, then it did at once, faster than anything flows."
	case whyLet:
		return "It fell in one go by far more than is drawn at once."
	}
	return ""
}

// figure prints a number to two digits.
func figure(v float64) string {
	digits := 0
	if a := math.Abs(v); a > 0 && a < 10 {
		digits = max(0, 1-int(math.Floor(math.Log10(a))))
	}
	return fmt.Sprintf("%.*f", min(digits, 4), v)
}
