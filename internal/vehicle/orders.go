package vehicle

import (
	"fmt"
	"math"
	"slices"

	"gaugewright/internal/quantity"
)

// State is how a tank stands.
type State struct {
	Name      string
	Contents  Contents
	Capacity  quantity.CubicMetre
	Permitted quantity.Share
	True      quantity.Share
	Book      Book
	Faults    []Kind // that are there at the time of the next reading
}

// State gives how a tank stands, by its place in the plan.
func (v *Vehicle) State(i int) State {
	in := v.tanks[i]
	s := State{Name: in.plan.Name, Contents: in.plan.Contents, Capacity: quantity.CubicMetre(in.shape.capacity),
		Permitted: in.plan.Permitted, True: in.share(), Book: in.book}
	for _, f := range in.faults {
		if f.at(v.Elapsed()) {
			s.Faults = append(s.Faults, f.Kind)
		}
	}
	return s
}

// Fault puts a fault in, whose times are after the start of the vehicle.
func (v *Vehicle) Fault(f Fault) error {
	i := v.find(f.Tank)
	if i < 0 {
		return v.unknown(f.Tank)
	}
	if err := f.check(); err != nil {
		return err
	}
	v.tanks[i].faults = append(v.tanks[i].faults, f)
	return nil
}

// Mend takes all faults of a tank away that are there now, and says how many
// there were.
func (v *Vehicle) Mend(tank string) (int, error) {
	i := v.find(tank)
	if i < 0 {
		return 0, v.unknown(tank)
	}
	in, now := v.tanks[i], v.Elapsed()
	before := len(in.faults)
	in.faults = slices.DeleteFunc(in.faults, func(f Fault) bool { return f.at(now) })
	return before - len(in.faults), nil
}

// Pour fills in from now on, or draws off where the volume is below 0. It gives
// what will go in: no more than up to the permitted fill, no less than empty.
func (v *Vehicle) Pour(tank string, by quantity.CubicMetre) (quantity.CubicMetre, error) {
	i := v.find(tank)
	if i < 0 {
		return 0, v.unknown(tank)
	}
	if math.IsNaN(float64(by)) || math.Abs(float64(by)) > 1e3 {
		return 0, fmt.Errorf("tank %s: a volume of %g m³; expected a number of at most 1000", tank, float64(by))
	}
	in := v.tanks[i]
	room := float64(in.plan.Permitted)*in.shape.capacity - in.volume
	v.pour(Pour{Tank: tank, At: v.Elapsed(), By: by})
	return quantity.CubicMetre(min(max(float64(by), -in.volume), max(0, room))), nil
}

func (v *Vehicle) pour(p Pour) {
	if p.Rate <= 0 {
		p.Rate = usualPour
	}
	in := v.tanks[v.find(p.Tank)]
	in.pours = append(in.pours, running{at: p.At, left: float64(p.By), rate: float64(p.Rate)})
}

func (v *Vehicle) unknown(tank string) error {
	names := make([]string, len(v.plan.Tanks))
	for i, t := range v.plan.Tanks {
		names[i] = t.Name
	}
	return fmt.Errorf("there is no tank %q; expected one of %q", tank, names)
}
