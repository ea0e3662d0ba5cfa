package vehicle

import (
	"math"
	"math/rand/v2"
)

// substep is the step in seconds in which a drive is reckoned: a twentieth of the
// period of a small tank's slosh.
const substep = 0.05

// ride is how the vehicle moves: its acceleration and the slope it stands on.
type ride struct {
	draw  *rand.Rand
	way   Way
	at    int     // stretch of the cycle
	left  float64 // s of it
	speed float64 // m/s
	pull  float64 // m/s² along, of the cycle

	shakeX, shakeY, turn float64 // m/s²
	pitch, roll          float64 // rad

	keep, kick [3]float64 // of the drawn motions, for one substep
}

// set begins a way.
func (r *ride) set(w Way) {
	h := &habits[w]
	r.way, r.at, r.left = w, -1, 0
	if w == Parked {
		r.speed, r.pull, r.shakeX, r.shakeY, r.turn = 0, 0, 0, 0, 0
		r.pitch, r.roll = h.hills*r.draw.NormFloat64(), h.camber*r.draw.NormFloat64()
		return
	}
	// A first-order process that is drawn at even steps: x' = k·x + √(1−k²)·σ·n,
	// k = exp(−step/τ), has the deviation σ and the correlation time τ.
	for i, tau := range [...]float64{h.tauShake, h.tauTurns, h.tauHills} {
		r.keep[i] = math.Exp(-substep / tau)
		r.kick[i] = math.Sqrt(1 - r.keep[i]*r.keep[i])
	}
}

// step goes one substep on, on a way.
func (r *ride) step() {
	h := &habits[r.way]
	for r.left <= 1e-9 {
		r.at = (r.at + 1) % len(h.cycle)
		s := h.cycle[r.at]
		r.left = s.seconds
		r.pull = (s.to/3.6 - r.speed) / s.seconds
	}
	r.left -= substep
	r.speed = max(0, r.speed+r.pull*substep)
	if r.speed < 0.1 {
		// At a stop nothing shakes, and the slope stays.
		r.shakeX, r.shakeY, r.turn = 0, 0, r.keep[1]*r.turn
		return
	}
	r.pitch = r.keep[2]*r.pitch + r.kick[2]*h.hills*r.draw.NormFloat64()
	r.roll = r.keep[2]*r.roll + r.kick[2]*h.camber*r.draw.NormFloat64()
	r.shakeX = r.keep[0]*r.shakeX + r.kick[0]*h.shake*r.draw.NormFloat64()
	r.shakeY = r.keep[0]*r.shakeY + r.kick[0]*h.shake*r.draw.NormFloat64()
	r.turn = r.keep[1]*r.turn + r.kick[1]*h.turns*r.draw.NormFloat64()
}

// rest gives the slopes at which a surface would come to rest, along and across:
// positive is higher forward, and to port.
func (r *ride) rest() (along, across float64) {
	along = -(r.pull+r.shakeX)/Gravity - math.Sin(r.pitch)
	across = -(r.turn+r.shakeY)/Gravity - math.Sin(r.roll)
	return along, across
}
