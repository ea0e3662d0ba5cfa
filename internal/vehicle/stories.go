package vehicle

import (
	"fmt"
	"strings"
	"time"
)

// Story is a ready plan: what a vehicle goes through in a stretch of time.
type Story struct {
	Name string
	Says string // in a sentence
	make func(p *Plan, length time.Duration)
}

// Stories lists the ready stories. Their parts are placed by the length that is
// asked for.
func Stories() []Story {
	return []Story{
		{"parked", "Parked: people use what is in the tanks.", func(*Plan, time.Duration) {}},
		{"town", "Town traffic, with stops.", drive(Town)},
		{"road", "Country road and motorway.", drive(Road)},
		{"track", "A rough track: slosh all the time.", drive(Track)},
		{"day", "Parked, town, road, a rough track, and parked again.", func(p *Plan, l time.Duration) {
			p.Trip = []Leg{{Parked, l * 3 / 10}, {Town, l * 2 / 10}, {Road, l * 2 / 10}, {Track, l / 10}, {Parked, l * 2 / 10}}
		}},
		{"refill", "Parked; filled up at a third of the time, some drawn off at two thirds.", func(p *Plan, l time.Duration) {
			for i := range p.Tanks {
				t := &p.Tanks[i]
				if t.Begin > 0.35 {
					t.Begin = 0.35
				}
				c := t.Capacity()
				p.Pours = append(p.Pours, Pour{Tank: t.Name, At: l / 3, By: c * 4 / 10}, Pour{Tank: t.Name, At: l * 2 / 3, By: -c * 2 / 10})
			}
		}},
		{"broken", "Parked, then town; the wire breaks in each, and is mended.", func(p *Plan, l time.Duration) {
			p.Trip = []Leg{{Parked, l / 2}, {Town, l / 2}}
			each(p, Broken, 0, l*2/10, l*3/10)
			each(p, Broken, 0, l*6/10, l*8/10)
		}},
		{"short", "Parked; the wire is shorted for a while.", during(Shorted, 0)},
		{"flicker", "Town; a loose contact for a while.", func(p *Plan, l time.Duration) {
			drive(Town)(p, l)
			each(p, Flicker, 0, l*4/10, l*6/10)
		}},
		{"stuck", "Parked; the float is stuck in the second half.", func(p *Plan, l time.Duration) { each(p, Stuck, 0, l/2, 0) }},
		{"corroded", "Parked; a bad contact adds 12 ohms from the middle on.", func(p *Plan, l time.Duration) { each(p, Added, 12, l/2, 0) }},
		{"spikes", "Town; one reading in twenty is something else.", func(p *Plan, l time.Duration) {
			drive(Town)(p, l)
			each(p, Spikes, 0, 0, 0)
		}},
		{"clock", "Parked, then town; the clock is at 1970, at 2100, an hour behind, and steps.", func(p *Plan, l time.Duration) {
			p.Trip = []Leg{{Parked, l / 2}, {Town, l / 2}}
			each(p, Unset, 0, 0, l/10)
			each(p, Ahead, 0, l*3/10, l*4/10)
			each(p, Stepped, -3600, l*6/10, l*7/10)
			each(p, Stepped, 90, l*8/10, l*85/100)
		}},
		{"gaps", "Town; nothing comes for a tenth of the time, twice.", func(p *Plan, l time.Duration) {
			drive(Town)(p, l)
			each(p, Gap, 0, l*2/10, l*3/10)
			each(p, Gap, 0, l*6/10, l*7/10)
		}},
		{"muddled", "Town; readings come doubled, then swapped, then late.", func(p *Plan, l time.Duration) {
			drive(Town)(p, l)
			each(p, Doubled, 0, l*2/10, l*4/10)
			each(p, Swapped, 0, l*4/10, l*6/10)
			each(p, Late, 30, l*6/10, l*8/10)
		}},
	}
}

// Tell makes the plan of a story for some tanks, over a length of time that is
// above 0. The error says that there is no such story.
func Tell(name string, tanks []Tank, start time.Time, every, length time.Duration) (Plan, error) {
	var names []string
	for _, s := range Stories() {
		if s.Name == name {
			p := Plan{Start: start, Every: every, Tanks: append([]Tank(nil), tanks...)}
			s.make(&p, length)
			return p, nil
		}
		names = append(names, s.Name)
	}
	return Plan{}, fmt.Errorf("there is no story %q; expected one of %s", name, strings.Join(names, ", "))
}

func drive(w Way) func(*Plan, time.Duration) {
	return func(p *Plan, l time.Duration) {
		p.Trip = []Leg{{Parked, max(l/10, 1)}, {w, max(l*8/10, 1)}, {Parked, max(l/10, 1)}}
	}
}

func during(k Kind, by float64) func(*Plan, time.Duration) {
	return func(p *Plan, l time.Duration) { each(p, k, by, l*4/10, l*6/10) }
}

func each(p *Plan, k Kind, by float64, from, to time.Duration) {
	for _, t := range p.Tanks {
		p.Faults = append(p.Faults, Fault{Tank: t.Name, Kind: k, By: by, From: from, To: to})
	}
}
