package app

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"gaugewright/internal/feed/meter"
	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/job"
	"gaugewright/internal/web"
)

// Demo is what a demonstration shows.
type Demo struct {
	Words string     // said on every page: that it is invented
	Jobs  []*job.Job // the last one is the first of the list
	// Ohms is what the simulated sender of a tank gives at a mark (SI of the
	// tank's unit); NaN for an open circuit.
	Ohms func(t job.Tank, mark float64) float64
	// Link leads an owner to what is watched, behind the address of the pages; "": there
	// is none.
	Link string
}

// hand holds the magnet of the simulated sender, and the meter that reads it.
type hand struct {
	meter *simulated.Instrument
	ohms  func(job.Tank, float64) float64
}

// setUp puts the jobs into an empty data file and a simulated meter on the bench.
func (d *Demo) setUp(ctx context.Context, store job.Store) (*hand, error) {
	for i, j := range d.Jobs {
		// Each by a key of its own, so that a second demonstration in the same
		// file doubles nothing.
		if _, err := store.Start(ctx, fmt.Sprintf("demonstration-%d", i+1), j, fileTime(j)); err != nil {
			return nil, err
		}
	}
	m, err := simulated.Listen("127.0.0.1:0", simulated.Options{})
	if err != nil {
		return nil, err
	}
	m.SetOpen()
	k := keptMeters{Bench: simulatedName, Meters: []meter.Setup{{Name: simulatedName, Kind: meter.SCPIOverTCP, Address: m.Addr()}}}
	if err := noteMeters(ctx, store, k); err != nil {
		return nil, errors.Join(err, m.Close())
	}
	return &hand{m, d.Ohms}, nil
}

// fileTime is when a job was last changed, as far as its date tells.
func fileTime(j *job.Job) time.Time {
	day, err := time.Parse(time.DateOnly, j.Date)
	if err != nil {
		return time.Unix(0, 0)
	}
	return day
}

const simulatedName = "Simulated meter"

func (h *hand) move(t job.Tank, mark float64) {
	if ohms := h.ohms(t, mark); !math.IsNaN(ohms) {
		h.meter.SetOhms(ohms)
		return
	}
	h.meter.SetOpen()
}

func (h *hand) close() error { return h.meter.Close() }

var _ web.Meters = (*meters)(nil)
