package telling

import (
	"fmt"
	"math"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
	"gaugewright/internal/tankfile"
)

// TankReport is what was found out of a tank. File, Tank and Levels have to be
// there; Findings may hold what was found before.
type TankReport struct {
	File     *tankfile.File
	Tank     *tank.Tank
	Levels   *tank.Levels // of the tank as it stands
	Sender   tank.Sender  // nil: none stated
	Answers  []TankLevel
	Seen     *tank.Seen  // set by Tell; nil: no sender
	Shift    *tank.Shift // of a dial head, from its known point; nil: none
	Leanings []tank.Leaning
	Findings []finding.Finding
}

// TankLevel is one answer.
type TankLevel struct {
	Height  quantity.Metre
	Volume  quantity.CubicMetre
	Surface float64 // m²
	Note    string  // where the figure needs a word of care
}

// LevelAt gives the level at a height of the surface at the sensor.
func LevelAt(levels *tank.Levels, h quantity.Metre) TankLevel {
	return TankLevel{Height: h, Volume: levels.Volume(h), Surface: levels.Surface(h)}
}

// Lines say what the tank is: its capacity and height, where heights are read, how
// it stands.
func (r *TankReport) Lines() []string {
	name := r.File.Name
	if name == "" {
		name = "This tank"
	}
	out := []string{fmt.Sprintf("%s (%s) holds %s and is %s high inside.", name, strings.ReplaceAll(string(r.File.Shape), "-", " "),
		capacityText(r.Tank.Capacity()), r.Tank.Height())}
	if s := r.Tank.Sensor(); s.X != 0 || s.Y != 0 {
		out = append(out, fmt.Sprintf("Heights are read %s.", placeText(s)))
	}
	if tilt := r.Levels.Tilt(); !tilt.Level() {
		out = append(out, fmt.Sprintf("It stands %s.", tilt))
	}
	return out
}

// Heights is the table of the answers or, where nothing was asked, of every tenth
// of the height; the notes say where a figure needs a word of care.
func (r *TankReport) Heights() (g Grid, notes []string) {
	rows := r.Answers
	if len(rows) == 0 {
		for i := range 11 {
			rows = append(rows, LevelAt(r.Levels, r.Tank.Height()*quantity.Metre(i)/10))
		}
	}
	g = Grid{Head: []string{"height, mm", "volume, L", "of capacity, %", "surface, m²"}}
	columns := make([][]string, 4)
	for i, f := range []func(TankLevel) float64{
		func(l TankLevel) float64 { return float64(l.Height) * 1000 },
		func(l TankLevel) float64 { return float64(l.Volume) * 1000 },
		func(l TankLevel) float64 { return float64(l.Volume/r.Tank.Capacity()) * 100 },
		func(l TankLevel) float64 { return l.Surface },
	} {
		values := make([]float64, len(rows))
		for k, l := range rows {
			values[k] = f(l)
		}
		columns[i] = quantity.Aligned(values, []int{1, 2, 1, 3}[i])
	}
	for k, l := range rows {
		g.Add(columns[0][k], columns[1][k], columns[2][k], columns[3][k])
		if l.Note != "" {
			notes = append(notes, fmt.Sprintf("At %s mm: %s.", columns[0][k], l.Note))
		}
	}
	return g, notes
}

// capacityText prints a capacity to a tenth of a litre, a small one closer.
func capacityText(v quantity.CubicMetre) string {
	decimals := 1
	if v < 0.01 {
		decimals = 3
	}
	return quantity.Short(float64(v)*1000, decimals) + " L"
}

// placeText says where a sensor stands.
func placeText(s tank.Sensor) string {
	var parts []string
	side := func(v float64, plus, minus string) {
		if v != 0 {
			word := plus
			if v < 0 {
				word = minus
			}
			parts = append(parts, quantity.Metre(math.Abs(v)).String()+" "+word)
		}
	}
	side(s.X, "forward", "aft")
	side(s.Y, "to port", "to starboard")
	return strings.Join(parts, ", ") + " of the middle"
}
