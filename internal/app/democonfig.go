package app

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gaugewright/internal/station"
)

// config writes the job and a configuration as anyone would have them, and reads
// them.
func (d *Drive) config() (station.Config, error) {
	if err := d.o.Job.WriteFile(filepath.Join(d.o.Folder, "vehicle.job.json")); err != nil {
		return station.Config{}, err
	}
	// A level may be as old as this machine needs for a commit or two, in the vehicle's
	// time.
	stale := max(5*time.Minute, time.Duration(1.5*d.o.Speed*float64(time.Second)))
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
