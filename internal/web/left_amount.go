package web

import (
	"math"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// leftAmount is what is in a tank as its owner is told it.
type leftAmount struct {
	figure, unit string
	low, high    string // "" where the doubt isn't known
	whole        string // "70 L": what 100 % comes to; "" where that isn't to be told
	part         float64
	parted       bool // part is known: of what there may be, 0..1
	gas, waste   bool
	above        bool // surely more than the permitted fill of a gas tank
}

// leftAmountOf tells gas in kilograms where they are known, everything else in
// litres or gallons, and in percent where the capacity isn't known. Of a gas tank
// the whole isn't told: it may never be filled so far.
func leftAmountOf(l Label, share, low, high quantity.Share, volume, mass figure) leftAmount {
	a := leftAmount{gas: l.Contents == job.LPG, waste: l.Contents == job.Waste}
	whole := math.Inf(1) // in the unit that is shown
	switch {
	case a.gas && amountKnown(mass):
		to := func(v float64) float64 { got, _ := l.Units.MassIn(quantity.Kilogram(v)); return got }
		_, a.unit = l.Units.MassIn(0)
		a.tell(to(mass.Mid), to(mass.Low()), to(mass.High()), whole, mass.U > 0)
	case amountKnown(volume):
		to := func(v float64) float64 { got, _ := l.Units.VolumeIn(quantity.CubicMetre(v)); return got }
		_, a.unit = l.Units.VolumeIn(0)
		if n := len(l.Volumes); n > 0 && l.Volumes[n-1] > 0 && !a.gas {
			whole = to(float64(l.Volumes[n-1]))
			a.whole = quantity.Short(whole, wholeDecimals(whole)) + " " + a.unit
			a.part, a.parted = volume.Mid/float64(l.Volumes[n-1]), true
		}
		a.tell(to(volume.Mid), to(volume.Low()), to(volume.High()), whole, volume.U > 0)
	default:
		a.unit = "%"
		a.tell(inPct(share), inPct(low), inPct(high), 100, high > low)
		a.part, a.parted = float64(share), !a.gas
	}
	if a.gas && l.Permitted > 0 {
		a.ofPermitted(l, share, low)
	}
	return a
}

// ofPermitted says what part of the permitted fill there is, in litres where the
// tank's own are known, and else on its scale.
func (a *leftAmount) ofPermitted(l Label, share, low quantity.Share) {
	permitted := leftVolumeAt(l, l.Permitted)
	if permitted > 0 {
		a.part, a.parted = leftVolumeAt(l, share)/permitted, true
	} else {
		a.part, a.parted = float64(share/l.Permitted), true
	}
	a.above = low > l.Permitted
}

// leftVolumeAt gives what a share of the scale comes to, in m³; 0 where that isn't
// known.
func leftVolumeAt(l Label, share quantity.Share) float64 {
	n := min(len(l.Shares), len(l.Volumes))
	for i := 1; i < n; i++ {
		if from, to := l.Shares[i-1], l.Shares[i]; share <= to && to > from {
			at := max(0, float64((share-from)/(to-from)))
			return float64(l.Volumes[i-1]) + at*float64(l.Volumes[i]-l.Volumes[i-1])
		}
	}
	if n == 0 {
		return 0
	}
	return float64(l.Volumes[n-1])
}

// tell sets the figure in whole units, in tenths where it is below ten and known
// better than to one. The ends are rounded outwards: they never say that more is
// known than is.
func (a *leftAmount) tell(v, low, high, whole float64, doubt bool) {
	decimals := 0
	if v < 10 && high-low < 2 && a.unit != "%" {
		decimals = 1
	}
	a.figure = quantity.Minus(quantity.Digits(max(0, v), decimals))
	if !doubt || !finite(low) || !finite(high) {
		return
	}
	step := math.Pow(10, float64(decimals))
	low, high = math.Floor(max(0, low)*step+1e-6)/step, math.Ceil(high*step-1e-6)/step
	if top := math.Ceil(whole*step-1e-6) / step; high > top {
		high = top
	}
	if low < high {
		a.low, a.high = quantity.Digits(low, decimals), quantity.Digits(high, decimals)
	}
}

func wholeDecimals(v float64) int {
	if v < 10 {
		return 1
	}
	return 0
}

// amountKnown says whether there is an amount that can be told.
func amountKnown(f figure) bool { return finite(f.Mid) && finite(f.U) && f != figure{} }

// between writes the doubt in words: "between 13 and 15 L".
func (a leftAmount) between() string {
	if a.low == "" {
		return ""
	}
	high := a.high + " " + a.unit
	return "between " + a.low + " and " + high
}

// of writes what the figure is a part of: "of 70 L, about a fifth".
func (a leftAmount) of() string {
	part := ""
	if a.parted {
		part = leftPart(a.part)
	}
	switch {
	case a.above:
		return "above the permitted fill"
	case a.gas && part != "":
		return gasParts[part]
	case a.waste && part != "":
		part = wasteParts[part]
	}
	switch {
	case a.whole != "" && part != "":
		return "of " + a.whole + ", " + part
	case a.whole != "":
		return "of " + a.whole
	}
	return part
}

// end says that a tank is nearly at the end at which its owner has to do
// something; "" for any other. It means nothing for gas that there is much of it.
func (a leftAmount) end() string {
	switch {
	case !a.parted:
	case a.waste && a.part > nearFull:
		return "almost full"
	case !a.waste && a.part < nearEmpty:
		return "almost empty"
	}
	return ""
}
