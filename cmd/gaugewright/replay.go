package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strconv"
	"syscall"
	"time"

	"gaugewright/internal/doubt"
	"gaugewright/internal/fitted"
	"gaugewright/internal/flow"
	"gaugewright/internal/quantity"
	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

type replayVerb struct {
	History  string        `arg:"" help:"CSV of readings in service: time (RFC 3339 or seconds since 1970) and ohm (or volt, milliamp, of_supply_pct, count, level_pct); optionally pitch_deg, roll_deg, source, tank. Or - for standard input."`
	Job      string        `placeholder:"JOB" help:"The job file with the tank that the history is of."`
	Tank     string        `placeholder:"NAME" help:"Which of the job's tanks; needed where it has several."`
	Lower    string        `placeholder:"OHM" help:"Without a job: the ohms at empty, such as 10 or 10ohm."`
	Upper    string        `placeholder:"OHM" help:"Without a job: the ohms at full, such as 180."`
	Capacity string        `placeholder:"VOLUME" help:"Without a job: what the tank holds, such as 200L; without it no litres are told."`
	Of       string        `placeholder:"NAME" help:"Whose rows are taken where the history has a column tank; those of the tank it names first unless given."`
	Column   string        `placeholder:"NAME" help:"The column with what was read, where the history has several."`
	Every    time.Duration `placeholder:"TIME" help:"Thin the levels to the last before each so much of the history's time, such as 60s, and each change of status."`
	Stale    time.Duration `placeholder:"TIME" help:"The age from which on a level isn't shown any more; 5m unless given."`
	Damping  time.Duration `placeholder:"TIME" help:"Smooth what is shown further, with so long a time constant."`
	Doubt    number        `placeholder:"POINTS" help:"How far off the sender may be, in points either way, besides what its job knows."`
	Unusable number        `default:"50" placeholder:"PERCENT" help:"How many of the lines may be no rows before the history is refused."`
	Zone     string        `default:"UTC" placeholder:"ZONE" help:"The time zone of times in sentences, and of the days and hours of use, such as Europe/Paris."`
	JSON     bool          `name:"json" help:"Write each level as a line of JSON; with --events each event, with --summary one object."`

	replayFollows
}

// Run plays a history through the watch.
func (v *replayVerb) Run(s streams) error {
	zone, err := time.LoadLocation(v.Zone)
	if err != nil {
		return fmt.Errorf("--zone %q is not known; expected a name such as Europe/Paris, or UTC", v.Zone)
	}
	if err := v.durations(); err != nil {
		return err
	}
	in, about, err := v.instrument(s)
	if err != nil {
		return err
	}
	w, err := watch.New(watch.Config{Tank: about.name, Instrument: in, Stale: v.Stale, Damping: v.Damping, Doubt: quantity.Share(doubt.Rectangular(float64(v.Doubt) / 100))})
	if err != nil {
		return err
	}
	follow, err := v.follows(in, about, zone)
	if err != nil {
		return err
	}
	from, name, closed, err := v.open(s)
	if err != nil {
		return err
	}
	defer closed()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	h, err := recording.NewHistory(&until{ctx: ctx, from: from}, name, recording.Options{Column: v.column(about), Tank: v.Of, Unusable: float64(v.Unusable) / 100})
	if err != nil {
		return err
	}
	if err := about.takes(h.Column(), name); err != nil {
		return err
	}
	out := bufio.NewWriterSize(s.out, 256<<10)
	r := replay{v: v, history: h, watch: w, stale: v.stale(), about: about, zone: zone, out: out, follow: follow}
	err = r.run()
	interrupted := ctx.Err() != nil
	if err != nil && !interrupted {
		return errors.Join(out.Flush(), err)
	}
	switch {
	case follow != nil:
		r.followed(out)
	case !v.JSON:
		r.tell(out)
	}
	if err := out.Flush(); err != nil {
		return err
	}
	r.warn(s.err)
	if interrupted {
		fmt.Fprintf(s.err, "gaugewright: interrupted; what stands above is of the %d readings up to line %d\n", r.taken, r.line)
		return errBad
	}
	if r.last.Status == watch.Failure {
		return errBad
	}
	return nil
}

func (v *replayVerb) stale() time.Duration {
	if v.Stale == 0 {
		return 5 * time.Minute
	}
	return v.Stale
}

func (v *replayVerb) durations() error {
	for _, d := range []struct {
		flag  string
		value time.Duration
	}{{"--every", v.Every}, {"--stale", v.Stale}, {"--damping", v.Damping}} {
		if d.value < 0 {
			return fmt.Errorf("%s %s is below 0; expected a time such as 60s", d.flag, d.value)
		}
	}
	if !(v.Unusable >= 0 && v.Unusable <= 100) {
		return fmt.Errorf("--unusable %g: expected 0 to 100 percent", float64(v.Unusable))
	}
	return nil
}

// aboutTank is what is said of a tank besides its levels.
type aboutTank struct {
	name     string
	column   string // that the sender is read in; "" takes what the history has
	follows  flow.Config
	cautions []string
	lacks    []string // what isn't told, and why
}

// takes refuses a column that the sender isn't known in.
func (a aboutTank) takes(column, name string) error {
	own := a.column
	if own == "" {
		own = "ohm"
	}
	if column == own || column == "level_pct" {
		return nil
	}
	known := "--lower and --upper are ohms"
	if a.name != unnamed {
		known = fmt.Sprintf("tank %q was read in %s on the bench", a.name, own)
	}
	return fmt.Errorf("%s has the column %s, and %s; expected a history with %s (or level_pct), or for --column one that the sender is known in", name, column, known, own)
}

// unnamed is the tank that no job has.
const unnamed = "tank"

// column gives the column of the history to take.
func (v *replayVerb) column(about aboutTank) string {
	if v.Column != "" {
		return v.Column
	}
	return about.column
}

// instrument makes the instrument of the job's tank, or of the end values.
func (v *replayVerb) instrument(s streams) (*watch.Instrument, aboutTank, error) {
	ends := v.Lower != "" || v.Upper != "" || v.Capacity != ""
	switch {
	case v.Job != "" && ends:
		return nil, aboutTank{}, fmt.Errorf("--job says what the sender is; leave out --lower, --upper and --capacity")
	case v.Job == "" && v.Tank != "":
		return nil, aboutTank{}, fmt.Errorf("--tank names a tank of a job; give the job with --job, or for a tank in the history use --of")
	case v.Job == "" && (v.Lower == "" || v.Upper == ""):
		return nil, aboutTank{}, fmt.Errorf("what the sender is isn't said; give --job JOB.json, or its ohms at empty and at full such as --lower 10 --upper 180")
	case v.Job == "":
		in, err := v.ends()
		if err != nil {
			return nil, aboutTank{}, err
		}
		return in, aboutTank{name: unnamed, follows: fitted.FollowingOf("", in)}, nil
	case v.Job == "-" && v.History == "-":
		return nil, aboutTank{}, fmt.Errorf("the history and the job can't both come from standard input")
	}
	j, err := s.job(v.Job)
	if err != nil {
		return nil, aboutTank{}, err
	}
	t, err := theTank(j, v.Tank)
	if err != nil {
		return nil, aboutTank{}, err
	}
	in, err := fitted.Of(t)
	about := aboutTank{name: t.Name, cautions: t.Cautions(), lacks: fitted.Lacks(t)}
	if column := t.Signal().Column(); column != "ohm" {
		about.column = column
	}
	if err == nil {
		about.follows = fitted.Following(t, in)
	}
	return in, about, err
}

// ends makes the instrument of two end values.
func (v *replayVerb) ends() (*watch.Instrument, error) {
	lower, err := ohms("--lower", v.Lower)
	if err != nil {
		return nil, err
	}
	upper, err := ohms("--upper", v.Upper)
	if err != nil {
		return nil, err
	}
	var capacity quantity.CubicMetre
	if v.Capacity != "" {
		if capacity, err = quantity.ParseCubicMetre(v.Capacity); err != nil {
			return nil, fmt.Errorf("--capacity: %w", err)
		}
	}
	return watch.Ends(lower, upper, capacity)
}

// ohms reads a resistance with its unit, or a plain number of ohms.
func ohms(flag, text string) (quantity.Ohm, error) {
	ohm, err := quantity.ParseOhms(text)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", flag, err)
	}
	return ohm, nil
}

// open opens the history.
func (v *replayVerb) open(s streams) (from io.Reader, name string, closed func(), err error) {
	if v.History == "-" {
		return s.in, standardInput, func() {}, nil
	}
	f, err := os.Open(v.History)
	if err != nil {
		return nil, "", nil, err
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, "", nil, errors.Join(f.Close(), fmt.Errorf("%s: this is a directory; expected a CSV file", v.History))
	}
	return f, v.History, func() { _ = f.Close() }, nil // only read from
}

// warn says on standard error what of the history wasn't used.
func (r *replay) warn(w io.Writer) {
	say := func(format string, args ...any) { fmt.Fprintf(w, "gaugewright: "+format+"\n", args...) }
	for _, text := range r.about.lacks {
		say("%s", text)
	}
	for _, c := range r.history.Ignored() {
		say("column %s isn't looked at", strconv.Quote(c))
	}
	bad, other := r.history.Unusable()
	for _, c := range bad {
		text := ""
		if c.Text != "" {
			text = ": " + strconv.Quote(c.Text)
		}
		say("%s with %s left out; the first is line %d%s", plural(c.N, "line"), c.Why, c.Line, text)
	}
	if other > 0 {
		say("%s of other tanks left out; choose one with --of", plural(other, "row"))
	}
	aside, _ := r.history.Aside()
	for _, c := range aside {
		say("%s with %s set aside; the first is line %d", plural(c.N, "row"), c.Why, c.Line)
	}
	if r.history.Unset() {
		say("its times are all before %d: they are taken as they stand, as of a clock that was never set", recording.Earliest.Year())
	}
	if r.history.Turned() {
		say("the rows ran from the newest to the oldest and were turned round")
	}
	if r.history.Sorted() {
		say("the rows stood in no order of time and were sorted by it")
	}
}

func plural(n int64, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
