// Command month keeps a month of four made-up tanks' readings as the watch keeps
// them, at full speed, and tells what the kernel wrote to the disk for it.
//
//	go run ./tools/month [-days 30] [-every 1s] [-commit-every 10s] [-data FOLDER]
//
// The vehicle stands most of each day and drives for some hours, so that there is
// quiet and slosh. Readings go to the disk in commits as the watch makes them, ten
// seconds' at a time; every ten minutes what is due is sealed, and the minutes of
// the levels are rolled up. What was written is write_bytes of /proc/self/io (proc_pid_io(5)):
// pages of 4 KiB that the kernel has to bring to the disk. What the file system
// adds for itself (its journal, say) and what the card does inside isn't in it.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/vehicle"
	"gaugewright/internal/watch"
)

func main() {
	days := flag.Int("days", 30, "days")
	every := flag.Duration("every", time.Second, "between one reading of a tank and the next")
	commit := flag.Duration("commit-every", 10*time.Second, "between one commit and the next")
	data := flag.String("data", os.TempDir(), "folder, on the disk to be measured")
	flag.Parse()
	if err := run(*days, *every, *commit, *data); err != nil {
		fmt.Fprintln(os.Stderr, "month:", err)
		os.Exit(1)
	}
}

// drives is a day's trip.
var drives = []vehicle.Leg{
	{Way: vehicle.Parked, For: 8 * time.Hour}, {Way: vehicle.Town, For: time.Hour}, {Way: vehicle.Road, For: 2 * time.Hour}, {Way: vehicle.Parked, For: 6 * time.Hour},
	{Way: vehicle.Track, For: 30 * time.Minute}, {Way: vehicle.Town, For: 30 * time.Minute}, {Way: vehicle.Parked, For: 6 * time.Hour},
}

func run(days int, every, commit time.Duration, data string) (err error) {
	folder, err := os.MkdirTemp(data, "month-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	second := vehicle.Fresh()
	second.Name = "second"
	tanks := append(vehicle.Kitchen(), second)
	begin := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	plan, err := vehicle.Tell("parked", tanks, begin, every, time.Duration(days)*24*time.Hour)
	if err != nil {
		return err
	}
	for range days {
		plan.Trip = append(plan.Trip, drives...)
	}
	v, err := vehicle.New(1, plan)
	if err != nil {
		return err
	}
	ctx, path := context.Background(), filepath.Join(folder, "watch.db")
	now := begin
	s, err := sqlite.OpenReadings(ctx, path, sqlite.Options{Now: func() time.Time { return now }})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	m := month{s: s, tanks: tanks, levels: make([]history.LevelRolls, len(tanks)), path: path, begun: time.Now()}
	if m.before, err = written(); err != nil {
		return err
	}
	for day := 1; day <= days; day++ {
		for end := begin.AddDate(0, 0, day); now.Before(end); {
			now = now.Add(commit)
			if err := m.commit(ctx, v, now); err != nil {
				return err
			}
		}
		if err := m.tell(day); err != nil {
			return err
		}
	}
	return nil
}

// month is how far it has got.
type month struct {
	s      *sqlite.Readings
	tanks  []vehicle.Tank
	levels []history.LevelRolls
	list   []watch.Reading
	sealed time.Time

	path              string
	begun             time.Time
	before            int64
	readings, commits int64
}

// commit keeps the readings up to a time, and seals where it is time to.
func (m *month) commit(ctx context.Context, v *vehicle.Vehicle, now time.Time) error {
	m.list = m.list[:0]
	for v.Now().Before(now) {
		for _, o := range v.Next() {
			r := watch.Reading{Tank: m.tanks[o.Tank].Name, Source: "mqtt", Time: o.Stamp, Arrived: o.Time.Add(40 * time.Millisecond), Value: o.Ohm}
			l := watch.Level{Time: o.Stamp, Shown: true, Share: o.True, Low: max(0, o.True-0.01), High: min(1, o.True+0.01)}
			if math.IsNaN(o.Ohm) {
				r.Said, r.Value, l.Shown = watch.Unavailable, 0, false
			}
			m.list = append(m.list, r)
			m.levels[o.Tank].Add(l)
		}
	}
	m.commits++
	m.readings += int64(len(m.list))
	if err := m.s.Keep(m.list); err != nil {
		return err
	}
	if now.Sub(m.sealed) < 10*time.Minute {
		return nil
	}
	m.sealed = now
	for i, t := range m.tanks {
		until := now.Truncate(time.Minute)
		if err := m.s.KeepLevels(ctx, t.Name, m.levels[i].Take(until), until); err != nil {
			return err
		}
	}
	return m.s.Seal(ctx)
}

// tell says what it has come to by the end of a day.
func (m *month) tell(day int) error {
	n, err := written()
	if err != nil {
		return err
	}
	n -= m.before
	info, err := os.Stat(m.path)
	if err != nil {
		return err
	}
	fmt.Printf("day %2d: %d readings in %d commits; written %.1f MB, %.1f MB a day, %.0f bytes a commit, %.2f a reading; the file has %.2f MB, %.2f bytes a reading; %v\n",
		day, m.readings, m.commits, float64(n)/1e6, float64(n)/1e6/float64(day), float64(n)/float64(m.commits), float64(n)/float64(m.readings),
		float64(info.Size())/1e6, float64(info.Size())/float64(m.readings), time.Since(m.begun).Round(time.Second))
	return nil
}

// written gives how many bytes this process has had written to disks.
func written() (n int64, err error) {
	text, err := os.ReadFile("/proc/self/io")
	if err != nil {
		return 0, err
	}
	for line := range strings.Lines(string(text)) {
		if _, err := fmt.Sscanf(line, "write_bytes: %d", &n); err == nil {
			return n, nil
		}
	}
	return 0, errors.New("/proc/self/io has no write_bytes")
}
