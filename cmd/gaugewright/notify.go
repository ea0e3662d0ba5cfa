package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"gaugewright/internal/language"
	"gaugewright/internal/station"
)

// notifyVerb tries the ways by which a watch tells people and programs of alarms.
type notifyVerb struct {
	Config    string   `required:"" placeholder:"WATCH.toml" help:"The configuration of the watch (docs/notices.md), which may be running."`
	Set       []string `placeholder:"KEY=VALUE" sep:"none" help:"Set a key over what the file says, as for the verb watch."`
	Test      bool     `help:"Send a test by each way, from end to end, and say how that went. Whoever gets it is told that nothing is wrong."`
	Way       string   `placeholder:"NAME" help:"By this way alone, such as mail/owner or hook/house."`
	JSON      bool     `help:"One JSON object for all of it."`
	Languages string   `placeholder:"FOLDER" help:"A folder with catalogues of more languages (docs/languages.md)."`
}

// triedJSON is how one way went, for programs.
type triedJSON struct {
	Way  string  `json:"way"`
	What string  `json:"what"`
	OK   bool    `json:"ok"`
	Why  *string `json:"why"`
}

// Run sends the tests. One that fails is a bad finding.
func (v *notifyVerb) Run(s streams) error {
	if !v.Test {
		return errors.New("nothing is asked for; expected --test, which sends a test by each way")
	}
	c, err := station.Read(v.Config, os.Environ(), v.Set)
	if err != nil {
		return err
	}
	languages, err := language.Open(v.Languages)
	if err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	list, err := station.TryNotices(ctx, c, station.Options{Log: logTo(s, false), Languages: languages}, v.Way)
	if err != nil {
		return err
	}
	failed := 0
	var rows []triedJSON
	for _, t := range list {
		row := triedJSON{Way: t.Way, What: t.What, OK: t.Err == nil}
		line := fmt.Sprintf("%s, to %s: sent, and taken.", t.Way, t.What)
		if t.Err != nil {
			failed++
			why := strings.TrimSpace(t.Err.Error())
			row.Why = &why
			line = fmt.Sprintf("%s, to %s: not delivered: %s.", t.Way, t.What, why)
		}
		rows = append(rows, row)
		if !v.JSON {
			fmt.Fprintln(s.out, line)
		}
	}
	if v.JSON {
		if err := writeJSON(s.out, struct {
			Tried []triedJSON `json:"tried"`
		}{rows}); err != nil {
			return err
		}
	}
	if failed > 0 {
		return errBad
	}
	return nil
}
