package curve

// usualSpans are the end values that are commonly met among resistive level
// senders of vehicles, boats and tanks, at empty and at full: common practice,
// no source. The tolerance is wider where the same kind is met with other ends.
var usualSpans = []Stated{
	{Claim{240, 33}, ClaimTolerance},
	{Claim{10, 180}, ClaimTolerance},
	{Claim{180, 10}, ClaimTolerance},
	{Claim{0, 190}, ClaimTolerance}, // 0 to about 5 Ω stay at empty
	{Claim{190, 0}, ClaimTolerance},
	{Claim{0, 180}, ClaimTolerance},
	{Claim{3, 180}, ClaimTolerance},
	{Claim{0, 90}, ClaimTolerance},
	{Claim{90, 0}, ClaimTolerance},
	{Claim{0, 95}, ClaimTolerance},
	{Claim{73, 10}, 0.08}, // also met as 73 to 8 and 78 to 10
	{Claim{16, 158}, ClaimTolerance},
	{Claim{0, 30}, ClaimTolerance},
	{Claim{70, 10}, ClaimTolerance},
	{Claim{40, 250}, ClaimTolerance},
	{Claim{105, 5}, ClaimTolerance}, // also met as 100 to 5 and 110 to 3
}

// usualSignals are the end values of senders that give no ohms: 4 to 20 mA is
// IEC 60381-1 (from memory), the others common practice, no source. The shares
// of the supply are those of 0.5 to 4.5 V and of 0 to 5 V on 5 V.
var usualSignals = map[Signal][]Stated{
	Volts:     {{Claim{0, 5}, ClaimTolerance}, {Claim{0.5, 4.5}, ClaimTolerance}, {Claim{0, 10}, ClaimTolerance}},
	Milliamps: {{Claim{4, 20}, ClaimTolerance}},
	Ratio:     {{Claim{10, 90}, ClaimTolerance}, {Claim{0, 100}, ClaimTolerance}},
}

// UsualSpansOf gives the spans commonly met among senders that give a signal:
// [UsualSpans] for ohms.
func UsualSpansOf(signal Signal) []Stated {
	if signal == Ohms {
		return UsualSpans()
	}
	return append([]Stated(nil), usualSignals[signal]...)
}

// UsualSpans gives the spans that are commonly met (common practice, no
// source), with their tolerances.
func UsualSpans() []Stated { return append([]Stated(nil), usualSpans...) }

// Families gives how probable each of the usual spans is. It is for a sender of
// which nothing is claimed, and does as [Curve.Odds] does, but for this: only
// the ends tell the kind of a sender, so what it does between them doesn't
// count. The errors are those of a scale from empty to full.
func (c *Curve) Families(empty, full float64) (Odds, error) {
	return c.odds(Odds{Usual: true, Empty: empty, Full: full}, UsualSpansOf(c.signal))
}
