package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"sort"

	"github.com/alecthomas/kong"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/telling"
)

type tankVerb struct {
	File    string     `arg:"" help:"The tank file (JSON), or - for standard input; see docs/tank.md."`
	Height  []question `type:"question" placeholder:"LENGTH" help:"The volume at this height of the surface at the sensor, such as 120mm. Repeatable; answers come in the order asked."`
	Volume  []question `type:"question" placeholder:"VOLUME" help:"The height at this volume, such as 40L. Repeatable; answers come in the order asked."`
	Mark    []question `type:"question" placeholder:"MARK" help:"Height and volume at this mark of the sender, such as 40% or, for a float read in millimetres, 120mm; needs a sender in the file. Repeatable."`
	Strap   string     `placeholder:"LENGTH" help:"A strapping table as CSV in steps of this height, such as 10mm."`
	Pitch   string     `placeholder:"ANGLE" help:"The tank's pitch, nose up, such as 3deg or -3deg."`
	Roll    string     `placeholder:"ANGLE" help:"The tank's roll, starboard down, such as 1deg or -1deg."`
	Suggest bool       `help:"Suggest the length of the sender's rod or arm for this tank."`
	Poured  string     `placeholder:"CSV" help:"Litres poured in, against the height (height_mm, volume_l: fits the sizes of a box or cylinder) or the dial (mark_pct, volume_l: tells what the dial is marked in)."`
	Doubt   string     `default:"0.2L" placeholder:"VOLUME" help:"The standard uncertainty of a poured volume, for --poured."`
	Taped   string     `placeholder:"LENGTH" help:"The sizes in the file were taken from outside with a tape, to this standard uncertainty, such as 3mm, of a wall that isn't known: hold them against capacity_l."`
	Drawing string     `placeholder:"FILE" help:"Write a section with the first level asked for as an SVG drawing."`
	JSON    bool       `name:"json" help:"Write the result as JSON."`
}

// question is one thing asked, and when: flags of several kinds are answered in
// the order of the command line.
type question struct {
	text  string
	order int
}

// questions decodes flags of type question for one command line.
func questions() kong.Mapper {
	asked := 0
	return kong.MapperFunc(func(ctx *kong.DecodeContext, target reflect.Value) error {
		var text string
		if err := ctx.Scan.PopValueInto(ctx.Value.Name, &text); err != nil {
			return err
		}
		asked++
		target.Set(reflect.Append(target, reflect.ValueOf(question{text, asked})))
		return nil
	})
}

// rowsMost is the longest strapping table: a millimetre's step for the largest tank.
const rowsMost = 100_000

// Run answers what was asked of a tank.
func (v *tankVerb) Run(s streams) error {
	tilt, err := v.tilt()
	if err != nil {
		return err
	}
	file, t, findings, err := s.tank(v.File)
	if err != nil {
		return err
	}
	levels, err := t.At(tilt)
	if err != nil {
		return fmt.Errorf("%s: %w", v.File, err)
	}
	sender, err := file.SenderIn(t)
	if err != nil {
		return fmt.Errorf("%s: /sender: %w", v.File, err)
	}
	r := tankReport{telling.TankReport{File: file, Tank: t, Levels: levels, Sender: sender, Findings: findings}}
	if r.Answers, err = v.answers(&r); err != nil {
		return err
	}
	if v.Strap != "" {
		rows, err := v.strapping(levels, t)
		if err != nil {
			return err
		}
		r.Answers = append(r.Answers, rows...)
	}
	if err := r.Tell(v.Strap == "" || v.JSON); err != nil {
		return fmt.Errorf("%s: %w", v.File, err)
	}
	if err := v.examine(s, &r); err != nil {
		return err
	}
	if v.Drawing != "" {
		if err := v.draw(&r); err != nil {
			return err
		}
	}
	switch {
	case v.JSON:
		err = writeJSON(s.out, r.result())
	case v.Strap != "":
		writeStrapping(s.out, t, r.Answers)
		writeFindings(s.err, r.Findings)
	default:
		r.print(s.out)
	}
	if err == nil && finding.Worst(r.Findings) == finding.Bad {
		err = errBad
	}
	return err
}

// answers gives the levels asked for, in the order of the command line.
func (v *tankVerb) answers(r *tankReport) ([]telling.TankLevel, error) {
	type asked struct {
		question
		kind string
	}
	var list []asked
	for _, q := range v.Height {
		list = append(list, asked{q, "--height"})
	}
	for _, q := range v.Volume {
		list = append(list, asked{q, "--volume"})
	}
	for _, q := range v.Mark {
		list = append(list, asked{q, "--mark"})
	}
	sort.Slice(list, func(i, k int) bool { return list[i].order < list[k].order })
	var out []telling.TankLevel
	for _, q := range list {
		var l telling.TankLevel
		var err error
		switch q.kind {
		case "--height":
			l, err = r.ByHeight(q.text)
		case "--volume":
			l, err = r.ByVolume(q.text)
		default:
			if l, err = r.ByMark(q.text); errors.Is(err, telling.ErrNoSender) {
				err = fmt.Errorf("%w, or ask with --height", err)
			}
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q.kind, err)
		}
		out = append(out, l)
	}
	return out, nil
}

// tank reads a tank file and builds the tank; other files it names are found
// beside it.
func (s streams) tank(path string) (*tankfile.File, *tank.Tank, []finding.Finding, error) {
	var file *tankfile.File
	var err error
	folder := "."
	if path == "-" {
		file, err = tankfile.Read(s.in, standardInput)
	} else {
		folder = filepath.Dir(path)
		file, err = tankfile.ReadFile(path)
	}
	if err != nil {
		return nil, nil, nil, err
	}
	t, findings, err := file.Tank(beside(folder))
	if err != nil {
		return nil, nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	return file, t, findings, nil
}

// beside opens files relative to a folder.
func beside(folder string) func(name string) (io.ReadCloser, error) {
	return func(name string) (io.ReadCloser, error) {
		if !filepath.IsAbs(name) {
			name = filepath.Join(folder, name)
		}
		return os.Open(name)
	}
}

func (v *tankVerb) tilt() (tank.Tilt, error) {
	var tilt tank.Tilt
	for _, a := range []struct {
		name, text string
		to         *float64
	}{{"--pitch", v.Pitch, &tilt.Pitch}, {"--roll", v.Roll, &tilt.Roll}} {
		if a.text == "" {
			continue
		}
		angle, err := quantity.ParseRadian(a.text)
		if err != nil {
			return tilt, fmt.Errorf("%s: %w", a.name, err)
		}
		if math.Abs(float64(angle)) > tank.MaxTilt {
			return tilt, fmt.Errorf("%s: found %s; expected -60deg to 60deg", a.name, angle)
		}
		*a.to = float64(angle)
	}
	return tilt, nil
}

// strapping gives the rows of a strapping table from the lowest inside level to
// the highest.
func (v *tankVerb) strapping(levels *tank.Levels, t *tank.Tank) ([]telling.TankLevel, error) {
	step, err := quantity.ParseMetre(v.Strap)
	if err != nil {
		return nil, fmt.Errorf("--strap: %w", err)
	}
	if !(step > 0) {
		return nil, fmt.Errorf("--strap: found %s; expected a step above nothing, such as 10mm", step)
	}
	rows := float64(t.Height()/step) + 1
	if rows > rowsMost {
		return nil, fmt.Errorf("--strap: steps of %s make a table of %.0f rows; expected up to %d rows, with steps of %s or more",
			v.Strap, rows, rowsMost, quantity.Metre(float64(t.Height())/rowsMost))
	}
	var out []telling.TankLevel
	for i := 0; ; i++ {
		h := quantity.Metre(float64(i)) * step
		if h >= t.Height()*(1-1e-9) {
			return append(out, telling.LevelAt(levels, t.Height())), nil
		}
		out = append(out, telling.LevelAt(levels, h))
	}
}

// writeStrapping writes a strapping table as CSV; a tank file can read it back.
func writeStrapping(w io.Writer, t *tank.Tank, rows []telling.TankLevel) {
	fmt.Fprintln(w, "height_mm,volume_l,of_capacity_pct,surface_m2")
	for _, r := range rows {
		fmt.Fprintf(w, "%s,%s,%s,%s\n", quantity.Short(float64(r.Height)*1000, 6), quantity.Short(float64(r.Volume)*1000, 6),
			quantity.Short(float64(r.Volume/t.Capacity())*100, 6), quantity.Short(r.Surface, 8))
	}
}
