package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/vehicle"
)

// written is a history that was written, as JSON has it.
type written struct {
	File     string    `json:"file"`
	Tank     string    `json:"tank"`
	Contents string    `json:"contents"`
	Kind     string    `json:"kind"`
	Seed     uint64    `json:"seed"`
	Rows     int       `json:"rows"`
	Start    time.Time `json:"start"`
	EveryS   float64   `json:"every_s"`
	ForS     float64   `json:"for_s"`
	EmptyOhm float64   `json:"empty_ohm"`
	FullOhm  float64   `json:"full_ohm"`
	Capacity float64   `json:"capacity_l"`
	Fill     float64   `json:"permitted_fill_pct"`
	Cautions []string  `json:"cautions,omitempty"`
}

// usualStart is the first reading of a history where nothing else is asked for:
// the same for everyone, so that the same seed gives the same file.
var usualStart = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

// write writes a history with the truth beside it.
func (v *simulateVerb) write(s streams, start time.Time, faults []vehicle.Fault) (err error) {
	if v.Speed != 1 || v.Vehicles != 1 {
		return errors.New("--speed and --vehicles belong to publishing; expected neither of them with --write")
	}
	if v.JSON && v.Write == "-" {
		return errors.New("--json and --write - would both go to standard output; name a file")
	}
	if start.IsZero() {
		start = usualStart
	}
	length := v.For
	if length == 0 {
		length = time.Hour
	}
	if length < 0 || v.Every > 0 && length/v.Every > 50_000_000 {
		return fmt.Errorf("--for %v with a reading every %v; expected at most 50 million readings", length, v.Every)
	}
	t, ok := vehicle.Named(v.Tank)
	if !ok {
		return fmt.Errorf("there is no tank %q; expected %s", v.Tank, strings.Join(kitchenNames(), ", "))
	}
	plan, err := vehicle.Tell(v.Kind, vehicle.Kitchen(), start, v.Every, length)
	if err != nil {
		return err
	}
	plan.Faults = append(plan.Faults, faults...)
	made, err := vehicle.New(v.Seed, plan)
	if err != nil {
		return err
	}
	out := s.out
	if v.Write != "-" {
		f, err := os.OpenFile(v.Write, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, os.ErrExist) {
			return fmt.Errorf("%s is there already; expected the name of a new file", v.Write)
		}
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, f.Close()) }()
		out = f
	}
	rows, err := history(out, made, v.Tank, length)
	if err != nil {
		return err
	}
	w := written{File: v.Write, Tank: t.Name, Contents: string(t.Contents), Kind: v.Kind, Seed: v.Seed, Rows: rows, Start: start,
		EveryS: made.Plan().Every.Seconds(), ForS: length.Seconds(), EmptyOhm: float64(t.Sender.Empty), FullOhm: float64(t.Sender.Full),
		Capacity: quantity.Round(1000*float64(t.Capacity()), 1), Fill: 100 * float64(permitted(t)), Cautions: cautionLines([]vehicle.Tank{t})}
	if v.JSON {
		return writeJSON(s.out, w)
	}
	return w.tell(s)
}

func (w written) tell(s streams) error {
	fmt.Fprintf(s.err, "%d readings of %s, invented (%s, seed %d). Try them:\n", w.Rows, w.Tank, w.Kind, w.Seed)
	_, err := fmt.Fprintf(s.err, "  gaugewright replay %s --lower %g --upper %g --capacity %gL\n", w.File, w.EmptyOhm, w.FullOhm, w.Capacity)
	for _, line := range w.Cautions {
		lead, text := leadOf(line)
		writeWrapped(s.err, lead, text)
	}
	return err
}

func permitted(t vehicle.Tank) quantity.Share {
	if t.Permitted > 0 {
		return t.Permitted
	}
	return 1
}

func kitchenNames() (out []string) {
	for _, t := range vehicle.Kitchen() {
		out = append(out, t.Name)
	}
	return out
}

// history writes the readings of a tank as rows: when its clock says it was, the
// ohms (empty where it has no value), and the truth: the share of the volume in
// percent, whether it was under way, and what was amiss. Rows stand in the order
// in which they come in.
func history(w io.Writer, v *vehicle.Vehicle, tank string, length time.Duration) (rows int, err error) {
	b := bufio.NewWriter(w)
	_, _ = b.WriteString("time,ohm,true_pct,moving,fault\n") // the buffer keeps its error
	var line []byte
	for v.Elapsed() < length {
		for _, s := range v.Next() {
			if v.State(s.Tank).Name != tank {
				continue
			}
			line = s.Stamp.UTC().AppendFormat(line[:0], time.RFC3339Nano)
			line = append(line, ',')
			if !math.IsNaN(s.Ohm) {
				line = strconv.AppendFloat(line, s.Ohm, 'f', -1, 64)
			}
			line = append(line, ',')
			line = strconv.AppendFloat(line, 100*float64(s.True), 'f', 3, 64)
			line = append(line, ',')
			line = strconv.AppendBool(line, s.Moving)
			line = append(line, ',')
			line = append(line, s.Fault.String()...)
			_, _ = b.Write(append(line, '\n'))
			rows++
		}
	}
	return rows, b.Flush()
}

// list lists what there is to choose from.
func (v *simulateVerb) list(s streams) error {
	type named struct {
		Name string `json:"name"`
		Says string `json:"says"`
	}
	var stories, tanks, faults []named
	for _, story := range vehicle.Stories() {
		stories = append(stories, named{story.Name, story.Says})
	}
	for _, t := range vehicle.Kitchen() {
		tanks = append(tanks, named{t.Name, strings.TrimSpace(strings.TrimPrefix(tankWords(t), t.Name))})
	}
	for _, k := range vehicle.Kinds() {
		faults = append(faults, named{k.String(), k.Means()})
	}
	if v.JSON {
		return writeJSON(s.out, map[string]any{"stories": stories, "tanks": tanks, "faults": faults, "cautions": cautionLines(vehicle.Kitchen())})
	}
	for _, part := range []struct {
		head string
		list []named
	}{{"Stories, for --kind:", stories}, {"Tanks of Tidewater Kitchen, which is invented:", tanks}, {"Faults, for --fault and while it runs:", faults}} {
		fmt.Fprintln(s.out, part.head)
		for _, n := range part.list {
			fmt.Fprintf(s.out, "  %-11s %s\n", n.Name, n.Says)
		}
	}
	for _, line := range cautionLines(vehicle.Kitchen()) {
		lead, text := leadOf(line)
		writeWrapped(s.out, lead, text)
	}
	return nil
}
