package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/feed/mqtt/simulated"
	"gaugewright/internal/job"
	"gaugewright/internal/station"
	"gaugewright/internal/vehicle"
)

// Speeds at which the time of a demonstration may run.
const (
	UsualSpeed = 60
	MostSpeed  = 600
)

// DemoVehicle is what a simulated vehicle is demonstrated with.
type DemoVehicle struct {
	Job     *job.Job          // whose tanks are in it
	Tanks   map[string]string // the job's names of them by the vehicle's: "fresh", "gas", "diesel"
	Folder  string            // where everything is kept; it has to be there
	Speed   float64           // how much faster than this machine's clock its time runs, 1 to MostSpeed
	Seed    uint64
	Start   time.Time // where its time begins; zero: now
	Version string
	Log     *slog.Logger // nil: nothing is logged
}

// Drive is a simulated vehicle that publishes over a real network to a real watch,
// which has watched it for weeks.
type Drive struct {
	o       DemoVehicle
	clock   *fastClock
	station *station.Station
	out     *simulated.Publisher
	ohms    []func(float64) float64
	mu      sync.Mutex // of the vehicle
	vehicle *vehicle.Vehicle
	tanks   []vehicle.Tank
	stop    context.CancelFunc
	running sync.WaitGroup
	once    sync.Once
	err     error
}

// StartDrive puts the past of a vehicle in and has it publish. Stop ends it; what is
// in its folder is for its caller to remove.
func StartDrive(ctx context.Context, o DemoVehicle) (*Drive, error) {
	if o.Speed == 0 {
		o.Speed = UsualSpeed
	}
	if !(o.Speed >= 1 && o.Speed <= MostSpeed) {
		return nil, fmt.Errorf("a speed of %g; expected 1 to %d", o.Speed, MostSpeed)
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Start.IsZero() {
		o.Start = time.Now()
	}
	start := o.Start.Truncate(time.Second)
	d := &Drive{o: o, clock: newFastClock(start, o.Speed), tanks: demoTanks()}
	var err error
	if d.ohms, err = demoOhms(o.Job, o.Tanks, d.tanks); err != nil {
		return nil, err
	}
	c, err := d.config()
	if err != nil {
		return nil, err
	}
	if d.station, err = station.New(ctx, c, station.Options{Log: o.Log, Now: d.clock.Now, Version: o.Version}); err != nil {
		return nil, err
	}
	if err := d.begin(ctx, start); err != nil {
		return nil, errors.Join(err, d.Stop())
	}
	return d, nil
}

// begin puts the past in and drives off.
func (d *Drive) begin(ctx context.Context, start time.Time) error {
	now, err := demoPast(ctx, d.o.Seed, d.tanks, start, d.ohms, d.station.Backfill)
	if err != nil {
		return err
	}
	plan := vehicle.Plan{Start: start, Every: demoEvery, Tanks: now, Trip: demoTrip(), Repeat: true, Faults: demoFaults()}
	if d.vehicle, err = vehicle.New(d.o.Seed, plan); err != nil {
		return err
	}
	if err := d.station.Start(ctx); err != nil {
		return err
	}
	if d.out, err = simulated.New(simulated.Config{Broker: "mqtt://" + d.station.Broker(), Client: "tidewater-kitchen", Lanes: len(d.tanks)}); err != nil {
		return err
	}
	ctx, d.stop = context.WithCancel(context.WithoutCancel(ctx))
	d.running.Go(func() {
		if err := d.out.Run(ctx, quietly{d.o.Log}); err != nil {
			d.o.Log.Error("the simulated vehicle publishes no more", "error", err)
		}
	})
	d.clock.start()
	d.running.Go(func() { d.drive(ctx) })
	return nil
}

// demoEvery is how far apart the vehicle's readings are in its own time.
const demoEvery = time.Second

// turns is how often readings that are due are made and sent, by this machine's
// clock.
const turns = 100 * time.Millisecond

// mostInOne is how many readings of a tank go into one message at the most. Where as
// many wait for the broker the vehicle's time stands.
const mostInOne = 900

// load is readings of a tank that wait to be sent, a comma before each.
type load struct {
	text []byte
	n    int
}

// drive sends the readings that are due, each tank's in one message. What becomes
// due while the broker hasn't acknowledged the last ones waits for the next turn: it
// acknowledges once they are on disk, by this machine's clock and not by the vehicle's.
func (d *Drive) drive(ctx context.Context) {
	ticks := time.NewTicker(turns)
	defer ticks.Stop()
	loads := make([]load, len(d.tanks))
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticks.C:
		}
		d.due(d.clock.Now(), loads)
		if d.out.Counts().Waiting > 0 {
			continue
		}
		for i, l := range loads {
			if l.n > 0 {
				l.text[0] = '['
				d.out.Put(d.tanks[i].Name, append(l.text, ']'))
				loads[i] = load{}
			}
		}
	}
}

// due adds the readings that are due at a time.
func (d *Drive) due(now time.Time, loads []load) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for {
		for _, l := range loads {
			if l.n >= mostInOne {
				return
			}
		}
		if d.vehicle.Now().After(now) {
			return
		}
		for _, s := range d.vehicle.Next() {
			s.Ohm = d.ohms[s.Tank](s.Ohm)
			l := &loads[s.Tank]
			l.text, l.n = simulated.Payload(append(l.text, ','), s), l.n+1
		}
	}
}

// Watch is what is watched.
func (d *Drive) Watch() *station.Station { return d.station }

// Link makes a link by which the vehicle's owner looks at its tanks, to be put behind
// the address of the pages: "see/gwl-…".
func (d *Drive) Link(ctx context.Context) (string, error) {
	_, secret, err := d.station.Passes().Make(ctx, doors.Pass{Kind: doors.Link, Name: "The owner's phone"}, d.Now())
	return "see/" + secret, err
}

// Now is the vehicle's time, by which it is watched.
func (d *Drive) Now() time.Time { return d.clock.Now() }

// Told says in lines what runs where.
func (d *Drive) Told() []string {
	return []string{fmt.Sprintf("Vehicle: simulated; publishes over MQTT to %s, a minute of its time in %s", d.station.Broker(), secondsOf(d.o.Speed))}
}

// secondsOf is how long a minute takes at a speed.
func secondsOf(speed float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.1f", 60/speed), "0"), ".") + " s"
}

// Stop ends the vehicle and its watch. It may be called again.
func (d *Drive) Stop() error {
	d.once.Do(func() {
		if d.stop != nil {
			d.stop()
		}
		d.running.Wait()
		d.err = d.station.Stop()
	})
	return d.err
}
