package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// A budget in JSON adds up to what it says, and is the one behind u_mark.
func TestBudgetJSON(t *testing.T) {
	_, out, messages := command("", "curve", "sample/gas.csv", "--meter", "handheld", "--mark-doubt", "0.5", "--leads", "0.2ohm", "--temperature-drift", "0.4%", "--budget-at", "60", "--at-ohm", "55.3", "--plan", "2", "--json")
	var v struct {
		Budget struct {
			AtMark   float64 `json:"at_mark_pct"`
			U        float64 `json:"u_mark_pct"`
			K        float64 `json:"k"`
			Expanded float64 `json:"expanded_mark_pct"`
			Lines    []struct {
				Quantity                          string
				U, Sensitivity, Contribution, Sum float64
				Share                             float64 `json:"share_pct"`
			}
		}
		At []struct {
			Mark float64 `json:"mark_pct"`
			U    float64 `json:"u_mark_pct"`
			Low  float64 `json:"low_mark_pct"`
			High float64 `json:"high_mark_pct"`
		}
		Plan struct {
			Next []struct {
				Mark float64 `json:"mark_pct"`
			}
		}
		Usual []struct {
			Claimed     string
			Probability float64
		} `json:"usual_spans"`
	}
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatalf("%v; messages %q", err, messages)
	}
	sum, shares := 0.0, 0.0
	var names []string
	for _, l := range v.Budget.Lines {
		sum += l.Contribution * l.Contribution
		shares += l.Share
		names = append(names, l.Quantity)
		if math.Abs(math.Abs(l.Sensitivity)*l.U-l.Contribution) > 1e-6 {
			t.Errorf("%s: %v × %v isn't %v", l.Quantity, l.Sensitivity, l.U, l.Contribution)
		}
	}
	b := v.Budget
	if b.AtMark != 60 || math.Abs(math.Sqrt(sum)-b.U) > 1e-6 || math.Abs(shares-100) > 1e-4 || math.Abs(b.K*b.U-b.Expanded) > 1e-6 {
		t.Errorf("budget %+v", b)
	}
	for _, want := range []string{"the meter", "test leads", "reading of the mark", "temperature of the sender", "one reading in service", "half the hysteresis"} {
		if !strings.Contains(strings.Join(names, "/"), want) {
			t.Errorf("no line for %q in %v", want, names)
		}
	}
	// One degree of freedom: the interval is wider than the normal one.
	if a := v.At[0]; !(a.Low < a.Mark && a.Mark < a.High) || math.Abs(a.U-b.U) > 0.05*b.U || (a.High-a.Low)/a.U < 3.5 || (a.High-a.Low)/a.U > 8 {
		t.Errorf("at 55.3 Ω: %+v", a)
	}
	if len(v.Plan.Next) != 2 {
		t.Errorf("plan %+v", v.Plan)
	}
	total := 0.0
	for _, u := range v.Usual {
		total += u.Probability
	}
	if len(v.Usual) == 0 || total > 1+1e-9 {
		t.Errorf("usual spans %+v", v.Usual)
	}
}

func TestStatementsThatCantBe(t *testing.T) {
	const readings = "mark_pct,ohm\n0,1\n50,45\n100,90\n"
	const litres = "mark_l,ohm\n0,1\n10,45\n20,90\n"
	for _, test := range []struct {
		in   string
		args []string
		says string
	}{
		{readings, []string{"--meter", "very good"}, `--meter "very good" isn't a meter's specification`},
		{readings, []string{"--leads", "3mm"}, `--leads "3mm" has the unit "mm"`},
		{readings, []string{"--leads", "2ohm"}, "less than the shorted test leads alone"},
		{readings, []string{"--leads", "900ohm"}, "can't be test leads"},
		{readings, []string{"--mark-doubt", "60"}, "--mark-doubt 60 % isn't a doubt of a mark"},
		{readings, []string{"--mark-doubt=-1"}, "isn't a doubt of a mark"},
		{readings, []string{"--temperature-drift", "0.4"}, "--temperature-drift"},
		{readings, []string{"--budget-at", "120"}, "--budget-at 120 lies outside the readings"},
		{readings, []string{"--plan", "900"}, "expected 1 to 50"},
		{readings, []string{"--pour-doubt", "0.1L"}, "the marks are in %"},
		{litres, []string{"--measure", "thimble"}, `no measure is called "thimble"`},
		{litres, []string{"--measure", "kitchen-scale"}, "gives kilograms, and the marks are in L"},
		{litres, []string{"--pour-doubt", "50L"}, "expected less than the pour itself"},
		{litres, []string{"--pour-scale", "1"}, "--pour-scale"},
		{litres, []string{"--density", "1kg/L"}, "the marks are in L"},
		{strings.Replace(litres, "_l", "_kg", 1), []string{"--density", "12kg/L"}, "isn't a liquid's"},
		{strings.Replace(litres, "_l", "_kg", 1), []string{"--pour-doubt", "10g"}, "in kilograms with --density"},
		{readings, []string{"--claimed", "0:90", "--claimed", "0:0"}, `--claimed "0:0" isn't a span`},
	} {
		status, out, messages := command(test.in, append([]string{"curve", "-"}, test.args...)...)
		if status != exitInput || out != "" || !strings.Contains(messages, test.says) {
			t.Errorf("%v: exit status %d, messages %q, want %q", test.args, status, messages, test.says)
		}
	}
}

// Weighed water is a curve in litres: 10 kg at 0.998 kg/L are 10.02 L.
func TestWeighedMarks(t *testing.T) {
	_, out, messages := command("mark_kg,ohm\n0,1\n10,45\n20,90\n", "curve", "-", "--density", "0.998±0.002kg/L", "--measure", "kitchen-scale", "--json")
	var v struct {
		Unit   string `json:"mark_unit"`
		Points []struct {
			Mark float64 `json:"mark_l"`
		}
		Budget struct {
			Lines []struct{ Quantity string }
		}
	}
	if err := json.Unmarshal([]byte(out), &v); err != nil {
		t.Fatalf("%v; messages %q", err, messages)
	}
	if v.Unit != "L" || math.Abs(v.Points[1].Mark-10/0.998) > 1e-6 {
		t.Errorf("%+v", v)
	}
	if len(v.Budget.Lines) == 0 || v.Budget.Lines[0].Quantity != "the amounts poured" {
		t.Errorf("budget %+v", v.Budget)
	}
}
