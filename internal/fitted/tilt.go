package fitted

import (
	"math"
	"sync"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
	"gaugewright/internal/watch"
)

const (
	// steepest is the tilt up to which a tank is prepared, either way: more than
	// a vehicle stands at with people in it (common practice, no source).
	steepest = 20 * math.Pi / 180
	// tiltTolerance is how exactly volumes at a tilt are known, in parts of the
	// capacity: a fifth of a display's step.
	tiltTolerance = 0.002
)

// levelled turns the mark at which the sender stands in a tilted vehicle into
// that of a level one, by the volume in between. It is nil where the shape of the
// tank, or the way from marks to heights, isn't known. The tank is prepared when
// a tilt is first asked about, since most never are.
func levelled(t *job.Tank) func(mark float64, tilt watch.Tilt) (level float64, ok bool) {
	if t.Shape == nil {
		return nil
	}
	built, sender, _, err := t.Built()
	if err != nil || sender == nil && t.Unit() != curve.Height {
		return nil
	}
	live := sync.OnceValue(func() *tank.Live {
		v, err := tank.NewLive(built, steepest, tiltTolerance*built.Capacity())
		if err != nil {
			return nil
		}
		return v
	})
	upright := built.Ready()
	return func(mark float64, tilt watch.Tilt) (float64, bool) {
		v := live()
		if v == nil {
			return 0, false
		}
		h, ok := quantity.Metre(mark), true
		if sender != nil {
			h, ok = sender.Height(mark)
		}
		volume, known := v.Volume(h, tank.Tilt{Pitch: float64(tilt.Pitch), Roll: float64(tilt.Roll)})
		if !known || !ok && !(volume > 0 && volume < built.Capacity()) {
			return mark, known
		}
		level, err := upright.HeightOf(min(built.Capacity(), max(0, volume)))
		if err != nil {
			return 0, false
		}
		if sender == nil {
			return float64(level), true
		}
		out, _ := sender.Mark(level) // beyond its travel where it stands still
		return out, true
	}
}
