package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/kin"
	"gaugewright/internal/wording"
)

type typeVerb struct {
	Gather typeGather `cmd:"" help:"Gather the units of one type of sender from jobs, or from readings, into a new file."`
	Add    typeAdd    `cmd:"" help:"Put more units into a type's file."`
	Show   typeShow   `cmd:"" help:"Tell what a type gives, how its units differ, and what a few readings of the next one would tell."`
	Try    typeTry    `cmd:"" help:"Hold readings of a unit against a type: its curve, and whether it belongs. Exits 1 when it is refused."`
	Merge  typeMerge  `cmd:"" help:"Put two files of one type together, each unit once."`
}

// unitInput says which senders of the files are taken.
type unitInput struct {
	Files     []string `arg:"" help:"Job files, and CSVs of bench readings."`
	Tank      []string `placeholder:"NAME" sep:"none" help:"Take the tanks of this name; may be given several times. Unless given, those whose sender is of the type."`
	All       bool     `help:"Take every tank that has readings."`
	Unit      []string `placeholder:"SERIAL[:BATCH]" sep:"none" help:"The serial number of the sender in a CSV, and its batch; one for each CSV, in their order."`
	Without   []string `placeholder:"SERIAL" sep:"none" help:"Leave out the unit of this serial number, or of this job; may be given several times."`
	Meter     string   `placeholder:"SPEC" help:"For CSVs: the meter's data sheet, such as 0.5%+2, or a class: pocket, handheld, bench."`
	Leads     string   `placeholder:"OHM" help:"For CSVs: what the shorted test leads read."`
	MarkDoubt number   `placeholder:"MARK" help:"For CSVs: how far a mark may have been misread either way, in the unit of the file."`
}

// taken is a unit with what its figures are in.
type taken struct {
	unit   kin.Unit
	marks  curve.MarkUnit
	signal curve.Signal
}

// units reads the files. A sender that can't be a unit is told of and left out.
func (v unitInput) units(s streams, name string) ([]taken, error) {
	var out []taken
	names := v.Unit
	skip := func(err error) { fmt.Fprintf(s.err, "gaugewright: left out: %v\n", err) }
	for _, path := range v.Files {
		if strings.EqualFold(filepath.Ext(path), ".csv") || path == "-" {
			if len(names) == 0 {
				return nil, fmt.Errorf("%s has readings and doesn't say of which unit; name it by --unit SERIAL, or SERIAL:BATCH, one for each CSV", path)
			}
			u, err := v.fromReadings(s, path, names[0])
			if err != nil {
				return nil, err
			}
			names = names[1:]
			out = append(out, u)
			continue
		}
		j, err := job.ReadFile(path)
		if err != nil {
			return nil, err
		}
		for _, t := range j.Tanks {
			if !v.takes(t, name) {
				continue
			}
			u, err := fromTank(j, t)
			if err != nil {
				skip(fmt.Errorf("%s: %w", path, err))
				continue
			}
			out = append(out, u)
		}
	}
	if len(names) > 0 {
		return nil, fmt.Errorf("--unit %s is one more than there are CSVs", names[0])
	}
	out = slices.DeleteFunc(out, func(t taken) bool {
		return slices.Contains(v.Without, t.unit.Serial) && t.unit.Serial != "" || slices.Contains(v.Without, t.unit.Job)
	})
	if len(out) == 0 {
		return nil, fmt.Errorf("no sender of the type %q was found in %s; say which by --tank, or take all by --all", name, wording.Several(v.Files, "and"))
	}
	for _, t := range out[1:] {
		if t.marks != out[0].marks || t.signal != out[0].signal {
			return nil, fmt.Errorf("%s has marks in %s and gives %s; %s has marks in %s and gives %s: a type is in one kind of both",
				t.unit.Name(), t.marks.Symbol(), t.signal.Figures(), out[0].unit.Name(), out[0].marks.Symbol(), out[0].signal.Figures())
		}
	}
	return out, nil
}

func (v unitInput) takes(t job.Tank, name string) bool {
	switch {
	case len(v.Tank) > 0:
		return slices.Contains(v.Tank, t.Name)
	case v.All:
		return len(t.Bench.Readings) > 0
	}
	return t.Sender.Type == name
}

// fromTank makes a unit of a tank's own readings, without what is known of its
// sender beforehand.
func fromTank(j *job.Job, t job.Tank) (taken, error) {
	sheet, err := t.Sheet()
	if err != nil {
		return taken{}, err
	}
	identity := kin.Unit{Job: j.Number, Tank: t.Name, Serial: t.Sender.Serial, Batch: t.Sender.Batch, Date: t.Bench.Date}
	c, err := curve.Fit(sheet, curve.Options{Doubts: t.Doubts()})
	if err != nil {
		return taken{}, fmt.Errorf("%s: %w", identity.Name(), err)
	}
	u, err := kin.NewUnit(c, identity)
	return taken{u, sheet.Unit, sheet.Signal}, err
}

func (v unitInput) fromReadings(s streams, path, name string) (taken, error) {
	sheet, err := s.sheet(path)
	if err != nil {
		return taken{}, err
	}
	d, err := doubtInput{Meter: v.Meter, Leads: v.Leads, MarkDoubt: v.MarkDoubt}.doubts(sheet.Unit, sheet.Signal)
	if err != nil {
		return taken{}, err
	}
	c, err := curve.Fit(sheet, curve.Options{Doubts: d})
	if err != nil {
		return taken{}, fmt.Errorf("%s: %w", path, err)
	}
	serial, batch, _ := strings.Cut(name, ":")
	base := filepath.Base(path)
	u, err := kin.NewUnit(c, kin.Unit{Job: strings.TrimSuffix(base, filepath.Ext(base)), Serial: serial, Batch: batch})
	return taken{u, sheet.Unit, sheet.Signal}, err
}

type typeGather struct {
	unitInput
	Name  string `required:"" help:"The type's name in the workshop."`
	Words string `help:"What the maker says of it, or anything else."`
	Out   string `required:"" placeholder:"FILE" help:"The file to make; it must not be there yet."`
}

// Run gathers units into a new file.
func (v *typeGather) Run(s streams) error {
	if _, err := os.Stat(v.Out); err == nil {
		return fmt.Errorf("%s is there already; type gather starts a new file, and type add puts units into it", v.Out)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	list, err := v.units(s, v.Name)
	if err != nil {
		return err
	}
	t := &kin.Type{Version: kin.Version, Name: v.Name, Words: v.Words, Marks: list[0].marks.Column(), Gives: list[0].signal.Column()}
	return putIn(s, t, list, v.Out)
}

type typeAdd struct {
	Type string `arg:"" help:"The type's file."`
	unitInput
}

// Run puts units into a file.
func (v *typeAdd) Run(s streams) error {
	t, err := kin.ReadFile(v.Type)
	if err != nil {
		return err
	}
	list, err := v.units(s, t.Name)
	if err != nil {
		return err
	}
	if first := list[0]; first.marks.Column() != t.Marks || first.signal.Column() != t.Gives {
		return fmt.Errorf("%s has marks as %s and gives %s; the type %q has %s and %s", first.unit.Name(), first.marks.Column(), first.signal.Column(), t.Name, t.Marks, t.Gives)
	}
	return putIn(s, t, list, v.Type)
}

// putIn adds units and writes the file.
func putIn(s streams, t *kin.Type, list []taken, path string) error {
	fresh, again := 0, 0
	for _, u := range list {
		if t.Add(u.unit) {
			again++
		} else {
			fresh++
		}
	}
	if err := t.WriteFile(path); err != nil {
		return err
	}
	text := fmt.Sprintf("%s put in", units(fresh))
	if again > 0 {
		text += fmt.Sprintf(", %s read again and put in the old one's place", units(again))
	}
	fmt.Fprintf(s.out, "%s: %s; %s in all in %s.\n", t.Name, text, units(len(t.Units)), path)
	if len(t.Units) < kin.FewestUnits {
		fmt.Fprintf(s.out, "How units differ can be told from %d on: add the next one.\n", kin.FewestUnits)
		return nil
	}
	g, err := t.Gather()
	if err != nil {
		return err
	}
	writeFindings(s.out, g.Findings)
	return nil
}

func units(n int) string {
	if n == 1 {
		return "1 unit"
	}
	return fmt.Sprintf("%d units", n)
}

type typeMerge struct {
	First  string `arg:"" help:"A type's file."`
	Second string `arg:"" help:"Another file of the same type, such as another workshop's."`
	Out    string `required:"" placeholder:"FILE" help:"The file to write; it may be one of the two."`
}

// Run merges two files.
func (v *typeMerge) Run(s streams) error {
	a, err := kin.ReadFile(v.First)
	if err != nil {
		return err
	}
	b, err := kin.ReadFile(v.Second)
	if err != nil {
		return err
	}
	merged, twice, err := kin.Merge(a, b)
	if err != nil {
		return err
	}
	if err := merged.WriteFile(v.Out); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s: %s and %s make %s in %s", merged.Name, units(len(a.Units)), units(len(b.Units)), units(len(merged.Units)), v.Out)
	if twice > 0 {
		fmt.Fprintf(s.out, "; %s in both, counted once", isAre(units(twice), twice))
	}
	fmt.Fprintln(s.out, ".")
	return nil
}

func isAre(what string, n int) string {
	if n == 1 {
		return what + " was"
	}
	return what + " were"
}

// typed is what job tank takes of the type of a sender.
type typed struct {
	Type   string `placeholder:"FILE" help:"The file of the sender's type (see type gather): with it two or three readings are enough, and a sender that isn't of the type is told."`
	OfType string `placeholder:"NAME" help:"The name of the sender's type, for a unit that is read in full, to be gathered later."`
}

// put puts the type into the sender.
func (v typed) put(sender *job.Sender) error {
	sender.Type = v.OfType
	if v.Type == "" {
		return nil
	}
	t, err := kin.ReadFile(v.Type)
	if err != nil {
		return err
	}
	if v.OfType != "" && v.OfType != t.Name {
		return fmt.Errorf("--of-type is %q, and %s is of the type %q", v.OfType, v.Type, t.Name)
	}
	g, err := t.Gather()
	if err != nil {
		return err
	}
	sender.Type, sender.Known = t.Name, &g.Known
	return nil
}
