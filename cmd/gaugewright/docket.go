package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/fitted"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

type docketVerb struct {
	Dockets  string `arg:"" help:"CSV of dockets: time, and amount (31.4L, 8USgal, 16kg) or litres or kg; kind (receipt, stopped, ran-out, weighed); level_before_pct and level_after_pct as the sender showed them; stopped (yes), level_u_pct, note. Or - for standard input."`
	Job      string `placeholder:"JOB" help:"The job file with the tank that the dockets are of."`
	Tank     string `placeholder:"NAME" help:"Which of the job's tanks; needed where it has several."`
	Lower    string `placeholder:"OHM" help:"Without a job: the ohms keyed in at empty, such as 10 or 10ohm."`
	Upper    string `placeholder:"OHM" help:"Without a job: the ohms keyed in at full, such as 180."`
	Capacity string `placeholder:"VOLUME" help:"Without a job: what the tank holds, such as 54L; without it that is worked out too."`
	Contents string `placeholder:"KIND" help:"Without a job: lpg, water, diesel, petrol, waste or other."`
	History  string `placeholder:"FILE" help:"A recording of the sender, as for replay: the levels before and after are taken from it where the dockets lack them."`
	Of       string `placeholder:"NAME" help:"Whose rows of the recording are taken where it has a column tank."`
	Zone     string `default:"UTC" placeholder:"ZONE" help:"The time zone of times without one, and of those that are shown, such as Europe/Paris."`
	JSON     bool   `name:"json" help:"Write the result as JSON."`
}

// Run learns from the dockets of one tank.
func (v *docketVerb) Run(s streams) error {
	zone, err := time.LoadLocation(v.Zone)
	if err != nil {
		return fmt.Errorf("--zone %q is not known; expected a name such as Europe/Paris, or UTC", v.Zone)
	}
	t, in, cautions, err := v.tank(s)
	if err != nil {
		return err
	}
	list, err := v.read(s, zone)
	if err != nil {
		return err
	}
	now := time.Now()
	if v.History != "" {
		last, err := v.match(s, in, list)
		if err != nil {
			return err
		}
		if last.After(now) { // a recording that was made up
			now = last
		}
	}
	if err := docket.NotYet(v.name(), list, now); err != nil {
		return err
	}
	l := docket.Learn(t, list)
	r := docketReport{tank: t, learned: l, cautions: cautions, zone: zone}
	if v.JSON {
		err = writeJSON(s.out, r.result())
	} else {
		r.print(s.out)
	}
	if err == nil && slices.ContainsFunc(l.Verdicts, func(v docket.Verdict) bool { return v.Caution != "" }) {
		err = errBad
	}
	return err
}

// tank gives what is known of the tank, its instrument, and its cautions.
func (v *docketVerb) tank(s streams) (t docket.Tank, in *watch.Instrument, cautions []string, err error) {
	ends := v.Lower != "" || v.Upper != "" || v.Capacity != "" || v.Contents != ""
	switch {
	case v.Job != "" && ends:
		return t, nil, nil, errors.New("--job says what the tank is; leave out --lower, --upper, --capacity and --contents")
	case v.Job == "" && v.Tank != "":
		return t, nil, nil, errors.New("--tank names a tank of a job; give the job with --job")
	case v.Job == "" && (v.Lower == "" || v.Upper == ""):
		return t, nil, nil, errors.New("what the sender is isn't said; give --job JOB.json, or its ohms at empty and at full such as --lower 10 --upper 180")
	case v.Job == "":
		return v.ends()
	case v.Job == "-" && v.Dockets == "-":
		return t, nil, nil, errors.New("the dockets and the job can't both come from standard input")
	}
	j, err := s.job(v.Job)
	if err != nil {
		return t, nil, nil, err
	}
	found, err := theTank(j, v.Tank)
	if err != nil {
		return t, nil, nil, err
	}
	if v.History != "" {
		if in, err = fitted.Of(found); err != nil {
			return t, nil, nil, err
		}
	}
	t = fitted.Docketed(found)
	t.Units = j.Shown()
	return t, in, found.Cautions(), nil
}

func (v *docketVerb) ends() (t docket.Tank, in *watch.Instrument, cautions []string, err error) {
	lower, err := ohms("--lower", v.Lower)
	if err != nil {
		return t, nil, nil, err
	}
	upper, err := ohms("--upper", v.Upper)
	if err != nil {
		return t, nil, nil, err
	}
	var capacity quantity.CubicMetre
	if v.Capacity != "" {
		if capacity, err = quantity.ParseCubicMetre(v.Capacity); err != nil {
			return t, nil, nil, fmt.Errorf("--capacity: %w", err)
		}
		if capacity <= 0 {
			return t, nil, nil, fmt.Errorf("--capacity: found %s; expected above 0", v.Capacity)
		}
	}
	kind := job.Contents(v.Contents)
	if known := []job.Contents{job.LPG, job.Water, job.Diesel, job.Petrol, job.Waste, job.Other, ""}; !slices.Contains(known, kind) {
		return t, nil, nil, fmt.Errorf("--contents %q is not known; expected lpg, water, diesel, petrol, waste or other", v.Contents)
	}
	if in, err = watch.Ends(lower, upper, capacity); err != nil {
		return t, nil, nil, err
	}
	return fitted.DocketedEnds(lower, upper, capacity, kind), in, job.Tank{Contents: kind}.Cautions(), nil
}

// name is what errors call the file of the dockets.
func (v *docketVerb) name() string {
	if v.Dockets == "-" {
		return standardInput
	}
	return v.Dockets
}

// read reads the dockets.
func (v *docketVerb) read(s streams, zone *time.Location) ([]docket.Seen, error) {
	if v.Dockets == "-" {
		return docket.Read(s.in, v.name(), zone)
	}
	f, err := os.Open(v.Dockets)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s: this is a directory; expected a CSV file", v.Dockets)
	}
	return docket.Read(f, v.name(), zone)
}

// match takes the levels that dockets lack from a recording, and gives the time of its
// last one.
func (v *docketVerb) match(s streams, in *watch.Instrument, list []docket.Seen) (last time.Time, err error) {
	replay := replayVerb{History: v.History}
	from, name, closed, err := replay.open(s)
	if err != nil {
		return last, err
	}
	defer closed()
	h, err := recording.NewHistory(from, name, recording.Options{Tank: v.Of, Unusable: 0.5})
	if err != nil {
		return last, err
	}
	w, err := watch.New(watch.Config{Tank: unnamed, Instrument: in})
	if err != nil {
		return last, err
	}
	const every = 20 * time.Second
	var levels []docket.Point
	for {
		row, err := h.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return last, err
		}
		l := w.Take(h.Reading(row, unnamed))
		if l.Time.Sub(last) < every || l.Fault == watch.Unsettled {
			continue
		}
		last = l.Time
		levels = append(levels, docket.Point{Time: l.Time, Level: float64(l.Share), Shown: l.Shown})
	}
	for i, o := range list {
		if o.Before >= 0 || o.After >= 0 {
			continue // as somebody read them
		}
		list[i] = docket.Match(o.Docket, levels, last.Add(24*time.Hour))
		list[i].Line = o.Line
	}
	return last, nil
}
