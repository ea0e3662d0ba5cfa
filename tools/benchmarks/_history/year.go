package main

import (
	"bufio"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"gaugewright/internal/vehicle"
)

// line is a year of one tank's readings: times in ms, resistances in 0.1 Ω.
type line struct {
	name          string
	times, values []int64
}

// year simulates a stall's year: three tanks of the made-up kitchen, a reading
// every ten seconds, driven for two hours of every day (town, road, a rough track,
// town) and parked otherwise; emptied by use, and filled up when low. The sender of
// the gas has 0.15 Ω of noise, the two others 0.3 Ω; the input's last digit is 0.1 Ω.
//
// A fourth tank has the same readings as the fresh water's, with times that are off
// the ten seconds by 3 ms at random, as those of a source whose timer is a little
// late now and then, or that are stamped when they come in.
func year(length time.Duration) ([]line, error) {
	const every = 10 * time.Second
	plan := vehicle.Plan{
		Start: time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC), Every: every, Tanks: vehicle.Kitchen(), Repeat: true,
		Trip: []vehicle.Leg{
			{Way: vehicle.Parked, For: 8 * time.Hour},
			{Way: vehicle.Town, For: 30 * time.Minute}, {Way: vehicle.Road, For: 50 * time.Minute},
			{Way: vehicle.Track, For: 10 * time.Minute}, {Way: vehicle.Parked, For: 6 * time.Hour},
			{Way: vehicle.Town, For: 30 * time.Minute}, {Way: vehicle.Parked, For: 8 * time.Hour},
		},
	}
	v, err := vehicle.New(1, plan)
	if err != nil {
		return nil, err
	}
	var out []line
	for _, t := range plan.Tanks {
		out = append(out, line{name: t.Name})
	}
	for v.Elapsed() < length {
		for _, s := range v.Next() {
			l := &out[s.Tank]
			l.times = append(l.times, s.Stamp.UnixMilli())
			l.values = append(l.values, int64(math.Round(s.Ohm*10)))
		}
	}
	late := line{name: "fresh, times off by 3 ms", values: out[0].values}
	draw := rand.New(rand.NewPCG(2, 0))
	for _, t := range out[0].times {
		late.times = append(late.times, t+int64(math.Round(3*draw.NormFloat64())))
	}
	return append(out, late), nil
}

// write writes each line's columns as little-endian int64, for other programs.
func write(folder string, lines []line) error {
	for _, l := range lines {
		for what, column := range map[string][]int64{"times": l.times, "values": l.values} {
			f, err := os.Create(filepath.Join(folder, l.name+"."+what))
			if err != nil {
				return err
			}
			w := bufio.NewWriter(f)
			if err := binary.Write(w, binary.LittleEndian, column); err != nil {
				return err
			}
			if err := w.Flush(); err != nil {
				return err
			}
			if err := f.Close(); err != nil {
				return err
			}
		}
	}
	return nil
}
