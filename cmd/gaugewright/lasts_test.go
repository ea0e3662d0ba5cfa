package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/golden"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// sampleFile writes the sample job into a folder of its own.
func sampleFile(t *testing.T, change func(*job.Job)) string {
	t.Helper()
	j := sampleJob()
	for _, s := range sampleTanks() {
		if _, _, _, err := s.setUp(); err != nil {
			t.Fatal(err)
		}
		j.Tanks = append(j.Tanks, s.tank)
	}
	if change != nil {
		change(&j)
	}
	file := filepath.Join(t.TempDir(), "sample.job.json")
	if err := j.WriteFile(file); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestLastsGolden(t *testing.T) {
	for _, test := range []struct {
		name   string
		status int
		args   string
		change func(*job.Job)
	}{
		{"lasts.txt", 0, "", nil},
		{"lasts.40.txt", 0, "--level 40% --temp -5C", func(j *job.Job) {
			j.Units = &quantity.Units{Volume: "US gal", Mass: "lb", Energy: "therm", Temperature: "F"}
			j.Tanks = j.Tanks[:1]
		}},
		{"lasts.overfull.txt", 1, "--tank gas --litres 48L", nil},
		{"lasts.ohm.json", 0, "--tank Gas --ohm 42.5 --json", nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			args := append([]string{"lasts", sampleFile(t, test.change), "--date", "2026-11-03"}, strings.Fields(test.args)...)
			status, out, messages := command("", args...)
			if status != test.status || messages != "" {
				t.Errorf("exit status %d, want %d; messages %q", status, test.status, messages)
			}
			golden.Check(t, test.name, []byte(out))
		})
	}
}

// The names that other programs may rely on, and their sense.
func TestLastsJSON(t *testing.T) {
	status, out, messages := command("", "lasts", sampleFile(t, nil), "--level", "50%", "--date", "2026-11-03", "--json")
	if status != 0 || messages != "" {
		t.Fatalf("exit status %d, messages %q", status, messages)
	}
	var r struct {
		Tanks []struct {
			Name, Contents string
			Litres, Kg     struct{ Mid, U float64 }
			Net            struct{ Mid, U float64 } `json:"kwh_net"`
			PerDay         struct {
				Low, Mid, High float64
				Unit           string
			} `json:"use_per_day"`
			Days, Hours struct{ Low, Mid, High float64 }
			RefillBy    string `json:"refill_by"`
			Fill        struct {
				Litres, Kg, Price float64
				Currency          string
			}
			Findings []struct{ Kind, Text, Weight string }
		}
	}
	decoder := json.NewDecoder(strings.NewReader(out))
	if err := decoder.Decode(&r); err != nil {
		t.Fatal(err)
	}
	if len(r.Tanks) != 3 {
		t.Fatalf("%d tanks", len(r.Tanks))
	}
	gas, water := r.Tanks[0], r.Tanks[1]
	// Half of 80 % of 54 L.
	if math.Abs(gas.Litres.Mid-21.6) > 1e-6 || !(gas.Litres.U > 0.1 && gas.Litres.U < 1) || gas.Contents != "lpg" {
		t.Errorf("%+v", gas)
	}
	if math.Abs(gas.Net.Mid/gas.Kg.Mid-(0.6*12.87043+0.4*12.69987)) > 1e-3 { // ISO 6976:1995
		t.Errorf("%v kWh of %v kg", gas.Net.Mid, gas.Kg.Mid)
	}
	if gas.PerDay.Unit != "kg" || water.PerDay.Unit != "L" || math.Abs(gas.Hours.Low-24*gas.Days.Low) > 0.13 || !(gas.Days.Low < gas.Days.Mid && gas.Days.Mid < gas.Days.High) {
		t.Errorf("%+v", gas)
	}
	if gas.RefillBy != "2026-11-10" || gas.Fill.Currency != "EUR" || math.Abs(gas.Fill.Price-1.05*gas.Fill.Litres) > 1e-6 {
		t.Errorf("%+v", gas)
	}
	// With all of that in it no more than the permitted fill, 43.2 L.
	if gas.Fill.Litres <= 0 || gas.Litres.Mid+2*gas.Litres.U+gas.Fill.Litres > 43.2 {
		t.Errorf("%v L and %v L", gas.Litres, gas.Fill.Litres)
	}
}

func TestLastsRefuses(t *testing.T) {
	file := sampleFile(t, nil)
	bare := sampleFile(t, func(j *job.Job) {
		for i := range j.Tanks {
			j.Tanks[i].Loads = nil
		}
	})
	unfilled := sampleFile(t, func(j *job.Job) { j.Tanks[2].PermittedFillPct = 0 })
	for _, test := range []struct{ file, args, says string }{
		{file, "--ohm 42.5", `say which with --tank: "Gas", "Fresh water", "Diesel"`},
		{file, "--tank Gas --ohm 42.5 --kg 3kg", "more than one of --level"},
		{file, "--tank Petrol", `no tank "Petrol"`},
		{file, "--level 140%", "expected 0 to 100 %"},
		{file, "--level 60", "has no unit"},
		{file, "--tank Gas --kg 40kg", "40 kg can't be in it"},
		{file, "--tank Gas --litres 55L", "55 L can't be in it"},
		{file, "--temp 70C", "--temp: found 70 °C; expected -40C to 60C"},
		{file, "--date 3.11.2026", "isn't a day of the calendar"},
		{bare, "", "no tank of job TK-2026-014 has loads"},
		{unfilled, "--tank Diesel", "state permitted_fill_pct, or say how full it is"},
		{filepath.Join(t.TempDir(), "none.json"), "", "none.json"},
	} {
		status, out, messages := command("", append([]string{"lasts", test.file}, strings.Fields(test.args)...)...)
		if status != 2 || out != "" || !strings.Contains(messages, test.says) {
			t.Errorf("%s: exit status %d, output %q, messages %q", test.args, status, out, messages)
		}
	}
}

// What a tank holds, and what uses it, stays when it is put in again with new
// readings; the gas can be told on the command line.
func TestJobTankKeepsUse(t *testing.T) {
	file := sampleFile(t, nil)
	for _, step := range []struct{ args, says string }{
		{"job tank " + file + " Gas --contents lpg --capacity 54L --permitted-fill 80 --readings sample/gas.csv", "was replaced"},
		{"lasts " + file + " --tank Gas --level 50% --date 2026-11-03", "griddle"},
		{"job tank " + file + " Gas --contents lpg --mix G31 --capacity 54L --permitted-fill 80", "was replaced"},
		{"job show --json " + file, `"gas": { "mix": "G31" }`},
		{"job tank " + file + " Gas --contents lpg --propane 0.4 --butane 0.6 --by-volume --capacity 54L", "was replaced"},
		{"job show --json " + file, `"gas": { "propane": 0.4, "butane": 0.6, "by": "volume" }`},
	} {
		status, out, messages := command("", strings.Fields(step.args)...)
		if status != 0 || !strings.Contains(out, step.says) {
			t.Fatalf("%s: exit status %d, %s%s", step.args, status, out, messages)
		}
	}
	if status, _, messages := command("", "job", "tank", file, "Gas", "--contents", "lpg", "--propane", "0.5"); status != 2 || !strings.Contains(messages, "/tanks/0/gas: the mass fractions add up to 0.5") {
		t.Errorf("exit status %d, messages %q", status, messages)
	}
	if _, err := os.Stat(file); err != nil {
		t.Error(err)
	}
}
