package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"gaugewright/internal/finding"
	"gaugewright/internal/job"
)

// toChange reads a job that is going to be changed, and keeps it as it was.
func toChange(path string) (j, before *job.Job, err error) {
	if j, err = job.ReadFile(path); err != nil {
		return nil, nil, err
	}
	before, err = j.Copy()
	return j, before, err
}

// write writes a changed job with a note in its history, and gives the number of
// the revision that it is now. It says so where that takes a signature off.
func (s streams) write(path string, j, before *job.Job, by, words string) (int, error) {
	if err := j.Revise(before, time.Now(), by, words); err != nil {
		return 0, err
	}
	if err := j.WriteFile(path); err != nil {
		return 0, err
	}
	if before.Signature != nil && j.Signature == nil {
		fmt.Fprintf(s.err, "gaugewright: %s was signed; it is no longer, as it was changed: sign it again with gaugewright job sign\n", path)
	}
	return len(j.History), nil
}

func readingsCount(t job.Tank) string {
	if n := len(t.Bench.Readings); n != 1 {
		return fmt.Sprintf("%d readings", n)
	}
	return "1 reading"
}

type jobLog struct {
	File string `arg:"" help:"The job file."`
	JSON bool   `name:"json" help:"Write the result as JSON."`
}

// Run lists the revisions, the oldest first.
func (v *jobLog) Run(s streams) error {
	j, err := job.ReadFile(v.File)
	if err != nil {
		return err
	}
	if v.JSON {
		list := make([]fields, len(j.History))
		for i, r := range j.History {
			list[i].set("revision", i+1)
			list[i].set("time", r.Time)
			list[i].set("by", r.By)
			list[i].set("words", r.Words)
		}
		var out fields
		out.set("number", j.Number)
		out.set("first", j.First())
		out.set("revisions", list)
		out.set("findings", append([]finding.Finding{}, j.Findings()...))
		return writeJSON(s.out, out)
	}
	writeFindings(s.out, j.Findings())
	if len(j.History) == 0 {
		fmt.Fprintln(s.out, "Nothing is noted of how this job came to be; from now on every change by this program is.")
	}
	for i, r := range j.History {
		line := fmt.Sprintf("%d  %s", i+1, dayOf(r.Time))
		if r.By != "" {
			line += "  " + r.By
		}
		fmt.Fprintf(s.out, "%s: %s\n", line, r.Words)
	}
	return nil
}

// dayOf writes a time for a line of the log; the zone stays as it was noted.
func dayOf(text string) string {
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return "no date"
	}
	return at.Format("2006-01-02 15:04")
}

type jobDiff struct {
	File  string `arg:"" help:"The job file, or the earlier of two."`
	Other string `arg:"" optional:"" help:"The later job file."`
	From  *int   `placeholder:"N" help:"The earlier revision, as job log numbers them; 0 is the job before the first one noted. The one before --to unless given."`
	To    *int   `placeholder:"M" help:"The later revision; the last unless given."`
	JSON  bool   `name:"json" help:"Write the result as JSON."`
}

// Run tells the differences.
func (v *jobDiff) Run(s streams) error {
	was, is, between, err := v.two()
	if err != nil {
		return err
	}
	list := job.Diff(was, is)
	if v.JSON {
		var out fields
		out.set("between", between)
		out.set("differences", append([]job.Difference{}, list...))
		return writeJSON(s.out, out)
	}
	fmt.Fprintf(s.out, "%s:\n", between)
	if len(list) == 0 {
		fmt.Fprintln(s.out, "Nothing differs.")
	}
	for _, d := range list {
		writeWrapped(s.out, "- ", d.Text)
	}
	return nil
}

// two gives the two jobs to compare, and says which they are.
func (v *jobDiff) two() (was, is *job.Job, between string, err error) {
	j, err := job.ReadFile(v.File)
	if err != nil {
		return nil, nil, "", err
	}
	if v.Other != "" {
		if v.From != nil || v.To != nil {
			return nil, nil, "", errors.New("--from and --to are revisions of one file; leave them out, or name one file")
		}
		other, err := job.ReadFile(v.Other)
		return j, other, fmt.Sprintf("From %s to %s", v.File, v.Other), err
	}
	to := len(j.History)
	if v.To != nil {
		to = *v.To
	}
	from := to - 1
	if v.From != nil {
		from = *v.From
	}
	if len(j.History) == 0 {
		return nil, nil, "", fmt.Errorf("%s has no history yet; name a second file to compare it with", v.File)
	}
	if v.From == nil && from < j.First() {
		return nil, nil, "", fmt.Errorf("there is no revision before %d in %s; its history begins there", to, v.File)
	}
	if from >= to {
		return nil, nil, "", fmt.Errorf("--from %d isn't before --to %d", from, to)
	}
	if was, err = j.At(from); err == nil {
		is, err = j.At(to)
	}
	if err != nil {
		return nil, nil, "", fmt.Errorf("%s: %w", v.File, err)
	}
	between = fmt.Sprintf("From revision %d to %d", from, to)
	if r := j.History[to-1]; to == from+1 {
		between += fmt.Sprintf(" (%s, %s)", dayOf(r.Time), r.Words)
	}
	return was, is, between, nil
}

// mustBeNew refuses a file that is there already, with what to do about it.
func mustBeNew(path, instead string) error {
	if _, err := os.Stat(path); err == nil {
		return fmt.Errorf("%s is there already; %s", path, instead)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
