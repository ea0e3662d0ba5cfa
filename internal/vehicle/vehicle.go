package vehicle

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"gaugewright/internal/quantity"
)

// Sample is one reading as it leaves the vehicle, and the truth beside it.
type Sample struct {
	Tank   int       // its place in the plan
	Time   time.Time // when it was taken
	Stamp  time.Time // when its clock says it was
	Second bool      // it comes from a second source
	Ohm    float64   // NaN: the source has no value
	True   quantity.Share
	Moving bool // under way, stops in traffic included
	Fault  Kind // what was amiss with it; Sound: nothing
}

// Vehicle is a made-up vehicle. It isn't for several goroutines at once.
type Vehicle struct {
	plan  Plan
	n     int64 // readings so far
	ride  ride
	leg   int
	until time.Duration // end of the leg
	own   bool          // Go was called; the trip doesn't count any more
	tanks []*inside
	out   []Sample
	start float64 // s of the day
}

// New makes a vehicle. The error says what of the plan can't be.
func New(seed uint64, plan Plan) (*Vehicle, error) {
	plan, err := plan.check()
	if err != nil {
		return nil, err
	}
	v := &Vehicle{plan: plan, leg: -1}
	v.ride.draw = rand.New(rand.NewPCG(seed, 0))
	at := plan.Start
	v.start = float64(at.Hour()*3600 + at.Minute()*60 + at.Second())
	for i, t := range plan.Tanks {
		in, err := newInside(t, rand.New(rand.NewPCG(seed, uint64(i)+1)))
		if err != nil {
			return nil, fmt.Errorf("tank %s: %w", t.Name, err)
		}
		for j, o := range plan.Tanks {
			if o.From == t.Name {
				in.into = append(in.into, j)
			}
		}
		v.tanks = append(v.tanks, in)
	}
	for _, p := range plan.Pours {
		v.pour(p)
	}
	for _, f := range plan.Faults {
		in := v.tanks[v.find(f.Tank)]
		in.faults = append(in.faults, f)
	}
	v.ride.set(Parked)
	v.legs(0)
	return v, nil
}

// Plan gives the plan, with what is usual filled in.
func (v *Vehicle) Plan() Plan { return v.plan }

// Elapsed is the time after the start of the next reading.
func (v *Vehicle) Elapsed() time.Duration { return time.Duration(v.n) * v.plan.Every }

// Now is the time of the next reading.
func (v *Vehicle) Now() time.Time { return v.plan.Start.Add(v.Elapsed()) }

// Way is what it is driving on.
func (v *Vehicle) Way() Way { return v.ride.way }

// Go has it drive, or park, from now on, whatever its trip says.
func (v *Vehicle) Go(w Way) {
	v.own = true
	v.ride.set(min(w, Track))
}

// Next goes on to the next time of reading and gives what leaves the vehicle
// then: usually a reading of each tank, in the plan's order; none, several or
// older ones where the connection is at fault. The slice is good until the next
// call.
func (v *Vehicle) Next() []Sample {
	elapsed := v.Elapsed()
	if v.n > 0 {
		v.advance(elapsed)
	}
	v.n++
	now := v.plan.Start.Add(elapsed)
	day := math.Mod(v.start+elapsed.Seconds(), 86400)
	warmth := float64(v.plan.Warmth) + float64(v.plan.Swing)*math.Cos(2*math.Pi*(day-15*3600)/86400)
	v.out = v.out[:0]
	for i, in := range v.tanks {
		s := Sample{Tank: i, Time: now, Stamp: now, True: in.share(), Moving: v.ride.way != Parked}
		v.out = in.send(v.out, s, elapsed, warmth)
	}
	return v.out
}

// advance brings the vehicle from the last reading to this one.
func (v *Vehicle) advance(elapsed time.Duration) {
	step := v.plan.Every.Seconds()
	v.legs(elapsed - v.plan.Every)
	parked := v.ride.way == Parked
	parts := int(math.Ceil(step / flowStep))
	for n := 1; n <= parts; n++ {
		at := elapsed - v.plan.Every*time.Duration(parts-n)/time.Duration(parts)
		v.flow(at, step/float64(parts), parked)
	}
	if parked {
		along, across := v.ride.rest()
		for _, in := range v.tanks {
			in.stand(step, along, across)
		}
		return
	}
	n := max(1, int(math.Round(step/substep)))
	for _, in := range v.tanks {
		in.tune(step / float64(n))
	}
	for range n {
		v.ride.step()
		along, across := v.ride.rest()
		for _, in := range v.tanks {
			in.sway(along, across)
		}
	}
}

// flowStep is the longest step in seconds in which use and pours are reckoned, so
// that taps which are open for less than the time between readings count.
const flowStep = 20

// flow lets use and pours run for a step in seconds up to a time after the start.
func (v *Vehicle) flow(at time.Duration, step float64, parked bool) {
	hour := int(math.Mod(v.start+at.Seconds(), 86400) / 3600)
	for _, in := range v.tanks {
		used := in.flow(at, step, hour, parked)
		for _, j := range in.into {
			v.tanks[j].take(used)
		}
	}
}

// legs goes on to the leg of a time.
func (v *Vehicle) legs(elapsed time.Duration) {
	for !v.own && len(v.plan.Trip) > 0 && elapsed >= v.until {
		if v.leg+1 == len(v.plan.Trip) {
			if !v.plan.Repeat {
				return
			}
			v.leg = -1
		}
		v.leg++
		v.until += v.plan.Trip[v.leg].For
		v.ride.set(v.plan.Trip[v.leg].Way)
	}
}

func (v *Vehicle) find(name string) int {
	for i, t := range v.plan.Tanks {
		if t.Name == name {
			return i
		}
	}
	return -1
}
