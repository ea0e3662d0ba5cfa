package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// ten is a history of a sender that stands still, with a broken wire in it and a
// gap. The level is 50 %.
const ten = `time,ohm,true_level
2026-03-01T08:00:00Z,95.0,50
2026-03-01T08:00:10Z,95.1,50
2026-03-01T08:00:20Z,94.9,50
2026-03-01T08:00:30Z,95.0,50
2026-03-01T08:00:40Z,99999,50
2026-03-01T08:00:50Z,99999,50
2026-03-01T08:01:00Z,,50
2026-03-01T08:01:10Z,95.1,50
2026-03-01T08:01:20Z,95.0,50
2026-03-01T08:01:30Z,95.0,50
2026-03-01T08:01:40Z,95.0,50
2026-03-01T08:20:00Z,95.0,50
2026-03-01T08:20:10Z,95.0,50
2026-03-01T08:20:20Z,95.0,50
`

var endValues = []string{"--lower", "10", "--upper", "180ohm", "--capacity", "200L"}

// contract is a line of replay --json, in the order of its fields.
type contract struct {
	Time     json.RawMessage  `json:"time"`
	Ohm      *float64         `json:"ohm"`
	Mark     *float64         `json:"mark_pct"`
	Level    *float64         `json:"level_pct"`
	Volume   *float64         `json:"volume_l"`
	U        *float64         `json:"u_pct"`
	Status   string           `json:"status"`
	Reason   string           `json:"reason"`
	Low      *float64         `json:"low_pct"`
	High     *float64         `json:"high_pct"`
	Mass     *float64         `json:"mass_kg"`
	Motion   string           `json:"motion"`
	Fault    *string          `json:"fault"`
	Since    json.RawMessage  `json:"since"`
	LastGood *json.RawMessage `json:"last_good"`
}

var contractFields = []string{"time", "ohm", "mark_pct", "level_pct", "volume_l", "u_pct", "status", "reason", "low_pct", "high_pct", "mass_kg", "motion", "fault", "since", "last_good"}

func replayed(t *testing.T, in string, args ...string) (status int, lines []contract, messages string) {
	t.Helper()
	status, out, messages := command(in, append([]string{"replay", "-", "--json"}, args...)...)
	for line := range strings.Lines(out) {
		d := json.NewDecoder(strings.NewReader(line))
		d.DisallowUnknownFields()
		var c contract
		if err := d.Decode(&c); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		if names := fieldsOf(t, line); strings.Join(names, " ") != strings.Join(contractFields, " ") {
			t.Fatalf("the fields are %v", names)
		}
		lines = append(lines, c)
	}
	return status, lines, messages
}

// fieldsOf gives the names of an object's fields in their order.
func fieldsOf(t *testing.T, line string) []string {
	t.Helper()
	d := json.NewDecoder(strings.NewReader(line))
	depth, name := 0, true
	var out []string
	for {
		token, err := d.Token()
		if err != nil {
			return out
		}
		switch v := token.(type) {
		case json.Delim:
			switch v {
			case '{', '[':
				depth++
			default:
				depth--
			}
			name = true
			continue
		case string:
			if depth == 1 && name {
				out = append(out, v)
				name = false
				continue
			}
		}
		name = true
	}
}

func TestReplayJSON(t *testing.T) {
	status, lines, messages := replayed(t, ten, endValues...)
	if status != 0 || messages != "gaugewright: column \"true_level\" isn't looked at\n" {
		t.Errorf("status %d, %q", status, messages)
	}
	byTime := map[string]contract{}
	var before string
	for _, l := range lines {
		at := string(l.Time)
		if at <= before {
			t.Errorf("%s after %s", at, before)
		}
		before, byTime[at] = at, l
		if (l.Level == nil) != (l.U == nil) || (l.Level == nil) != (l.Volume == nil) || (l.Level == nil) != (l.Low == nil) || l.Mass != nil {
			t.Errorf("%s: %+v", at, l)
		}
		if l.Level != nil {
			if math.Abs(*l.Level-50) > 0.3 || math.Abs(*l.Volume-100) > 0.6 || *l.Low > *l.Level || *l.High < *l.Level {
				t.Errorf("%s: level %g, %g L, %g to %g", at, *l.Level, *l.Volume, *l.Low, *l.High)
			}
		}
	}
	for at, want := range map[string]struct {
		status, says string
		shown        bool
	}{
		`"2026-03-01T08:00:30Z"`: {"good", "", true},
		`"2026-03-01T08:00:50Z"`: {"failure", "broken wire since 08:00; last good 50 %", false},
		`"2026-03-01T08:01:00Z"`: {"failure", "last good 50 %", false},
		`"2026-03-01T08:01:40Z"`: {"good", "", true},
		`"2026-03-01T08:06:40Z"`: {"failure", "no reading since 08:01; last good 50 %", false},
		`"2026-03-01T08:20:20Z"`: {"good", "", true},
	} {
		l, ok := byTime[at]
		if !ok || l.Status != want.status || (l.Level != nil) != want.shown || !strings.Contains(l.Reason, want.says) || want.says == "" && l.Reason != "" {
			t.Errorf("%s: %+v, there %v", at, l, ok)
		}
	}
	if l := byTime[`"2026-03-01T08:00:40Z"`]; l.Level != nil || l.Ohm == nil || *l.Ohm != 99999 {
		t.Errorf("the first reading of a broken wire: %+v", l)
	}
	if len(lines) != 15 {
		t.Errorf("%d lines, of 14 readings and a gap", len(lines))
	}
}

// Twice the same bytes, by file and by standard input; doubled, swapped and
// wrongly clocked rows change nothing.
func TestReplayIsDeterministic(t *testing.T) {
	file := filepath.Join(t.TempDir(), "h.csv")
	if err := os.WriteFile(file, []byte(ten), 0o600); err != nil {
		t.Fatal(err)
	}
	_, want, _ := command("", append([]string{"replay", file, "--json"}, endValues...)...)
	rows := strings.SplitAfter(ten, "\n")
	rows[3], rows[4] = rows[4], rows[3]
	spoilt := strings.Join(rows[:6], "") + rows[5] + "1970-01-01T00:00:09Z,12,1\n2101-01-01T00:00:00Z,12,1\nrubbish\n" + strings.Join(rows[6:], "")
	for name, in := range map[string]string{"again": ten, "spoilt": spoilt, "CRLF": strings.ReplaceAll(ten, "\n", "\r\n")} {
		if _, out, _ := command(in, append([]string{"replay", "-", "--json"}, endValues...)...); out != want {
			t.Errorf("%s: other levels", name)
		}
	}
}

// Times come out as they stood in the history.
func TestReplayKeepsTimes(t *testing.T) {
	for _, form := range []string{"%d", "%d.50", "\"2026-03-01T09:00:%02d+01:00\"", "\"2026-03-01T08:00:%02d.250Z\""} {
		in, want := "time,ohm\n", []string{}
		for i := range 4 {
			second := 10 * i
			if form[0] == '%' {
				second += 1772352000
			}
			at := fmt.Sprintf(form, second)
			in += strings.Trim(at, `"`) + ",95\n"
			want = append(want, at)
		}
		_, lines, _ := replayed(t, in, endValues...)
		for i, l := range lines {
			if string(l.Time) != want[i] {
				t.Errorf("%s, was %s", l.Time, want[i])
			}
		}
	}
}

// Thinned, each tick has the last level at or before it, and a change of status
// is never left out.
func TestReplayEvery(t *testing.T) {
	in := "time,ohm\n"
	for i := range 360 {
		ohm := 95.0
		if i >= 100 && i < 103 {
			ohm = 99999
		}
		in += fmt.Sprintf("%d,%g\n", 1772352003+5*i, ohm)
	}
	_, lines, _ := replayed(t, in, append(endValues, "--every", "60s")...)
	changes, before := 0, ""
	ticks := map[int]bool{}
	for _, l := range lines {
		if l.Status != before {
			changes++
		}
		before = l.Status
		var at int
		if err := json.Unmarshal(l.Time, &at); err != nil {
			t.Fatal(err)
		}
		if at%60 >= 55 {
			ticks[at/60] = true
		}
	}
	if len(ticks) != 30 || changes < 4 {
		t.Errorf("%d ticks of 30, %d changes of status", len(ticks), changes)
	}
	if len(lines) > 30+8 {
		t.Errorf("%d lines", len(lines))
	}
}

// A level that something else worked out is watched as it is.
func TestReplayOfPercents(t *testing.T) {
	in := "time,level_pct\n"
	for i := range 12 {
		in += fmt.Sprintf("%d,42\n", 1772352000+10*i)
	}
	_, lines, messages := replayed(t, in, endValues...)
	if l := lines[len(lines)-1]; l.Level == nil || math.Abs(*l.Level-42) > 0.05 || l.Ohm != nil || math.Abs(*l.Volume-84) > 0.1 {
		t.Errorf("%+v %s", l, messages)
	}
}

func TestReplayTells(t *testing.T) {
	status, out, _ := command(ten, append([]string{"replay", "-", "--zone", "Europe/Paris"}, endValues...)...)
	if status != 0 {
		t.Errorf("status %d", status)
	}
	for _, says := range []string{"14 readings, from 2026-03-01 09:00:00 to 2026-03-01 09:20:20 (Europe/Paris)", "at the end", "50.0 %", "broken wire", "no reading"} {
		if !strings.Contains(out, says) {
			t.Errorf("nothing of %q in:\n%s", says, out)
		}
	}
	if strings.Contains(out, "Caution") {
		t.Error("a caution for who knows what")
	}
}

// A recording that ends with a broken sender is a bad finding.
func TestReplayEndsBroken(t *testing.T) {
	in := "time,ohm\n"
	for i := range 20 {
		ohm := 95.0
		if i >= 15 {
			ohm = 99999
		}
		in += fmt.Sprintf("%d,%g\n", 1772352000+10*i, ohm)
	}
	if status, out, _ := command(in, append([]string{"replay", "-"}, endValues...)...); status != 1 || !strings.Contains(out, "broken wire since 08:02; last good 50 %") {
		t.Errorf("status %d:\n%s", status, out)
	}
}

func TestReplayOfAJob(t *testing.T) {
	const jobFile = "../../docs/samples/tidewater.job.json"
	in := "time,ohm\n"
	for i := range 12 {
		in += fmt.Sprintf("%d,45\n", 1772352000+10*i)
	}
	status, out, messages := command(in, "replay", "-", "--job", jobFile, "--tank", "Gas")
	if status != 0 || !strings.Contains(out, " kg") || !strings.Contains(out, " L") || !strings.Contains(out, "Never fill beyond the permitted fill") {
		t.Errorf("status %d, %s:\n%s", status, messages, out)
	}
	_, lines, _ := replayed(t, in, "--job", jobFile, "--tank", "Gas")
	if l := lines[len(lines)-1]; l.Mass == nil || l.Level == nil || !(*l.U > 0.1) {
		t.Errorf("%+v", l)
	}
}

func TestReplayRefuses(t *testing.T) {
	for _, test := range []struct {
		name, in, args, says string
	}{
		{"no sender", ten, "replay -", "--lower 10 --upper 180"},
		{"one end", ten, "replay - --lower 10", "at empty and at full"},
		{"both", ten, "replay - --lower 10 --upper 180 --job x.json", "leave out --lower"},
		{"a tank of no job", ten, "replay - --lower 10 --upper 180 --tank A", "--of"},
		{"not ohms", ten, "replay - --lower 10m --upper 180", "--lower"},
		{"alike", ten, "replay - --lower 10 --upper 10", "two that differ"},
		{"capacity", ten, "replay - --lower 10 --upper 180 --capacity 200", "--capacity"},
		{"zone", ten, "replay - --lower 10 --upper 180 --zone Here", "--zone"},
		{"no file", "", "replay no.csv --lower 10 --upper 180", "no such file"},
		{"a folder", "", "replay testdata --lower 10 --upper 180", "directory"},
		{"nothing", "", "replay - --lower 10 --upper 180", "nothing in it"},
		{"no header", "2026-03-01T08:00:00Z,5\n", "replay - --lower 10 --upper 180", "header row"},
		{"rubbish", "time,ohm\na\nb\nc\n1772352000,5\n", "replay - --lower 10 --upper 180", "standard input:2: 3 of 4 rows can't be used"},
		{"volts", "time,volt\n1772352000,5\n", "replay - --lower 10 --upper 180", "--lower and --upper are ohms"},
		{"volts of a job", "time,volt\n1772352000,5\n", "replay - --job ../../docs/samples/tidewater.job.json --tank Gas", "read in ohm on the bench"},
		{"every", ten, "replay - --lower 10 --upper 180 --every -5s", "--every"},
		{"which tank", ten, "replay - --job ../../docs/samples/tidewater.job.json", "several tanks"},
	} {
		t.Run(test.name, func(t *testing.T) {
			status, out, messages := command(test.in, strings.Fields(test.args)...)
			if status != 2 || !strings.Contains(messages, test.says) || out != "" {
				t.Errorf("status %d, %q, %q", status, messages, out)
			}
		})
	}
}

// Interrupted while a pipe has nothing more to say, it tells what came so far.
func TestReplayIsInterrupted(t *testing.T) {
	built.Store(true)
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(path, append([]string{"replay", "-", "--json"}, endValues...)...)
	in, err := c.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	var out, said bytes.Buffer
	c.Stdout, c.Stderr = &out, &said
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(in, ten); err != nil {
		t.Fatal(err)
	}
	time.Sleep(300 * time.Millisecond) // so that it is read; if it isn't, fewer lines come
	if err := c.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	select {
	case <-ended:
	case <-time.After(20 * time.Second):
		_ = c.Process.Kill() // so that the test ends
		t.Fatal("it waits on")
	}
	if c.ProcessState.ExitCode() != 1 || !strings.Contains(said.String(), "interrupted") || strings.Count(out.String(), "\n") != 15 {
		t.Errorf("%s, %q:\n%s", c.ProcessState, said.String(), out.String())
	}
	if err := in.Close(); err != nil && !errors.Is(err, os.ErrClosed) {
		t.Error(err)
	}
}
