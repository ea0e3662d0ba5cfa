package sqlite

import (
	"cmp"
	"context"
	"fmt"
	"runtime"
	"sync"

	"gaugewright/internal/history"
	"gaugewright/internal/series"
)

const (
	mostWorkers = 8
	// chunksAhead is how many chunks may be read before they are rolled up: some 4 KiB
	// each.
	chunksAhead = 64
)

// full rolls up a line's chunks, on as many processors as there are, while others are
// being read.
func (s *Readings) full(ctx context.Context, of history.Line, g history.Grid, rolls []series.Roll) error {
	chunks := make(chan body, chunksAhead)
	parts := make([][]series.Roll, min(runtime.GOMAXPROCS(0), mostWorkers))
	errs := make([]error, len(parts))
	var wait sync.WaitGroup
	for w := range parts {
		wait.Go(func() {
			var c columns
			for b := range chunks {
				if errs[w] != nil {
					continue // so that reading comes to its end
				}
				if parts[w] == nil {
					parts[w] = make([]series.Roll, len(rolls))
				}
				if err := c.addTo(parts[w], g, b.body); err != nil {
					errs[w] = s.partError(fmt.Sprintf("chunk %d", b.number), err)
				}
			}
		})
	}
	_, err := s.look(ctx, of, g, -1, rolls, func(b body) { chunks <- b })
	close(chunks)
	wait.Wait()
	if err = cmp.Or(err, cmp.Or(errs...)); err != nil {
		return err
	}
	for _, part := range parts {
		for i := range part {
			rolls[i].Merge(part[i])
		}
	}
	return nil
}

// addTo adds a chunk's values to buckets.
func (c *columns) addTo(rolls []series.Roll, g history.Grid, body []byte) error {
	if _, err := c.open(body); err != nil {
		return err
	}
	times := c.times
	if len(c.values) != len(times) {
		// Some have no value, or none that counts.
		times = c.lags[:0]
		for i, what := range c.whats {
			if what&(exact|saidBits) == 0 {
				times = append(times, c.times[i])
			}
		}
		if c.lags = times; len(c.values) != len(times) {
			return errBody
		}
	}
	series.Fold(times, c.values, g.From*1000, g.Width*1000, rolls)
	return nil
}
