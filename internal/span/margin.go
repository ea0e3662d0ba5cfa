package span

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
)

// Margin is how far the greatest ohms of the sender are kept below the greater
// end value. A readout commonly takes anything beyond that end for a broken
// wire, so an end that is only just reached makes a full tank look like a
// fault (common practice, no source).
type Margin struct {
	Ohm    quantity.Ohm
	OfSpan quantity.Share // added to Ohm
	usual  bool
	auto   bool
}

// The usual margin: 0.2 % of the sender's span and, for ohms, no less than
// 0.1 Ω.
const (
	usualOfSpan quantity.Share = 0.002
	usualLeast  quantity.Ohm   = 0.1
)

// autoChance is the chance, with AutoMargin, that a reading of the sender at
// its highest lies beyond the greater end value.
const autoChance = 0.01

// UsualMargin is the margin where the user asks for none in particular: 0.2 %
// of span, no less than 0.1 Ω, and no less than twice the repeatability where
// that is known. It covers the last digit of a bench meter and a few degrees
// of warming of the sender, and costs a display less than it can show. For
// signals other than ohms there is no 0.1 Ω.
// (A sender of 199.6 Ω with 200 keyed in is common practice, no source.)
func UsualMargin() Margin { return Margin{usual: true} }

// AutoMargin is the least margin with which the chance that one reading of the
// sender, at whatever mark of the scale, lies beyond the greater end value is
// no more than 1 %, going by the curve's own uncertainty and the repeatability.
func AutoMargin() Margin { return Margin{auto: true} }

// ParseMargin reads "1ohm", "2%" (of the sender's span), "usual" or "auto".
func ParseMargin(text string) (Margin, error) {
	t := strings.TrimSpace(text)
	switch t {
	case "usual":
		return UsualMargin(), nil
	case "auto":
		return AutoMargin(), nil
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
		return Margin{}, fmt.Errorf("%q isn't a margin; write it like 1ohm, 2%% (of the sender's span), 0ohm for none, usual or auto", text)
	}
	if ohm < 0 {
		return Margin{}, fmt.Errorf("%q isn't a margin: it can't be below zero", text)
	}
	return Margin{Ohm: ohm}, nil
}

// ParseMarginFor reads a margin for a signal: for ohms as [ParseMargin] does,
// for others "0.05V", "0.1mA" or, of the supply, "1%supply" in the place of
// "1ohm". A percentage alone is of the sender's span.
func ParseMarginFor(signal curve.Signal, text string) (Margin, error) {
	t := strings.TrimSpace(text)
	if signal == curve.Ohms || t == "usual" || t == "auto" || strings.HasSuffix(t, "%") {
		return ParseMargin(text)
	}
	unit := marginUnit(signal)
	number, found := strings.CutSuffix(t, unit)
	v, err := quantity.ParseNumber(number, true)
	if !found || err != nil || v < 0 {
		return Margin{}, fmt.Errorf("%q isn't a margin of a sender that gives %s; write it like %s%s, 2%% (of the sender's span), 0%s for none, usual or auto",
			text, signal.Figures(), quantity.Short(float64(signal.Step()), 2), unit, unit)
	}
	return Margin{Ohm: quantity.Ohm(v)}, nil
}

func marginUnit(signal curve.Signal) string {
	if signal == curve.Ratio {
		return "%supply"
	}
	return signal.Symbol()
}

// trouble is what a readout commonly takes for it, where the sender gives more
// than the greater end value.
func trouble(signal curve.Signal) string {
	if signal == curve.Ohms {
		return "a broken wire"
	}
	return "a fault" // a broken wire gives nothing at all
}

// drift is what a margin covers besides the meter's last digit.
func drift(signal curve.Signal) string {
	if signal == curve.Ohms {
		return "a few degrees of warming"
	}
	return "a little drift of the sender"
}

// short prints a value with its unit and one decimal more than usual, without
// zeros behind.
func short(signal curve.Signal, v float64) string {
	return quantity.Short(v, signal.Decimals()+1) + " " + signal.Unit()
}

// unitWord names the unit in an error.
func unitWord(signal curve.Signal) string {
	if signal == curve.Ohms {
		return "ohm"
	}
	return signal.Unit()
}

// Over gives the margin in ohms for a sender on a scale, and the reason for it
// in words.
func (m Margin) Over(c *curve.Curve, s scale.Scale) (quantity.Ohm, string) {
	switch {
	case m.auto:
		return autoOver(c, s)
	case m.usual:
		return usualOver(c)
	}
	ohm := m.Ohm + quantity.Ohm(m.OfSpan)*c.Span()
	if ohm == 0 {
		return 0, "No margin was asked for: if the sender gives a little more than it did here, a readout may take it for " + trouble(c.Signal()) + "."
	}
	return ohm, fmt.Sprintf("Margin %s as asked, so that a small overshoot of the sender isn't taken for %s.", short(c.Signal(), float64(ohm)), trouble(c.Signal()))
}

func usualOver(c *curve.Curve) (quantity.Ohm, string) {
	repeat := 2 * quantity.Ohm(c.Repeatability().SD)
	least := usualLeast
	if c.Signal() != curve.Ohms {
		least = 0
	}
	ohm := max(least, quantity.Ohm(usualOfSpan)*c.Span(), repeat)
	why := "0.2 % of its span"
	switch ohm {
	case least:
		why = "the last digit of a bench meter"
	case repeat:
		why = "twice its repeatability"
	}
	return ohm, fmt.Sprintf("Margin %s (%s): a readout commonly takes %s beyond its greater end value for %s, and this covers the meter's last digit and %s.",
		short(c.Signal(), float64(ohm)), why, c.Signal().Figures(), trouble(c.Signal()), drift(c.Signal()))
}

// autoOver takes for each mark of the scale what one reading there exceeds with
// a chance of 1 %, and of these the greatest. A reading scatters by the
// repeatability s about a curve known to ±U. The scatter of the pooled readings
// is in U as s²/n, from the same repeats; so a variance of s²·(1 + 1/n) has
// their degrees of freedom, and the rest of U² has no limit to its own. The
// quantile is Student's t for the effective degrees of freedom.
// Source: JCGM 100:2008, G.4 (Welch–Satterthwaite); one-sided here.
func autoOver(c *curve.Curve, s scale.Scale) (quantity.Ohm, string) {
	repeat := c.Repeatability()
	_, full := s.Ends()
	type candidate struct {
		mark, ohm, u, df, reach float64
	}
	var most candidate
	consider := func(mark float64, ohm, u quantity.Ohm, n int) {
		// A curve that isn't fitted to readings has n = 0; as from one.
		shared := repeat.SD * repeat.SD / float64(max(1, n))
		b := doubt.Budget{Lines: []doubt.Line{
			{U: math.Sqrt(repeat.SD*repeat.SD + shared), DF: float64(repeat.DF), Sensitivity: 1},
			{U: math.Sqrt(max(0, float64(u)*float64(u)-shared)), DF: math.Inf(1), Sensitivity: 1},
		}}
		v := candidate{mark: mark, ohm: float64(ohm), u: b.Combined(), df: b.DF()}
		// A two-sided factor leaves half of the rest on either side.
		v.reach = v.ohm + doubt.Factor(1-2*autoChance, v.df)*v.u
		if v.reach > most.reach {
			most = v
		}
	}
	points := c.Points()
	for _, p := range points {
		if s.Holds(p.Mark) {
			consider(p.Mark, p.Ohm, p.U, p.N)
		}
	}
	if a := c.Ohm(full, curve.Refuse); a.Known {
		// It rests on the points beside it, and no less on the better known.
		i := sort.Search(len(points)-1, func(i int) bool { return points[i].Mark >= full-1e-12 })
		n := points[i].N
		if i > 0 && !s.Holds(points[i].Mark) {
			n = min(n, points[i-1].N)
		}
		consider(full, a.Ohm, a.UOhm, n)
	}
	margin := max(0, most.reach-float64(greatestWithin(c, s)))
	why := fmt.Sprintf("Margin %s: the sender gives %s ± %s at %s (one reading, standard uncertainty), so with this margin the chance that it gives more than the greater end value, and is taken for %s, is 1 %% at the most",
		short(c.Signal(), margin), c.Signal().Text(quantity.Ohm(most.ohm)), short(c.Signal(), most.u), c.Unit().Text(most.mark), trouble(c.Signal()))
	switch {
	case repeat.DF == 0:
		why += ". No mark was read twice, so the sender's own scatter isn't in it: repeat a mark or two, or keep the usual margin."
	case math.IsInf(most.df, 1) || most.df > 100:
		why += "."
	default:
		why += fmt.Sprintf(" (Student's t, %s degrees of freedom).", quantity.Short(math.Floor(max(1, most.df)), 0))
	}
	return quantity.Ohm(margin), why
}
