package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"

	"gaugewright/internal/chart"
	"gaugewright/internal/finding"
	"gaugewright/internal/keep"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/tank"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/telling"
)

// examine adds what only comes with a question of its own: a sender's length,
// poured litres, sizes taken with a tape.
func (v *tankVerb) examine(s streams, r *tankReport) error {
	if v.Suggest {
		text, err := r.Suggestion()
		if err != nil {
			return fmt.Errorf("--suggest: %w", err)
		}
		r.Findings = append(r.Findings, finding.Finding{Kind: "suggestion", Weight: finding.Note, Text: text})
	}
	if v.Poured != "" {
		found, err := v.poured(s, r)
		if err != nil {
			return err
		}
		r.Findings = append(r.Findings, found...)
	}
	if v.Taped != "" {
		found, err := v.taped(r)
		if err != nil {
			return fmt.Errorf("--taped: %w", err)
		}
		r.Findings = append(r.Findings, found...)
	}
	return nil
}

// pouredMost is the most rows of a file of poured litres.
const pouredMost = 2000

// poured fits the sizes to heights and litres, or tells what a dial is marked
// in.
func (v *tankVerb) poured(s streams, r *tankReport) ([]finding.Finding, error) {
	u, err := quantity.ParseCubicMetre(v.Doubt)
	if err != nil || !(u > 0) {
		return nil, fmt.Errorf("--doubt %q isn't the doubt of a volume; write it like 0.2L", v.Doubt)
	}
	in, err := s.open(v.Poured)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	choice, pairs, _, err := tankfile.ReadPairs(in, tankfile.Poured, pouredMost)
	if err != nil {
		return nil, fmt.Errorf("%s%w", v.Poured, err)
	}
	if tankfile.Poured[choice][0].Name == "mark_pct" {
		shown := make([]tank.Shown, len(pairs))
		for i, p := range pairs {
			shown[i] = tank.Shown{Mark: p[0] / 100, Volume: quantity.CubicMetre(p[1] / 1000), U: u}
		}
		var arm *tank.Arm
		if d, ok := r.Sender.(tank.Dial); ok {
			arm = d.Arm
		}
		told, err := tank.TellMarking(r.Tank, arm, shown, telling.DialDoubt)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", v.Poured, err)
		}
		return told.Findings, nil
	}
	guess, err := sizesOf(r.File, 0, false)
	if err != nil {
		return nil, fmt.Errorf("--poured: %w", err)
	}
	points := make([]tank.Poured, len(pairs))
	for i, p := range pairs {
		points[i] = tank.Poured{Height: quantity.Metre(p[0] / 1000), Volume: quantity.CubicMetre(p[1] / 1000), U: u}
	}
	fit, err := tank.FitPoured(points, guess, nil)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", v.Poured, err)
	}
	return fit.Findings, nil
}

// sizesOf gives the sizes of a box or a cylinder as a tape gave them, or as
// guesses.
func sizesOf(f *tankfile.File, u quantity.Metre, known bool) (tank.Dimensions, error) {
	size := func(mm float64) tank.Size {
		return tank.Size{Value: quantity.Metre(mm / 1000), U: u, Known: known}
	}
	d := tank.Dimensions{Length: size(f.LengthMM), Width: size(f.WidthMM), Height: size(f.HeightMM), Diameter: size(f.DiameterMM)}
	switch f.Shape {
	case tankfile.Box:
		d.Form = tank.BoxForm
		d.Height.Known = true // how high a box is doesn't show in what was poured
	case tankfile.UprightCylinder:
		d.Form = tank.UprightForm
		d.Height = size(max(f.LengthMM, f.OverallLengthMM))
		d.Height.Known = true
	case tankfile.LyingCylinder:
		d.Form = tank.LyingForm
		if f.OverallLengthMM > 0 {
			d.Length = size(f.OverallLengthMM)
		}
	default:
		return d, fmt.Errorf("only the sizes of a box and of a cylinder can be told so; found %s", f.Shape)
	}
	if f.Heads != nil {
		switch f.Heads.Both {
		case "flat":
		case "ellipsoidal-2-1", "korbbogen", "kloepper", "asme-fd":
			// Dished heads are bulged by 0.34 to 0.51 of the radius.
			d.Heads = map[string]float64{"ellipsoidal-2-1": 0.5, "korbbogen": 0.509, "kloepper": 0.388, "asme-fd": 0.339}[f.Heads.Both]
		case "hemispherical":
			d.Heads = 1
		default:
			return d, errors.New("only a cylinder with two like heads can be told so")
		}
		if d.Form == tank.UprightForm && d.Heads > 0 {
			return d, errors.New("only an upright cylinder with flat ends can be told so")
		}
	}
	return d, nil
}

// taped holds outside sizes against the stated capacity.
func (v *tankVerb) taped(r *tankReport) ([]finding.Finding, error) {
	u, err := quantity.ParseMetre(v.Taped)
	if err != nil {
		return nil, err
	}
	stated, ok := r.File.Capacity()
	if !ok {
		return nil, errors.New("the tank file states no capacity_l to hold the sizes against")
	}
	sizes, err := sizesOf(r.File, u, true)
	if err != nil {
		return nil, err
	}
	outside := tank.Outside{Dimensions: sizes}
	if r.File.WallMM > 0 {
		outside.Wall = tank.Size{Value: quantity.Metre(r.File.WallMM / 1000), Known: true}
	}
	if sizes.Form == tank.LyingForm && r.File.OverallLengthMM == 0 && sizes.Heads > 0 {
		return nil, errors.New("the length of a vessel with curved heads is taken over all; state overall_length_mm")
	}
	check, err := tank.MeasuredCapacity(outside, stated)
	return check.Findings, err
}

// open opens a file for reading; - is standard input.
func (s streams) open(path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(s.in), nil
	}
	return os.Open(path)
}

// draw writes the section drawing with the first level asked for.
func (v *tankVerb) draw(r *tankReport) error {
	if len(r.Tank.Facets(0.01).Triangles) == 0 {
		return fmt.Errorf("--drawing: the shape of a strapping table isn't known; state its length_mm and width_mm, or draw another shape")
	}
	height := r.Tank.Height() / 2
	if len(r.Answers) > 0 {
		height = r.Answers[0].Height
	}
	l := telling.LevelAt(r.Levels, height)
	shown := record.SectionLevel{Height: l.Height, Volume: l.Volume}
	if p, ok := r.File.PermittedFill(); ok {
		shown.Permitted = quantity.CubicMetre(p) * r.Tank.Capacity()
	}
	var svg bytes.Buffer
	if err := record.TankSection(r.Levels, shown, r.File.Name, chart.Plain).SVG(&svg, "section"); err != nil {
		return err
	}
	return keep.File(v.Drawing, svg.Bytes())
}
