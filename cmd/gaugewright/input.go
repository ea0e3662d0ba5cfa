package main

import (
	"errors"
	"fmt"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
	"gaugewright/internal/readings"
	"gaugewright/internal/scale"
)

// number is a figure on the command line: a plain decimal number, with a point
// or a comma. What a float would take besides (NaN, infinities) is refused.
type number float64

// UnmarshalText reads the number.
func (n *number) UnmarshalText(text []byte) error {
	v, err := quantity.ParseNumber(string(text), true)
	*n = number(v)
	return err
}

// float gives what is pointed to as the plain type, or nil.
func (n *number) float() *float64 { return (*float64)(n) }

// senderInput is what every verb that fits a curve takes.
type senderInput struct {
	Readings string   `arg:"" help:"CSV of bench readings (mark_pct, mark_mm, mark_l or mark_kg; ohm; optionally sweep, time, note), or - for standard input."`
	Claimed  []string `placeholder:"EMPTY:FULL" sep:"none" help:"A span as the data sheet claims it, in ohms; may be given several times."`
	KeepAll  bool     `help:"Keep readings that look like mistakes instead of setting them aside."`
	markEnds
}

// markEnds says where the mark scale itself begins and ends.
type markEnds struct {
	EmptyMark *number `placeholder:"MARK" help:"The mark that is empty, in the unit of the file; 0 on a dial, else the lowest mark read."`
	FullMark  *number `placeholder:"MARK" help:"The mark that is full, in the unit of the file; 100 on a dial, else the highest mark read."`
}

// standardInput is how it is called in messages.
const standardInput = "standard input"

// sheet reads bench readings from a file, or from standard input.
func (s streams) sheet(path string) (curve.Sheet, error) {
	if path == "-" {
		return readings.Read(s.in, standardInput)
	}
	return readings.ReadFile(path)
}

// fit reads the readings and makes their curve.
func (in senderInput) fit(s streams) (*curve.Curve, error) {
	sheet, err := s.sheet(in.Readings)
	if err != nil {
		return nil, err
	}
	c, err := curve.Fit(sheet, curve.Options{KeepAll: in.KeepAll})
	return c, named(in.Readings, err)
}

// named puts the file, and the line where it is known, before an error about
// what the file says.
func named(name string, err error) error {
	if name == "-" {
		name = standardInput
	}
	var sheet *curve.SheetError
	var sender *curve.SenderError
	switch {
	case errors.As(err, &sheet) && sheet.Line > 0:
		return fmt.Errorf("%s:%d: %w", name, sheet.Line, err)
	case errors.As(err, &sheet), errors.As(err, &sender):
		return fmt.Errorf("%s: %w", name, err)
	}
	return err
}

// ends gives the marks at empty and full.
func (m markEnds) ends(c *curve.Curve) (empty, full float64) {
	empty, full = 0, 1
	unit := c.Unit()
	if unit != curve.Dial {
		points := c.Points()
		empty, full = points[0].Mark, points[len(points)-1].Mark
	}
	if m.EmptyMark != nil {
		empty = unit.FromShown(float64(*m.EmptyMark))
	}
	if m.FullMark != nil {
		full = unit.FromShown(float64(*m.FullMark))
	}
	return empty, full
}

// claims reads the claimed spans.
func (in senderInput) claims() ([]curve.Claim, error) {
	var out []curve.Claim
	for _, text := range in.Claimed {
		empty, full, found := strings.Cut(text, ":")
		a, errA := quantity.ParseNumber(empty, true)
		b, errB := quantity.ParseNumber(full, true)
		if !found || errA != nil || errB != nil || a < 0 || b < 0 || a == b {
			return nil, fmt.Errorf("--claimed %q isn't a span; write the ohms at empty and at full like 0:90", text)
		}
		out = append(out, curve.Claim{Empty: quantity.Ohm(a), Full: quantity.Ohm(b)})
	}
	return out, nil
}

// scaleInput chooses what 100 % means.
type scaleInput struct {
	Scale         string `default:"mark" enum:"mark,fill" help:"What 100 % means: mark (the dial's own scale) or fill (as full as the tank may be filled)."`
	PermittedFill string `placeholder:"PERCENT" help:"The permitted fill, for --scale fill: 80 is common practice for LPG; the tank's plate and the local code decide."`
}

func (in scaleInput) scale(empty, full float64, dial bool) (scale.Scale, error) {
	kind := scale.Kind(in.Scale)
	fill := quantity.Share(1)
	switch {
	case in.PermittedFill != "":
		v, err := quantity.ParseNumber(strings.TrimSuffix(strings.TrimSpace(in.PermittedFill), "%"), true)
		if err != nil {
			return scale.Scale{}, fmt.Errorf("--permitted-fill %q isn't a percentage; write it like 80", in.PermittedFill)
		}
		fill = quantity.Share(v / 100)
		if kind != scale.Fill {
			return scale.Scale{}, fmt.Errorf("--permitted-fill is for --scale fill; found --scale %s", kind)
		}
	case kind == scale.Fill:
		return scale.Scale{}, errors.New("--scale fill needs --permitted-fill, such as 80; the tank's plate and the local code say how much")
	}
	return scale.New(kind, fill, empty, full, dial)
}
