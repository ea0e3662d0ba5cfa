package job

import (
	"fmt"
	"slices"

	"gaugewright/internal/curve"
)

// Service gives the readings of one service, from 0, for a curve; see Sheet.
func (t Tank) Service(i int) (curve.Sheet, error) {
	if i < 0 || i >= len(t.Services) {
		return curve.Sheet{}, fmt.Errorf("tank %q has %s; there is none of number %d", t.Name, count(len(t.Services), "service", "services"), i+1)
	}
	return t.sheet(t.Services[i].Readings, fmt.Sprintf("of service %d of tank %q", i+1, t.Name))
}

// ServiceSheets gives the readings of each service, in their order.
func (t Tank) ServiceSheets() ([]curve.Sheet, error) {
	out := make([]curve.Sheet, len(t.Services))
	for i := range out {
		var err error
		if out[i], err = t.Service(i); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// ServiceDoubts gives what is stated of the errors of one service's bench.
func (t Tank) ServiceDoubts(i int) curve.Doubts { return t.Services[i].Doubts.Curve(t.Unit()) }

// AddService puts a later bench behind those that the tank has. How is all that is
// said of it besides the readings. Whether it is of the tank's unit and signal is
// seen when the job is written.
func (t *Tank) AddService(sheet curve.Sheet, how Service) {
	how.Readings = readingsOf(sheet)
	t.Services = append(slices.Clone(t.Services), how)
}
