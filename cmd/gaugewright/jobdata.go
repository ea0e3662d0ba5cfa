package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode"

	"gaugewright/internal/app"
	"gaugewright/internal/job"
	"gaugewright/internal/keep"
)

type jobImport struct {
	Files []string `arg:"" help:"Job files."`
	Data  string   `placeholder:"FILE" help:"The data file of the pages; the one in your user's data folder unless given."`
}

// Run takes job files into the data file that the pages serve.
func (v *jobImport) Run(s streams) (err error) {
	ctx := context.Background()
	store, err := app.OpenJobs(ctx, v.Data, false)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	var refused []error
	for _, path := range v.Files {
		if err := importOne(ctx, s, store, path); err != nil {
			refused = append(refused, err)
		}
	}
	return errors.Join(refused...)
}

func importOne(ctx context.Context, s streams, store job.Store, path string) error {
	j, err := job.ReadFile(path)
	if err != nil {
		return err
	}
	// In the data file there is nothing beside a job.
	j.Beside("")
	in, err := job.TakeIn(ctx, store, j, time.Now())
	if err != nil && in.ID == "" {
		return fmt.Errorf("%s: %w", path, err)
	}
	said := "taken in"
	switch {
	case in.Changed:
		said = "here already, and changed since; not doubled"
	case in.Already:
		said = "here already; not doubled"
	}
	fmt.Fprintf(s.out, "%s: job %s %s\n", path, j.Number, said)
	for _, t := range j.Tanks {
		if _, _, _, err := t.Built(); t.Shape != nil && err != nil {
			fmt.Fprintf(s.err, "gaugewright: %s: %v\n", path, err)
		}
	}
	return nil
}

type jobExport struct {
	Out  string `required:"" placeholder:"FOLDER" help:"The folder for the job files; made where there is none. A job that is there from before is written anew."`
	Find string `placeholder:"WORDS" help:"Only jobs that have all of these words in their number, customer, vehicle, date or tanks."`
	Data string `placeholder:"FILE" help:"The data file of the pages; the one in your user's data folder unless given."`
}

// Run writes the jobs of the data file as job files.
func (v *jobExport) Run(s streams) (err error) {
	ctx := context.Background()
	store, err := app.OpenJobs(ctx, v.Data, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	_, all, err := store.Jobs(ctx, v.Find, 1)
	if err != nil {
		return err
	}
	cards, _, err := store.Jobs(ctx, v.Find, max(1, all))
	if err != nil {
		return err
	}
	if err := os.MkdirAll(v.Out, 0o755); err != nil {
		return err
	}
	for _, c := range cards {
		kept, err := store.Job(ctx, c.ID)
		if err != nil {
			return err
		}
		out, err := job.Export(ctx, store, kept)
		if err != nil {
			return err
		}
		data, err := out.Encode()
		if err != nil {
			return err
		}
		path := filepath.Join(v.Out, exportName(c))
		if err := keep.File(path, data); err != nil {
			return err
		}
		fmt.Fprintln(s.out, path)
	}
	if len(cards) == 0 {
		fmt.Fprintln(s.err, "gaugewright: no job was found")
	}
	return nil
}

// exportName names a job's file by its number, for people, and by its ID in the
// data file, which no other job has.
func exportName(c job.Card) string {
	const most = 60
	var b strings.Builder
	for _, r := range c.Number {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		} else if !strings.HasSuffix(b.String(), "-") {
			b.WriteByte('-')
		}
		if b.Len() >= most {
			break
		}
	}
	return strings.Trim(b.String(), "-") + "-" + string(c.ID) + ".job.json"
}
