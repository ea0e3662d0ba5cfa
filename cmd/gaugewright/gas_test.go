package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gaugewright/internal/golden"
)

type gasOut struct {
	Density       float64  `json:"density_kg_m3"`
	VapourDensity float64  `json:"vapour_density_kg_m3"`
	PressureAbs   float64  `json:"pressure_bar_abs"`
	PressureGauge float64  `json:"pressure_bar_gauge"`
	Mass          *float64 `json:"mass_kg"`
	Energy        *float64 `json:"energy_kwh_net"`
	FullAt        *float64 `json:"liquid_full_at_c"`
	Hours, Days   *struct{ Low, Mid, High float64 }
	Findings      []struct{ Kind, Text, Weight string }
}

func askGas(t *testing.T, status int, args ...string) gasOut {
	t.Helper()
	got, out, messages := command("", append([]string{"gas", "--json"}, args...)...)
	if got != status {
		t.Fatalf("%v: exit status %d, want %d; %s", args, got, status, messages)
	}
	var v gasOut
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatalf("%v: %v", args, err)
	}
	return v
}

// Propane at 15 °C, and 60 to 40 of propane and n-butane by mass: solved
// independently from the reference equations of state; mixtures by ideal rules.
func TestGasProperties(t *testing.T) {
	near := func(what string, got, want, part float64) {
		t.Helper()
		if math.Abs(got-want) > part*math.Abs(want) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	pure := askGas(t, 0, "--propane", "1")
	near("density", pure.Density, 507.503, 1e-5)
	near("vapour density", pure.VapourDensity, 15.8129, 1e-4)
	near("pressure", pure.PressureAbs, 7.31512, 1e-5)
	near("gauge pressure", pure.PressureGauge, 7.31512-1.01325, 1e-5)
	if pure.Mass != nil || pure.Hours != nil {
		t.Error("tells a mass of nothing")
	}
	mixed := askGas(t, 0, "--propane", "60%", "--butane", "0.4", "--temp", "40C")
	near("density", mixed.Density, 498.913, 1e-5)
	near("pressure", mixed.PressureAbs, 10.3657, 1e-4)
	volume := askGas(t, 0, "--propane", "0.4", "--butane", "0.6", "--by-volume")
	near("density by volume", volume.Density, 553.552779, 1e-5)
}

// 80 % of 54 L at 15 °C: 21.924 kg of liquid propane and 0.171 kg of vapour,
// full of liquid at 67.88 °C (computed independently); 5 kg at 130 g/h last
// 38.46 h.
func TestGasInATank(t *testing.T) {
	v := askGas(t, 0, "--propane", "1", "--water-capacity", "54L", "--level", "80%", "--burn", "130g/h", "--doubt", "0%")
	if want := 21.924141 + 0.170779; math.Abs(*v.Mass-want) > 1e-3 {
		t.Errorf("%v kg, want %v", *v.Mass, want)
	}
	if math.Abs(*v.FullAt-67.88) > 0.02 {
		t.Errorf("full at %v °C, want 67.88", *v.FullAt)
	}
	if want := *v.Mass / 0.130; math.Abs(v.Hours.Low-want) > 1e-6*want || v.Hours.Low != v.Hours.High {
		t.Errorf("lasts %+v h, want %v", *v.Hours, want)
	}
	// A doubt makes an interval, and a plate that doesn't say net or gross a
	// wider one.
	doubted := askGas(t, 0, "--propane", "1", "--water-capacity", "54L", "--level", "50%", "--burn", "2.2kW", "--hours", "3h")
	net := askGas(t, 0, "--propane", "1", "--water-capacity", "54L", "--level", "50%", "--burn", "2.2kW", "--hours", "3h", "--plate", "net")
	if !(doubted.Hours.Low < doubted.Hours.Mid && doubted.Hours.Mid < doubted.Hours.High && doubted.Hours.High-doubted.Hours.Low > net.Hours.High-net.Hours.Low) {
		t.Errorf("lasts %+v h with any plate, %+v h with a net one", *doubted.Hours, *net.Hours)
	}
	if days := net.Hours.Mid / 3; math.Abs(net.Days.Mid-days) > 0.02*days {
		t.Errorf("lasts %v days, want about %v", net.Days.Mid, days)
	}
}

// A tank filled too far is told so, and no figure says how much more to fill.
func TestGasNeverInvitesOverfilling(t *testing.T) {
	for _, level := range []string{"81%", "95%", "100%"} {
		v := askGas(t, exitBad, "--propane", "1", "--water-capacity", "54L", "--level", level)
		bad := false
		for _, f := range v.Findings {
			bad = bad || f.Kind == "overfull" && f.Weight == "bad"
		}
		if !bad {
			t.Errorf("%s: %+v", level, v.Findings)
		}
		_, out, _ := command("", "gas", "--propane", "1", "--water-capacity", "54L", "--level", level)
		if strings.Contains(out, "Ask for") || !strings.Contains(out, "BAD: ") || !strings.Contains(out, "Never fill beyond") {
			t.Errorf("%s: %s", level, out)
		}
	}
	// Near the permitted fill the doubt decides.
	_, out, _ := command("", "gas", "--propane", "1", "--water-capacity", "54L", "--level", "79%")
	if strings.Contains(out, "Ask for") {
		t.Errorf("at 79 ± 4 %%: %s", out)
	}
}

func TestGasRefuses(t *testing.T) {
	tests := []struct{ args, says string }{
		{"", "what is in the bottle?"},
		{"--propane 0.6", "add up to 0.6"},
		{"--propane 0.6 --butane 0.5", "add up to 1.1"},
		{"--propane -0.1 --butane 1.1", "--propane"},
		{"--propane x", `--propane "x" isn't a part; write it like 0.6 or 60%`},
		{"--propane 1 --mix G31", "leave one of them out"},
		{"--mix G99", "G99"},
		{"--propane 1 --temp 70C", "--temp:"},
		{"--propane 1 --temp -50C", "--temp:"},
		{"--propane 1 --temp 15", "--temp:"},
		{"--propane 1 --litres 80 --water-capacity 70L", "80 L of liquid don't fit into a tank of 70 L"},
		{"--propane 1 --kg 30kg --water-capacity 54L", "don't fit"},
		{"--propane 1 --kg 0.1kg --water-capacity 54L", "vapour alone"},
		{"--propane 1 --level 40%", "state --water-capacity"},
		{"--propane 1 --litres 10 --level 40%", "state one of them"},
		{"--propane 1 --burn 2kW", "how much is in it?"},
		{"--propane 1 --litres 10 --burn 2", `--burn "2" isn't a rate`},
		{"--propane 1 --litres 10 --burn 0kW", "--burn: found 0kW"},
		{"--propane 1 --litres 10 --hours 3h", "--hours needs --burn"},
		{"--propane 1 --litres 10 --burn 2kW --hours 25h", "--hours: found 25h"},
		{"--propane 1 --permitted-fill 90%", "up to 85 %"},
		{"--propane 1 --litres 10 --water-capacity 54L --price 3", `--price "3" isn't a price`},
		{"--propane 1 --docket 5 --water-capacity 54L", "--docket:"},
		{"--propane 1 --docket 5kg", "state --water-capacity"},
		{"--propane 1 --docket 60L --water-capacity 54L", "--docket:"},
		{"--propane 1 --litres many", `--litres "many" isn't a number of litres`},
	}
	for _, test := range tests {
		status, out, messages := command("", append([]string{"gas"}, strings.Fields(test.args)...)...)
		if status != exitInput || !strings.Contains(messages, test.says) || out != "" {
			t.Errorf("%s: exit status %d, says %q, want %q; out %q", test.args, status, messages, test.says, out)
		}
	}
}

func TestGasGolden(t *testing.T) {
	for name, args := range map[string]string{
		"gas.mixed.txt":   "--propane 0.6 --butane 0.4 --temp 5C --litres 34 --water-capacity 70L --burn 2.2kW --hours 3h --price 0.9/L",
		"gas.frost.txt":   "--mix propane --temp -15C --level 20% --water-capacity 54L --burn 2kg/h",
		"gas.docket.txt":  "--mix propane --temp 25C --water-capacity 54L --docket 20L",
		"gas.nothing.txt": "--mix G30",
		"gas.mixes.txt":   "--mix help",
		"gas.mixed.json":  "--propane 0.6 --butane 0.4 --temp 5C --litres 34 --water-capacity 70L --burn 2.2kW --hours 3h --json",
	} {
		t.Run(name, func(t *testing.T) {
			status, out, messages := command("", append([]string{"gas"}, strings.Fields(args)...)...)
			if status != 0 {
				t.Errorf("exit status %d; messages %q", status, messages)
			}
			golden.Check(t, name, []byte(out))
		})
	}
}
