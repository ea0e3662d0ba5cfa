package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"gaugewright/internal/fitted"
	"gaugewright/internal/flow"
	"gaugewright/internal/quantity"
	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

// replayFollows are the flags of what came in and went out.
type replayFollows struct {
	Events  bool     `help:"Tell what came in and went out: refills, spells of use, drains, leaks, and what looks like them."`
	Summary bool     `help:"Tell how fast it is used, how long it lasts, and how far the reading swings with the day."`
	Steady  string   `placeholder:"RATE" help:"With --events or --summary: the most that can be drawn for hours without a pause, such as 0.3L/h, 40g/h or 0.5%/h, or none; what falls faster leaks."`
	Off     []string `placeholder:"FROM-TO" help:"With --events or --summary: hours of the day in which everything is off, such as 22:00-06:00."`
}

func (f *replayFollows) any() bool { return f.Events || f.Summary }

// follower follows the levels of a history.
type follower struct {
	tracker *flow.Tracker
	full    float64 // what the full scale holds, m³; NaN where that isn't known
	fullKg  float64
	fills   bool

	levels      []watch.Level // that wait to be handed over
	given, free chan []watch.Level
	done        chan struct{}
}

// begin has a goroutine of its own follow the levels that take hands over, some at a
// time, so that it is done beside the watching. The order is kept, and nothing may be
// asked of the tracker before end.
func (f *follower) begin() {
	const levelsAtOnce, most = 128, 4 // few enough to stay in a processor's cache
	f.given, f.free, f.done = make(chan []watch.Level, most), make(chan []watch.Level, most), make(chan struct{})
	for range most {
		f.free <- make([]watch.Level, 0, levelsAtOnce)
	}
	f.levels = <-f.free
	go func() {
		defer close(f.done)
		for levels := range f.given {
			for i := range levels {
				f.tracker.Take(levels[i])
			}
			f.free <- levels[:0] // there is room for all
		}
	}()
}

// take hands a level over.
func (f *follower) take(l *watch.Level) {
	if f.levels = append(f.levels, *l); len(f.levels) == cap(f.levels) {
		f.given <- f.levels
		f.levels = <-f.free
	}
}

// end waits until all levels were followed.
func (f *follower) end() {
	f.given <- f.levels
	close(f.given)
	<-f.done
}

// follows makes what follows the levels; nil where nobody asked for it.
func (v *replayVerb) follows(in *watch.Instrument, about aboutTank, zone *time.Location) (*follower, error) {
	switch {
	case !v.any() && (v.Steady != "" || len(v.Off) > 0):
		return nil, errors.New("--steady and --off are for what came in and went out; give --events or --summary with them")
	case !v.any():
		return nil, nil
	case v.Every > 0:
		return nil, errors.New("--every thins levels, and --events and --summary tell none; leave it out, or replay the history again without them")
	}
	c := about.follows
	c.Zone, c.Uses = zone, 1<<14
	if v.Steady != "" {
		load, err := fitted.ParseLargestLoad(v.Steady)
		if err != nil {
			return nil, fmt.Errorf("--steady: %w", err)
		}
		if c.Steady, err = load.Of(in); err != nil {
			return nil, fmt.Errorf("--steady: %w", err)
		}
	}
	for _, text := range v.Off {
		h, err := fitted.ParseHours(text)
		if err != nil {
			return nil, fmt.Errorf("--off: %w", err)
		}
		c.Off = append(c.Off, h)
	}
	f := &follower{tracker: flow.New(c), full: in.VolumeAt(1).Mid, fullKg: fitted.KilogramsPerFull(in), fills: c.Fills}
	if !(f.full > 0) {
		f.full = math.NaN()
	}
	return f, nil
}

// litres gives parts of the full scale in litres, and kg in kilograms; NaN where that
// isn't known.
func (f *follower) litres(part float64) float64 { return 1000 * f.full * part }
func (f *follower) kg(part float64) float64     { return f.fullKg * part }

// amounts says whether a kind of event has an amount.
func amounts(k flow.Kind) bool {
	switch k {
	case flow.Refill, flow.Drain, flow.Use, flow.Leak, flow.Drop:
		return true
	}
	return false
}

// followed writes what came in and went out, and how it goes on.
func (r *replay) followed(w io.Writer) {
	f := r.follow
	switch {
	case r.v.JSON:
		if r.v.Events {
			for _, e := range f.tracker.Events() {
				r.text = f.appendEvent(r.text[:0], e, r.stamp)
				_, _ = r.out.Write(r.text) // a failure stays, and Flush tells it
			}
		}
		if r.v.Summary {
			r.text = f.appendSummary(r.text[:0], r.taken > 0, r.stamp)
			_, _ = r.out.Write(r.text)
		}
	default:
		r.tellFollowed(w)
	}
}

// gap gives the level at the moment at which the last one became stale.
func (r *replay) gap() (l watch.Level, at int64) {
	old := time.Unix(0, r.at).Add(r.stale)
	l = r.watch.At(old.Add(time.Nanosecond))
	l.Ohm, l.Raw = quantity.Ohm(math.NaN()), math.NaN() // there is none
	return l, old.UnixNano()
}

// appendEvent writes an event as a line of JSON, its times as the history has its own.
func (f *follower) appendEvent(out []byte, e flow.Event, like recording.Stamp) []byte {
	nan := math.NaN()
	amount, low, high, rate := nan, nan, nan, nan
	if amounts(e.Kind) {
		amount, low, high = e.Amount, e.Low, e.High
	}
	if e.Kind == flow.Leak {
		rate = e.PerHour
	}
	out = appendText(append(out, `{"kind":`...), string(e.Kind))
	out = appendMoment(append(out, `,"start":`...), e.Start, like)
	out = appendMoment(append(out, `,"end":`...), e.End, like)
	out = appendFigure(append(out, `,"amount_l":`...), f.litres(amount), 3)
	out = appendFigure(append(out, `,"low_l":`...), f.litres(low), 3)
	out = appendFigure(append(out, `,"high_l":`...), f.litres(high), 3)
	out = appendFigure(append(out, `,"p":`...), e.P, 4)
	out = appendFigure(append(out, `,"amount_pct":`...), 100*amount, 3)
	out = appendFigure(append(out, `,"low_pct":`...), 100*low, 3)
	out = appendFigure(append(out, `,"high_pct":`...), 100*high, 3)
	out = appendFigure(append(out, `,"amount_kg":`...), f.kg(amount), 3)
	out = appendFigure(append(out, `,"per_hour_l":`...), f.litres(rate), 4)
	out = appendFigure(append(out, `,"per_hour_pct":`...), 100*rate, 4)
	out = appendFigure(append(out, `,"before_pct":`...), percent(e.Before), 3)
	out = appendFigure(append(out, `,"after_pct":`...), percent(e.After), 3)
	out = appendMoment(append(out, `,"found":`...), e.Found, like)
	out = append(out, `,"fault":`...)
	if e.Kind == flow.Fault && e.Fault != watch.NoFault {
		out = appendText(out, e.Fault.String())
	} else {
		out = append(out, "null"...)
	}
	out = appendText(append(out, `,"why":`...), e.Why)
	return append(out, "}\n"...)
}

// percent gives a level in percent; NaN where there is none.
func percent(level float64) float64 {
	if level < 0 {
		return math.NaN()
	}
	return 100 * level
}

// appendMoment writes a time as the history has its own; null where there is none.
func appendMoment(out []byte, t time.Time, like recording.Stamp) []byte {
	if t.IsZero() {
		return append(out, "null"...)
	}
	return appendTime(out, t.UnixNano(), like)
}

// appendSummary writes the use and what is left as an object.
func (f *follower) appendSummary(out []byte, any bool, like recording.Stamp) []byte {
	nan := math.NaN()
	o := f.tracker.Ahead()
	low, mid, high := nan, nan, nan
	if r := f.tracker.Model().Rate(); r.Known { // over what was seen, and not as it is now
		low, mid, high = r.Low, r.Mid, r.High
	}
	leftLow, leftMid, leftHigh := nan, nan, nan
	if o.Left.Known {
		leftLow, leftMid, leftHigh = o.Left.Low.Hours(), o.Left.Mid.Hours(), o.Left.High.Hours()
	}
	out = appendFigure(append(out, `{"use_l_per_day":`...), f.litres(mid), 4)
	out = appendFigure(append(out, `,"low":`...), f.litres(low), 4)
	out = appendFigure(append(out, `,"high":`...), f.litres(high), 4)
	out = appendFigure(append(out, `,"time_left_h":{"low":`...), leftLow, 2)
	out = appendFigure(append(out, `,"mid":`...), leftMid, 2)
	out = appendFigure(append(out, `,"high":`...), leftHigh, 2)
	out = appendFigure(append(out, `},"use_pct_per_day":`...), 100*mid, 4)
	out = appendFigure(append(out, `,"low_pct":`...), 100*low, 4)
	out = appendFigure(append(out, `,"high_pct":`...), 100*high, 4)
	out = appendFigure(append(out, `,"use_kg_per_day":`...), f.kg(mid), 4)
	out = append(out, `,"at":`...)
	if any {
		out = appendMoment(out, o.At, like)
	} else {
		out = append(out, "null"...)
	}
	out = append(out, `,"fill_by":`...)
	if o.FillBy.IsZero() {
		out = append(out, "null"...)
	} else {
		out = appendText(out, o.FillBy.Format(time.DateOnly))
	}
	out = fmt.Appendf(append(out, `,"days":`...), "%d", o.Days)
	out = appendText(append(out, `,"why":`...), o.Why)
	swing, swingLow, swingHigh := nan, nan, nan
	if s := f.tracker.DaySwing(); s.Known {
		swing, swingLow, swingHigh = s.Mid, s.Low, s.High
	}
	out = appendFigure(append(out, `,"day_swing_pct":`...), 100*swing, 3)
	out = appendFigure(append(out, `,"day_swing_low_pct":`...), 100*swingLow, 3)
	out = appendFigure(append(out, `,"day_swing_high_pct":`...), 100*swingHigh, 3)
	return append(out, "}\n"...)
}
