package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

// The chosen resistor is the best of all of its series: every value is tried
// here again, with the divider's formula written out anew.
func TestInputIsTheBest(t *testing.T) {
	status, out, messages := command("", "input", "sample/diesel.csv", "--vref", "3.3V", "--bits", "12", "--series", "E24", "--current", "1mA", "--json")
	if status != 0 {
		t.Fatal(messages)
	}
	var v struct {
		Pullup float64 `json:"pullup_ohm"`
		Empty  float64 `json:"empty_ohm"`
		Full   float64 `json:"full_ohm"`
		Step   float64 `json:"worst_step_points"`
	}
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatal(err)
	}
	// E24 of IEC 60063.
	e24 := []float64{1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1}
	best, at := math.Inf(1), 0.0
	for _, base := range e24 {
		for power := 1.0; power <= 1e6; power *= 10 {
			r := base * power
			if 3.3/(r*0.99*0.999) > 1e-3*(1+1e-9) { // 1 % resistor, 20 K of 50 ppm, the sender shorted
				continue
			}
			worst := 0.0
			for _, ohm := range []float64{v.Empty, v.Full} {
				// One count, and one of noise, in ohms by the slope of 4096·r/(R + r).
				perCount := (r + ohm) * (r + ohm) / (4096 * r)
				worst = max(worst, 2*perCount/math.Abs(v.Full-v.Empty)*100)
			}
			if worst < best {
				best, at = worst, r
			}
		}
	}
	if v.Pullup != at || math.Abs(v.Step-best) > 1e-6 {
		t.Errorf("chose %v Ω with %v points, the best is %v Ω with %v", v.Pullup, v.Step, at, best)
	}
}

func TestInputTables(t *testing.T) {
	folder := t.TempDir()
	for ext, has := range map[string]string{".csv": "tenths_pct", ".json": `"tenths`, ".h": "gw_level_tenths", ".py": "def "} {
		file := filepath.Join(folder, "table"+ext)
		status, out, messages := command("", "input", "sample/gas.csv", "--vref", "3.3V", "--bits", "12", "--table", file)
		if status != 0 || !strings.Contains(out, "Table written to") {
			t.Fatalf("%s: %d, %s%s", ext, status, out, messages)
		}
		text, err := os.ReadFile(file)
		if err != nil || !strings.Contains(string(text), has) || !strings.Contains(string(text), "hazardous places") {
			t.Errorf("%s: %v, %.300s", ext, err, text)
		}
	}
}

func TestInputRefuses(t *testing.T) {
	for args, says := range map[string]string{
		"--vref 3.3 --bits 12":                                 `--vref "3.3" isn't understood; write it like 3.3V`,
		"--vref 3.3V --bits 3":                                 "4 to 32",
		"--vref 0V --bits 12":                                  "reference of 0 V",
		"--vref 3.3V --bits 12 --current 5mA":                  "fuel or gas",
		"--vref 3.3V --bits 12 --pullup 330":                   "--pullup:",
		"--vref 3.3V --bits 12 --table t.txt":                  "expected one that ends in .csv",
		"--vref 3.3V --bits 12 --tolerance 1":                  "--tolerance:",
		"--vref 3.3V --bits 12 --power 5":                      "write it like 50mW",
		"--vref 3.3V --bits 12 --tempco -5":                    "temperature coefficient",
		"--vref 3.3V --bits 12 --leakage 5":                    "--leakage",
		"--vref 3.3V --bits 12 --table-of litres --table t.py": "--table:",
		"--bits 12": "--vref",
	} {
		status, out, messages := command("", append([]string{"input", "sample/gas.csv"}, strings.Fields(args)...)...)
		if status != exitInput || !strings.Contains(messages, says) || out != "" {
			t.Errorf("%s: exit status %d, says %q, want %q; out %q", args, status, messages, says, out)
		}
	}
}

// A sender that gives volts needs no pull-up; one in water may have more current.
func TestInputKnowsTheSender(t *testing.T) {
	status, out, messages := command("", "input", "testdata/volts.csv", "--vref", "3.3V", "--bits", "12")
	if status != exitInput || !strings.Contains(messages, "a pull-up is for senders that give ohms") || out != "" {
		t.Errorf("volts: %d, %q, %q", status, out, messages)
	}
	pullup := func(args ...string) float64 {
		t.Helper()
		_, out, messages := command("", append([]string{"input", "sample/diesel.csv", "--vref", "3.3V", "--bits", "12", "--json"}, args...)...)
		var v struct {
			Pullup float64 `json:"pullup_ohm"`
		}
		if err := json.Unmarshal([]byte(out), &v); err != nil {
			t.Fatalf("%v: %v; %s", args, err, messages)
		}
		return v.Pullup
	}
	if fuel, water := pullup(), pullup("--not-flammable"); !(fuel >= 3300 && water >= 330 && water < 1000) {
		t.Errorf("a pull-up of %v Ω in fuel, %v Ω in water", fuel, water)
	}
}

func TestWireAndInputGolden(t *testing.T) {
	for name, test := range map[string]struct {
		status int
		args   string
	}{
		"wire.txt":        {0, "wire --area 0.5mm2 --length 6m --temp 40C --joints 4 --span 0:90 --limit 0.2 --leak 2kohm --corroded 3ohm"},
		"wire.needle.txt": {1, "wire --area 0.75mm2 --length 6m --span 240:33 --needle 100ohm"},
		"input.gas.txt":   {0, "input sample/gas.csv --vref 3.3V --bits 12"},
		"input.bad.txt":   {1, "input sample/gas.csv --vref 3.3V --bits 12 --pullup 330ohm"},
		"input.gas.json":  {0, "input sample/gas.csv --vref 3.3V --bits 12 --json"},
	} {
		t.Run(name, func(t *testing.T) {
			status, out, messages := command("", strings.Fields(test.args)...)
			if status != test.status {
				t.Errorf("exit status %d, want %d; messages %q", status, test.status, messages)
			}
			golden.Check(t, name, []byte(out))
		})
	}
}
