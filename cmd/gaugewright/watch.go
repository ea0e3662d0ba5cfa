package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"
	"time"

	"gaugewright/internal/language"
	"gaugewright/internal/station"
)

type watchVerb struct {
	Config      string        `arg:"" optional:"" placeholder:"WATCH.toml" help:"The configuration (docs/watching.md); none is needed where everything is set by --set or the environment."`
	Set         []string      `placeholder:"KEY=VALUE" sep:"none" help:"Set a key over what the file says, such as tank.fresh.stale=10m or mqtt.listen=127.0.0.1:1884; may be given several times. The environment does the same: GAUGEWRIGHT_WATCH_TANK__FRESH__STALE=10m."`
	Check       bool          `help:"Say whether the configuration can be used, and end."`
	CommitEvery time.Duration `placeholder:"TIME" help:"The least time between two commits to the disk; acknowledgements wait for it, levels don't. 10s unless the configuration says otherwise."`
	// Levels is how someone at a terminal sees what goes on.
	Levels    bool   `help:"Print each tank's level as it changes, a line each."`
	JSON      bool   `help:"With --levels: as JSON, one object a line, as it is published."`
	Languages string `placeholder:"FOLDER" help:"A folder with catalogues of more languages (docs/languages.md)."`
	Verbose   bool   `help:"Log all that goes on, and not only what is amiss."`
}

// Run watches until it is interrupted.
func (v *watchVerb) Run(s streams) error {
	c, err := station.Read(v.Config, os.Environ(), committed(v.Set, v.CommitEvery))
	if err != nil {
		return err
	}
	if v.Check {
		if err := c.Try(); err != nil {
			return err
		}
		fmt.Fprintf(s.out, "The configuration can be used. Tanks: %s.\n", strings.Join(slices.Sorted(maps.Keys(c.Tank)), ", "))
		return nil
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	languages, err := language.Open(v.Languages)
	if err != nil {
		return err
	}
	o := station.Options{Log: logTo(s, v.Verbose), Languages: languages}
	if v.Levels {
		o.Out = s.out
		o.JSON = v.JSON
	}
	st, err := station.New(ctx, c, o)
	if err != nil {
		return err
	}
	if err := st.Start(ctx); err != nil {
		return errors.Join(err, st.Stop())
	}
	to := s.out
	if v.Levels && v.JSON {
		to = s.err // what is printed there is for programs
	}
	for _, line := range st.Told() {
		fmt.Fprintln(to, line)
	}
	fmt.Fprintln(to, "End it with Ctrl-C; every reading that was acknowledged is on disk.")
	begun := time.Now()
	leave := station.Watched{Turning: st.Turning, Status: st.Status, Log: o.Log}.Tell(ctx)
	select {
	case <-ctx.Done():
	case <-st.Ended():
		err = st.Err()
	}
	leave()
	err = errors.Join(err, st.Stop())
	fmt.Fprintf(to, "Watched for %s.\n", time.Since(begun).Round(time.Second))
	return err
}

// committed adds how often is committed to what is set by hand.
func committed(set []string, every time.Duration) []string {
	if every == 0 {
		return set
	}
	return append(slices.Clone(set), "commit_every="+every.String())
}
