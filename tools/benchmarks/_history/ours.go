package main

import (
	"fmt"
	"sync"
	"time"

	"gaugewright/internal/series"
)

const chunk = 4096

// packed is a chunk: a line's times and values, up to 4,096 of each.
type packed struct{ times, values []byte }

func pack(l line) []packed {
	var chunks []packed
	for i := 0; i < len(l.times); i += chunk {
		j := min(i+chunk, len(l.times))
		chunks = append(chunks, packed{times: series.Pack(nil, l.times[i:j]), values: series.Pack(nil, l.values[i:j])})
	}
	return chunks
}

// ours packs a line and says what it comes to.
func ours(l line) []packed {
	begun := time.Now()
	chunks := pack(l)
	took := time.Since(begun)
	var times, values int
	for _, c := range chunks {
		times, values = times+len(c.times), values+len(c.values)
	}
	n := float64(len(l.times))
	fmt.Printf("%s: times %.4f and values %.4f, together %.4f bytes a reading; packed in %.0f ns a reading\n", l.name, float64(times)/n, float64(values)/n, float64(times+values)/n, float64(took.Nanoseconds())/n)
	return chunks
}

func buckets(chunks []packed, l line) ([]series.Roll, error) {
	from, width := whole(l)
	into := make([]series.Roll, 1000)
	times, values := make([]int64, 0, chunk), make([]int64, 0, chunk)
	var err error
	for _, c := range chunks {
		if times, _, err = series.Unpack(times[:0], c.times); err != nil {
			return nil, err
		}
		if values, _, err = series.Unpack(values[:0], c.values); err != nil {
			return nil, err
		}
		series.Fold(times, values, from, width, into)
	}
	return into, nil
}

// bucketsByTwo is buckets with half of the chunks on each of two cores.
func bucketsByTwo(chunks []packed, l line) ([]series.Roll, error) {
	var halves [2][]series.Roll
	var errs [2]error
	var both sync.WaitGroup
	for i, c := range [2][]packed{chunks[:len(chunks)/2], chunks[len(chunks)/2:]} {
		both.Go(func() { halves[i], errs[i] = buckets(c, l) })
	}
	both.Wait()
	for i := range halves[0] {
		if errs[0] == nil && errs[1] == nil {
			halves[0][i].Merge(halves[1][i])
		}
	}
	if errs[0] != nil {
		return nil, errs[0]
	}
	return halves[0], errs[1]
}

// hours are a line's rolls by the hour, packed by the month or so.
type hours struct {
	from   int64
	n      int
	blocks [][]byte
	minute int // bytes that rolls by the minute take
}

const hour, perBlock = 3_600_000, 744

func rolled(l line) hours {
	h := hours{from: l.times[0] / hour * hour}
	last := l.times[len(l.times)-1]
	h.n = int((last-h.from)/hour) + 1
	rolls := make([]series.Roll, h.n)
	series.Fold(l.times, l.values, h.from, hour, rolls)
	for i := 0; i < h.n; i += perBlock {
		h.blocks = append(h.blocks, series.PackRolls(nil, rolls[i:min(i+perBlock, h.n)]))
	}
	minutes := make([]series.Roll, 60*h.n)
	series.Fold(l.times, l.values, h.from, hour/60, minutes)
	for i := 0; i < len(minutes); i += 1440 {
		h.minute += len(series.PackRolls(nil, minutes[i:min(i+1440, len(minutes))]))
	}
	return h
}

// fold gives buckets of twelve hours from the rolls.
func (h hours) fold() ([]series.Roll, error) {
	into := make([]series.Roll, h.n/12+1)
	var rolls []series.Roll
	var err error
	at := 0
	for _, b := range h.blocks {
		if rolls, _, err = series.UnpackRolls(rolls[:0], b); err != nil {
			return nil, err
		}
		for _, r := range rolls {
			into[at/12].Merge(r)
			at++
		}
	}
	return into, nil
}
