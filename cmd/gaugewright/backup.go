package main

import (
	"context"
	"fmt"
	"os"
	"strings"
	"time"

	"gaugewright/internal/app"
)

type backupVerb struct {
	Out     string `arg:"" placeholder:"FILE.zip" help:"The file to write, which mustn't be there yet; or a folder, in which it is named by the time."`
	Data    string `placeholder:"FILE" help:"The workshop's data file; the one in your user's data folder unless given, where there is one."`
	Watch   string `placeholder:"WATCH.toml" help:"Back up a watch, too: its readings, its configuration and the job files that it names."`
	WithKey bool   `help:"Back up the key that signs job files, too. Whoever has it can sign in the workshop's name: keep such a backup under lock."`
	JSON    bool   `name:"json" help:"Write what is in the backup as JSON."`
}

// Run makes a backup, whatever else is going on.
func (v *backupVerb) Run(s streams) error {
	out, m, err := app.Backup{Data: v.Data, Watch: v.Watch, Env: os.Environ(), Key: v.WithKey, Out: v.Out, Now: time.Now()}.Make(context.Background())
	if err != nil {
		return err
	}
	if v.WithKey {
		fmt.Fprintln(s.err, "gaugewright: the backup has the key that signs job files; whoever has it can sign in the workshop's name")
	}
	if v.JSON {
		return writeJSON(s.out, struct {
			File string `json:"file"`
			app.Manifest
		}{out, m})
	}
	fmt.Fprintf(s.out, "Written and checked: %s\n", out)
	for _, f := range m.Files {
		fmt.Fprintln(s.out, "  "+inBackup(f))
	}
	return nil
}

// inBackup is a file of a backup in a line.
func inBackup(f app.BackupFile) string {
	text := fmt.Sprintf("%-24s %s", f.Name, f.Kind)
	if f.Layout > 0 {
		text = fmt.Sprintf("%-24s %d %s", f.Name, f.Count, f.Kind)
		if f.Count == 1 {
			text = strings.TrimSuffix(text, "s")
		}
	}
	return fmt.Sprintf("%s, %d bytes", text, f.Bytes)
}

type restoreVerb struct {
	File  string `arg:"" placeholder:"FILE.zip" help:"A file that the verb backup has written."`
	Into  string `placeholder:"FOLDER" help:"The folder to put the files into, under the names that they have in the backup; made where there is none."`
	Over  bool   `help:"Replace files that are there; they are kept aside, with .before- and the time behind their names."`
	Check bool   `help:"Only read the backup through and say what is in it."`
	JSON  bool   `name:"json" help:"Write what was done as JSON."`
}

// Run puts a backup in place.
func (v *restoreVerb) Run(s streams) error {
	switch {
	case v.Into == "" && !v.Check:
		return fmt.Errorf("nothing says where the files are to go; give --into FOLDER, or --check to look at the backup alone")
	case v.Into != "" && v.Check:
		return fmt.Errorf("--check puts nothing in place; leave out --into %s, or --check", v.Into)
	}
	m, placed, err := app.Restore{File: v.File, Into: v.Into, Over: v.Over, Now: time.Now()}.Do(context.Background())
	if err != nil {
		return err
	}
	if v.JSON {
		if v.Check {
			return writeJSON(s.out, m)
		}
		return writeJSON(s.out, struct {
			Made  time.Time    `json:"made"`
			Files []app.Placed `json:"files"`
		}{m.Made, placed})
	}
	fmt.Fprintf(s.out, "The backup of %s is whole.\n", m.Made.Format("2 January 2006 15:04:05 MST"))
	if v.Check {
		for _, f := range m.Files {
			fmt.Fprintln(s.out, "  "+inBackup(f))
		}
		return nil
	}
	for _, p := range placed {
		fmt.Fprintf(s.out, "  %s in %s\n", inBackup(p.BackupFile), p.Path)
		if p.Aside != "" {
			fmt.Fprintf(s.out, "  what was there is kept aside: %s\n", p.Aside)
		}
	}
	return nil
}
