package main

import (
	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

// A history is read by one goroutine and watched by another, a batch of rows at a
// time, so that two processors share the work. The rows keep their order, so what is
// told is the same to the byte however fast either is.

const (
	batchRows = 512 // few enough to stay in a processor's cache
	batches   = 4   // how far the reading may run ahead
)

// batch is some rows of a history, and why there is none after them.
type batch struct {
	rows []aheadRow
	err  error // io.EOF at the end
}

// aheadRow is a row as the watch takes it.
type aheadRow struct {
	reading watch.Reading
	time    int64 // ns
	line    int64
	stamp   recording.Stamp
}

// ahead reads a history ahead.
type ahead struct{ full, empty chan *batch }

// readAhead begins to read. All batches have to be taken, and given back; after the
// one that says why there is no other the history isn't touched any more.
func readAhead(h *recording.History, tank string) *ahead {
	a := &ahead{full: make(chan *batch, batches), empty: make(chan *batch, batches)}
	for range batches {
		a.empty <- &batch{rows: make([]aheadRow, 0, batchRows)}
	}
	go a.run(h, tank)
	return a
}

func (a *ahead) run(h *recording.History, tank string) {
	for b := range a.empty {
		b.rows = b.rows[:0]
		for len(b.rows) < batchRows && b.err == nil {
			row, err := h.Next()
			if err != nil {
				b.err = err
				break
			}
			b.rows = append(b.rows, aheadRow{h.Reading(row, tank), row.Time, row.Line, row.Stamp})
		}
		last := b.err != nil
		a.full <- b
		if last {
			return
		}
	}
}
