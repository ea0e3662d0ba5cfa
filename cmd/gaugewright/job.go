package main

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/circuit"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/telling"
)

type jobVerb struct {
	Init jobInit `cmd:"" help:"Start a job file."`
	Tank jobTank `cmd:"" help:"Put a tank with its sender and bench readings into a job, or replace it."`
	Set  jobSet  `cmd:"" help:"Choose what to key in for a tank and store it, or store what was keyed in."`
	Show jobShow `cmd:"" help:"Tell what is in a job, and what is still to do."`
	jobCodeVerbs

	Log    jobLog    `cmd:"" help:"Tell how a job came to be: its revisions with date, by whom, and what was done."`
	Diff   jobDiff   `cmd:"" help:"Tell in words what changed between two revisions of a job, or between two job files."`
	Key    jobKey    `cmd:"" help:"Make a pair of keys to sign job files with."`
	Sign   jobSign   `cmd:"" help:"Sign a job file."`
	Verify jobVerify `cmd:"" help:"Tell whether a job file is as it was signed, by whom and when."`

	Import jobImport `cmd:"" help:"Take job files into the data file of the bench pages."`
	Export jobExport `cmd:"" help:"Write the jobs of the bench pages as job files, all or some."`
}

type jobInit struct {
	File     string `arg:"" help:"The job file to make; it must not be there yet."`
	Number   string `required:"" help:"The job's number."`
	Customer string `help:"Who the work is for."`
	Vehicle  string `help:"The vehicle, boat or cabin."`
	Fitter   string `help:"Who does the work."`
	Date     string `placeholder:"YYYY-MM-DD" help:"The date of the job; today unless given."`
	Note     string `help:"Anything else."`
}

func (v *jobInit) Run(s streams) error {
	if err := mustBeNew(v.File, "job init starts a new file"); err != nil {
		return err
	}
	date := v.Date
	if date == "" {
		date = time.Now().Format(time.DateOnly)
	}
	j := &job.Job{Version: job.Version, Number: v.Number, Customer: v.Customer, Vehicle: v.Vehicle, Fitter: v.Fitter, Date: date, Note: v.Note, Tanks: []job.Tank{}}
	if err := j.Revise(nil, time.Now(), v.Fitter, "job begun"); err != nil {
		return err
	}
	if err := j.WriteFile(v.File); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "Job %s started in %s. Next: gaugewright job tank %s NAME --contents … --readings …\n", v.Number, v.File, v.File)
	return nil
}

type jobTank struct {
	File             string   `arg:"" help:"The job file."`
	Name             string   `arg:"" help:"The tank's name in the job."`
	Contents         string   `enum:"lpg,water,diesel,petrol,waste,other" required:"" help:"What is in it: lpg, water, diesel, petrol, waste or other."`
	Capacity         string   `placeholder:"VOLUME" help:"Water capacity, such as 54L."`
	PermittedFill    number   `placeholder:"PERCENT" help:"Permitted fill of the water capacity; 80 is common practice for LPG. The tank's plate and the local code decide."`
	Heel             string   `placeholder:"VOLUME" help:"What is left when nothing more can be drawn, such as 2L."`
	Shape            string   `placeholder:"FILE" help:"The tank file (JSON, see docs/tank.md) of its shape, which is put into the job."`
	WireArea         string   `placeholder:"AREA" help:"The wire to what reads the sender: the area of one conductor, such as 0.5mm2, or its gauge, such as 20awg."`
	WireLength       string   `placeholder:"LENGTH" help:"The length of that wire one way, such as 6m."`
	WireJoints       int      `placeholder:"NUMBER" help:"Joints in that wire, both conductors together."`
	ThroughWire      bool     `help:"The bench readings were made through that wire."`
	Sender           string   `help:"The sender, in words."`
	Batch            string   `help:"The batch that the sender came with."`
	Serial           string   `help:"The sender's own number."`
	Claimed          []string `placeholder:"EMPTY:FULL" sep:"none" help:"A span as the data sheet claims it, in ohms or what else the readings have; may be given several times."`
	Propane          number   `placeholder:"PART" help:"The part of propane in the gas, 0 to 1."`
	Butane           number   `placeholder:"PART" help:"The part of n-butane in the gas."`
	Isobutane        number   `placeholder:"PART" help:"The part of isobutane in the gas."`
	ByVolume         bool     `help:"The parts are of the volume of liquid at 15 °C, not of the mass."`
	Mix              string   `placeholder:"NAME" help:"Or the name of a mixture, such as G31."`
	Readings         string   `placeholder:"CSV" help:"Bench readings, or - for standard input."`
	By               string   `help:"Who took the readings."`
	Meter            string   `help:"What they were taken with."`
	MeterAccuracy    string   `placeholder:"SPEC" help:"The meter's data sheet: 0.5%+2 is 0.5 % of the reading and 2 digits; 0.5%+2@0.1ohm (or 0.01V, 0.01mA) names the last digit as well. Or, for ohms, a class: pocket, handheld, bench (common practice)."`
	Leads            string   `placeholder:"OHM" help:"The shorted test leads read this much, such as 0.3ohm; it is taken off every reading."`
	MarkDoubt        number   `placeholder:"MARK" help:"How far a mark may have been misread either way, in the unit of the readings."`
	TemperatureDrift string   `placeholder:"PERCENT" help:"How far the sender's ohms, or what else it gives, may change with the weather either way, such as 0.4%."`
	Temperature      *number  `placeholder:"C" help:"Temperature of the sender in °C."`
	Date             string   `placeholder:"YYYY-MM-DD" help:"The date of the readings; today unless given."`
	typed
}

func (v *jobTank) Run(s streams) error {
	j, before, err := toChange(v.File)
	if err != nil {
		return err
	}
	t := job.Tank{Name: v.Name, Contents: job.Contents(v.Contents), PermittedFillPct: float64(v.PermittedFill)}
	t.Sender.Description, t.Sender.Batch, t.Sender.Serial = v.Sender, v.Batch, v.Serial
	if v.Capacity != "" {
		volume, err := quantity.ParseCubicMetre(v.Capacity)
		if err != nil {
			return fmt.Errorf("--capacity %w", err)
		}
		t.WaterCapacityL = figure(volume * 1000)
	}
	if v.Heel != "" {
		volume, err := quantity.ParseCubicMetre(v.Heel)
		if err != nil {
			return fmt.Errorf("--heel %w", err)
		}
		t.HeelL = figure(volume * 1000)
	}
	if v.Propane != 0 || v.Butane != 0 || v.Isobutane != 0 || v.ByVolume || v.Mix != "" {
		t.Gas = &job.Gas{Propane: float64(v.Propane), Butane: float64(v.Butane), Isobutane: float64(v.Isobutane), Mix: v.Mix}
		if v.ByVolume {
			t.Gas.By = job.ByVolume
		}
	}
	if v.Shape != "" {
		if err := v.shape(&t); err != nil {
			return err
		}
	}
	if t.Wire, err = v.wire(); err != nil {
		return err
	}
	claims, err := senderInput{Claimed: v.Claimed}.claims()
	if err != nil {
		return err
	}
	for _, c := range claims {
		t.Sender.Claimed = append(t.Sender.Claimed, job.Claim{EmptyOhm: float64(c.Empty), FullOhm: float64(c.Full)})
	}
	t.Bench = job.Bench{By: v.By, Meter: v.Meter, TemperatureC: v.Temperature.float(), Date: v.Date, Readings: []job.Reading{}}
	if v.Readings != "" {
		sheet, err := s.sheet(v.Readings)
		if err != nil {
			return err
		}
		t.SetSheet(sheet)
		t.Sender.Numbers = job.NumbersOf(t.Signal())
		if t.Bench.Date == "" {
			t.Bench.Date = time.Now().Format(time.DateOnly)
		}
	}
	if err := v.typed.put(&t.Sender); err != nil {
		return err
	}
	doubts, err := telling.BenchStated{Meter: v.MeterAccuracy, Leads: v.Leads, MarkDoubt: float64(v.MarkDoubt), TemperatureDrift: v.TemperatureDrift}.Doubts(t.Unit(), t.Signal())
	if err != nil {
		return fmt.Errorf("%s", strings.Replace(flagged(err).Error(), "--meter ", "--meter-accuracy ", 1))
	}
	t.Bench.Doubts = job.DoubtsOf(doubts, t.Unit())
	replaced := false
	for i := range j.Tanks {
		if j.Tanks[i].Name == v.Name {
			keepUse(&t, j.Tanks[i])
			j.Tanks[i], replaced = t, true
		}
	}
	if !replaced {
		j.Tanks = append(j.Tanks, t)
	}
	words := fmt.Sprintf("tank %s put in, %s", v.Name, readingsCount(t))
	if replaced {
		words = fmt.Sprintf("tank %s replaced, %s", v.Name, readingsCount(t))
	}
	revision, err := s.write(v.File, j, before, v.By, words)
	if err != nil {
		return err
	}
	if replaced {
		fmt.Fprintf(s.out, "Tank %s was replaced. As it was, with its setting and checks, it stays in the job's history: gaugewright job diff %s --from %d --to %d\n", v.Name, v.File, revision-1, revision)
	}
	writeFindings(s.out, t.Findings())
	fmt.Fprintf(s.out, "Next for %s: %s\n", v.Name, t.Next())
	return nil
}

// keepUse takes over what the tank before held and what draws from it: no reading
// of the sender changes that.
func keepUse(t *job.Tank, before job.Tank) {
	if t.Contents != before.Contents {
		return
	}
	if t.Gas == nil {
		t.Gas = before.Gas
	}
	t.DensityKgL, t.TemperatureC, t.Loads = before.DensityKgL, before.TemperatureC, before.Loads
	t.PricePerL, t.PricePerKg, t.Currency = before.PricePerL, before.PricePerKg, before.Currency
}

// wire reads the wire to the sender; nil where none is stated.
func (v *jobTank) wire() (*job.Wire, error) {
	if v.WireArea == "" && v.WireLength == "" {
		if v.WireJoints != 0 || v.ThroughWire {
			return nil, errors.New("--wire-joints and --through-wire need --wire-area and --wire-length")
		}
		return nil, nil
	}
	area, gauge, err := circuit.ParseArea(v.WireArea)
	if err != nil {
		return nil, fmt.Errorf("--wire-area: %w", err)
	}
	length, err := quantity.ParseMetre(v.WireLength)
	if err != nil {
		return nil, fmt.Errorf("--wire-length: %w", err)
	}
	w := &job.Wire{LengthM: figure(length), Joints: v.WireJoints, Through: v.ThroughWire}
	if gauge {
		for n := -3; n <= 40; n++ {
			if _, of, err := circuit.AWG(n); err == nil && math.Abs(of-area) < 1e-6*area {
				w.AWG = &n
			}
		}
	} else {
		w.AreaMM2 = figure(area * 1e6)
	}
	_, err = w.Run()
	return w, err
}

// shape puts the tank of a tank file into a job. What is stated there of the
// tank as a whole moves to the job, where it isn't stated. Files that it names
// are named as they are found from the job file.
func (v *jobTank) shape(t *job.Tank) error {
	file, err := tankfile.ReadFile(v.Shape)
	if err != nil {
		return err
	}
	file.Version = 0
	from, err := filepath.Rel(filepath.Dir(v.File), filepath.Dir(v.Shape))
	if err != nil {
		return fmt.Errorf("%s can't be named from where %s is: %w", v.Shape, v.File, err)
	}
	renameFiles(&file.Body, from)
	if t.WaterCapacityL == 0 {
		t.WaterCapacityL, file.CapacityL = file.CapacityL, 0
	}
	if t.PermittedFillPct == 0 {
		t.PermittedFillPct, file.PermittedFillPct = file.PermittedFillPct, 0
	}
	if t.HeelL == 0 && file.HeelL != nil {
		t.HeelL, file.HeelL = *file.HeelL, nil
	}
	t.Shape, t.Folder = file, filepath.Dir(v.File)
	_, _, _, err = t.Built()
	return err
}

// renameFiles puts a folder before the names of the files that a shape stands in.
func renameFiles(b *tankfile.Body, folder string) {
	for _, name := range []*string{&b.CSV, &b.MeshFile} {
		if *name != "" && !filepath.IsAbs(*name) {
			*name = filepath.ToSlash(filepath.Join(folder, *name))
		}
	}
	for _, list := range [][]tankfile.Part{b.Parts, b.Without} {
		for i := range list {
			renameFiles(&list[i].Body, folder)
		}
	}
}

type jobSet struct {
	File string `arg:"" help:"The job file."`
	Name string `arg:"" optional:"" help:"Which tank; needed where the job has several."`
	readoutInput
	markEnds
	Scale string `default:"mark" enum:"mark,volume,fill,usable" help:"What 100 % means: mark (the dial's own scale), volume (the whole tank), fill (as full as the tank may be filled) or usable (the same, and 0 % when nothing more can be drawn)."`
	Keyed string `placeholder:"L:U" help:"Store these end values instead of the best ones."`
	By    string `help:"Who keyed them in."`
	Date  string `placeholder:"YYYY-MM-DD" help:"The date; today unless given."`
}

func (v *jobSet) Run(s streams) error {
	j, before, err := toChange(v.File)
	if err != nil {
		return err
	}
	t, err := theTank(j, v.Name)
	if err != nil {
		return err
	}
	how := job.Setting{Scale: v.Scale, EmptyMark: v.EmptyMark.float(), FullMark: v.FullMark.float(), By: v.By, Date: v.Date}
	if how.Date == "" {
		how.Date = time.Now().Format(time.DateOnly)
	}
	p, err := telling.Propose(*t, how, v.wish())
	if err != nil {
		return flagged(err)
	}
	var keyed *span.Ends
	if v.Keyed != "" {
		own, err := span.ParseEnds(v.Keyed)
		if err != nil {
			return fmt.Errorf("--keyed %w", err)
		}
		keyed = &own
	}
	if err := p.Store(t, keyed); err != nil {
		return err
	}
	if _, err := s.write(v.File, j, before, v.By, t.Name+": "+t.Summary()[2].Text); err != nil {
		return err
	}
	if keyed == nil {
		printNumbers(s.out, p.Numbers())
	} else {
		fmt.Fprintln(s.out, p.StoredWords(*keyed))
	}
	fmt.Fprintf(s.out, "\nNext for %s: %s\n", t.Name, t.Next())
	return nil
}

type jobShow struct {
	File string `arg:"" help:"The job file, or - for standard input."`
	JSON bool   `name:"json" help:"Write the job as JSON, as it would be stored."`
}

func (v *jobShow) Run(s streams) error {
	read := job.ReadFile
	if v.File == "-" {
		read = func(string) (*job.Job, error) {
			j, err := job.Read(s.in, standardInput)
			if err == nil {
				j.Beside(".")
			}
			return j, err
		}
	}
	j, err := read(v.File)
	if err != nil {
		return err
	}
	if v.JSON {
		return s.writeJob(j)
	}
	printJob(s, j)
	return nil
}

// writeJob writes a job as JSON, as it would be stored.
func (s streams) writeJob(j *job.Job) error {
	data, err := j.Encode()
	if err != nil {
		return err
	}
	_, err = s.out.Write(data)
	return err
}

func printJob(s streams, j *job.Job) {
	fmt.Fprintln(s.out, telling.JobTitle(j))
	writeFindings(s.out, j.Findings())
	if j.Note != "" {
		writeWrapped(s.out, "  ", j.Note)
	}
	if len(j.Tanks) == 0 {
		fmt.Fprintln(s.out, "  no tanks yet; add one with: gaugewright job tank")
	}
	for _, t := range j.Tanks {
		fmt.Fprintf(s.out, "\n%s\n", telling.TankTitle(t))
		for _, step := range t.Summary() {
			mark := "  – "
			if !step.Done {
				mark = "  » "
			}
			writeWrapped(s.out, mark, step.String())
		}
		writeFindings(s.out, t.Findings())
	}
}

// theTank finds a tank by name, or the only one.
func theTank(j *job.Job, name string) (*job.Tank, error) {
	if name != "" {
		return j.Tank(name)
	}
	if len(j.Tanks) == 1 {
		return &j.Tanks[0], nil
	}
	var names []string
	for _, t := range j.Tanks {
		names = append(names, strconv.Quote(t.Name))
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("job %s has no tank yet; add one with: gaugewright job tank", j.Number)
	}
	return nil, fmt.Errorf("job %s has several tanks; say which: %s", j.Number, strings.Join(names, ", "))
}
