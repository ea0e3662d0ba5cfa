package job

import (
	"encoding/json"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func texts(list []Difference) string {
	lines := make([]string, len(list))
	for i, d := range list {
		lines[i] = d.Text
	}
	return strings.Join(lines, "\n")
}

func TestDiff(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Job)
		want   string
	}{
		{"nothing", func(*Job) {}, ""},
		{"customer", func(j *Job) { j.Customer = "The Hut" }, "Customer is The Hut, was Tidewater Kitchen."},
		{"no customer", func(j *Job) { j.Customer = "" }, "Customer is no longer stated, was Tidewater Kitchen."},
		{"a long note", func(j *Job) { j.Note = strings.Repeat("x", 100) }, "Note is a text of 100 characters, was a text of 71 characters."},
		{"end values", func(j *Job) { j.Tanks[0].Setting.LowerOhm, j.Tanks[0].Setting.UpperOhm = ptr(1.0), ptr(90.5) }, "Gas: now keyed in 1 and 90.5, was 0 and 81."},
		{"a table", func(j *Job) { j.Tanks[1].Setting.Table[2].Pct = 51 }, "Fresh water: entry 3: shown percentage is 51 %, was 50 %."},
		{"another kind of readout", func(j *Job) {
			s := j.Tanks[1].Setting
			s.Readout, s.Table, s.LowerOhm, s.UpperOhm = TwoPoint, nil, ptr(0.0), ptr(190.0)
		}, "Fresh water: now keyed in 0 and 190, was a table of 5 entries."},
		{"nothing keyed in", func(j *Job) { j.Tanks[0].Setting = nil }, "Gas: nothing is keyed in any more, was keyed in 0 and 81."},
		{"more readings", func(j *Job) {
			b := &j.Tanks[2].Bench
			b.Readings = append(b.Readings, b.Readings[0], b.Readings[1], b.Readings[2])
		}, "Heater diesel: 3 readings more (10, was 7)."},
		{"one fewer", func(j *Job) { j.Tanks[2].Bench.Readings = j.Tanks[2].Bench.Readings[1:] }, "Heater diesel: 1 reading fewer (6, was 7)."},
		{"one put right", func(j *Job) { j.Tanks[2].Bench.Readings[1].Ohm = 197.4 }, "Heater diesel: reading 2 is 10 L, 197.4 Ω, was 10 L, 197.2 Ω."},
		{"struck out", func(j *Job) {
			b := &j.Tanks[2].Bench
			b.Struck = []Struck{{Reading: b.Readings[6], Reason: "clip came off"}}
			b.Readings = b.Readings[:6]
		}, "Heater diesel: 1 reading fewer (6, was 7).\nHeater diesel: a reading was struck out: 60 L, 33.4 Ω, because clip came off."},
		{"another check", func(j *Job) {
			j.Tanks[0].Checks = append(j.Tanks[0].Checks, Check{When: AsLeft, Date: "2026-10-20", By: "A. Example", TolerancePct: 2,
				Readings: []CheckPoint{{MarkPct: ptr(40.0), ShownPct: 70}}})
		}, "Gas: checked as left on 20 October 2026 by A. Example at 1 mark: 0 of 1 within 2 points, 1 outside by more than the doubt."},
		{"a service", func(j *Job) {
			j.Tanks[0].Services = []Service{{Bench: Bench{Date: "2026-10-20", Readings: []Reading{{MarkPct: ptr(0.0), Ohm: 1}}}}}
		}, "Gas: read again in service on 20 October 2026: 1 reading."},
		{"the check put right", func(j *Job) { j.Tanks[0].Checks[1].Readings[2].ShownPct = 100 }, "Gas: check 2 mark 3: shown is 100 %, was 99 %."},
		{"sender", func(j *Job) { j.Tanks[0].Sender.Serial = "0042" }, "Gas: serial number of the sender is 0042, was not stated."},
		{"a load", func(j *Job) {
			j.Tanks[0].Loads = []Load{{Name: "fridge", GPerH: Between(10, 20), HoursPerDay: Exactly(24)}}
		}, "Gas: load 1 was put in: name fridge, g per h 10 to 20 and hours per day 24."},
		{"a tank more", func(j *Job) { j.Tanks = append(j.Tanks, Tank{Name: "Grey", Contents: Waste}) }, "Tank Grey was put in: waste, 0 readings."},
		{"a tank less", func(j *Job) { j.Tanks = j.Tanks[:2] }, "Tank Heater diesel was taken out: diesel, 7 readings."},
		{"renamed", func(j *Job) { j.Tanks[2].Name = "Diesel" }, "Diesel: name is Diesel, was Heater diesel."},
		{"other capitals", func(j *Job) { j.Tanks[2].Name = "heater Diesel" }, "heater Diesel: name is heater Diesel, was Heater diesel."},
		{"another order", func(j *Job) { j.Tanks[0], j.Tanks[1] = j.Tanks[1], j.Tanks[0] }, "The tanks stand in another order."},
		{"history and signature", func(j *Job) { j.History = []Revision{{Words: "x"}}; j.Signature = &Signature{} }, ""},
	} {
		was, _ := sample(t)
		is, _ := sample(t)
		c.change(is)
		if got := texts(Diff(was, is)); got != c.want {
			t.Errorf("%s: found\n%s\nexpected\n%s", c.name, got, c.want)
		}
	}
}

// EveryChange makes a job that uses every field, and gives it beside what it is when
// each of its leaves is changed, and taken out, in turn.
func EveryChange(t *testing.T, each func(was, is *Job, path string)) {
	t.Helper()
	was, _ := sampleV2(t)
	told := 0
	try := func(tree any, path string) {
		text, err := json.Marshal(tree)
		if err != nil {
			t.Fatal(err)
		}
		is := new(Job)
		if err := json.Unmarshal(text, is); err != nil {
			return // no job could say so
		}
		if !was.SameContent(is) {
			told++
			each(was, is, path)
		}
	}
	whole, err := was.content()
	if err != nil {
		t.Fatal(err)
	}
	var walk func(v any, path string, put func(any))
	walk = func(v any, path string, put func(any)) {
		switch v := v.(type) {
		case map[string]any:
			for name, value := range v {
				at := path + "/" + name
				walk(value, at, func(n any) { v[name] = n })
				delete(v, name)
				try(whole, at+" taken out")
				v[name] = value
			}
		case []any:
			for i, value := range v {
				walk(value, path+"/"+strconv.Itoa(i), func(n any) { v[i] = n })
			}
			if len(v) > 0 {
				put(v[1:])
				try(whole, path+" one less")
				put(v)
			}
		case float64:
			put(v + 1)
			try(whole, path)
			put(v)
		case string:
			put(v + "x")
			try(whole, path)
			put(v)
		case bool:
			put(!v)
			try(whole, path)
			put(v)
		}
	}
	walk(whole, "", func(any) {})
	if told < 500 {
		t.Errorf("only %d changes were tried", told)
	}
	t.Logf("%d changes", told)
}

// Whatever differs is told.
func TestDiffLeavesNothingOut(t *testing.T) {
	EveryChange(t, func(was, is *Job, path string) {
		list := Diff(was, is)
		if len(list) == 0 {
			t.Errorf("%s was changed, and nothing is said", path)
		}
		for _, d := range list {
			if strings.HasSuffix(d.Text, " differs.") || strings.Contains(d.Text, ": .") || strings.Contains(d.Text, "  ") || strings.Contains(d.Text, "%!") {
				t.Errorf("%s: %s", path, d.Text)
			}
		}
	})
}

// Two jobs have differences when they say something different, and only then.
func TestDiffAsContent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := jobs.Draw(t, "was"), jobs.Draw(t, "is")
		if got := Diff(a, b); (len(got) == 0) != a.SameContent(b) {
			t.Fatalf("%d differences", len(got))
		}
		if got := Diff(a, copyOf(t, a)); len(got) != 0 {
			t.Fatalf("of the same: %v", got)
		}
	})
}
