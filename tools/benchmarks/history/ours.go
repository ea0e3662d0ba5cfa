package main

import (
	"fmt"
	"time"

	"gaugewright/internal/series"
)

const chunk = 4096

// packed is a chunk: a line's times and values, up to 4,096 of each.
type packed struct {
	times, values []byte
	from, to      int64
}

func ours(lines []line) error {
	for _, l := range lines {
		begun := time.Now()
		var chunks []packed
		var bt, bv int
		for i := 0; i < len(l.times); i += chunk {
			j := min(i+chunk, len(l.times))
			p := packed{times: series.Pack(nil, l.times[i:j]), values: series.Pack(nil, l.values[i:j])}
			bt, bv = bt+len(p.times), bv+len(p.values)
			chunks = append(chunks, p)
		}
		n := float64(len(l.times))
		fmt.Printf("%s: times %.4f, values %.4f bytes each; packed in %.0f ns each\n", l.name, float64(bt)/n, float64(bv)/n, float64(time.Since(begun).Nanoseconds())/n)
		best := time.Hour
		for range 9 {
			begun := time.Now()
			if _, err := buckets(chunks, l.times[0], l.times[len(l.times)-1]+1); err != nil {
				return err
			}
			best = min(best, time.Since(begun))
		}
		fmt.Printf("%s: 1,000 buckets from full resolution in %.1f ms\n", l.name, best.Seconds()*1e3)
	}
	return nil
}

func buckets(chunks []packed, from, to int64) ([]series.Roll, error) {
	into := make([]series.Roll, 1000)
	width := (to - from + 999) / 1000
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
