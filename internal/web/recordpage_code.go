package web

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/tag"
)

// printedCode is the code of one tank: a drawing, and the text that it holds.
type printedCode struct {
	ID, Tank string
	Drawing  chart.Drawing
	Text     string
	Notes    []string
	Lacks    string // why there is none
}

// codesOf gives the printed code of each tank of a job, put together once for as
// long as the job stays as it is.
func (s *Site) codesOf(j *job.Job) []printedCode {
	data, err := j.Encode()
	if err != nil {
		return nil
	}
	sum := job.Checksum(data)
	list, ok := s.codes.get(sum)
	if !ok {
		list = codesOf(j)
		s.codes.put(sum, list)
	}
	return list
}

func codesOf(j *job.Job) []printedCode {
	out := make([]printedCode, len(j.Tanks))
	for i, t := range j.Tanks {
		c := printedCode{ID: "code-" + itoa(i+1), Tank: t.Name}
		code, err := tag.Encode(j, t.Name)
		if err == nil {
			var m tag.Matrix
			if m, err = tag.Modules(code.Text); err == nil {
				c.Drawing = chart.Code("Printed code of "+t.Name, "A square of dark and light modules. What it holds stands as text beside it.", m.Rows(), 240)
				c.Text, c.Notes = code.Text, code.Notes
			}
		}
		if err != nil {
			c.Lacks = asSentence(err.Error())
		}
		out[i] = c
	}
	return out
}
