package circuit_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/circuit"
)

func sharedGood() circuit.Shared {
	return circuit.Shared{Span: circuit.Span{Empty: 240, Full: 33}, Coil: 100, Stands: 30}
}

// By hand: 12 V over a coil of 100 Ω and a sender of 100 Ω is 6 V; over 300 Ω, 9 V;
// with 1 Ω of wire to the gauge and 1 Ω to the sender, 12·101/202 V.
func TestSharedVolt(t *testing.T) {
	s := sharedGood()
	if got := s.Volt(12, 100); !near(got, 6, 1e-12) {
		t.Errorf("%v V, want 6", got)
	}
	if got := s.Volt(12, 300); !near(got, 9, 1e-12) {
		t.Errorf("%v V, want 9", got)
	}
	if got := s.OpenVolt(12); !near(got, 12, 1e-12) {
		t.Errorf("open: %v V, want 12", got)
	}
	s.LeadGauge, s.LeadSender = 1, 1
	if got := s.Volt(12, 100); !near(got, 6, 1e-12) {
		t.Errorf("%v V, want 6", got)
	}
	// A pull-up of 100 Ω to 6 V carries no current where 6 V are already.
	s.Pullup, s.PullupVolt = 100, 6
	if got := s.Volt(12, 100); !near(got, 6, 1e-12) {
		t.Errorf("%v V, want 6", got)
	}
	for _, volt := range []float64{-1, 12, 13, math.NaN()} {
		if got, err := s.Ohm(12, volt); err == nil {
			t.Errorf("%v V told as %v Ω", volt, got)
		}
	}
}

func TestSharedLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := sharedGood()
		s.Coil = rapid.Float64Range(20, 500).Draw(t, "coil")
		s.LeadGauge, s.LeadSender = rapid.Float64Range(0, 3).Draw(t, "gauge"), rapid.Float64Range(0, 3).Draw(t, "lead")
		if rapid.Bool().Draw(t, "pulled") {
			s.Pullup, s.PullupVolt = rapid.Float64Range(100, 1e5).Draw(t, "pull-up"), rapid.Float64Range(1, 5).Draw(t, "to")
		}
		if rapid.Bool().Draw(t, "loaded") {
			s.Load = rapid.Float64Range(1e3, 1e6).Draw(t, "load")
		}
		supply, ohm := rapid.Float64Range(9, 16).Draw(t, "supply"), rapid.Float64Range(0, 400).Draw(t, "ohm")
		volt := s.Volt(supply, ohm)
		back, err := s.Ohm(supply, volt)
		if err != nil || !near(back, ohm, 1e-7*(1+ohm)) {
			t.Fatalf("%v Ω gives %v V, and that %v Ω, %v", ohm, volt, back, err)
		}
		if s.Volt(supply, ohm+1) <= volt {
			t.Fatal("more ohms, and no more volts")
		}
		a, err := s.Analyse()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatalf("not a number somewhere: %v", err)
		}
		if s.Pullup == 0 && s.Load == 0 && (a.Needle > 1e-9 || a.Ratio > a.Assumed+1e-9) {
			t.Fatalf("an input that takes no current moves the needle by %v; %v measured, %v not", a.Needle, a.Ratio, a.Assumed)
		}
	})
}

// By hand, at mark 0 with 14.5 V taken for 12.75: V = 14.5·240/340 = 10.2353 V,
// R = 100·10.2353/(12.75 − 10.2353) = 407.02 Ω: 167.02 Ω too many, 80.7 points.
func TestSharedVerdicts(t *testing.T) {
	s := sharedGood()
	s.Steady, s.Measured = true, 1e-9
	a, err := s.Analyse()
	if err != nil || a.Verdict != circuit.OnlyMeasured || !near(a.Assumed, 167.018/2.07, 1e-2) || a.Ratio > 1e-6 || a.Divide != 1 || !near(a.Top, 16, 1e-12) {
		t.Errorf("%+v, %v", a, err)
	}
	if !near(a.Empty.Low, 11*240/340.0, 1e-9) || !near(a.Full.High, 14.5*33/133, 1e-9) || !near(a.Current, 16/133.0, 1e-9) {
		t.Errorf("%+v", a)
	}
	// A stabiliser in the vehicle holds the supply: nothing has to be measured.
	steady := s
	steady.Supply, steady.Driving = circuit.Exactly(10), circuit.Exactly(10)
	if a, err := steady.Analyse(); err != nil || a.Verdict != circuit.Possible || a.Assumed > 1e-9 {
		t.Errorf("%+v, %v", a, err)
	}
	steady.CrossCoil = true
	if a, err := steady.Analyse(); err != nil || a.Verdict != circuit.OnlyMeasured || !sharedSays(a, "share-crossed-coil") {
		t.Errorf("%+v, %v", a, err)
	}
	// A copper coil that warms by 20 K is 7.86 % more; both together the ratio alone
	// can't hold 2 points: at 240 Ω, R = 100·240/107.86 = 222.5 Ω, 8.4 points.
	warm := s
	warm.Steady = false
	if a, err := warm.Analyse(); err != nil || a.Verdict != circuit.NotPossible || !near(a.Ratio, (240/(1-0.0786)-240)/2.07, 1e-3) || !sharedSays(a, "share-coil-warmth") {
		t.Errorf("%+v, %v", a, err)
	}
	// An input of its own pull-up moves the needle.
	pulled := s
	pulled.Pullup, pulled.PullupVolt = 330, 3.3
	if a, err := pulled.Analyse(); err != nil || a.Verdict != circuit.NotPossible || a.Needle < 5 || !sharedSays(a, "share-pullup") || !sharedSays(a, "share-added-current") {
		t.Errorf("%+v, %v", a, err)
	}
	// 16 V at an input of 3.3 V.
	low := s
	low.Stands = 3.3
	if a, err := low.Analyse(); err != nil || !near(a.Divide, 3.3/16, 1e-12) || !sharedSays(a, "share-voltage") {
		t.Errorf("%+v, %v", a, err)
	}
	for _, f := range a.Findings {
		if f.Kind == "hazardous-place" && f.Text != circuit.CodeCaution {
			t.Errorf("%+v", f)
		}
		if strings.Contains(f.Text, "%!") {
			t.Errorf("%q", f.Text)
		}
	}
	if !sharedSays(a, "hazardous-place") || !sharedSays(a, "share-current") {
		t.Errorf("no caution: %+v", a.Findings)
	}
}

func sharedSays(a circuit.Sharing, kind string) bool {
	for _, f := range a.Findings {
		if f.Kind == kind {
			return true
		}
	}
	return false
}

// The error that is told is the worst of a fine grid over all that may be.
func TestSharedWorst(t *testing.T) {
	s := sharedGood()
	s.Measured, s.Warmth = 0.01, 10
	s.Load = 20e3
	a, err := s.Analyse()
	if err != nil {
		t.Fatal(err)
	}
	assumed, ratio := 0.0, 0.0
	for mark := 0.0; mark <= 100; mark += 5 {
		ohm := s.Span.Ohm(mark)
		for i := 0.0; i <= 1; i += 0.125 {
			for j := -1.0; j <= 1; j += 0.25 {
				real := s
				real.Coil = s.Coil * (1 + j*10*circuit.CopperTempco)
				supply := 11 + 3.5*i
				volt := real.Volt(supply, ohm)
				told, err := s.Ohm(12.75, volt)
				if err != nil {
					told = math.Inf(1)
				}
				assumed = max(assumed, math.Abs(told-ohm)/2.07)
				for k := -1.0; k <= 1; k += 0.5 {
					told, err := s.Ohm(supply*(1+0.01*k), volt)
					if err != nil {
						t.Fatal(err)
					}
					ratio = max(ratio, math.Abs(told-ohm)/2.07)
				}
			}
		}
	}
	if !near(a.Assumed, min(100, assumed), 1e-9) || !near(a.Ratio, ratio, 1e-9) {
		t.Errorf("%+v; the grid has %v and %v", a, assumed, ratio)
	}
}

func TestSharedRefused(t *testing.T) {
	for name, change := range map[string]func(*circuit.Shared){
		"coil": func(s *circuit.Shared) { s.Coil = 0 }, "stands": func(s *circuit.Shared) { s.Stands = 0 },
		"span": func(s *circuit.Shared) { s.Span.Full = 240 }, "lead": func(s *circuit.Shared) { s.LeadGauge = math.NaN() },
		"supply": func(s *circuit.Shared) { s.Supply = circuit.Between{Low: 20, High: 10} }, "usual": func(s *circuit.Shared) { s.Driving = circuit.Between{Low: 5, High: 20} },
	} {
		s := sharedGood()
		change(&s)
		if a, err := s.Analyse(); err == nil {
			t.Errorf("%s taken: %+v", name, a)
		}
	}
}
