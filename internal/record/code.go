package record

import (
	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/tag"
)

// codeSide is how large a code is on paper, in pixels: 42 mm with its white, so
// that a module of the largest code is 0.4 mm and a telephone reads it from a
// hand's breadth (common practice, no source).
const codeSide = 42 * 96 / 25.4

// codeOf is the code of one tank of a job, so many pixels wide; false where there
// is nothing to put into it yet, or where it couldn't be read back.
func codeOf(j *job.Job, index int, id string, side float64) (Code, bool) {
	// The tank alone, as names are found by the first that has them.
	alone := *j
	alone.Tanks = j.Tanks[index : index+1]
	alone.History, alone.Signature = nil, nil
	if _, err := alone.Encode(); err != nil { // no job that a file could hold
		return Code{}, false
	}
	made, err := tag.Encode(&alone, "")
	if err != nil {
		return Code{}, false
	}
	modules, err := tag.Modules(made.Text)
	if err != nil {
		return Code{}, false
	}
	name := orElse(clean(j.Tanks[index].Name), "Tank without a name")
	c := Code{
		ID: id + "-code", Heading: "Settings and curve as a code", Text: made.Text,
		Drawing: chart.Code(name+": settings and curve as a QR code", "A telephone's camera reads it.", modules.Rows(), side),
		Captions: []string{
			"This code holds what was keyed in, and the curve of the sender. A telephone's camera gives its text; no network is needed.",
			"gaugewright job from-qr TEXT makes a job of it again.",
		},
	}
	c.Captions = append(c.Captions, cleaned(made.Notes)...)
	return c, true
}
