package record

import (
	"gaugewright/internal/job"
	"gaugewright/internal/span"
)

// With gives the view of the same tank with another setting, for pages that show
// what it would do. The curve is the one in hand; checks were made of what is
// keyed in, so the view has none.
func (v View) With(s job.Setting) View {
	v.b.Setting = &s
	v.b.proofs, v.b.proofErr = nil, nil
	v.b.set()
	return v
}

// RulersBeside is Rulers with what another setting would show left faint behind
// it.
func (v View) RulersBeside(other span.Setting) (Figure, bool) {
	if v.b.trial.Rows == nil {
		return Figure{}, false
	}
	return v.b.rulers(other), true
}

// Trial gives the setting tried against the readings; false without a curve and a
// setting.
func (v View) Trial() (span.Trial, bool) { return v.b.trial, v.b.trial.Rows != nil }
