package watch

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Corrected gives the instrument with another level at each that it shows: level gives
// that and the standard uncertainty that it adds, for a share of the scale, 0..1, and may
// not fall. Levels are held to 0..1. What the tank holds is by times of what it was. The
// instrument itself stays as it is, and what a source sends in percent is corrected too.
func (in *Instrument) Corrected(level func(share quantity.Share) (level, u quantity.Share), by float64) (*Instrument, error) {
	if !(by > 0) || math.IsInf(by, 0) {
		return nil, fmt.Errorf("a correction of the capacity by %g; expected above 0", by)
	}
	out := *in
	out.share = newTable(-farPoints, 100+farPoints, shareCells)
	extra := newTable(-farPoints, 100+farPoints, shareCells)
	for i := range out.share.y {
		share := quantity.Share(in.share.y[i])
		l, u := level(share)
		if math.IsNaN(float64(l)) || !(u >= 0) || math.IsInf(float64(u), 0) {
			return nil, fmt.Errorf("a correction to %g ± %g at a level of %g; expected a level, and a doubt of 0 or more", float64(l), float64(u), float64(share))
		}
		out.share.y[i], extra.y[i] = min(1, max(0, float64(l))), float64(u)
		if i > 0 && out.share.y[i] < out.share.y[i-1] {
			if out.share.y[i] < out.share.y[i-1]-1e-6 {
				return nil, fmt.Errorf("a correction falls from %g to %g as the level rises to %g; expected one that rises", out.share.y[i-1], out.share.y[i], float64(share))
			}
			out.share.y[i] = out.share.y[i-1]
		}
	}
	out.uShare = &extra
	out.volume, out.mass = in.volume.times(by), in.mass.times(by)
	return &out, nil
}

// times gives an amount that is so many times as much.
func (a *amount) times(by float64) *amount {
	if a == nil || by == 1 {
		return a
	}
	out := &amount{newTable(0, 1, shareCells), newTable(0, 1, shareCells)}
	for i := range out.mid.y {
		out.mid.y[i], out.u.y[i] = by*a.mid.y[i], by*a.u.y[i]
	}
	return out
}

// Show goes on with an instrument that was corrected, or with the one that it was before,
// and gives the level as it is shown then. All that the watch knows stays: a correction is
// of what is shown alone. An instrument with another curve is an error.
func (w *Watch) Show(in *Instrument) (Level, error) {
	if was := w.config.Instrument; in == nil || in.own != was.own || &in.mark.y[0] != &was.mark.y[0] || &in.points.y[0] != &was.points.y[0] {
		return Level{}, fmt.Errorf("tank %q can't go on with an instrument of another curve; expected its own, corrected or not", w.config.Tank)
	}
	w.config.Instrument, w.engine.in = in, in
	return w.level(), nil
}
