package main

import (
	"fmt"

	"gaugewright/internal/finding"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
)

type spanVerb struct {
	senderInput
	scaleInput
	readoutInput
	Tank   string   `placeholder:"FILE" help:"The tank file (JSON, see docs/tank.md): the scale then goes through its shape, and what is in the tank is told in litres."`
	Try    []string `placeholder:"L:U" sep:"none" help:"Also show what these end values would display, and why; may be given several times."`
	AtMark []number `sep:"none" placeholder:"MARK" help:"Also tell what will be shown at this mark, in the unit of the file, and how well that is known; may be given several times."`
	JSON   bool     `name:"json" help:"Write the result as JSON."`
}

// readoutInput describes the device to be set.
type readoutInput struct {
	Readout     string  `default:"two-point" enum:"two-point,table,ends-then-table" help:"What is keyed in: two-point (the ohms, or what else the sender gives, at 0 % and at 100 %), table, or ends-then-table (two end values, and a table that corrects the percentage reckoned from them)."`
	Objective   string  `default:"worst" enum:"worst,near-empty,never-high,rms" help:"What is made least: worst (the largest error), near-empty (the largest error, counting four times at empty, once at full and in proportion between), never-high (the largest error, but nowhere showing more than there is) or rms (the root-mean-square error)."`
	Points      int     `default:"8" help:"The most points a table readout takes."`
	Step        *number `placeholder:"OHM" help:"The step in which ohms, or what else the file has, can be keyed in; 0 for any value. For end values whole ohms, 0.01 V, 0.01 mA or 0.1 % of the supply, for a table any value, unless given."`
	PercentStep number  `placeholder:"PERCENT" help:"The step of the percentages in a table; 0 for any value."`
	Lowest      number  `placeholder:"OHM" help:"The least ohms, volts and so on the readout takes; 0 unless given."`
	Highest     number  `placeholder:"OHM" help:"The largest ohms, volts and so on the readout takes; no limit unless given."`
	Margin      string  `default:"usual" help:"How far the sender's largest ohms stay below the greater end value, beyond which a readout takes a small overshoot for a broken wire or a fault: 1ohm (0.05V, 0.1mA), 2% of the span, 0ohm for none, usual (0.2 % of the span, no less than twice the repeatability and, for ohms, 0.1 ohm) or auto (what a reading exceeds with a chance of 1 %, by the readings' own doubt)."`
}

// wish is what the device asks for.
func (in readoutInput) wish() telling.Wish {
	return telling.Wish{Readout: in.Readout, Objective: in.Objective, Points: in.Points, Step: in.Step.float(),
		PercentStep: float64(in.PercentStep), Lowest: float64(in.Lowest), Highest: float64(in.Highest), Margin: in.Margin}
}

// Run chooses what to key in and shows what it does.
func (v *spanVerb) Run(s streams) error {
	claims, err := v.claims()
	if err != nil {
		return err
	}
	var tried []span.Ends
	for _, text := range v.Try {
		ends, err := span.ParseEnds(text)
		if err != nil {
			return fmt.Errorf("--try %w", err)
		}
		tried = append(tried, ends)
	}
	c, err := v.fit(s)
	if err != nil {
		return err
	}
	empty, full := v.ends(c)
	sc, ofTank, err := v.scale(s, v.Tank, c.Unit(), empty, full)
	if err != nil {
		return err
	}
	choice, err := telling.Best(c, sc, v.wish())
	if err != nil {
		return flagged(err)
	}
	var trials []span.Trial
	for _, ends := range tried {
		trials = append(trials, span.Try(c, sc, ends))
	}
	choice.Findings = append(span.Remedy(c, sc, choice), choice.Findings...)
	findings := append(telling.ToLookAt(c.Findings()), ofTank...)
	if len(claims) > 0 {
		odds, err := telling.OddsOf(c, claims, empty, full)
		if err != nil {
			return err
		}
		findings = append(findings, telling.OddsFindings(c, odds)...)
	}
	if v.JSON {
		err = writeJSON(s.out, v.result(c, sc, choice, trials, findings))
	} else {
		v.print(s.out, c, sc, choice, trials, findings)
	}
	if err == nil && finding.Worst(c.Findings()) == finding.Bad {
		err = errBad
	}
	return err
}
