package vehicle

import (
	"math"
	"math/rand/v2"
	"time"

	"gaugewright/internal/quantity"
)

// inside is one tank with what is in it.
type inside struct {
	plan   Tank
	draw   *rand.Rand
	shape  *shape
	probe  *probe
	volume float64 // m³
	book   Book
	into   []int // tanks that take what is used here

	open    float64 // s for which a tap is still open
	filling bool    // by the plan's Refill
	letting bool    // by the plan's Drain
	pours   []running

	along, across pendulum
	tuned         struct{ share, step float64 }
	level         float64 // height of the mean surface, m

	faults []Fault
	sender fickle
	line   line
}

// running is a pour that isn't done.
type running struct {
	at   time.Duration
	left float64 // m³, below 0 drawn off
	rate float64 // m³/s
}

// Book is what came into a tank and left it since the start, in m³.
type Book struct{ Filled, Used quantity.CubicMetre }

func newInside(t Tank, draw *rand.Rand) (*inside, error) {
	s, err := newShape(t.Shape)
	if err != nil {
		return nil, err
	}
	in := &inside{plan: t, draw: draw, shape: s, volume: float64(t.Begin) * s.capacity}
	in.level = s.height(float64(t.Begin))
	in.probe = newProbe(t.Sender, s, float64(t.Begin))
	return in, nil
}

func (in *inside) share() quantity.Share {
	return quantity.Share(min(max(in.volume/in.shape.capacity, 0), 1))
}

// take fills in up to the permitted fill and gives what went in.
func (in *inside) take(volume float64) float64 {
	volume = min(volume, max(0, float64(in.plan.Permitted)*in.shape.capacity-in.volume))
	in.volume += volume
	in.book.Filled += quantity.CubicMetre(volume)
	return volume
}

// give draws off what there is and gives it.
func (in *inside) give(volume float64) float64 {
	volume = min(volume, in.volume)
	in.volume -= volume
	in.book.Used += quantity.CubicMetre(volume)
	return volume
}

// flow lets use and pours run for a step in seconds, and gives what was used.
func (in *inside) flow(elapsed time.Duration, step float64, hour int, parked bool) float64 {
	u := &in.plan.Use
	wanted := float64(u.Steady) * step
	if parked && u.Flow > 0 && u.Lasts > 0 {
		// Openings are a Poisson process; how long one lasts is exponential.
		if in.open <= 0 && in.draw.Float64() < -math.Expm1(-u.Taps[hour]*step/3600) {
			in.open = in.draw.ExpFloat64() * u.Lasts.Seconds()
		}
		if in.open > 0 {
			wanted += float64(u.Flow) * min(step, in.open)
			in.open -= step
		}
	}
	used := in.give(wanted)
	in.serve(step, parked)
	rest := in.pours[:0]
	for _, p := range in.pours {
		if elapsed < p.at {
			rest = append(rest, p)
			continue
		}
		asked := min(math.Abs(p.left), p.rate*step)
		if p.left > 0 {
			p.left -= asked
			if in.take(asked) < asked {
				p.left = 0 // as full as it may be
			}
		} else {
			p.left += asked
			if in.give(asked) < asked {
				p.left = 0
			}
		}
		if math.Abs(p.left) > 1e-12 {
			rest = append(rest, p)
		}
	}
	in.pours = rest
	return used
}

// serve fills up and drains as the plan has it.
func (in *inside) serve(step float64, parked bool) {
	share := in.volume / in.shape.capacity
	r, d := &in.plan.Refill, &in.plan.Drain
	if !parked {
		in.filling, in.letting = false, false
		return
	}
	if r.To > 0 {
		in.filling = share < float64(r.To) && (in.filling || share <= float64(r.Below))
		if in.filling {
			rest := (float64(r.To) - share) * in.shape.capacity
			in.take(min(float64(r.Rate)*step, rest))
			in.filling = rest > float64(r.Rate)*step // rounding may leave it just below
		}
	}
	if d.Above > 0 {
		in.letting = share > float64(d.To) && (in.letting || share >= float64(d.Above))
		if in.letting {
			rest := (share - float64(d.To)) * in.shape.capacity
			in.give(min(float64(d.Rate)*step, rest))
			in.letting = rest > float64(d.Rate)*step
		}
	}
}

// tune sets the slosh to the level and to a step in seconds.
func (in *inside) tune(step float64) {
	share := in.volume / in.shape.capacity
	in.level = in.shape.height(share)
	if step == in.tuned.step && math.Abs(share-in.tuned.share) < 1.0/512 {
		return
	}
	in.tuned.share, in.tuned.step = share, step
	surface := in.shape.surface(share)
	depth := max(in.volume/surface, 1e-4*in.shape.tall)
	in.along.tune(FirstMode(in.shape.long, depth), in.plan.Damping, step)
	in.across.tune(FirstMode(surface/in.shape.long, depth), in.plan.Damping, step)
}

// sway goes one tuned step on; the surface at the sender is that of a plane
// through the mean level, held to floor and roof.
func (in *inside) sway(along, across float64) {
	in.along.step(along)
	in.across.step(across)
	h := in.level + in.along.slope*in.plan.Sender.X + in.across.slope*in.plan.Sender.Y
	in.float(min(max(h, 0), in.shape.tall))
}

// footsteps is how often someone moves about in a parked vehicle, per second,
// and swing how fast that sets the surface swinging, rad/s: common practice, no
// source.
const (
	footsteps = 1.0 / 60
	swing     = 0.03
)

// stand is a step of a parked vehicle.
func (in *inside) stand(step, along, across float64) {
	in.tune(step)
	if in.draw.Float64() < min(0.5, footsteps*step) {
		in.along.rate += swing * in.draw.NormFloat64()
		in.across.rate += swing * in.draw.NormFloat64()
	}
	in.sway(along, across)
}
