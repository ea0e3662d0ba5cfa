package chart_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"gaugewright/internal/chart"
	"gaugewright/internal/golden"

	"pgregory.net/rapid"
)

const hour = 3600.0

// sampleHistory is a day of an invented gas tank: used, then silent, then with a
// broken wire, then refilled.
func sampleHistory(width float64) chart.History {
	h := chart.History{
		Title: "Gas: level through time", Accent: chart.Gas, Width: width, From: 0, To: 24 * hour,
		TimeTitle: "from 2 Nov, 00:00 to 3 Nov, 00:00", MarkTitle: "%", ValueTitle: "L",
		Marks: []float64{0, 100}, Values: []float64{0, 54}, Limit: &chart.Limited{Mark: 80, Label: "permitted fill"}, Bridge: 300,
		Flags:   []chart.Flag{{At: 9 * hour, Label: "1"}, {At: 15 * hour, Label: "2"}, {At: 15.2 * hour, Label: "3"}, {At: 24 * hour, Label: "4"}},
		Without: []chart.TimeSpan{{From: 15 * hour, To: 16 * hour}},
		Panels:  []chart.Panel{{Title: "read, Ω", Lines: []chart.PanelLine{{Label: "mqtt"}, {Label: "modbus/bay"}}}},
	}
	for k := range 24 {
		h.Times = append(h.Times, chart.TimeMark{At: float64(k) * hour, Label: fmt.Sprintf("%02d:00", k)})
	}
	h.Times[0] = chart.TimeMark{Label: "2 Nov", Day: true}
	for k := range 288 {
		at := float64(k) * 300
		mean := 61 - at/hour*1.1
		if at > 18*hour {
			mean += 30
		}
		span := chart.TimeSpan{From: at, To: at + 300}
		ohm := mean*0.9 + 3
		if at < 10*hour || at >= 12*hour {
			h.Panels[0].Lines[0].Spans = append(h.Panels[0].Lines[0].Spans, chart.ReadSpan{TimeSpan: span, Mean: ohm, Least: ohm - 1, Most: ohm + 1.5})
			if k%7 == 0 {
				h.Panels[0].Lines[1].Spans = append(h.Panels[0].Lines[1].Spans, chart.ReadSpan{TimeSpan: span, Mean: ohm - 4, Least: ohm - 4, Most: ohm - 4})
			}
			if at < 15*hour || at >= 16*hour {
				h.Levels = append(h.Levels, chart.LevelSpan{TimeSpan: span, Mean: mean, Low: mean - 3, High: mean + 3, Least: mean - 5, Most: mean + 4})
			}
		}
	}
	return h
}

func TestHistoryGolden(t *testing.T) {
	for name, h := range map[string]chart.History{
		"history": sampleHistory(0), "history-narrow": sampleHistory(350), "history-empty": {Title: "Nothing", From: 0, To: hour, Panels: []chart.Panel{{Title: "read, Ω"}}},
	} {
		d, _ := chart.DrawHistory(h)
		var b bytes.Buffer
		if err := d.SVG(&b, "sample"); err != nil {
			t.Fatal(err)
		}
		golden.Check(t, name+".svg", b.Bytes())
	}
}

// traces gives the strokes of a role, each with where it begins and ends.
func traces(d chart.Drawing, role chart.Role) (list [][2]float64) {
	for _, s := range d.Shapes {
		if p, ok := s.(chart.Path); ok && p.Role == role {
			for _, step := range p.Steps {
				if step.Kind == chart.Move {
					list = append(list, [2]float64{step.To.X, step.To.X})
				}
				list[len(list)-1][1] = step.To.X
			}
		}
	}
	return list
}

// The level's line is broken wherever nothing was known for longer than the bridge,
// and wherever something was read and no level could be told; nowhere else. Where it
// stands is where the times are on the axis.
func TestHistoryGaps(t *testing.T) {
	d, in := chart.DrawHistory(sampleHistory(0))
	at := func(s float64) float64 { return in.Left + (in.Right-in.Left)*s/(24*hour) }
	want := [][2]float64{{at(0), at(10 * hour)}, {at(12 * hour), at(15 * hour)}, {at(16 * hour), at(24 * hour)}}
	got := traces(d, chart.Trace)[1:] // the first is the key's
	if len(got) != len(want) {
		t.Fatalf("%d runs at %v; expected %v", len(got), got, want)
	}
	for i := range want {
		if math.Abs(got[i][0]-want[i][0]) > 0.1 || math.Abs(got[i][1]-want[i][1]) > 0.1 {
			t.Errorf("run %d from %v; expected %v", i, got[i], want[i])
		}
	}
	// Half an hour apart, and a bridge of ten minutes: each stands by itself.
	h := chart.History{From: 0, To: 6 * hour, Bridge: 600}
	for k := range 12 {
		at := float64(k) * 1800
		h.Levels = append(h.Levels, chart.LevelSpan{TimeSpan: chart.TimeSpan{From: at, To: at + 60}, Mean: 50, Low: 49, High: 51, Least: 50, Most: 50})
	}
	d, _ = chart.DrawHistory(h)
	if n := len(traces(d, chart.Trace)); n != 13 {
		t.Errorf("%d strokes of twelve times apart; expected them and the key's", n)
	}
	h.Bridge = 1800
	d, _ = chart.DrawHistory(h)
	if n := len(traces(d, chart.Trace)); n != 2 {
		t.Errorf("%d strokes of twelve times that are joined; expected one and the key's", n)
	}
}

// Flags that would cover each other stand as one that names the first and the last;
// all numbers are there and none twice.
func TestHistoryFlags(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := chart.History{From: 0, To: hour, Width: rapid.SampledFrom([]float64{350, 960}).Draw(t, "width")}
		n := rapid.IntRange(1, 80).Draw(t, "flags")
		for i, at := range rapid.SliceOfN(rapid.Float64Range(0, hour), n, n).Draw(t, "at") {
			h.Flags = append(h.Flags, chart.Flag{At: at, Label: fmt.Sprint(i)})
		}
		d, _ := chart.DrawHistory(h)
		type box struct{ left, right float64 }
		var boxes []box
		for _, s := range d.Shapes {
			if p, ok := s.(chart.Path); ok && p.Role == chart.Open {
				boxes = append(boxes, box{p.Steps[0].To.X, p.Steps[1].To.X})
			}
		}
		if len(boxes) == 0 || len(boxes) > 60 {
			t.Fatalf("%d flags of %d", len(boxes), n)
		}
		for i := 1; i < len(boxes)-1; i++ { // the last is moved in from the edge
			if boxes[i].left < boxes[i-1].right {
				t.Fatalf("flags cover each other: %v", boxes)
			}
		}
	})
}

// An open wire that is told as 99,999 ohms doesn't squeeze what the sender gives: the
// axis stays, the line is broken, and short marks at the edge say that there was more.
func TestHistoryBeyond(t *testing.T) {
	h := sampleHistory(0)
	sound, _ := chart.DrawHistory(h)
	if strings.Contains(textsOf(sound), "beyond") {
		t.Error("the key has a mark that isn't there")
	}
	h.Panels[0].Least, h.Panels[0].Most = -30, 160
	same, _ := chart.DrawHistory(h)
	if textsOf(same) != textsOf(sound) || len(same.Shapes) != len(sound.Shapes) {
		t.Error("bounds that nothing reaches change the drawing")
	}
	spans := h.Panels[0].Lines[0].Spans
	for i, s := range spans {
		if s.From >= 15*hour && s.From < 16*hour {
			spans[i].Mean, spans[i].Least, spans[i].Most = 99999, 99999, 99999
		}
	}
	d, in := chart.DrawHistory(h)
	at := func(s float64) float64 { return in.Left + (in.Right-in.Left)*s/(24*hour) }
	if strings.Contains(textsOf(d), "000") || !strings.Contains(textsOf(d), "read, beyond the scale") {
		t.Errorf("the lettering is %s", textsOf(d))
	}
	marks := traces(d, chart.Level)[3:] // the first are the key's
	if n := len(marks); n < 5 || marks[0][0] < at(15*hour)-0.1 || marks[n-1][0] > at(16*hour)+0.1 {
		t.Errorf("marks at %v; expected them from %.1f to %.1f", marks, at(15*hour), at(16*hour))
	}
	for _, run := range traces(d, chart.Detail) {
		if run[0] < at(15*hour)-0.1 && run[1] > at(15*hour)+0.1 {
			t.Errorf("the line goes on from %.1f to %.1f across what lies beyond", run[0], run[1])
		}
	}
	// Nothing but an open wire: the axis is that of the bounds.
	for k := range h.Panels[0].Lines {
		for i := range h.Panels[0].Lines[k].Spans {
			s := &h.Panels[0].Lines[k].Spans[i]
			s.Mean, s.Least, s.Most = 99999, 99999, 99999
		}
	}
	d, _ = chart.DrawHistory(h)
	if text := textsOf(d); !strings.Contains(text, "|0|100|") || strings.Contains(text, "000") {
		t.Errorf("the lettering is %s", text)
	}
}

// textsOf gives all lettering of a drawing.
func textsOf(d chart.Drawing) string {
	var list []string
	for _, s := range d.Shapes {
		if s, ok := s.(chart.Text); ok {
			list = append(list, s.String)
		}
	}
	return strings.Join(list, "|")
}

func anyHistory(t *rapid.T) chart.Drawing {
	f, s := anyFigure(), anyText()
	at := 0.0
	span := func() chart.TimeSpan {
		if rapid.Bool().Draw(t, "wild") {
			return chart.TimeSpan{From: f.Draw(t, "from"), To: f.Draw(t, "to")}
		}
		from := at + rapid.SampledFrom([]float64{0, 0, 1, 1e-9, 40}).Draw(t, "gap")
		at = from + rapid.SampledFrom([]float64{1, 10, 1e-9}).Draw(t, "long")
		return chart.TimeSpan{From: from, To: at}
	}
	h := chart.History{Title: s.Draw(t, "title"), Accent: anyAccent().Draw(t, "accent"), Width: f.Draw(t, "width"),
		From: f.Draw(t, "from"), To: f.Draw(t, "to"), TimeTitle: s.Draw(t, "time title"), MarkTitle: s.Draw(t, "mark title"), ValueTitle: s.Draw(t, "value title"),
		Bridge: f.Draw(t, "bridge")}
	for range rapid.IntRange(0, 6).Draw(t, "pairs") {
		h.Marks, h.Values = append(h.Marks, f.Draw(t, "mark")), append(h.Values, f.Draw(t, "value"))
	}
	for range rapid.IntRange(0, 6).Draw(t, "levels") {
		h.Levels = append(h.Levels, chart.LevelSpan{TimeSpan: span(), Mean: f.Draw(t, "mean"), Low: f.Draw(t, "low"), High: f.Draw(t, "high"), Least: f.Draw(t, "least"), Most: f.Draw(t, "most")})
		h.Without = append(h.Without, span())
		h.Flags = append(h.Flags, chart.Flag{At: f.Draw(t, "flag"), Label: s.Draw(t, "label")})
		h.Times = append(h.Times, chart.TimeMark{At: f.Draw(t, "time"), Label: s.Draw(t, "label"), Day: rapid.Bool().Draw(t, "day")})
	}
	for range rapid.IntRange(0, 3).Draw(t, "panels") {
		line := chart.PanelLine{Label: s.Draw(t, "source")}
		for range rapid.IntRange(0, 4).Draw(t, "spans") {
			line.Spans = append(line.Spans, chart.ReadSpan{TimeSpan: span(), Mean: f.Draw(t, "mean"), Least: f.Draw(t, "least"), Most: f.Draw(t, "most")})
		}
		h.Panels = append(h.Panels, chart.Panel{Title: s.Draw(t, "panel"), Lines: []chart.PanelLine{line}, Least: f.Draw(t, "lowest"), Most: f.Draw(t, "highest")})
	}
	if rapid.Bool().Draw(t, "limited") {
		h.Limit = &chart.Limited{Mark: f.Draw(t, "limit"), Label: s.Draw(t, "limit label")}
	}
	d, _ := chart.DrawHistory(h)
	return d
}

func TestHistoryOfNothing(t *testing.T) {
	d, in := chart.DrawHistory(chart.History{})
	if !(in.Left < in.Right && in.Top < in.Bottom) || !strings.Contains(d.Desc, "No level") {
		t.Errorf("%+v, %q", in, d.Desc)
	}
}

// What is drawn of a year, a wide and a narrow one.
func BenchmarkHistory(b *testing.B) {
	h := chart.History{From: 0, To: 1000 * hour, Bridge: 600}
	for k := range 1000 {
		m := 50 + 40*math.Sin(float64(k)/20) + 2*math.Sin(float64(k)*7)
		h.Levels = append(h.Levels, chart.LevelSpan{TimeSpan: chart.TimeSpan{From: float64(k) * hour, To: float64(k+1) * hour}, Mean: m, Low: m - 3, High: m + 3, Least: m - 5, Most: m + 4})
	}
	for b.Loop() {
		n := 0
		for _, width := range []float64{960, 350} {
			h.Width = width
			d, _ := chart.DrawHistory(h)
			var w bytes.Buffer
			if err := d.Inline(&w, "a"); err != nil {
				b.Fatal(err)
			}
			n += w.Len()
		}
		b.ReportMetric(float64(n), "bytes")
	}
}
