package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/station"
)

// tokenVerb makes and revokes the links and tokens of a watch without pages.
type tokenVerb struct {
	Add    tokenAddVerb    `cmd:"" help:"Make a token for a program, or with --link a link for a person, and print it once."`
	List   tokenListVerb   `cmd:"" help:"List the links and tokens that there are."`
	Remove tokenRemoveVerb `cmd:"" help:"Revoke one by its ID, as list has it."`
}

// ofWatch says which watch.
type ofWatch struct {
	Config string   `arg:"" placeholder:"WATCH.toml" help:"The configuration of the watch (docs/watching.md), which may be running."`
	Set    []string `placeholder:"KEY=VALUE" sep:"none" help:"Set a key over what the file says, as for the verb watch."`
}

// open reads the configuration and opens the links and tokens.
func (v *ofWatch) open() (station.Config, *doors.Register, func() error, error) {
	c, err := station.Read(v.Config, os.Environ(), v.Set)
	if err != nil {
		return c, nil, nil, err
	}
	g, end, err := station.OpenPasses(context.Background(), c)
	return c, g, end, err
}

type tokenAddVerb struct {
	ofWatch
	Name    string   `required:"" placeholder:"NAME" help:"For whom or what it is."`
	Link    bool     `help:"Make a link by which a person looks, instead of a token. It is to be put behind the address of the pages."`
	Read    bool     `help:"It may read levels and history."`
	Publish bool     `help:"It may hand in readings."`
	Tank    []string `placeholder:"TANK" sep:"none" help:"A tank that it is for; may be given several times. All of them unless given."`
	Until   string   `placeholder:"YYYY-MM-DD" help:"The last day on which it works; unless given, it works until it is revoked."`
}

// Run makes one and prints it, on standard output alone.
func (v *tokenAddVerb) Run(s streams) (err error) {
	p := doors.Pass{Kind: doors.Token, Name: v.Name, Read: v.Read, Publish: v.Publish}
	if v.Link {
		if v.Publish {
			return errors.New("a link is for looking alone; leave out --publish, or leave out --link and make a token")
		}
		p.Kind, p.Read = doors.Link, true
	}
	if v.Until != "" {
		day, err := time.ParseInLocation(time.DateOnly, v.Until, time.Local)
		if err != nil {
			return fmt.Errorf("--until %q isn't a date; write it like 2027-05-31", v.Until)
		}
		p.Until = day.AddDate(0, 0, 1)
	}
	c, g, end, err := v.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	for _, name := range v.Tank {
		if _, ok := c.Tank[name]; !ok {
			return fmt.Errorf("--tank %q isn't watched; the configuration has %s", name, strings.Join(slices.Sorted(maps.Keys(c.Tank)), ", "))
		}
		p.Tanks = append(p.Tanks, name)
	}
	p, secret, err := g.Make(context.Background(), p, time.Now())
	if err != nil {
		return err
	}
	if p.Kind == doors.Link {
		secret = "/see/" + secret
	}
	fmt.Fprintln(s.out, secret)
	fmt.Fprintf(s.err, "Its ID is %s. It is printed this once and not kept.\n", p.ID)
	return nil
}

type tokenListVerb struct{ ofWatch }

// Run lists them, the latest first.
func (v *tokenListVerb) Run(s streams) (err error) {
	_, g, end, err := v.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	list, err := g.Passes(context.Background())
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "ID\tKIND\tMAY\tTANKS\tUNTIL\tUSED LAST\tNAME")
	for _, p := range list {
		may := "read"
		switch {
		case p.Read && p.Publish:
			may = "read, publish"
		case p.Publish:
			may = "publish"
		}
		tanks := "all"
		if p.Tanks != nil {
			tanks = strings.Join(p.Tanks, ", ")
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", p.ID, p.Kind, may, tanks, untilWords(p), dayOrNever(p.Used), p.Name)
	}
	return w.Flush()
}

func untilWords(p doors.Pass) string {
	switch {
	case !p.Revoked.IsZero():
		return "revoked " + dayOrNever(p.Revoked)
	case p.Until.IsZero():
		return "revoked"
	case !p.Works(time.Now()):
		return "ended " + dayOrNever(p.Until.Add(-time.Second))
	}
	return dayOrNever(p.Until.Add(-time.Second))
}

func dayOrNever(t time.Time) string {
	if t.IsZero() {
		return "never"
	}
	return t.Local().Format(time.DateOnly)
}

type tokenRemoveVerb struct {
	ofWatch
	ID string `arg:"" placeholder:"ID" help:"As list has it."`
}

// Run revokes one: a watch that runs lets nobody in by it from then on.
func (v *tokenRemoveVerb) Run(s streams) (err error) {
	_, g, end, err := v.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	err = g.RevokePass(context.Background(), v.ID, time.Now())
	if errors.Is(err, doors.ErrNoPass) {
		return fmt.Errorf("there is no link or token %q; token list has those that there are", v.ID)
	}
	if err == nil {
		fmt.Fprintln(s.out, "Revoked.")
	}
	return err
}
