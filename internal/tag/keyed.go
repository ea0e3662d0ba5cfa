package tag

import (
	"errors"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
)

// restore makes the job's setting.
func (s *setting) restore(signal curve.Signal) (*job.Setting, error) {
	if int(s.Readout) >= len(readouts) || int(s.Scale) >= len(scales) {
		return nil, errors.New("the readout or the scale is of a kind that version 1 doesn't have")
	}
	out := &job.Setting{
		Readout: readouts[s.Readout], Scale: string(scales[s.Scale]),
		StepOhm: float64(s.Step), MarginOhm: float64(s.Margin),
		EmptyMark: floated(s.Empty), FullMark: floated(s.Full),
		Numbers: job.NumbersOf(signal),
	}
	var err error
	if out.Date, err = date(s.Date); err != nil {
		return nil, err
	}
	switch {
	case out.Readout == job.TwoPoint && len(s.Ends) == 2 && s.Table == nil:
		out.LowerOhm, out.UpperOhm = floated(&s.Ends[0]), floated(&s.Ends[1])
	case out.Readout == job.Table && s.Ends == nil && len(s.Table) == 2:
		values, ok := s.Table[0].figures()
		percents, also := s.Table[1].figures()
		if !ok || !also || len(values) != len(percents) {
			return nil, errors.New("the table's columns can't be read or differ in length")
		}
		for i := range values {
			out.Table = append(out.Table, job.Entry{Ohm: values[i], Pct: percents[i]})
		}
		if _, err := settingOf(*out); err != nil {
			return nil, err
		}
	default:
		return nil, errors.New("the setting has neither two end values nor a table of two columns, or both")
	}
	return out, nil
}
