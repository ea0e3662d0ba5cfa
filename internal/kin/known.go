package kin

import "regexp"

// Known is a curve known by knots, without readings of the sender's own: one
// restored from a printed code, or that of a type, which then holds as well how
// units of the type differ. All values are in the shown units that Marks and
// Gives name.
type Known struct {
	// From says in words where it comes from: "sender type …, 7 units of 3
	// batches", "printed code of job 12".
	From string `json:"from"`
	// Marks and Gives name the fields in which marks and values are: "mark_pct",
	// "mark_mm", "mark_l" or "mark_kg"; "ohm", "volt", "milliamp" or
	// "of_supply_pct".
	Marks string `json:"marks"`
	Gives string `json:"gives"`
	// Units and Batches are how many it rests on; 0 for one unit restored.
	Units   int `json:"units,omitempty"`
	Batches int `json:"batches,omitempty"`
	// DF are the degrees of freedom of the spread from unit to unit, 1 or more;
	// 0 stands for a doubt that is simply known.
	DF float64 `json:"df,omitempty"`
	// Noise is the standard deviation of one reading of one unit at one mark, in
	// what it gives; NoiseDF its degrees of freedom. Noise of 0 isn't known.
	Noise   float64 `json:"noise,omitempty"`
	NoiseDF int     `json:"noise_df,omitempty"`
	Knots   []Knot  `json:"knots"` // 2 to 65, marks rising
}

var namesIn = regexp.MustCompile(`^(?:printed code of job (.+)|sender type (.+), [0-9]+ units(?: of .+)?)$`)

// OwnWords gives what a person called that which it is from: the number of a job,
// or the name of a type.
func (k *Known) OwnWords() []string {
	if m := namesIn.FindStringSubmatch(k.From); m != nil {
		return []string{m[1] + m[2]}
	}
	return nil
}

// OwnWords gives every text in the type that a person wrote.
func (t *Type) OwnWords() []string {
	out := []string{t.Name, t.Words}
	for _, u := range t.Units {
		out = append(out, u.Job, u.Tank, u.Batch, u.Serial)
	}
	return out
}

// Knot is one mark of a known curve.
type Knot struct {
	Mark  float64 `json:"mark"`
	Value float64 `json:"value"`
	// U is the standard uncertainty of Value for the unit that it is told of: for
	// a type the next unit, all in. It isn't widened for few degrees of freedom.
	U float64 `json:"u"`
	// Floor is the part of U that no reading takes away, because it is common to
	// all that was read: the meter, the leads, the temperature.
	Floor float64 `json:"floor,omitempty"`
	// Modes are up to three ways in which units differ, each as what one standard
	// deviation of it does here; the same number in all knots. What U² has besides
	// their squares and Floor's is the rest, which hardly goes beyond the mark.
	Modes []float64 `json:"modes,omitempty"`
}

// The bounds of what a Known may hold.
const (
	FewestKnots = 2
	MostKnots   = 65
	MostModes   = 3
)
