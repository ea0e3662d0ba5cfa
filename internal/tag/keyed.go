package tag

import (
	"errors"
	"slices"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

// settingOf puts what was keyed in, and what it was chosen for, into a payload.
func settingOf(s job.Setting) (*setting, error) {
	out := &setting{
		Readout: place(readouts, s.Readout), Scale: place(scales, scale.Kind(s.Scale)),
		Empty: numbered(s.EmptyMark), Full: numbered(s.FullMark),
		Step: number(s.StepOhm), Margin: number(s.MarginOhm), Date: days(s.Date),
		Objective: uint8(1 + slices.Index(aims, span.Objective(s.Objective))),
		Points:    uint32(max(0, s.Points)), StepPct: number(s.StepPct),
		Lowest: number(s.LowestOhm), Highest: number(s.HighestOhm),
	}
	if s.Readout != job.Table {
		out.Ends = []number{number(*s.LowerOhm), number(*s.UpperOhm)}
	}
	var err error
	switch s.Readout {
	case job.Table:
		out.Table, err = columns(len(s.Table), func(i int) (float64, float64) { return s.Table[i].Ohm, s.Table[i].Pct })
	case job.EndsThenTable:
		out.Then, err = columns(len(s.ThenTable), func(i int) (float64, float64) { return s.ThenTable[i].InPct, s.ThenTable[i].Pct })
	}
	return out, err
}

// columns writes a table of two columns.
func columns(n int, at func(int) (a, b float64)) ([]column, error) {
	left, right := make([]float64, n), make([]float64, n)
	for i := range n {
		left[i], right[i] = at(i)
	}
	a, ok := toColumn(left)
	b, also := toColumn(right)
	if !ok || !also {
		return nil, errors.New("its table has numbers of more digits than a code takes; round them to nine decimals")
	}
	return []column{a, b}, nil
}

// entries reads what columns writes.
func entries(table []column, take func(a, b float64)) error {
	wrong := errors.New("a table's columns can't be read, or differ in length")
	if len(table) != 2 {
		return wrong
	}
	left, ok := table[0].figures()
	right, also := table[1].figures()
	if !ok || !also || len(left) != len(right) {
		return wrong
	}
	for i := range left {
		take(left[i], right[i])
	}
	again, err := columns(len(left), func(i int) (float64, float64) { return left[i], right[i] })
	if err != nil || !slices.Equal(again[0], table[0]) || !slices.Equal(again[1], table[1]) {
		return errors.New("a table's columns aren't written in the largest power of ten that holds them")
	}
	return nil
}

// restore makes the job's setting.
func (s *setting) restore(signal curve.Signal) (*job.Setting, error) {
	if int(s.Readout) >= len(readouts) || int(s.Scale) >= len(scales) || int(s.Objective) > len(aims) {
		return nil, errors.New("the readout, the scale or what it was chosen for is of a kind that version 1 doesn't have")
	}
	out := &job.Setting{
		Readout: readouts[s.Readout], Scale: string(scales[s.Scale]),
		StepOhm: float64(s.Step), MarginOhm: float64(s.Margin),
		EmptyMark: floated(s.Empty), FullMark: floated(s.Full),
		Numbers: job.NumbersOf(signal),
		Points:  int(s.Points), StepPct: float64(s.StepPct),
		LowestOhm: float64(s.Lowest), HighestOhm: float64(s.Highest),
	}
	if s.Objective > 0 {
		out.Objective = string(aims[s.Objective-1])
	}
	var err error
	if out.Date, err = date(s.Date); err != nil {
		return nil, err
	}
	isTable, isThen := out.Readout == job.Table, out.Readout == job.EndsThenTable
	if (len(s.Ends) == 2) == isTable || (s.Table != nil) != isTable || (s.Then != nil) != isThen || isTable && s.Ends != nil {
		return nil, errors.New("the setting hasn't the numbers that its readout takes, or has others besides")
	}
	switch {
	case isTable:
		err = entries(s.Table, func(value, pct float64) { out.Table = append(out.Table, job.Entry{Ohm: value, Pct: pct}) })
	case isThen:
		err = entries(s.Then, func(in, pct float64) { out.ThenTable = append(out.ThenTable, job.Correction{InPct: in, Pct: pct}) })
	}
	if !isTable {
		out.LowerOhm, out.UpperOhm = floated(&s.Ends[0]), floated(&s.Ends[1])
	}
	if err != nil {
		return nil, err
	}
	_, err = out.Keyed()
	return out, err
}
