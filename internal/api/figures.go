package api

import (
	"context"
	"regexp"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"gaugewright/internal/alarm"
	"gaugewright/internal/watch"
)

// fewOfGo are the figures of Go's own that are shown besides its usual few.
var fewOfGo = regexp.MustCompile(`^/memory/classes/(heap/objects|total):bytes$`)

// figures are what is told of a watch, made when they are asked for.
type figures struct {
	watch Watch
	now   func() time.Time
}

func desc(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc("gaugewright_"+name, help, labels, nil)
}

// The names keep to Prometheus' own advice: units that are base units, in the
// name; counters end in _total; a share of something is a ratio of 0 to 1.
var (
	takenDesc    = desc("readings_taken_total", "Readings that came in by a feed.", "feed")
	refusedDesc  = desc("readings_refused_total", "What came in by a feed and is no reading, by the reason.", "feed", "reason")
	keptDesc     = desc("readings_kept_total", "Readings that are on disk.")
	failedDesc   = desc("commits_failed_total", "How often readings couldn't be kept; they weren't acknowledged.")
	outcomeDesc  = desc("tank_readings_total", "Readings of a tank, by what became of them.", "tank", "outcome")
	waitingDesc  = desc("readings_waiting", "Readings that wait to be kept.")
	commitDesc   = desc("commit_duration_seconds", "How long it took to keep readings on disk.")
	failingDesc  = desc("disk_failing", "1 while readings can't be kept on disk.")
	lostDesc     = desc("lost_total", "What was lost for want of room, by its name.", "what")
	bytesDesc    = desc("store_bytes", "Size of the file of readings and what belongs to it.")
	startedDesc  = desc("watch_start_time_seconds", "When the watch was started, in Unix seconds.")
	feedDesc     = desc("feed_up", "1 while a feed is connected, or listens.", "feed")
	levelDesc    = desc("level_ratio", "What is in a tank, in parts of its scale; not there while no level can be shown. Not a cut-off: never fill by it.", "tank")
	lowDesc      = desc("level_low_ratio", "Lower end of the 95 % interval of the level.", "tank")
	highDesc     = desc("level_high_ratio", "Upper end of the 95 % interval of the level.", "tank")
	ageDesc      = desc("level_age_seconds", "Age of the reading that a level rests on.", "tank")
	statusDesc   = desc("level_status", "1 for the status that a level has, by NAMUR NE 107, and 0 for the others.", "tank", "status")
	useDesc      = desc("use_ratio_per_day", "How much of a tank is used in a day, in parts of what its full scale holds; of waste, what comes in.", "tank")
	leftDesc     = desc("time_left_seconds", "How long a tank lasts, or of waste until it is full: the middle and both ends of the 90 % interval.", "tank", "bound")
	alarmsDesc   = desc("alarms_active", "Alarms whose cause is there, by their priority, whatever was done about them.", "priority")
	unheardDesc  = desc("alarms_unacknowledged", "Alarms that nobody acknowledged, by their priority: what it is about may be over.", "priority")
	allFigures   = []*prometheus.Desc{takenDesc, refusedDesc, keptDesc, failedDesc, outcomeDesc, waitingDesc, commitDesc, failingDesc, lostDesc, bytesDesc, startedDesc, feedDesc, levelDesc, lowDesc, highDesc, ageDesc, statusDesc, useDesc, leftDesc, alarmsDesc, unheardDesc}
	statusesTold = []watch.Status{watch.Good, watch.Maintenance, watch.OutOfSpec, watch.Check, watch.Failure}
)

// Describe tells what there is.
func (f figures) Describe(to chan<- *prometheus.Desc) {
	for _, d := range allFigures {
		to <- d
	}
}

// Collect tells how it stands.
func (f figures) Collect(to chan<- prometheus.Metric) {
	gauge := func(d *prometheus.Desc, v float64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	count := func(d *prometheus.Desc, n uint64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.CounterValue, float64(n), labels...)
	}
	s := f.watch.Standing()
	count(keptDesc, s.Kept)
	count(failedDesc, s.Failed)
	gauge(waitingDesc, float64(s.Waiting))
	gauge(failingDesc, one(s.Failing != ""))
	if s.Bytes >= 0 {
		gauge(bytesDesc, float64(s.Bytes))
	}
	if !s.Started.IsZero() {
		gauge(startedDesc, float64(s.Started.UnixMilli())/1e3)
	}
	for _, l := range s.Lost {
		count(lostDesc, l.N, l.Why)
	}
	below := map[float64]uint64{}
	for i, n := range s.Commits.Below {
		below[CommitBounds[i]] = n
	}
	to <- prometheus.MustNewConstHistogram(commitDesc, s.Commits.N, s.Commits.Sum.Seconds(), below)
	for _, feed := range f.watch.Feeds() {
		gauge(feedDesc, one(feed.Up), feed.Name)
		count(takenDesc, feed.Taken, feed.Name)
		for _, r := range feed.Refused {
			count(refusedDesc, r.N, feed.Name, r.Why)
		}
	}
	f.tanks(gauge, count)
	f.flows(gauge)
	f.alarms(gauge)
}

func (f figures) tanks(gauge func(*prometheus.Desc, float64, ...string), count func(*prometheus.Desc, uint64, ...string)) {
	tanks, counts := f.watch.Tanks(), f.watch.Counts()
	for i, l := range f.watch.Levels(f.now()) {
		if i >= mostTanks {
			return
		}
		name := tanks[i].Name
		status := l.Status
		if l.Time.IsZero() {
			status = watch.Failure // nothing has come yet
		} else {
			gauge(ageDesc, l.Age.Seconds(), name)
		}
		if l.Shown {
			gauge(levelDesc, float64(l.Share), name)
			gauge(lowDesc, float64(l.Low), name)
			gauge(highDesc, float64(l.High), name)
		}
		for _, x := range statusesTold {
			gauge(statusDesc, one(x == status), name, x.String())
		}
		if i < len(counts) {
			for _, c := range counts[i].Named() {
				count(outcomeDesc, c.N, name, c.Name)
			}
		}
	}
}

// flows tells how tanks are used and how long they last, where that is known.
func (f figures) flows(gauge func(*prometheus.Desc, float64, ...string)) {
	flows := f.watch.Flows()
	if flows == nil {
		return
	}
	tanks := f.watch.Tanks()
	for i, o := range flows.Outlooks(f.now()) {
		if i >= mostTanks {
			return
		}
		if o.Rate.Known {
			gauge(useDesc, o.Rate.Mid, tanks[i].Name)
		}
		if l := o.Left; l.Known {
			gauge(leftDesc, l.Low.Seconds(), tanks[i].Name, "low")
			gauge(leftDesc, l.Mid.Seconds(), tanks[i].Name, "mid")
			gauge(leftDesc, l.High.Seconds(), tanks[i].Name, "high")
		}
	}
}

func (f figures) alarms(gauge func(*prometheus.Desc, float64, ...string)) {
	board := f.watch.Alarms()
	if board == nil {
		return
	}
	list, err := board.Alarms(context.Background())
	if err != nil {
		return // it isn't known
	}
	active, needs := map[alarm.Priority]int{}, map[alarm.Priority]int{}
	for _, s := range list {
		if s.Active {
			active[s.Rule.Priority]++
		}
		if s.Needs() {
			needs[s.Rule.Priority]++
		}
	}
	for _, p := range alarm.Priorities {
		gauge(alarmsDesc, float64(active[p]), string(p))
		gauge(unheardDesc, float64(needs[p]), string(p))
	}
}

func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
