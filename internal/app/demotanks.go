package app

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/vehicle"
)

// The tanks of the vehicle of the demonstration: invented, as are their use and
// their faults. Three have the curves of the job's bench, so that the figures that
// were keyed in there are proved here; the grey water is known by two end values.

const demoLitre = 1e-3

// perMille is the sender of a tank whose ohms come from a job's curve: what it
// gives is the share of its travel in parts of a thousand.
func perMille(byVolume bool) vehicle.Sender {
	return vehicle.Sender{Empty: 0, Full: 1000, ByVolume: byVolume, Hysteresis: 0.006, Noise: 1.2, Open: demoOpen}
}

// demoOpen is what an input reads with nothing connected.
const demoOpen quantity.Ohm = 99999

func demoTanks() []vehicle.Tank {
	fresh, grey, gas := vehicle.Fresh(), vehicle.Waste(), vehicle.Gas()
	fresh.Shape, fresh.Sender = vehicle.Shape{Length: 0.60, Width: 0.50, Height: 0.30}, perMille(false) // 90 L
	for h := range fresh.Use.Taps {
		fresh.Use.Taps[h] /= 3 // some 40 L a day, so that it lasts for two
	}
	grey.Name, grey.Damping, grey.Sender.X = "grey", 0.3, -0.02                                                                       // baffles, and the sender near the middle
	gas.Name, gas.Begin, gas.Shape, gas.Sender = "gas", 0.74, vehicle.Shape{Lying: true, Length: 0.764, Height: 0.30}, perMille(true) // 54 L
	gas.Use.Steady = 0.028 * demoLitre / 3600                                                                                         // the fridge of the job: some 15 g/h
	gas.Refill = vehicle.Refill{Below: 0.14, To: 0.78, Rate: 15 * demoLitre / 60}
	diesel := vehicle.Tank{
		Name: "diesel", Contents: vehicle.Fuel, Begin: 0.81, Permitted: 0.95,
		Shape: vehicle.Shape{Length: 0.62, Width: 0.40, Height: 0.25}, // 62 L
		// A heater at some 0.15 L/h (common practice, no source).
		Use:    vehicle.Use{Steady: 0.15 * demoLitre / 3600},
		Refill: vehicle.Refill{Below: 0.18, To: 0.90, Rate: 30 * demoLitre / 60},
		Sender: perMille(false),
	}
	return []vehicle.Tank{fresh, grey, gas, diesel}
}

// demoOhms gives the ohms of each tank's sender; of those without a job's curve what
// the vehicle's own sender gives.
func demoOhms(j *job.Job, names map[string]string, tanks []vehicle.Tank) ([]func(float64) float64, error) {
	out := make([]func(float64) float64, len(tanks))
	for i, t := range tanks {
		name, ok := names[t.Name]
		if !ok {
			out[i] = func(ohm float64) float64 { return ohm }
			continue
		}
		found := (*job.Tank)(nil)
		for k := range j.Tanks {
			if j.Tanks[k].Name == name {
				found = &j.Tanks[k]
			}
		}
		if found == nil {
			return nil, fmt.Errorf("the job %s has no tank %q for the demonstration", j.Number, name)
		}
		c, err := found.Curve()
		if err != nil {
			return nil, err
		}
		empty, full, err := found.Ends()
		if err != nil {
			return nil, err
		}
		from, to := found.Unit().FromShown(empty), found.Unit().FromShown(full)
		out[i] = func(perMille float64) float64 {
			if math.IsNaN(perMille) || perMille >= float64(demoOpen)/2 {
				return perMille
			}
			at := min(max(perMille/1000, 0), 1)
			a := c.Ohm(from+at*(to-from), curve.Continue)
			return math.Round(10*max(0, float64(a.Ohm))) / 10 // the last digit of an input
		}
	}
	return out, nil
}

// demoTrip is how the vehicle spends its day, over and over.
func demoTrip() []vehicle.Leg {
	return []vehicle.Leg{
		{Way: vehicle.Parked, For: 70 * time.Minute}, {Way: vehicle.Town, For: 15 * time.Minute},
		{Way: vehicle.Road, For: 25 * time.Minute}, {Way: vehicle.Track, For: 6 * time.Minute},
		{Way: vehicle.Parked, For: 4 * time.Hour}, {Way: vehicle.Road, For: 20 * time.Minute}, {Way: vehicle.Parked, For: 2 * time.Hour},
	}
}

// demoFaults are the faults to come: the wire of the diesel breaks again and again,
// and there is a loose contact at the grey water.
func demoFaults() []vehicle.Fault {
	var out []vehicle.Fault
	for at := 25 * time.Minute; at < 60*24*time.Hour; at += 8 * time.Hour {
		out = append(out,
			vehicle.Fault{Tank: "diesel", Kind: vehicle.Broken, From: at, To: at + 40*time.Minute},
			vehicle.Fault{Tank: "grey", Kind: vehicle.Flicker, From: at + 3*time.Hour, To: at + 3*time.Hour + 20*time.Minute})
	}
	return out
}
