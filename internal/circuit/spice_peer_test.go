package circuit_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/circuit"
	"gaugewright/internal/peer"
)

// spice runs a circuit simulator over a netlist and gives the voltages of the
// nodes at rest, by their names.
func spice(t *testing.T, ngspice, elements string, nodes ...string) map[string]float64 {
	t.Helper()
	var list strings.Builder
	// The first line of a netlist is its title. GMIN would put a leak of its own
	// into the circuit.
	fmt.Fprintf(&list, "divider\n%s.options gmin=1e-18 reltol=1e-9 vntol=1e-12 abstol=1e-15\n.control\nset numdgt=15\nop\n", elements)
	for _, n := range nodes {
		fmt.Fprintf(&list, "print v(%s)\n", n)
	}
	list.WriteString("quit\n.endc\n.end\n")
	path := filepath.Join(t.TempDir(), "divider.cir")
	if err := os.WriteFile(path, []byte(list.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	out, err := exec.CommandContext(ctx, ngspice, "-b", path).CombinedOutput()
	found := map[string]float64{}
	for _, line := range strings.Split(string(out), "\n") {
		name, value, ok := strings.Cut(line, "=")
		if !ok || !strings.HasPrefix(name, "v(") {
			continue
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
		if err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		found[strings.TrimSuffix(strings.TrimPrefix(strings.TrimSpace(name), "v("), ")")] = v
	}
	if len(found) != len(nodes) {
		t.Fatalf("%d voltages of %d (%v):\n%s", len(found), len(nodes), err, out)
	}
	return found
}

const spiceTolerance = 1e-6 // V

// A pull-up with a lead, a sender and a leaking pin: the counts are those of the
// simulated voltage, and what the leakage moves is what the budget says.
func TestInputSpice(t *testing.T) {
	ngspice := peer.Tool(t, "ngspice", "ngspice")
	const pullup, leak = 3300.0, 2e-6
	in := circuit.Input{Reference: 3.3, Bits: 16, Ratiometric: true, Leakage: leak, Lead: circuit.Exactly(0.6)}
	span := circuit.Span{Empty: 240, Full: 33}
	for _, mark := range []float64{0, 50, 100} {
		ohm := span.Ohm(mark)
		netlist := fmt.Sprintf("Vref ref 0 3.3\nRp ref in %.17g\nRlead in top 0.6\nRs top 0 %.17g\nIleak 0 in %%g\n", pullup, ohm)
		sound := spice(t, ngspice, fmt.Sprintf(netlist, 0.0), "in", "top")
		leaking := spice(t, ngspice, fmt.Sprintf(netlist, leak), "in")
		if want := 3.3 * (ohm + 0.6) / (pullup + ohm + 0.6); !near(sound["in"], want, spiceTolerance) {
			t.Errorf("mark %v: %v V, want %v", mark, sound["in"], want)
		}
		if got, want := in.Counts(pullup, ohm), int(math.Floor(65536*sound["in"]/3.3+0.5)); got != want {
			t.Errorf("mark %v: %d counts, want %d", mark, got, want)
		}
		doubts, err := in.Doubts(pullup, span, mark)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range doubts[0].Budget.Lines {
			if l.Quantity != "leakage of the input" {
				continue
			}
			// Volts into points through the slope of the divider, R·V/(R + r)² per ohm.
			slope := 3.3 * pullup / math.Pow(pullup+ohm+0.6, 2)
			moved := (leaking["in"] - sound["in"]) / slope * 100 / 207
			if !near(l.Sensitivity*leak, moved, spiceTolerance/slope*100/207) {
				t.Errorf("mark %v: the leakage moves %v points, want %v", mark, l.Sensitivity*leak, moved)
			}
		}
	}
}

// A needle and a second input with its leads, pull-up and load, and a leak across
// the sender.
func TestSharedSpice(t *testing.T) {
	ngspice := peer.Tool(t, "ngspice", "ngspice")
	s := circuit.Shared{Span: circuit.Span{Empty: 240, Full: 33}, Coil: 105, Stands: 30, LeadGauge: 0.35, LeadSender: 0.8, Pullup: 10e3, PullupVolt: 3.3, Load: 47e3}
	for _, test := range []struct{ supply, ohm, leak float64 }{{11, 240, 1e9}, {12.6, 140, 1e9}, {14.5, 33, 1e9}, {16, 240, 900}, {9, 33, 50}} {
		got := spice(t, ngspice, fmt.Sprintf("Vs bat 0 %g\nRg bat dash %g\nRl1 dash tap %g\nRl2 tap send %g\nRs send 0 %g\nRleak send 0 %g\nVp pull 0 3.3\nRp pull tap 10k\nRin tap 0 47k\n",
			test.supply, s.Coil, s.LeadGauge, s.LeadSender, test.ohm, test.leak), "tap", "send")
		seen := circuit.Leak.Reading(test.ohm, test.leak)
		if want := s.Volt(test.supply, seen); !near(got["tap"], want, spiceTolerance) {
			t.Errorf("%+v: %v V simulated, %v V reckoned", test, got["tap"], want)
		}
		ohm, err := s.Ohm(test.supply, got["tap"])
		if err != nil || !near(ohm, seen, 1e-4) {
			t.Errorf("%+v: told as %v Ω, %v, want %v", test, ohm, err, seen)
		}
		back, err := circuit.Leak.True(ohm, test.leak)
		if err != nil || !near(back, test.ohm, 1e-3) {
			t.Errorf("%+v: without the leak %v Ω, %v", test, back, err)
		}
	}
	open := spice(t, ngspice, "Vs bat 0 16\nRg bat dash 105\nRl1 dash tap 0.35\nVp pull 0 3.3\nRp pull tap 10k\nRin tap 0 47k\n", "tap")
	if want := s.OpenVolt(16); !near(open["tap"], want, spiceTolerance) {
		t.Errorf("open: %v V simulated, %v V reckoned", open["tap"], want)
	}
}
