package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

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
	now, err := demoPast(ctx, d.o.Seed, d.tanks, start, d.ohms, d.station.Recall)
	if err != nil {
		return err
	}
	plan := vehicle.Plan{Start: start, Every: d.every(), Tanks: now, Trip: demoTrip(), Repeat: true, Faults: demoFaults()}
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

// every is how far apart the vehicle's readings are in its own time: as many as can
// be seen.
func (d *Drive) every() time.Duration {
	return time.Duration(min(max(d.o.Speed/12, 1), 10) * float64(time.Second)).Truncate(time.Second)
}

// turns is how often readings that are due are made and sent, by this machine's
// clock.
const turns = 100 * time.Millisecond

// mostPerTurn keeps a turn short where this machine was held up.
const mostPerTurn = 500

// drive sends the readings that are due, each tank's in one message.
func (d *Drive) drive(ctx context.Context) {
	ticks := time.NewTicker(turns)
	defer ticks.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticks.C:
		}
		for i, list := range d.due(d.clock.Now()) {
			if len(list) > 0 {
				list[0] = '['
				d.out.Put(d.tanks[i].Name, append(list, ']'))
			}
		}
	}
}

// due gives the readings that are due at a time, a comma before each, by tank.
func (d *Drive) due(now time.Time) [][]byte {
	d.mu.Lock()
	defer d.mu.Unlock()
	due := make([][]byte, len(d.tanks))
	for range mostPerTurn {
		if d.vehicle.Now().After(now) {
			break
		}
		for _, s := range d.vehicle.Next() {
			s.Ohm = d.ohms[s.Tank](s.Ohm)
			due[s.Tank] = simulated.Payload(append(due[s.Tank], ','), s)
		}
	}
	return due
}

// Watch is what is watched.
func (d *Drive) Watch() *station.Station { return d.station }

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

// config writes the job and a configuration as anyone would have them, and reads
// them.
func (d *Drive) config() (station.Config, error) {
	if err := d.o.Job.WriteFile(filepath.Join(d.o.Folder, "vehicle.job.json")); err != nil {
		return station.Config{}, err
	}
	// A level may be as old as this machine needs for a commit or two, in the vehicle's
	// time.
	stale := max(5*time.Minute, time.Duration(3*d.o.Speed)*time.Second)
	var b strings.Builder
	fmt.Fprintf(&b, "data = \"watch.db\"\ncommit_every = \"200ms\"\n\n[mqtt]\nlisten = \"127.0.0.1:0\"\n")
	for _, t := range d.tanks {
		fmt.Fprintf(&b, "\n[tank.%s]\nstale = %q\n", t.Name, stale)
		if name, ok := d.o.Tanks[t.Name]; ok {
			fmt.Fprintf(&b, "job = \"vehicle.job.json\"\njob_tank = %q\n", name)
		} else {
			fmt.Fprintf(&b, "label = \"Grey water\"\ncontents = \"waste\"\nlower = %g\nupper = %g\ncapacity = \"%.1fL\"\n", float64(t.Sender.Empty), float64(t.Sender.Full), 1000*float64(t.Capacity()))
		}
	}
	path := filepath.Join(d.o.Folder, "watch.toml")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		return station.Config{}, err
	}
	return station.Read(path, nil, nil)
}

// quietly notes how the vehicle's connection stands.
type quietly struct{ log *slog.Logger }

func (q quietly) Up(where string) {
	q.log.Info("the simulated vehicle is connected", "broker", where)
}

func (q quietly) Down(err error, again time.Duration) {
	q.log.Warn("the simulated vehicle isn't connected", "error", err, "again_in", again)
}
