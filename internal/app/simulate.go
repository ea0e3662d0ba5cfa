package app

import (
	"context"
	"crypto/tls"
	"fmt"
	"math"
	"sync"
	"time"

	"gaugewright/internal/feed/mqtt/simulated"
	"gaugewright/internal/vehicle"
)

// MostVehicles is how many vehicles can be simulated at once.
const MostVehicles = 10_000

// Simulate says which vehicles are to be simulated, and where they publish.
type Simulate struct {
	Broker      string      // mqtt://HOST:PORT or mqtts://HOST:PORT, perhaps with a user's name and pass word
	Name        string      // of the client
	Root        string      // of the topics
	TLS         *tls.Config // nil: the usual
	Bound       int         // readings that wait while the broker is away; 0: simulated.UsualBound
	Connections int         // over which the vehicles are spread; 0: one for each 1000

	Vehicles int // 0: 1
	Seed     uint64
	Kind     string // the story
	Tanks    []vehicle.Tank
	Every    time.Duration // between readings, in the vehicle's time
	For      time.Duration // in the vehicle's time; 0: until it is ended
	// Start is the time of the first reading. Zero: such that the times of the
	// readings are never ahead of the clock: at a speed of 1 now, else far enough
	// back.
	Start  time.Time
	Speed  float64 // how much faster than the clock the vehicle's time runs; 0: 1
	Faults []vehicle.Fault

	// Say is told what happens, in lines, one at a time. It may not ask the
	// simulation anything.
	Say func(string)
	Now func() time.Time // nil: time.Now
}

// backlog is how far back readings begin where they run faster than the clock
// without an end.
const backlog = 24 * time.Hour

// Simulation is vehicles that are being simulated.
type Simulation struct {
	o       Simulate
	started time.Time
	tell    sync.Mutex

	mu      sync.Mutex
	fleet   []*vehicle.Vehicle
	names   [][]string // of the tanks on the network, by vehicle
	latest  []vehicle.Sample
	next    int // the vehicle whose turn it is
	given   uint64
	speed   float64
	wall    time.Time     // the clock at base
	base    time.Duration // the vehicle's time, after the start
	chasing bool          // its time is behind the clock and runs faster

	publishers []*simulated.Publisher
	second     *simulated.Publisher
	running    sync.WaitGroup
	ctx        context.Context
	stop       context.CancelFunc
	err        error
}

// NewSimulation makes the vehicles. The error says what can't be.
func NewSimulation(o Simulate) (*Simulation, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	o.Vehicles, o.Speed = max(o.Vehicles, 1), withDefault(o.Speed, 1)
	if o.Connections == 0 {
		o.Connections = (o.Vehicles + 999) / 1000
	}
	switch {
	case o.Vehicles > MostVehicles:
		return nil, fmt.Errorf("%d vehicles; expected 1 to %d", o.Vehicles, MostVehicles)
	case !(o.Speed > 0 && o.Speed <= 100_000):
		return nil, fmt.Errorf("a speed of %g; expected above 0 and at most 100000", o.Speed)
	case o.For < 0 || o.Every < 0:
		return nil, fmt.Errorf("a time below 0; expected like 10m")
	case o.Bound < 0:
		return nil, fmt.Errorf("%d readings may wait for the broker; expected 1 or more", o.Bound)
	case o.Connections < 1 || o.Connections > o.Vehicles:
		return nil, fmt.Errorf("%d connections for %d vehicles; expected 1 to as many as there are vehicles", o.Connections, o.Vehicles)
	}
	s := &Simulation{o: o, speed: o.Speed, started: o.Now()}
	start := s.begin()
	s.chasing = o.Speed > 1 && start.Before(s.started)
	length := o.For
	if length == 0 {
		length = time.Hour
	}
	for i := range o.Vehicles {
		plan, err := vehicle.Tell(o.Kind, o.Tanks, start, o.Every, length)
		if err != nil {
			return nil, err
		}
		plan.Faults = append(plan.Faults, o.Faults...)
		// Spread over the time between readings, so that they don't all come at
		// once.
		plan.Start = plan.Start.Add(plan.Every * time.Duration(i) / time.Duration(o.Vehicles)).Truncate(time.Millisecond)
		v, err := vehicle.New(o.Seed+uint64(i), plan)
		if err != nil {
			return nil, err
		}
		s.fleet = append(s.fleet, v)
		s.names = append(s.names, namesOf(o, i))
	}
	s.latest = make([]vehicle.Sample, len(o.Tanks))
	for i := range o.Connections {
		name := o.Name
		if o.Connections > 1 {
			name = fmt.Sprintf("%s-%d", name, i+1)
		}
		p, err := s.publisher(name)
		if err != nil {
			return nil, err
		}
		s.publishers = append(s.publishers, p)
	}
	return s, nil
}

func withDefault(v, usual float64) float64 {
	if v == 0 {
		return usual
	}
	return v
}

// begin gives the time of the first reading.
func (s *Simulation) begin() time.Time {
	switch {
	case !s.o.Start.IsZero():
		return s.o.Start
	case s.o.Speed <= 1:
		return s.started
	case s.o.For > 0:
		return s.started.Add(-time.Duration(float64(s.o.For) * (1 - 1/s.o.Speed)))
	}
	return s.started.Add(-backlog)
}

// namesOf gives the names of a vehicle's tanks on the network.
func namesOf(o Simulate, i int) []string {
	out := make([]string, len(o.Tanks))
	for j, t := range o.Tanks {
		out[j] = t.Name
		if o.Vehicles > 1 {
			out[j] = fmt.Sprintf("v%05d-%s", i+1, t.Name)
		}
	}
	return out
}

func (s *Simulation) publisher(name string) (*simulated.Publisher, error) {
	lanes := min(32, max(1, s.o.Vehicles*len(s.o.Tanks)/s.o.Connections))
	bound := s.o.Bound
	if bound == 0 {
		bound = simulated.UsualBound
	}
	return simulated.New(simulated.Config{Broker: s.o.Broker, Client: name, Root: s.o.Root, TLS: s.o.TLS,
		Bound: max(bound/s.o.Connections, 1), Lanes: min(lanes, max(bound/s.o.Connections, 1))})
}

// Run publishes until the context ends, or the time that was asked for is over,
// or something is wrong for good, and then takes its leave, within seconds. It can
// be called once.
func (s *Simulation) Run(ctx context.Context) error {
	s.ctx, s.stop = context.WithCancel(ctx)
	defer s.stop()
	for i, p := range s.publishers {
		s.connect(p, i == 0)
	}
	s.mu.Lock()
	s.wall = s.o.Now()
	s.mu.Unlock()
	for s.ctx.Err() == nil {
		pause, done := s.turn()
		if done {
			break
		}
		select {
		case <-s.ctx.Done():
		case <-time.After(pause):
		}
	}
	s.stop()
	s.running.Wait()
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.err
}

// connect runs a publisher; one that fails for good ends the simulation.
func (s *Simulation) connect(p *simulated.Publisher, loud bool) {
	s.running.Go(func() {
		if err := p.Run(s.ctx, teller{s, loud}); err != nil {
			s.mu.Lock()
			s.err = err
			s.mu.Unlock()
			s.stop()
		}
	})
}

// mostAtOnce is how many readings are made before others get a turn.
const mostAtOnce = 20_000

// turn makes the readings that are due, and says how long it is until the next.
func (s *Simulation) turn() (pause time.Duration, done bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.o.Now()
	due := s.base + time.Duration(float64(now.Sub(s.wall))*s.speed)
	first := s.fleet[0].Plan().Start
	for range mostAtOnce {
		v := s.fleet[s.next]
		if s.o.For > 0 && v.Elapsed() >= s.o.For {
			return 0, true
		}
		at := v.Now().Sub(first)
		switch {
		case s.chasing && v.Now().After(now):
			s.chasing, s.speed, s.wall, s.base = false, 1, now, now.Sub(first)
			s.say("The times of the readings have caught up with the clock; it goes on at speed 1.")
			return time.Millisecond, false
		case at > due:
			return max(time.Millisecond, min(time.Duration(float64(at-due)/s.speed), 100*time.Millisecond)), false
		case s.publishers[s.next%len(s.publishers)].Behind():
			s.wall, s.base = now, at // it goes no faster than the broker
			return 5 * time.Millisecond, false
		}
		s.publish(s.next, v.Next())
		s.next = (s.next + 1) % len(s.fleet)
	}
	return 0, false
}

// publish hands over the readings of a vehicle.
func (s *Simulation) publish(i int, samples []vehicle.Sample) {
	for _, m := range samples {
		to := s.publishers[i%len(s.publishers)]
		if m.Second {
			if to = s.other(); to == nil {
				continue
			}
		} else if i == 0 {
			s.latest[m.Tank] = m
		}
		s.given++
		to.Put(s.names[i][m.Tank], simulated.Payload(make([]byte, 0, 64), m))
	}
}

// other gives the connection of the second source, made when it is first needed.
func (s *Simulation) other() *simulated.Publisher {
	if s.second == nil {
		p, err := s.publisher(s.o.Name + "-second")
		if err != nil {
			return nil // the first was made of the same
		}
		s.second = p
		s.connect(p, false)
	}
	return s.second
}

func (s *Simulation) say(line string) {
	if s.o.Say != nil {
		s.tell.Lock()
		defer s.tell.Unlock()
		s.o.Say(line)
	}
}

// teller says how a connection stands.
type teller struct {
	s    *Simulation
	loud bool
}

func (t teller) Up(where string) {
	if t.loud {
		t.s.say("Connected to the broker at " + where + ".")
	}
}

func (t teller) Down(err error, again time.Duration) {
	if t.loud {
		t.s.say(fmt.Sprintf("The broker isn't there: %v. The next try is in %v; readings wait.", err, again.Round(100*time.Millisecond)))
	}
}

// Standing is how the simulation stands.
type Standing struct {
	Now     time.Time // the vehicle's
	Elapsed time.Duration
	Way     vehicle.Way // of the first vehicle
	Speed   float64
	Tanks   []TankStanding // of the first vehicle
	Given   uint64         // readings handed over so far
	Counts  simulated.Counts
}

// TankStanding is how a tank stands, and what was last read of it.
type TankStanding struct {
	Name  string // on the network
	State vehicle.State
	Last  vehicle.Sample
}

// Standing gives how it stands.
func (s *Simulation) Standing() Standing {
	s.mu.Lock()
	defer s.mu.Unlock()
	v := s.fleet[0]
	out := Standing{Now: v.Now(), Elapsed: v.Elapsed(), Way: v.Way(), Speed: s.speed, Given: s.given}
	for i, name := range s.names[0] {
		out.Tanks = append(out.Tanks, TankStanding{name, v.State(i), s.latest[i]})
	}
	all := s.publishers
	if s.second != nil {
		all = append(all[:len(all):len(all)], s.second)
	}
	out.Counts = simulated.Counts{Dropped: map[string]uint64{}, Up: true}
	for _, p := range all {
		c := p.Counts()
		out.Counts.Acknowledged += c.Acknowledged
		out.Counts.Denied += c.Denied
		out.Counts.Waiting += c.Waiting
		out.Counts.Up = out.Counts.Up && c.Up
		for tank, n := range c.Dropped {
			out.Counts.Dropped[tank] += n
		}
	}
	return out
}

// Ohm gives the last reading in text: "118.4 ohm", "no value".
func (t TankStanding) Ohm() string {
	switch {
	case t.Last.Time.IsZero():
		return "nothing yet"
	case math.IsNaN(t.Last.Ohm):
		return "no value"
	}
	return fmt.Sprintf("%.1f ohm", t.Last.Ohm)
}
