package app

import (
	"context"
	"fmt"
	"math"
	"net"
	"reflect"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/flow"
	"gaugewright/internal/history"
	"gaugewright/internal/job"
	"gaugewright/internal/watch"
)

// shedMorning is when the demonstrations of the tests begin.
var shedMorning = time.Date(2026, 11, 24, 8, 0, 0, 0, time.UTC)

// stallJob is a made-up job whose three tanks were read on the bench: bent curves,
// by marks in percent.
func stallJob() (*job.Job, map[string]string) {
	j := &job.Job{Version: job.Version, Number: "1", Tanks: []job.Tank{
		{Name: "Fresh", Contents: job.Water, WaterCapacityL: 90},
		{Name: "Gas", Contents: job.LPG, WaterCapacityL: 54, PermittedFillPct: 80},
		{Name: "Diesel", Contents: job.Diesel, WaterCapacityL: 62, PermittedFillPct: 95},
	}}
	for i := range j.Tanks {
		for mark := 0.0; mark <= 100; mark += 5 {
			at := mark
			j.Tanks[i].Bench.Readings = append(j.Tanks[i].Bench.Readings, job.Reading{MarkPct: &at, Ohm: math.Round(1800-10*mark-0.04*mark*mark) / 10})
		}
	}
	return j, map[string]string{"fresh": "Fresh", "gas": "Gas", "diesel": "Diesel"}
}

func driveOf(t *testing.T, change func(*DemoVehicle)) *Drive {
	t.Helper()
	j, names := stallJob()
	o := DemoVehicle{Job: j, Tanks: names, Folder: t.TempDir(), Speed: MostSpeed, Seed: 15, Start: shedMorning}
	if change != nil {
		change(&o)
	}
	d, err := StartDrive(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Stop(); err != nil {
			t.Error(err)
		}
	})
	return d
}

// The vehicle is there with its past, its levels are those of what is really in its
// tanks, they move while its time runs, its faults are told, and then it is gone.
func TestDrive(t *testing.T) {
	d := driveOf(t, nil)
	at := d.station.Broker()
	first := d.station.Levels(d.Now())
	deadline := time.Now().Add(20 * time.Second)
	moved, told := map[string]bool{}, false
	for (len(moved) < 4 || !told) && time.Now().Before(deadline) {
		for i, l := range d.station.Levels(d.Now()) {
			if l.Shown && l.Time.After(shedMorning) && math.Abs(float64(l.Share-first[i].Share)) > 1e-4 {
				moved[l.Tank] = true
			}
			told = told || l.Tank == "diesel" && l.Fault == watch.BrokenWire && l.Status == watch.Failure
		}
		time.Sleep(20 * time.Millisecond)
	}
	if len(moved) < 4 || !told {
		t.Errorf("moved: %v; the broken wire of the diesel told: %v", moved, told)
	}
	past := d.station.Past()
	levels, err := past.Levels(t.Context(), "gas", history.Stretch{From: shedMorning.AddDate(0, 0, -21), To: shedMorning, Buckets: 22})
	if err != nil || len(levels) < 20 {
		t.Errorf("%d days of levels, %v", len(levels), err)
	}
	for _, l := range levels {
		if l.N < 20 {
			t.Errorf("%+v", l)
		}
	}
	events, err := past.Events(t.Context(), "", shedMorning.AddDate(0, 0, -21), shedMorning, 1000)
	broke := 0
	for _, e := range events {
		if e.Kind == history.FaultBegan && e.Tank == "fresh" && e.Fault == watch.BrokenWire {
			broke++
		}
	}
	if err != nil || broke != 1 || len(events) > 60 {
		t.Errorf("the wire of the fresh water broke %d times, of %d events, %v", broke, len(events), err)
	}
	if lost := d.station.Standing().Lost; len(lost) > 0 {
		t.Errorf("lost: %+v", lost)
	}
	used(t, d)
	for i, c := range d.station.Counts() {
		if c.Taken < 4000 {
			t.Errorf("%s has a past of %d readings", d.station.Labels()[i].Tank, c.Taken)
		}
	}
	if now := d.Now(); now.Before(shedMorning.Add(20*time.Minute)) || now.After(shedMorning.Add(4*time.Hour)) {
		t.Errorf("its time is %s", now)
	}
	for range 2 {
		if err := d.Stop(); err != nil {
			t.Error(err)
		}
	}
	if c, err := net.Dial("tcp", at); err == nil {
		c.Close()
		t.Error("its broker is still there")
	}
}

// used looks at what of the past is known of refills and use: the fresh water is filled
// every second day or so, and lasts for days.
func used(t *testing.T, d *Drive) {
	t.Helper()
	flows := d.station.Flows()
	list, err := flows.Flows(t.Context(), "fresh", shedMorning.AddDate(0, 0, -21), shedMorning, 1000)
	refills := 0
	for _, e := range list {
		if e.Kind == flow.Refill {
			refills++
		}
	}
	if err != nil || refills < 5 || refills > 15 {
		t.Errorf("the fresh water was filled %d times, %v", refills, err)
	}
	for i, o := range flows.Outlooks(d.Now()) {
		if l := d.station.Labels()[i]; !o.Rate.Known || o.Days < 15 || !o.Left.Known && l.Tank != "diesel" { // its wire breaks again and again
			t.Errorf("%s: %+v", l.Tank, o)
		}
	}
}

// Right after the start the levels are what is really in the tanks, as far as their
// senders can tell it.
func TestDriveIsTrue(t *testing.T) {
	d := driveOf(t, func(o *DemoVehicle) { o.Speed = 1 })
	d.mu.Lock()
	truth := map[string]float64{}
	for i, tank := range d.tanks {
		truth[tank.Name] = float64(d.vehicle.State(i).True)
	}
	d.mu.Unlock()
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		var off []string
		for _, l := range d.station.Levels(d.Now()) {
			if !l.Shown || math.Abs(float64(l.Share)-truth[l.Tank]) > 0.05 {
				off = append(off, fmt.Sprintf("%s: shown %v, %.3f; there is %.3f", l.Tank, l.Shown, l.Share, truth[l.Tank]))
			}
		}
		if len(off) == 0 {
			return
		}
		if time.Now().After(end) {
			t.Fatal(strings.Join(off, "\n"))
		}
	}
}

// The past is the same each time for one seed, in order, weeks long, and the gas is
// never beyond the permitted fill.
func TestDemoPast(t *testing.T) {
	j, names := stallJob()
	tanks := demoTanks()
	ohms, err := demoOhms(j, names, tanks)
	if err != nil {
		t.Fatal(err)
	}
	make := func(seed uint64) (all []watch.Reading) {
		now, err := demoPast(t.Context(), seed, tanks, shedMorning, ohms, func(_ context.Context, list []watch.Reading) error {
			all = append(all, list...)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, tank := range now {
			if tank.Begin > tank.Permitted && tank.Permitted > 0 || tank.Begin <= 0 {
				t.Errorf("%s stands at %g of %g", tank.Name, tank.Begin, tank.Permitted)
			}
		}
		return all
	}
	one := make(14)
	if again := make(14); !reflect.DeepEqual(one, again) {
		t.Error("the same seed gives another past")
	}
	if other := make(15); reflect.DeepEqual(one, other) {
		t.Error("another seed gives the same past")
	}
	last := one[0].Time
	if age := shedMorning.Sub(last); age < 20*24*time.Hour {
		t.Errorf("the past begins %s ago", age)
	}
	open := 0
	for _, r := range one {
		if r.Time.Before(last) || !r.Time.Before(shedMorning) || math.IsNaN(r.Value) || r.Value < 0 {
			t.Fatalf("%+v after %s", r, last)
		}
		last = r.Time
		if r.Value > 1000 {
			open++
		}
		// By the job's own curve 80 % of the gas is 74.4 Ω, and less at more.
		if r.Tank == "gas" && r.Value < 74 {
			t.Errorf("gas beyond the permitted fill: %+v", r)
		}
	}
	if open == 0 || len(one) < 15_000 {
		t.Errorf("%d readings, %d of them of an open circuit", len(one), open)
	}
}

// What can't be is refused.
func TestDriveRefuses(t *testing.T) {
	j, names := stallJob()
	for name, c := range map[string]struct {
		o    DemoVehicle
		want string
	}{
		"too fast":   {DemoVehicle{Job: j, Tanks: names, Folder: t.TempDir(), Speed: 601}, "1 to 600"},
		"too slow":   {DemoVehicle{Job: j, Tanks: names, Folder: t.TempDir(), Speed: 0.5}, "1 to 600"},
		"no number":  {DemoVehicle{Job: j, Tanks: names, Folder: t.TempDir(), Speed: math.NaN()}, "1 to 600"},
		"no tank":    {DemoVehicle{Job: j, Tanks: map[string]string{"fresh": "Wine"}, Folder: t.TempDir()}, "Wine"},
		"no folder":  {DemoVehicle{Job: j, Tanks: names, Folder: t.TempDir() + "/none"}, "none"},
		"no reading": {DemoVehicle{Job: &job.Job{Tanks: []job.Tank{{Name: "Fresh"}}}, Tanks: map[string]string{"fresh": "Fresh"}, Folder: t.TempDir()}, ""},
	} {
		if d, err := StartDrive(t.Context(), c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
			if d != nil {
				_ = d.Stop()
			}
		}
	}
}

// A clock stands until it is started, and then runs as fast as it should.
func TestFastClock(t *testing.T) {
	c := newFastClock(shedMorning, 600)
	if got := c.Now(); !got.Equal(shedMorning) {
		t.Error(got)
	}
	begun := time.Now()
	c.start()
	time.Sleep(20 * time.Millisecond)
	got := c.Now().Sub(shedMorning)
	if most := 600 * time.Since(begun); got < 12*time.Second || got > most {
		t.Errorf("%s in a time that is at most %s for it", got, most)
	}
	if want := "1 s 0.1 s 60 s"; secondsOf(60)+" "+secondsOf(600)+" "+secondsOf(1) != want {
		t.Error(secondsOf(60), secondsOf(600), secondsOf(1))
	}
}
