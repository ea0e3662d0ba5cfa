package kin

import (
	"fmt"
	"math"
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/quantity"
)

// Unit is one sender of a type, as its bench readings showed it.
type Unit struct {
	Job    string `json:"job"` // number of the job it was read for
	Tank   string `json:"tank,omitempty"`
	Serial string `json:"serial,omitempty"`
	Batch  string `json:"batch,omitempty"`
	Date   string `json:"date,omitempty"` // of the bench, YYYY-MM-DD
	// Readings is how many its curve was fitted to.
	Readings int `json:"readings,omitempty"`
	// Noise is the standard deviation of one reading, in what the sender gives,
	// and NoiseDF its degrees of freedom; 0 where no mark was read twice.
	Noise   float64     `json:"noise,omitempty"`
	NoiseDF int         `json:"noise_df,omitempty"`
	Knots   []UnitPoint `json:"knots"` // marks rising
}

// UnitPoint is one mark of a unit's curve.
type UnitPoint struct {
	Mark  float64 `json:"mark"`
	Value float64 `json:"value"`
	// Own is the standard uncertainty that this mark has by itself: scatter, the
	// last digit. Common is what all marks share: the meter, half the hysteresis.
	Own    float64 `json:"own,omitempty"`
	Common float64 `json:"common,omitempty"`
}

// The bounds of what a unit and a type may hold.
const (
	// FewestMarks is how many marks of a unit have to be read for it to count in
	// a type: with fewer, what it does between them is a guess.
	FewestMarks = 5
	MostMarks   = 200
	FewestUnits = 2
	MostUnits   = 500
)

// NewUnit takes the curve of a unit into a type. The curve has to be fitted to
// readings of its own at [FewestMarks] marks or more, and in order: one that
// started from a type would count that type twice. The identity is that of the
// unit given, whose other fields are filled in.
func NewUnit(c *curve.Curve, identity Unit) (Unit, error) {
	u := identity
	name := u.Name()
	if s, ok := c.Source(); ok {
		return u, fmt.Errorf("%s: its curve comes from %s and not from readings of its own alone; a type is gathered from units that were read in full", name, s.From)
	}
	if !c.Ordered() {
		return u, fmt.Errorf("%s: %s", name, c.Disorder())
	}
	points := c.Points()
	if n := len(points); n < FewestMarks {
		return u, fmt.Errorf("%s: only %d marks were read; a unit counts in a type from %d on", name, n, FewestMarks)
	}
	if n := len(points); n > MostMarks {
		points = thinned(points, MostMarks)
	}
	unit := c.Unit()
	u.Readings = len(c.Used())
	u.Knots = make([]UnitPoint, len(points))
	for i, p := range points {
		own, common := c.Scatter(p.Mark)
		u.Knots[i] = UnitPoint{Mark: quantity.Round(unit.ToShown(p.Mark), 9), Value: quantity.Round(float64(p.Ohm), 9), Own: tidy(own), Common: tidy(common)}
	}
	if r := c.Repeatability(); r.DF > 0 {
		u.Noise, u.NoiseDF = tidy(r.SD), r.DF
	} else {
		u.Noise, u.NoiseDF = 0, 0
	}
	return u, nil
}

func thinned(points []curve.Point, most int) []curve.Point {
	out := make([]curve.Point, most)
	for k := range out {
		out[k] = points[k*(len(points)-1)/(most-1)]
	}
	return out
}

// Name names a unit for people: its serial number, or the job and tank.
func (u Unit) Name() string {
	switch {
	case u.Serial != "":
		return "unit " + u.Serial
	case u.Tank != "":
		return fmt.Sprintf("the unit of job %s, %s", u.Job, u.Tank)
	}
	return "the unit of job " + u.Job
}

// Same says whether two entries are of one unit: by the serial number where both
// have one, otherwise by job, tank and date. Job numbers of two workshops may be
// the same by chance, their dates hardly with them.
func (u Unit) Same(v Unit) bool {
	if u.Serial != "" && v.Serial != "" {
		return u.Serial == v.Serial
	}
	return u.Job == v.Job && u.Tank == v.Tank && u.Date == v.Date
}

// drawn is a unit's curve with its two doubts, between its marks too.
type drawn struct {
	unit        Unit
	course      *curve.Curve
	own, common []float64
	x           []float64 // marks inside
}

func (u Unit) draw(marks curve.MarkUnit, gives curve.Signal) (drawn, error) {
	d := drawn{unit: u}
	knots := make([]curve.Knot, len(u.Knots))
	for i, k := range u.Knots {
		d.x = append(d.x, marks.FromShown(k.Mark))
		d.own, d.common = append(d.own, k.Own), append(d.common, k.Common)
		knots[i] = curve.Knot{Mark: d.x[i], Ohm: quantity.Ohm(k.Value), U: quantity.Ohm(k.Own)}
	}
	var err error
	d.course, err = curve.FromKnots(marks, gives, knots, curve.Source{From: u.Name()})
	if err != nil {
		err = fmt.Errorf("%s: %w", u.Name(), err)
	}
	return d, err
}

// at gives the unit's value at a mark within its own and its two standard
// uncertainties; own has the course between the marks as well.
func (d drawn) at(mark float64) (value, own, common float64) {
	mark = min(d.x[len(d.x)-1], max(d.x[0], mark))
	shape, knots := d.course.Scatter(mark) // the course is made of the knots' own U
	i, _ := slices.BinarySearch(d.x, mark)
	i = min(max(i, 1), len(d.x)-1)
	t := (mark - d.x[i-1]) / (d.x[i] - d.x[i-1])
	return float64(d.course.Ohm(mark, curve.Refuse).Ohm), doubt.Combine(knots, shape), math.Max(0, d.common[i-1]+t*(d.common[i]-d.common[i-1]))
}

func sortFloats(v []float64) { slices.Sort(v) }
