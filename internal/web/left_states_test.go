package web

import (
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/gauge"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// chalet is the tanks of an invented hut that differ from those of the stall: in
// gallons, in percent alone, of waste, almost empty, and with names of any kind.
func chalet(t testing.TB) *watches {
	t.Helper()
	nan := gauge.Figure{Mid: math.NaN(), U: math.NaN()}
	add := func(w *watches, l Label, litres, share, u float64) {
		if litres > 0 {
			l.Shares, l.Volumes = []quantity.Share{0, 1}, []quantity.CubicMetre{0, quantity.CubicMetre(litres / 1000)}
		}
		l.Cautions = job.Tank{Name: l.Label, Contents: l.Contents}.Cautions()
		v := goodLevel(l.Tank, share, u, litres)
		if litres == 0 {
			v.Volume = nan
		}
		w.labels, w.levels, w.counts = append(w.labels, l), append(w.levels, v), append(w.counts, watch.Counts{Taken: 12})
	}
	w := &watches{}
	add(w, Label{Tank: "imperial", Label: "Rain water", Contents: job.Water, Units: quantity.Units{Volume: "imp gal"}}, 455, 0.52, 0.008)
	add(w, Label{Tank: "american", Label: "Stove", Contents: job.Diesel, Units: quantity.Units{Volume: "US gal"}}, 19, 0.74, 0.012)
	add(w, Label{Tank: "ends", Label: "Kitchen", Contents: job.Water}, 0, 0.33, 0.02)
	add(w, Label{Tank: "bottle", Label: "Gas for the stove", Contents: job.LPG}, 0, 0.48, 0.03)
	add(w, Label{Tank: "grey", Label: "Grey water", Contents: job.Waste}, 60, 0.97, 0.008)
	add(w, Label{Tank: "low", Label: "Spring, " + strings.Repeat("by the upper path ", 12), Contents: job.Water}, 120, 0.03, 0.005)
	add(w, Label{Tank: "rtl", Label: "خزان الماء العذب", Contents: job.Water}, 70, 0.2, 0.007)
	w.levels[6].Age, w.levels[6].Time = 100*time.Second, sunday.Add(-100*time.Second)
	return w
}

// wrongs is the stall with the watch itself in trouble.
func wrongs(t testing.TB) *watches {
	w := silent(t)
	w.standing = Standing{Failing: "the readings can't be written to the disk of /var/lib/x/watch.db: database or disk is full", Disk: DiskFull, Since: sunday.Add(-18 * time.Minute), Waiting: 1200,
		Lost: []FeedCount{{"readings of modbus/bay that couldn't be kept on disk", 35}, {"levels of minutes that couldn't be written", 0}}, Notes: []string{"This machine's clock was set.", "No level yet."}}
	return w
}

// one is one tank of the stall.
func one(t testing.TB) *watches {
	w := stall(t)
	w.labels, w.levels, w.counts = w.labels[1:2], w.levels[1:2], w.counts[1:2]
	return w
}

// leftStates are the states of the owner's page that look different.
func leftStates(t testing.TB) []struct {
	name string
	w    *watches
} {
	return []struct {
		name string
		w    *watches
	}{{"good", stall(t)}, {"trouble", wrongs(t)}, {"hut", chalet(t)}, {"none-yet", early(t)}, {"nothing", &watches{}}}
}
