package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// capacityKind is what of the form isn't as it was taken to be.
type capacityKind int

const (
	capacityNone capacityKind = iota
	capacityCorners
	capacityEnds
	capacityThick
)

// capacityCase is one wall, corner or end among those averaged over.
type capacityCase struct{ mean, u float64 }

type capacityCases []capacityCase

func (c capacityCases) mean() (m float64) {
	for _, k := range c {
		m += k.mean / float64(len(c))
	}
	return m
}

func (c capacityCases) u() float64 {
	m, sum := c.mean(), 0.0
	for _, k := range c {
		sum += (k.u*k.u + (k.mean-m)*(k.mean-m)) / float64(len(c))
	}
	return math.Sqrt(sum)
}

// inside gives the inside volumes for walls, corners or ends that may be; as
// measured says that what the tape shows is taken for the inside.
func (m Outside) inside(kind capacityKind, asMeasured bool) (list capacityCases) {
	walls := []float64{0}
	switch {
	case asMeasured:
	case kind == capacityThick:
		// Double walls, insulation, foam. Common practice, no source.
		walls = capacitySpread(float64(ThickWall), 0.025, 15)
	case m.Wall.Known:
		walls = []float64{float64(m.Wall.Value)}
	default:
		walls = capacitySpread(float64(ThinWall), float64(ThickWall), 15)
	}
	changes := []float64{0}
	switch kind {
	case capacityCorners:
		// From a bend in sheet metal to a moulded tank. Common practice, no source.
		changes = capacitySpread(0.02, 0.1, 9)
	case capacityEnds:
		changes = []float64{0.39, 0.5, 1} // dished, 2:1 ellipsoid, half a ball
	}
	for _, w := range walls {
		for _, change := range changes {
			list = append(list, m.one(kind, w, change, asMeasured))
		}
	}
	return list
}

// capacitySpread gives the middles of n like parts.
func capacitySpread(low, high float64, n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = low + (high-low)*(float64(i)+0.5)/float64(n)
	}
	return v
}

func (m Outside) one(kind capacityKind, wall, change float64, asMeasured bool) capacityCase {
	sizes := m.sizes()
	volume := func(p []float64, wall float64) float64 {
		q := make([]float64, len(p))
		for i := range p {
			q[i] = max(0, p[i]-2*wall)
		}
		heads := m.Heads
		if kind == capacityEnds {
			heads = change
		}
		if m.Form == LyingForm {
			q[1] -= heads * q[0]
		}
		v := measuredVolume(m.Form, heads, q)
		if kind == capacityCorners {
			// Four edges along the height, rounded: each loses (1 − π/4)·r².
			r := min(change, min(q[0], q[1])/2)
			v -= (4 - math.Pi) * r * r * q[2]
		}
		return v
	}
	p := make([]float64, len(sizes))
	for i, s := range sizes {
		p[i] = float64(s.size.Value)
	}
	c := capacityCase{mean: volume(p, wall)}
	for i, s := range sizes {
		u := float64(s.size.U)
		if u == 0 {
			continue
		}
		at := p[i]
		p[i] = at + u
		up := volume(p, wall)
		p[i] = at - u
		c.u = math.Hypot(c.u, (up-volume(p, wall))/2)
		p[i] = at
	}
	if u := float64(m.Wall.U); m.Wall.Known && !asMeasured && u > 0 {
		c.u = math.Hypot(c.u, (volume(p, wall+u)-volume(p, wall-u))/2)
	}
	return c
}

type capacityHypothesis struct {
	kind, question string
	cases          capacityCases
	times          float64 // what would be stated, over the inside volume
}

func (m Outside) hypotheses() []capacityHypothesis {
	plain := m.inside(capacityNone, false)
	wall := "its wall between " + quantity.Short(float64(ThinWall)*1000, 0) + " and " + ThickWall.String() + " thick"
	if m.Wall.Known {
		wall = "its wall " + m.Wall.Value.String() + " thick"
	}
	list := []capacityHypothesis{
		{"agrees", "Is " + wall + ", and the tank plain inside?", plain, 1},
		{"80-percent", "Is the stated figure what may be filled, 80 % of the water capacity? Look for the water capacity on the plate.", plain, 0.8},
		{"us-gallons-as-litres", "Is the stated figure one of US gallons, written as litres?", plain, 0.001 / USGallon},
		{"imperial-gallons-as-litres", "Is the stated figure one of imperial gallons, written as litres?", plain, 0.001 / ImperialGallon},
		{"us-taken-for-imperial", "Was a figure in US gallons made into litres with the imperial gallon?", plain, ImperialGallon / USGallon},
		{"imperial-taken-for-us", "Was a figure in imperial gallons made into litres with the US gallon?", plain, USGallon / ImperialGallon},
	}
	if !m.Wall.Known {
		list = append(list, capacityHypothesis{"outside-as-inside", "Was the stated figure reckoned from the outside sizes, without the wall?", m.inside(capacityNone, true), 1},
			capacityHypothesis{"thick-wall", "Is its wall thicker than " + ThickWall.String() + ", double or insulated?", m.inside(capacityThick, false), 1})
	} else if m.Wall.Value > 0 {
		list = append(list, capacityHypothesis{"outside-as-inside", "Was the stated figure reckoned from the outside sizes, without the wall? Or were inside sizes measured?", m.inside(capacityNone, true), 1})
	}
	switch {
	case m.Form == BoxForm:
		list = append(list, capacityHypothesis{"rounded-corners", "Are the upright edges rounded, or is something built in (a wheel arch, a sump, baffles)?", m.inside(capacityCorners, false), 1})
	case m.Form == LyingForm && m.Heads == 0:
		list = append(list, capacityHypothesis{"bulged-ends", "Are the ends bulged rather than flat?", m.inside(capacityEnds, false), 1})
	}
	return list
}

func (h capacityHypothesis) explain(stated float64) Explanation {
	e := Explanation{Kind: h.kind, Question: h.question}
	mean, u := h.cases.mean()*h.times, h.cases.u()*h.times
	rounding := statedRounding * stated
	e.Predicts, e.U = quantity.CubicMetre(mean), quantity.CubicMetre(u)
	e.Off = (stated - mean) / math.Hypot(u, rounding)
	// The likelihood of the mixture, its logarithm taken so that nothing
	// underflows.
	most, logs := math.Inf(-1), make([]float64, len(h.cases))
	for i, c := range h.cases {
		s := math.Hypot(c.u*h.times, rounding)
		z := (stated - c.mean*h.times) / s
		logs[i] = -z*z/2 - math.Log(s)
		most = max(most, logs[i])
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l - most)
	}
	e.logLike = most + math.Log(sum/float64(len(logs)))
	return e
}

func (c CapacityCheck) words() []finding.Finding {
	first := c.Explanations[0]
	measured := fmt.Sprintf("By the tape the tank holds %s L; stated are %s", measuredPlusMinus(float64(c.Measured)*1000, 2000*float64(c.U)), c.Stated)
	if math.Abs(c.Sigmas) <= 2 {
		return []finding.Finding{{Kind: KindCapacityAgrees, Weight: finding.Note, Text: measured + ". The two agree."}}
	}
	side := "more"
	if c.Difference < 0 {
		side = "less"
	}
	list := []finding.Finding{{Kind: KindCapacityDiffers, Weight: finding.Doubt, Text: fmt.Sprintf("%s: the tape gives %s L %s, %s standard uncertainties.",
		measured, quantity.Digits(math.Abs(float64(c.Difference))*1000, measuredDecimals(2000*float64(c.U))), side, quantity.Digits(math.Abs(c.Sigmas), 1))}}
	if math.Abs(first.Off) > 3 {
		return append(list, finding.Finding{Kind: KindNoneExplains, Weight: finding.Doubt, Text: "None of the usual reasons explains it. Are the sizes and the form right, and does the stated figure belong to this tank? Measure again, or pour it full of water once."})
	}
	text := fmt.Sprintf("The likeliest reason would make it %s L. %s", measuredPlusMinus(float64(first.Predicts)*1000, 2000*float64(first.U)), first.Question)
	for _, e := range c.Explanations[1:] {
		if e.Probability >= askedFrom {
			text += " Or: " + e.Question
		}
	}
	return append(list, finding.Finding{Kind: KindAsksFitter, Weight: finding.Doubt, Text: text})
}

// askedFrom is the probability from which on a reason is asked about.
const askedFrom = 0.2
