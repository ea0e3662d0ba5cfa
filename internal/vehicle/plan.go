package vehicle

import (
	"fmt"
	"regexp"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// Plan is a vehicle and what is to happen to it.
type Plan struct {
	Start time.Time     // of the first readings; its zone says which hour of the day it is
	Every time.Duration // between readings, 10 ms to 1 h; 0: 1 s
	Tanks []Tank
	// Trip is how it moves, one leg after the other; the last goes on. Without
	// one it stands. A leg shorter than the time between readings may be passed over.
	Trip []Leg
	// Repeat begins the trip again after its last leg.
	Repeat bool
	Pours  []Pour
	Faults []Fault
	// Warmth is the mean temperature of the day, in K, and Swing how far above it
	// is at three in the afternoon. Both 0: 288.15 K and 8 K (common practice, no
	// source).
	Warmth, Swing quantity.Kelvin
}

// Leg is a part of a trip.
type Leg struct {
	Way Way
	For time.Duration
}

// Pour is a quantity filled in, or where it is below 0 drawn off, beginning at a
// time after the start.
type Pour struct {
	Tank string
	At   time.Duration
	By   quantity.CubicMetre
	Rate quantity.VolumeRate // m³/s, 0: 12 L/min (a garden hose; common practice, no source)
}

// Contents is what is in a tank.
type Contents string

// The contents.
const (
	FreshWater Contents = "fresh water"
	WasteWater Contents = "waste water"
	LPG        Contents = "LPG"
	Fuel       Contents = "fuel"
)

// Shape is the inside of a tank in metres: a box, or a lying cylinder with flat
// ends whose diameter is the height.
type Shape struct {
	Lying                 bool
	Length, Width, Height float64
}

// Tank is one tank, its use and its sender.
type Tank struct {
	Name     string // letters, digits, - and _
	Contents Contents
	Shape    Shape
	Begin    quantity.Share // of the capacity, at the start
	// Permitted is the share that may be filled; 0: 0.8 for LPG (common practice),
	// else 1. Nothing fills beyond it.
	Permitted quantity.Share
	Use       Use
	// From names another tank: what is used of that one comes into this one.
	From string
	// Refill, where its To is above 0, fills up while the vehicle is parked once
	// the level has come down to Below; Drain lets off once it is above Above.
	Refill Refill
	Drain  Drain
	Sender Sender
	// Damping is the damping ratio of the slosh; 0: 0.05. Smooth tanks without a
	// baffle have less, 0.005 to 0.02, baffled ones more (common practice, no
	// source).
	Damping float64
}

// Use is what people and appliances draw: a steady rate, and taps that are
// opened now and then while the vehicle is parked.
type Use struct {
	Steady quantity.VolumeRate // m³/s, all the time
	Taps   [24]float64         // openings per hour, by hour of the day
	Flow   quantity.VolumeRate // m³/s, through an open tap
	Lasts  time.Duration       // how long one stays open on the average
}

// Refill fills up to a share.
type Refill struct {
	Below, To quantity.Share
	Rate      quantity.VolumeRate // m³/s
}

// Drain lets off down to a share.
type Drain struct {
	Above, To quantity.Share
	Rate      quantity.VolumeRate // m³/s
}

// usualPour is 12 L/min.
const usualPour quantity.VolumeRate = 12e-3 / 60

var nameOf = regexp.MustCompile(`^[A-Za-z0-9_-]{1,64}$`)

// check fills in what is usual and refuses what can't be.
func (p Plan) check() (Plan, error) {
	if p.Every == 0 {
		p.Every = time.Second
	}
	if p.Every < 10*time.Millisecond || p.Every > time.Hour {
		return p, fmt.Errorf("readings every %v; expected 10ms to 1h", p.Every)
	}
	if p.Start.IsZero() {
		return p, fmt.Errorf("the plan has no start; give it the time of the first reading")
	}
	if p.Warmth == 0 && p.Swing == 0 {
		p.Warmth, p.Swing = 288.15, 8
	}
	if len(p.Tanks) == 0 {
		return p, fmt.Errorf("the plan has no tank; expected one or more")
	}
	p.Tanks = append([]Tank(nil), p.Tanks...)
	names := map[string]bool{}
	for i := range p.Tanks {
		t := &p.Tanks[i]
		if !nameOf.MatchString(t.Name) {
			return p, fmt.Errorf("a tank is named %q; expected 1 to 64 letters, digits, - and _", t.Name)
		}
		if names[t.Name] {
			return p, fmt.Errorf("two tanks are named %q; expected a name each", t.Name)
		}
		names[t.Name] = true
		if err := t.check(); err != nil {
			return p, fmt.Errorf("tank %s: %w", t.Name, err)
		}
	}
	for _, t := range p.Tanks {
		if t.From != "" && (!names[t.From] || t.From == t.Name) {
			return p, fmt.Errorf("tank %s takes what is used of %q; expected the name of another tank", t.Name, t.From)
		}
	}
	for _, o := range p.Pours {
		if !names[o.Tank] {
			return p, fmt.Errorf("a pour names the tank %q; expected one of the plan's", o.Tank)
		}
	}
	for _, l := range p.Trip {
		if l.For <= 0 || l.Way > Track {
			return p, fmt.Errorf("a leg of the trip is %v for %v; expected a time above 0", l.Way, l.For)
		}
	}
	for _, f := range p.Faults {
		if !names[f.Tank] {
			return p, fmt.Errorf("a fault names the tank %q; expected one of the plan's", f.Tank)
		}
		if err := f.check(); err != nil {
			return p, err
		}
	}
	return p, nil
}

func (t *Tank) check() error {
	if t.Permitted == 0 {
		t.Permitted = 1
		if t.Contents == LPG {
			t.Permitted = 0.8
		}
	}
	if t.Damping == 0 {
		t.Damping = 0.05
	}
	switch {
	case !(t.Permitted > 0 && t.Permitted <= 1):
		return fmt.Errorf("a permitted fill of %.4g %%; expected above 0 and at most 100 %%", 100*float64(t.Permitted))
	case !(t.Begin >= 0 && t.Begin <= t.Permitted):
		return fmt.Errorf("it begins at %.4g %%; expected 0 to the permitted %.4g %%", 100*float64(t.Begin), 100*float64(t.Permitted))
	case !(t.Damping > 0 && t.Damping < 1):
		return fmt.Errorf("a damping ratio of %g; expected above 0 and below 1", t.Damping)
	case t.Use.Steady < 0 || t.Use.Flow < 0 || t.Use.Lasts < 0:
		return fmt.Errorf("a use below 0; expected 0 or more")
	case t.Refill.To > t.Permitted || t.Refill.Below >= t.Refill.To && t.Refill.To > 0:
		return fmt.Errorf("it is filled up from %.4g to %.4g %%; expected upward, and no more than the permitted %.4g %%",
			100*float64(t.Refill.Below), 100*float64(t.Refill.To), 100*float64(t.Permitted))
	case t.Drain.Above > 0 && t.Drain.To >= t.Drain.Above:
		return fmt.Errorf("it is drained from %.4g to %.4g %%; expected downward", 100*float64(t.Drain.Above), 100*float64(t.Drain.To))
	}
	return t.Sender.check()
}

// solid makes the shape.
func (s Shape) solid() (*tank.Tank, error) {
	var body tank.Solid
	var err error
	if s.Lying {
		body, err = tank.Cylinder(s.Height, s.Length, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})
	} else {
		body, err = tank.Box(s.Length, s.Width, s.Height)
	}
	if err != nil {
		return nil, err
	}
	return tank.New(body, tank.Sensor{})
}
