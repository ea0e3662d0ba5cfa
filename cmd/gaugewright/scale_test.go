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
)

// Scales through a tank: a straight float in a lying cylinder, both invented.
func TestGoldenScales(t *testing.T) {
	const tank = "testdata/lying.tank.json"
	for _, test := range []struct {
		name   string
		status int
		args   []string
	}{
		{"lying.volume.txt", 0, []string{"span", "testdata/lying.csv", "--scale", "volume", "--tank", tank, "--try", "0:101", "--try", "0:130"}},
		{"lying.fill.json", 0, []string{"span", "testdata/lying.csv", "--scale", "fill", "--tank", tank, "--at-mark", "200", "--json"}},
		{"lying.usable.txt", 0, []string{"span", "testdata/lying.csv", "--scale", "usable", "--tank", tank, "--readout", "table", "--points", "4"}},
		{"lying.check.txt", 1, []string{"check", "testdata/lying.shown.csv", "--scale", "fill", "--tank", tank}},
		{"six.usable.txt", 0, []string{"span", "testdata/six.csv", "--scale", "usable", "--permitted-fill", "80", "--heel", "2L", "--capacity", "54L"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			status, out, messages := command("", test.args...)
			if status != test.status || messages != "" {
				t.Errorf("exit status %d, want %d; messages %q", status, test.status, messages)
			}
			golden.Check(t, test.name, []byte(out))
		})
	}
}

// Litres and targets of a lying cylinder by its formula: a quarter of the height
// holds 0.195501109478 of it, 4/5 stand at 0.745930916382.
func TestScaleFigures(t *testing.T) {
	_, out, messages := command("mark_mm,ohm\n0,0\n75,25\n223.7792749146,75\n300,100\n", "span", "-", "--scale", "fill", "--tank", "testdata/lying.tank.json", "--json")
	var r struct {
		CapacityL float64 `json:"capacity_l"`
		Shown     []struct {
			VolumeL   float64 `json:"volume_l"`
			TargetPct float64 `json:"target_pct"`
		}
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err, messages)
	}
	const litres = 56.54866776
	if math.Abs(r.CapacityL-litres) > 1e-7 {
		t.Errorf("holds %v L", r.CapacityL)
	}
	for i, part := range []float64{0, 0.195501109478, 0.8, 1} {
		if got := r.Shown[i]; math.Abs(got.VolumeL-part*litres) > 1e-6 || math.Abs(got.TargetPct-min(100, part*125)) > 1e-6 {
			t.Errorf("row %d: %+v, want %g of the tank", i, got, part)
		}
	}
}

func TestScaleRefuses(t *testing.T) {
	const (
		mm, pct, kg, litre = "mark_mm,ohm\n0,1\n300,90\n", "mark_pct,ohm\n0,1\n100,90\n", "mark_kg,ohm\n0,1\n20,90\n", "mark_l,ohm\n0,1\n50,90\n"
		tank               = "testdata/lying.tank.json"
	)
	for _, test := range []struct {
		name, in string
		args     string
		says     string
	}{
		{"volume by heights", mm, "span - --scale volume", "only with its shape"},
		{"volume by weight", kg, "span - --scale volume --tank " + tank, "only with the density"},
		{"volume by litres", litre, "span - --scale volume", "only with its water capacity"},
		{"usable of what", mm, "span - --scale usable", "--scale usable needs --heel"},
		{"heel of what", pct, "span - --scale usable --heel 2L", "--capacity, such as 54L, or --tank"},
		{"more heel than may be filled", pct, "span - --scale usable --heel 50L --permitted-fill 80 --capacity 54L", "the heel must lie below it"},
		{"no volume", pct, "span - --scale usable --heel 2kg --capacity 54L", "--heel"},
		{"nothing left", pct, "span - --scale usable --heel 0L --capacity 54L", "--heel 0 L isn't a volume"},
		{"a heel on fill", pct, "span - --scale fill --permitted-fill 80 --heel 2L", "--heel is for --scale usable"},
		{"permitted on mark", pct, "span - --permitted-fill 80", "--permitted-fill is for --scale fill, volume or usable"},
		{"two permitted fills", mm, "span - --scale fill --permitted-fill 90 --tank " + tank, "--permitted-fill says 90 % and testdata/lying.tank.json says 80 %"},
		{"two capacities", mm, "span - --scale volume --capacity 60L --tank " + tank, "--capacity and --tank both"},
		{"no such tank", mm, "span - --scale volume --tank testdata/none.json", "none.json"},
		{"no tank at all", mm, "span - --scale volume --tank testdata/lying.csv", "lying.csv"},
		{"check by heights", "mark_mm,shown_pct\n10,5\n", "check - --scale volume", "--empty-mark and --full-mark"},
		{"check into a job", "mark_pct,shown_pct\n10,5\n", "check - --scale volume --into testdata/none.json", "none.json"},
	} {
		status, out, messages := command(test.in, strings.Fields(test.args)...)
		if status != 2 || out != "" || !strings.Contains(messages, test.says) {
			t.Errorf("%s: exit status %d, output %q, messages %q", test.name, status, out, messages)
		}
	}
	// Without the shape litres go by the capacity, and heights stay on the mark scale.
	for _, args := range []string{"span - --scale volume --capacity 60L", "span - --scale fill --permitted-fill 80 --capacity 60L"} {
		if status, out, messages := command(litre, strings.Fields(args)...); status != 0 || !strings.Contains(out, "Told by the litres poured") {
			t.Errorf("%s: exit status %d, %s%s", args, status, out, messages)
		}
	}
	if status, out, messages := command(kg, "span", "-", "--tank", tank); status != 0 || strings.Contains(out, "litres") {
		t.Errorf("exit status %d, %s%s", status, out, messages)
	}
}

// A job takes the shape from a tank file; its mesh is named as it's found from
// the job, and everything that follows goes through it.
func TestJobThroughShape(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "jobs", "a.job.json")
	for _, d := range []string{"jobs", "tanks"} {
		if err := os.Mkdir(filepath.Join(folder, d), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile("testdata/lying.tank.json")
	if err != nil {
		t.Fatal(err)
	}
	tankFile := filepath.Join(folder, "tanks", "t.json")
	if err := os.WriteFile(tankFile, data, 0o600); err != nil {
		t.Fatal(err)
	}
	must := func(says string, args ...string) {
		t.Helper()
		status, out, messages := command("", args...)
		if text := strings.Join(strings.Fields(out), " "); status != 0 || !strings.Contains(text, says) {
			t.Fatalf("%v: exit status %d, messages %q, %s", args, status, messages, out)
		}
	}
	must("started", "job", "init", file, "--number", "1")
	must("the stated capacity is 60 L", "job", "tank", file, "Gas", "--contents", "lpg", "--shape", tankFile, "--capacity", "60L", "--readings", "testdata/lying.csv")
	must("0 % = when 1.5 L is left, which can't be drawn. Told by the shape of the tank", "job", "set", file, "--scale", "usable")
	must("permitted fill 80 %, heel 1.5 L", "job", "show", file)
	status, out, _ := command("", "check", "testdata/lying.shown.csv", "--into", file, "--tank", "Gas")
	if status != 1 || !strings.Contains(out, "29.2") {
		t.Errorf("exit status %d, %s", status, out)
	}
	j, err := job.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	k := j.Tanks[0]
	if k.PermittedFillPct != 80 || k.HeelL != 1.5 || k.Shape.PermittedFillPct != 0 || k.Shape.HeelL != nil || k.Shape.Version != 0 {
		t.Errorf("%+v, %+v", k, k.Shape)
	}

	table := `{"version":1,"shape":"strapping","csv":"t.csv"}`
	if err := os.WriteFile(tankFile, []byte(table), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "tanks", "t.csv"), []byte("height_mm,volume_l\n0,0\n100,30\n300,50\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	must("Next for Water", "job", "tank", file, "Water", "--contents", "water", "--shape", tankFile, "--readings", "testdata/lying.csv")
	must("100 % = the whole tank to the brim (50 L)", "job", "set", file, "Water", "--scale", "volume")
	if j, err = job.ReadFile(file); err != nil || j.Tanks[1].Shape.CSV != "../tanks/t.csv" {
		t.Errorf("%v, %+v", err, j.Tanks[1].Shape)
	}
}
