package station

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/doubt"
	"gaugewright/internal/feed"
	"gaugewright/internal/fitted"
	"gaugewright/internal/flow"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
	"gaugewright/internal/web"
)

// Tank is one tank to be watched: by its job, or by two end values.
type Tank struct {
	Label string `toml:"label"` // what people call it; "": as in the job, or its name
	// Job is a job file and JobTank the tank in it, which needn't be named where
	// there is one alone.
	Job     string `toml:"job"`
	JobTank string `toml:"job_tank"`
	// Lower and Upper are the ohms at empty and at full, with a straight line
	// between them, where there is no job; Capacity is the water capacity ("200L").
	Lower    *Quantity    `toml:"lower"`
	Upper    *Quantity    `toml:"upper"`
	Capacity *Quantity    `toml:"capacity"`
	Contents job.Contents `toml:"contents"` // where there is no job
	// Signal is what a bare number means; "": ohms, or what the job's sender gives.
	Signal Signal `toml:"signal"`

	Stale   feed.Duration `toml:"stale"`   // the age beyond which a level isn't shown; 5m
	Damping feed.Duration `toml:"damping"` // smoothing of what is shown, besides the filter's; none
	Late    feed.Duration `toml:"late"`    // how far behind a reading may come in; 2m
	// FastestPctPerS is the fastest change that is possible, in points a second.
	FastestPctPerS float64 `toml:"fastest_pct_per_s"`
	// DoubtPct is how far off the sender may be besides what its job knows, in
	// points either way.
	DoubtPct float64 `toml:"doubt_pct"`

	// LargestLoad is the most that what is fitted to the tank can draw for hours without
	// a pause ("0.3L/h", "40g/h"), or "none": what falls faster leaks. "": by the job's
	// loads.
	LargestLoad string `toml:"largest_load"`
	// Off are hours of the day in which everything is off ("22:00-06:00").
	Off Off `toml:"off"`
	// Learn is what is done with dockets: "apply", "tell" or "off"; "": "apply".
	Learn Learning `toml:"learn"`
	// Alarms says whether the tank has the usual alarms: "usual", or "none".
	Alarms string `toml:"alarms"`
}

// Quantity is a number or a quantity with its unit: 10, "10ohm", "200L".
type Quantity struct{ Text string }

// UnmarshalTOML takes numbers and text.
func (q *Quantity) UnmarshalTOML(v any) error {
	switch v := v.(type) {
	case string:
		q.Text = v
	case int64, float64:
		q.Text = fmt.Sprint(v)
	default:
		return fmt.Errorf("found %v; expected a number or a quantity with its unit", v)
	}
	return nil
}

// Signal is what a source measures, by name.
type Signal struct {
	watch.Signal
	Stated bool
}

// UnmarshalText reads "ohm", "volt", "count" or "level_pct".
func (s *Signal) UnmarshalText(text []byte) error {
	for signal, n := range signals {
		if string(text) == n {
			*s = Signal{Signal: signal, Stated: true}
			return nil
		}
	}
	return fmt.Errorf(`there is no signal %q; expected "ohm", "volt", "count" or "level_pct"`, text)
}

var signals = map[watch.Signal]string{watch.Ohm: "ohm", watch.Volt: "volt", watch.Count: "count", watch.Percent: "level_pct"}

// about is what people want to know of a tank besides its level.
type about struct {
	Label  web.Label    // what stands on pages
	Signal watch.Signal // what a bare number means
	Watch  watch.Config // what the watch was made of

	Follows        flow.Config // how its levels are followed
	Full, FullMass float64     // what the full scale holds, m³ and kg; 0: it isn't known
	Docket         docket.Tank // what dockets are held against
	Learn          Learning
}

// built makes of a tank's configuration what watches it.
func (c *Config) built(n string, t Tank) (*watch.Watch, about, error) {
	a := about{Signal: t.Signal.Signal}
	instrument, err := c.instrument(t, &a)
	if err != nil {
		return nil, a, fmt.Errorf("[tank.%s]: %w", n, err)
	}
	a.Label.Tank = n
	a.Label.Signal = instrument.Signal()
	a.Label.Least, a.Label.Most = instrument.Span()
	if t.Label != "" {
		a.Label.Label = t.Label
	}
	if a.Label.Label == "" {
		a.Label.Label = n
	}
	if !t.Signal.Stated {
		a.Signal = instrument.Signal()
	}
	a.Learn = t.Learn
	a.Watch = watch.Config{
		Tank: n, Instrument: instrument,
		Stale: time.Duration(t.Stale), Damping: time.Duration(t.Damping), Late: time.Duration(t.Late),
		Fastest: t.FastestPctPerS / 100,
		Doubt:   quantity.Share(doubt.Rectangular(t.DoubtPct / 100)),
	}
	w, err := watch.New(a.Watch)
	if err == nil {
		err = a.following(t, instrument)
	}
	if err != nil {
		return nil, a, fmt.Errorf("[tank.%s]: %w", n, err)
	}
	return w, a, nil
}

func (c *Config) instrument(t Tank, a *about) (*watch.Instrument, error) {
	switch {
	case t.Job != "" && (t.Lower != nil || t.Upper != nil):
		return nil, errors.New("it has a job and end values; expected one of the two")
	case t.Job != "":
		j, found, err := c.jobTank(t)
		if err != nil {
			return nil, err
		}
		if t.Contents != "" && t.Contents != found.Contents {
			return nil, fmt.Errorf("contents are %q here and %q in the job; leave them out here", t.Contents, found.Contents)
		}
		a.Label, a.Docket = jobLabel(j, found), fitted.Docketed(found)
		a.Docket.Units = a.Label.Units
		in, err := fitted.Of(found)
		if err == nil {
			a.Follows = fitted.Following(found, in)
		}
		return in, err
	case t.Lower == nil || t.Upper == nil:
		return nil, errors.New(`nothing says what its ohms mean; expected job = "FILE", or lower and upper, the ohms at empty and at full`)
	}
	lower, err := quantity.ParseOhms(t.Lower.Text)
	if err != nil {
		return nil, fmt.Errorf("lower: %w", err)
	}
	upper, err := quantity.ParseOhms(t.Upper.Text)
	if err != nil {
		return nil, fmt.Errorf("upper: %w", err)
	}
	var capacity quantity.CubicMetre
	if t.Capacity != nil {
		if capacity, err = quantity.ParseCubicMetre(t.Capacity.Text); err != nil {
			return nil, fmt.Errorf("capacity: %w", err)
		}
	}
	a.Label, a.Docket = endsLabel(t.Contents, capacity), fitted.DocketedEnds(lower, upper, capacity, t.Contents)
	in, err := watch.Ends(lower, upper, capacity)
	if err == nil {
		a.Follows = fitted.FollowingOf(t.Contents, in)
	}
	return in, err
}

// jobTank finds a tank in its job file.
func (c *Config) jobTank(t Tank) (*job.Job, *job.Tank, error) {
	j, err := job.ReadFile(c.path(t.Job))
	if err != nil {
		return nil, nil, fmt.Errorf("job: %w", err)
	}
	var names []string
	for i := range j.Tanks {
		if j.Tanks[i].Name == t.JobTank || t.JobTank == "" && len(j.Tanks) == 1 {
			return j, &j.Tanks[i], nil
		}
		names = append(names, fmt.Sprintf("%q", j.Tanks[i].Name))
	}
	if t.JobTank == "" {
		return nil, nil, fmt.Errorf("the job %s has several tanks; expected job_tank, one of %s", t.Job, strings.Join(names, ", "))
	}
	return nil, nil, fmt.Errorf("the job %s has no tank %q; it has %s", t.Job, t.JobTank, strings.Join(names, ", "))
}
