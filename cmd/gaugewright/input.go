package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/readings"
	"gaugewright/internal/scale"
	"gaugewright/internal/telling"
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
	Readings string   `arg:"" help:"CSV of bench readings (mark_pct, mark_mm, mark_l or mark_kg; ohm, volt, milliamp or of_supply_pct; optionally sweep, time, note), or - for standard input."`
	Claimed  []string `placeholder:"EMPTY:FULL" sep:"none" help:"A span as the data sheet claims it, in ohms or what else the file has; may be given several times."`
	KeepAll  bool     `help:"Keep readings that look like mistakes instead of setting them aside."`
	markEnds
	doubtInput
}

// doubtInput states what is known of the bench besides the readings.
type doubtInput struct {
	Meter            string `placeholder:"SPEC" help:"The meter's data sheet: 0.5%+2 is 0.5 % of the reading and 2 digits; 0.5%+2@0.1ohm (or 0.01V, 0.01mA) names the last digit as well. Or, for ohms, a class: pocket, handheld, bench (common practice)."`
	Leads            string `placeholder:"OHM" help:"The shorted test leads read this much, such as 0.3ohm; it is taken off every reading."`
	MarkDoubt        number `placeholder:"MARK" help:"How far a mark may have been misread either way, in the unit of the file."`
	Measure          string `placeholder:"KIND" help:"What the marks were poured with: jug, bucket, flow-meter, kitchen-scale or luggage-scale (common practice), for marks in litres or kilograms."`
	PourDoubt        string `placeholder:"VOLUME" help:"How far each pour may be off by itself, either way, such as 0.05L; or its weight, such as 20g."`
	PourScale        string `placeholder:"PERCENT" help:"How far all pours may be off alike (the jug's line, the meter's factor), either way, such as 1%."`
	Density          string `placeholder:"DENSITY" help:"Turns marks in kilograms into litres: 0.998kg/L, or with its own doubt 0.998±0.002kg/L."`
	TemperatureDrift string `placeholder:"PERCENT" help:"How far the sender's ohms, or what else it gives, may change with the weather either way, such as 0.4%."`
}

// doubts reads the statements.
func (in doubtInput) doubts(unit curve.MarkUnit, signal curve.Signal) (curve.Doubts, error) {
	d, err := telling.BenchStated{Meter: in.Meter, Leads: in.Leads, MarkDoubt: float64(in.MarkDoubt), TemperatureDrift: in.TemperatureDrift}.Doubts(unit, signal)
	return d, flagged(err)
}

// flagged names fields the way the command line does.
func flagged(err error) error {
	var field *telling.FieldError
	if errors.As(err, &field) {
		return errors.New(field.Naming(func(name string) string { return "--" + name }))
	}
	return err
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
	pouring, err := in.poured(&sheet)
	if err != nil {
		return nil, err
	}
	doubts, err := in.doubts(sheet.Unit, sheet.Signal)
	if err != nil {
		return nil, err
	}
	doubts.Pouring = pouring
	c, err := curve.Fit(sheet, curve.Options{KeepAll: in.KeepAll, Doubts: doubts})
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
	return telling.MarkEnds(c, m.EmptyMark.float(), m.FullMark.float())
}

// claims reads the claimed spans.
func (in senderInput) claims() ([]curve.Claim, error) {
	claims, err := telling.Claims(in.Claimed)
	return claims, flagged(err)
}

// scaleInput chooses what 100 % means.
type scaleInput struct {
	Scale         string `default:"mark" enum:"mark,volume,fill,usable" help:"What 100 % means: mark (the dial's own scale), volume (the whole tank), fill (as full as the tank may be filled) or usable (the same, and 0 % when nothing more can be drawn)."`
	PermittedFill string `placeholder:"PERCENT" help:"The permitted fill of the water capacity: 80 is common practice for LPG; the tank's plate and the local code decide."`
	Heel          string `placeholder:"VOLUME" help:"What is left when nothing more can be drawn, such as 2L, for --scale usable."`
	Capacity      string `placeholder:"VOLUME" help:"The water capacity, such as 54L, where there is no tank file."`
}

// scale makes the scale of marks in a unit, through the tank in a file where one
// is given. Without one fill goes by the marks alone. Where the ends of the mark
// scale are NaN, they are those of the tank.
func (in scaleInput) scale(s streams, tankFile string, unit curve.MarkUnit, empty, full float64) (scale.Scale, []finding.Finding, error) {
	none := scale.Scale{}
	st, err := in.stated(s, tankFile, unit)
	if err != nil {
		return none, nil, err
	}
	kind := scale.Kind(in.Scale)
	switch {
	case kind == scale.Fill && st.permitted == 0:
		return none, nil, errors.New("--scale fill needs --permitted-fill, such as 80; the tank's plate and the local code say how much")
	case kind == scale.Usable && !st.hasHeel:
		return none, nil, errors.New("--scale usable needs --heel, what is left when nothing more can be drawn, such as 2L")
	case in.PermittedFill != "" && kind == scale.Mark:
		return none, nil, fmt.Errorf("--permitted-fill is for --scale fill, volume or usable; found --scale %s", kind)
	case in.Heel != "" && kind != scale.Usable:
		return none, nil, fmt.Errorf("--heel is for --scale usable; found --scale %s", kind)
	}
	dial := unit == curve.Dial
	through := st.shaped || kind == scale.Volume || kind == scale.Usable || kind == scale.Fill && st.capacity > 0 && unit == curve.Volume
	switch {
	case !through:
		made, err := scale.New(kind, st.permitted, empty, full, dial)
		return made, nil, err
	case st.fillingErr != nil && kind == scale.Mark:
		made, err := scale.New(kind, 1, empty, full, dial)
		return made, st.findings, err
	case st.fillingErr != nil:
		return none, nil, fmt.Errorf("--scale %s: %w", kind, st.fillingErr)
	}
	filling := st.filling
	if dial && !st.shaped {
		filling = scale.Straight(empty, full, filling.Capacity, filling.Words)
	}
	if math.IsNaN(empty) || math.IsNaN(full) {
		empty, full = filling.Mark(0), filling.Mark(1)
	}
	heel := quantity.Share(0)
	if kind == scale.Usable {
		if filling.Capacity == 0 {
			return none, nil, errors.New("--heel in litres is a part of the tank only with its water capacity; give --capacity, such as 54L, or --tank")
		}
		heel = quantity.Share(st.heel / filling.Capacity)
	}
	made, err := scale.Through(kind, filling, st.permitted, heel, empty, full, dial)
	if err != nil {
		return none, nil, fmt.Errorf("--scale %s: %w", kind, err)
	}
	return made, st.findings, nil
}

// stated is what is said of a tank on the command line and in its file.
type stated struct {
	permitted      quantity.Share // 0: not stated
	heel, capacity quantity.CubicMetre
	hasHeel        bool
	shaped         bool // there is a tank file
	filling        scale.Filling
	fillingErr     error
	findings       []finding.Finding
}

// stated reads the statements and the tank file. What both say has to agree.
func (in scaleInput) stated(s streams, tankFile string, unit curve.MarkUnit) (stated, error) {
	var st stated
	if in.PermittedFill != "" {
		v, err := quantity.ParseNumber(strings.TrimSuffix(strings.TrimSpace(in.PermittedFill), "%"), true)
		if err != nil {
			return st, fmt.Errorf("--permitted-fill %q isn't a percentage; write it like 80", in.PermittedFill)
		}
		if st.permitted = quantity.Share(v / 100); !(v >= 1 && v <= 100) {
			return st, fmt.Errorf("a permitted fill lies between 1 and 100 %%; found %s", st.permitted)
		}
	}
	for _, v := range []struct {
		flag, text string
		into       *quantity.CubicMetre
	}{{"--heel", in.Heel, &st.heel}, {"--capacity", in.Capacity, &st.capacity}} {
		if v.text == "" {
			continue
		}
		volume, err := quantity.ParseCubicMetre(v.text)
		if err != nil {
			return st, fmt.Errorf("%s %w", v.flag, err)
		}
		if !(volume > 0) {
			return st, fmt.Errorf("%s %s isn't a volume; expected more than 0 L", v.flag, volume)
		}
		*v.into = volume
	}
	st.hasHeel = in.Heel != ""
	if tankFile == "" {
		st.filling, st.fillingErr = gauge.Unshaped(st.capacity, unit)
		return st, nil
	}
	if in.Capacity != "" {
		return st, errors.New("--capacity and --tank both say how much the tank holds; leave one of them out")
	}
	file, t, findings, err := s.tank(tankFile)
	if err != nil {
		return st, err
	}
	st.shaped, st.capacity, st.findings = true, t.Capacity(), findings
	if p, ok := file.PermittedFill(); ok {
		if in.PermittedFill != "" && math.Abs(float64(p-st.permitted)) > 1e-9 {
			return st, fmt.Errorf("--permitted-fill says %s and %s says %s; correct one of them", st.permitted, tankFile, p)
		}
		st.permitted = p
	}
	if h, ok := file.Heel(t); ok && !st.hasHeel {
		st.heel, st.hasHeel = h, true
	}
	sender, err := file.SenderIn(t)
	if err != nil {
		return st, fmt.Errorf("%s: %w", tankFile, err)
	}
	st.findings = append(st.findings, job.UncountedPoint(file)...)
	st.filling, st.fillingErr = gauge.Filling(t, sender, unit)
	return st, nil
}
