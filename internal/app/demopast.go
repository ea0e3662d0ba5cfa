package app

import (
	"context"
	"math"
	"time"

	"gaugewright/internal/vehicle"
	"gaugewright/internal/watch"
)

// pastParts are the parts of the demonstration's past: the longer ago, the further
// apart are the readings, so that it is there at once.
var pastParts = []struct {
	length, every time.Duration
	moves         bool // the vehicle drives about; else it stands
	faults        []vehicle.Fault
}{
	{20 * 24 * time.Hour, 5 * time.Minute, false, []vehicle.Fault{
		{Tank: "fresh", Kind: vehicle.Broken, From: 8*24*time.Hour + 7*time.Hour, To: 8*24*time.Hour + 10*time.Hour},
		{Tank: "gas", Kind: vehicle.Gap, From: 13 * 24 * time.Hour, To: 13*24*time.Hour + 5*time.Hour},
	}},
	{23 * time.Hour, time.Minute, false, []vehicle.Fault{
		{Tank: "grey", Kind: vehicle.Flicker, From: 15 * time.Hour, To: 15*time.Hour + 25*time.Minute},
	}},
	{time.Hour, 2 * time.Second, true, nil},
}

// recallAtOnce is how many readings of the past are kept in one go.
const recallAtOnce = 4096

// demoPast makes the readings before a time, hands them on in their order, and gives the
// tanks as they are then.
func demoPast(ctx context.Context, seed uint64, tanks []vehicle.Tank, until time.Time, ohms []func(float64) float64, hand func(context.Context, []watch.Reading) error) ([]vehicle.Tank, error) {
	at := until
	for _, p := range pastParts {
		at = at.Add(-p.length)
	}
	var list []watch.Reading
	give := func() error {
		if len(list) == 0 {
			return nil
		}
		err := hand(ctx, list)
		list = nil // the other side may hold on to it
		return err
	}
	for n, p := range pastParts {
		plan := vehicle.Plan{Start: at, Every: p.every, Tanks: tanks, Faults: p.faults}
		if p.moves {
			plan.Trip = []vehicle.Leg{{Way: vehicle.Parked, For: p.length / 2}, {Way: vehicle.Town, For: p.length / 4}, {Way: vehicle.Parked, For: p.length}}
		}
		v, err := vehicle.New(seed+uint64(n), plan)
		if err != nil {
			return nil, err
		}
		for v.Elapsed() < p.length {
			for _, s := range v.Next() {
				list = append(list, demoReading(tanks[s.Tank].Name, s, ohms[s.Tank](s.Ohm)))
			}
			if len(list) >= recallAtOnce {
				if err := give(); err != nil {
					return nil, err
				}
			}
		}
		tanks = standingAs(v, tanks)
		at = at.Add(p.length)
	}
	return tanks, give()
}

// standingAs gives the tanks with what a vehicle has in them now.
func standingAs(v *vehicle.Vehicle, tanks []vehicle.Tank) []vehicle.Tank {
	out := append([]vehicle.Tank(nil), tanks...)
	for i := range out {
		s := v.State(i)
		out[i].Begin = min(s.True, s.Permitted)
	}
	return out
}

// demoReading is a reading as the broker would have made it.
func demoReading(tank string, s vehicle.Sample, ohm float64) watch.Reading {
	r := watch.Reading{Tank: tank, Source: "mqtt", Signal: watch.Ohm, Value: ohm, Time: s.Stamp.UTC(), Arrived: s.Stamp.UTC(), Clock: watch.SourceClock}
	if math.IsNaN(ohm) {
		r.Said = watch.Unavailable
	}
	return r
}
