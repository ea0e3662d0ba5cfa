package app

import (
	"strings"
	"testing"
	"time"

	"gaugewright/internal/vehicle"
)

// simulation makes one whose clock is turned by hand, and that publishes nowhere.
func simulation(t *testing.T, clock *time.Time, change func(*Simulate)) *Simulation {
	t.Helper()
	o := Simulate{Broker: "mqtt://127.0.0.1:1", Name: "test", Kind: "parked", Tanks: vehicle.Kitchen(), Every: time.Second, Seed: 1,
		Now: func() time.Time { return *clock }}
	change(&o)
	s, err := NewSimulation(o)
	if err != nil {
		t.Fatal(err)
	}
	s.wall = *clock
	return s
}

// Faster than the clock, no reading is ever from the future; once it has caught
// up it goes on with the clock.
func TestSimulationCatchesUp(t *testing.T) {
	clock := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	var said []string
	s := simulation(t, &clock, func(o *Simulate) {
		o.Speed, o.Say = 60, func(line string) { said = append(said, line) }
	})
	if v := s.fleet[0]; clock.Sub(v.Now()) != 24*time.Hour {
		t.Fatalf("it begins at %v", v.Now())
	}
	for range 30 * 60 { // half an hour
		for {
			if pause, _ := s.turn(); pause > 0 {
				break
			}
		}
		last := s.latest[0].Time
		if last.After(clock) {
			t.Fatalf("a reading of %v at %v", last, clock)
		}
		if s.speed == 1 && clock.Sub(last) > 1500*time.Millisecond {
			t.Fatalf("it has caught up, and at %v the last reading is of %v", clock, last)
		}
		clock = clock.Add(time.Second)
	}
	if s.speed != 1 || len(said) != 1 || !strings.Contains(said[0], "caught up") {
		t.Errorf("speed %g; it said %q", s.speed, said)
	}
}

// With a length, it begins so far back that it ends now.
func TestSimulationEndsNow(t *testing.T) {
	clock := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	s := simulation(t, &clock, func(o *Simulate) { o.Speed, o.For = 60, time.Hour })
	for done := false; !done; clock = clock.Add(100 * time.Millisecond) {
		_, done = s.turn()
		if clock.Sub(s.started) > 2*time.Minute {
			t.Fatal("it doesn't end")
		}
	}
	if last := s.latest[0].Time; clock.Sub(last) > 2*time.Second || last.After(clock) || s.given != 3*3600 {
		t.Errorf("the last of %d readings is of %v, at %v", s.given, last, clock)
	}
}

// Vehicles are spread over the time between two readings, and each has its own
// names and numbers.
func TestManyVehicles(t *testing.T) {
	clock := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	s := simulation(t, &clock, func(o *Simulate) { o.Vehicles = 10 })
	if s.names[9][2] != "v00010-lpg" {
		t.Errorf("the last tank is named %q", s.names[9][2])
	}
	for tenth := range 10 {
		if _, done := s.turn(); done || s.given != uint64(3*(tenth+1)) {
			t.Errorf("after %v there are %d readings", clock.Sub(s.started), s.given)
		}
		clock = clock.Add(100 * time.Millisecond)
	}
	for _, text := range []string{"break v00003-fresh", "short lpg"} {
		if _, _, err := s.Order(text); err != nil {
			t.Error(err)
		}
	}
	for i, v := range s.fleet {
		if broken := len(v.State(0).Faults) == 1; broken != (i == 2) || len(v.State(2).Faults) != 1 {
			t.Errorf("vehicle %d has %v and %v", i+1, v.State(0).Faults, v.State(2).Faults)
		}
	}
}

func TestOrders(t *testing.T) {
	clock := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	s := simulation(t, &clock, func(*Simulate) {})
	for _, c := range []struct{ order, reply string }{
		{"", ""},
		{"break fresh", "fresh: the wire is broken, until it is mended."},
		{"resist lpg 12ohm", "a bad contact adds"},
		{"mend fresh", "fresh: mended."},
		{"mend fresh", "nothing was amiss"},
		{"fill fresh 5L", "fresh: 5.0 L from now on."},
		{"fill lpg 20L", "the permitted fill allows no more"},
		{"draw waste 50L", "there is no more in it"},
		{"drive", "It drives: town."},
		{"drive track", "It drives: track."},
		{"park", "It stands."},
		{"help", "mend TANK"},
	} {
		reply, quit, err := s.Order(c.order)
		if err != nil || quit || !strings.Contains(reply, c.reply) || c.reply == "" && reply != "" {
			t.Errorf("%s: %q, %v; expected %q", c.order, reply, err, c.reply)
		}
	}
	for order, want := range map[string]string{
		"frob": "no order", "break": "which tank", "break oil": "expected one of fresh, waste, lpg", "fill fresh": "like 20L",
		"fill fresh -3L": "like 20L", "drive up": "town, road or track", "short lpg 4": "nothing but times",
	} {
		if reply, _, err := s.Order(order); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %q, %v; expected an error with %q", order, reply, err, want)
		}
	}
	if _, quit, _ := s.Order("quit"); !quit {
		t.Error("it doesn't quit")
	}
}

func TestSimulationRefused(t *testing.T) {
	clock := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	for name, change := range map[string]func(*Simulate){
		"too many":     func(o *Simulate) { o.Vehicles = MostVehicles + 1 },
		"backward":     func(o *Simulate) { o.Speed = -1 },
		"no story":     func(o *Simulate) { o.Kind = "boat" },
		"no broker":    func(o *Simulate) { o.Broker = "here" },
		"too often":    func(o *Simulate) { o.Every = time.Microsecond },
		"no such tank": func(o *Simulate) { o.Faults = []vehicle.Fault{{Tank: "oil", Kind: vehicle.Broken}} },
		"connections":  func(o *Simulate) { o.Connections = 2 },
		"ends before":  func(o *Simulate) { o.For = -time.Second },
	} {
		o := Simulate{Broker: "mqtt://127.0.0.1:1", Name: "test", Kind: "parked", Tanks: vehicle.Kitchen(), Every: time.Second, Now: func() time.Time { return clock }}
		change(&o)
		if _, err := NewSimulation(o); err == nil {
			t.Errorf("%s: not refused", name)
		}
	}
}
