package span

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// Readout is what can be keyed into the device that shows the level.
type Readout struct {
	// Step is the step in which ohms can be keyed in; 0 takes any value.
	Step quantity.Ohm
	// Highest is the largest ohms that can be keyed in; 0 stands for no limit.
	Highest quantity.Ohm
}

// Margin is how far the greatest ohms of the sender are kept below the greater
// end value. A readout commonly takes anything beyond that end for a broken
// wire, so an end that is only just reached makes a full tank look like a
// fault (common practice, no source).
type Margin struct {
	Ohm    quantity.Ohm
	OfSpan quantity.Share // added to Ohm
	usual  bool
}

// The usual margin: 0.2 % of the sender's span and no less than 0.1 Ω.
const (
	usualOfSpan quantity.Share = 0.002
	usualLeast  quantity.Ohm   = 0.1
)

// UsualMargin is the margin where the user asks for none in particular: 0.2 %
// of span, no less than 0.1 Ω, and no less than twice the repeatability where
// that is known. It covers the last digit of a bench meter and a few degrees
// of warming of the sender, and costs a display less than it can show.
// (A sender of 199.6 Ω with 200 keyed in is common practice, no source.)
func UsualMargin() Margin { return Margin{usual: true} }

// ParseMargin reads "1ohm", "2%" (of the sender's span) or "usual".
func ParseMargin(text string) (Margin, error) {
	t := strings.TrimSpace(text)
	if t == "usual" {
		return UsualMargin(), nil
	}
	if strings.HasSuffix(t, "%") {
		share, err := quantity.ParseShare(t)
		if err == nil && (share < 0 || share > 1) {
			err = fmt.Errorf("%q isn't a margin: expected 0%% to 100%% of the span", text)
		}
		return Margin{OfSpan: share}, err
	}
	ohm, err := quantity.ParseOhm(t)
	if err != nil {
		return Margin{}, fmt.Errorf("%q isn't a margin; write it like 1ohm, 2%% (of the sender's span), 0ohm for none, or usual", text)
	}
	if ohm < 0 {
		return Margin{}, fmt.Errorf("%q isn't a margin: it can't be below zero", text)
	}
	return Margin{Ohm: ohm}, nil
}

// Over gives the margin in ohms for a sender, and the reason for it in words.
func (m Margin) Over(c *curve.Curve) (quantity.Ohm, string) {
	if !m.usual {
		ohm := m.Ohm + quantity.Ohm(m.OfSpan)*c.Span()
		if ohm == 0 {
			return 0, "No margin was asked for: if the sender gives a little more than it did here, a readout may take it for a broken wire."
		}
		return ohm, fmt.Sprintf("Margin %s Ω as asked, so that a small overshoot of the sender isn't taken for a broken wire.", quantity.Short(float64(ohm), 2))
	}
	repeat := 2 * quantity.Ohm(c.Repeatability().SD)
	ohm := max(usualLeast, quantity.Ohm(usualOfSpan)*c.Span(), repeat)
	why := "0.2 % of its span"
	switch ohm {
	case usualLeast:
		why = "the last digit of a bench meter"
	case repeat:
		why = "twice its repeatability"
	}
	return ohm, fmt.Sprintf("Margin %s Ω (%s): a readout commonly takes ohms beyond its greater end value for a broken wire, and this covers the meter's last digit and a few degrees of warming.",
		quantity.Short(float64(ohm), 2), why)
}

// NoChoiceError says that no setting meets every constraint: which one can't
// hold, and what the nearest is that can.
type NoChoiceError struct{ Text string }

func (e *NoChoiceError) Error() string { return e.Text }

// up gives the least multiple of step that isn't below v, down the greatest
// not above it; with step 0 v itself. A hair of tolerance keeps 200 from
// becoming 201 because it was reckoned as 200.0000000001.
func (r Readout) up(v float64) float64 {
	if r.Step == 0 {
		return v
	}
	return math.Ceil(v/float64(r.Step)-1e-9) * float64(r.Step)
}

func (r Readout) down(v float64) float64 {
	if r.Step == 0 {
		return v
	}
	return math.Floor(v/float64(r.Step)+1e-9) * float64(r.Step)
}
