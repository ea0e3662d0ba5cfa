package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

type wireOut struct {
	Added float64  `json:"added_ohm"`
	Empty *float64 `json:"error_points_at_empty"`
	Full  *float64 `json:"error_points_at_full"`
	Area  *float64 `json:"smallest_area_mm2"`
}

// 2 × 5 m of 0.75 mm² add 0.2600 Ω at 20 °C and 0.3009 at 60 °C, 0.289 % of a
// span of 90 Ω (IEC 60228 class 5 and the copper of IEC 60028); AWG 20 has 33.308
// Ω/km (ASTM B258).
func TestWire(t *testing.T) {
	ask := func(args string) wireOut {
		t.Helper()
		status, out, messages := command("", append([]string{"wire", "--json"}, strings.Fields(args)...)...)
		if status != 0 {
			t.Fatalf("%s: %d, %s", args, status, messages)
		}
		var v wireOut
		if err := json.Unmarshal([]byte(out), &v); err != nil {
			t.Fatal(err)
		}
		return v
	}
	near := func(what string, got, want, off float64) {
		t.Helper()
		if math.Abs(got-want) > off {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	near("at 20 °C", ask("--area 0.75mm2 --length 5m").Added, 0.26, 1e-9)
	near("at 60 °C", ask("--area 0.75mm2 --length 5m --temp 60C").Added, 0.3009, 5e-5)
	near("a gauge number", ask("--area 20awg --length 500m").Added, 33.308, 0.002)
	v := ask("--area 0.75mm2 --length 5m --span 0:90 --limit 0.15")
	near("points at empty", *v.Empty, 0.289, 5e-4)
	near("points at full", *v.Full, 0.289, 5e-4)
	if v.Area == nil || *v.Area != 1.5 {
		t.Errorf("smallest area %v, want 1.5 mm²: 10 m of it have 0.133 Ω, 0.148 points", v.Area)
	}
	// A falling sender reads lower with more ohms.
	falling := ask("--area 0.75mm2 --length 5m --span 240:33")
	near("of a falling sender", *falling.Full, -0.26/207*100, 1e-6)
}

func TestWireRefuses(t *testing.T) {
	for args, says := range map[string]string{
		"--area 0.5 --length 6m":                          "--area:",
		"--area 0mm2 --length 6m":                         "--area:",
		"--area 0.5mm2 --length 6":                        "--length:",
		"--area 0.5mm2 --length 6m --temp 300C":           "°C",
		"--area 0.5mm2 --length -6m":                      "0 to 1000 m",
		"--area 0.5mm2 --length 6m --span 90":             `--span "90" isn't two figures`,
		"--area 0.5mm2 --length 6m --span 90:90":          "--span:",
		"--area 0.5mm2 --length 6m --limit 1":             "need --span",
		"--area 0.5mm2 --length 6m --span 0:90 --limit 0": "--limit:",
		"--area 99awg --length 6m":                        "--area:",
		"--length 6m":                                     "--area",
	} {
		status, out, messages := command("", append([]string{"wire"}, strings.Fields(args)...)...)
		if status != exitInput || !strings.Contains(messages, says) || out != "" {
			t.Errorf("%s: exit status %d, says %q, want %q; out %q", args, status, messages, says, out)
		}
	}
}
