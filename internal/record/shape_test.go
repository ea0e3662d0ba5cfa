package record_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

// lying is an invented gas tank, a lying cylinder with flat ends of 56.54866776 L,
// with a straight float: 0.5 Ω and 100 Ω over its 300 mm.
func lying(t *testing.T) job.Tank {
	t.Helper()
	j, err := job.Read(strings.NewReader(`{"version":1,"number":"1","tanks":[{"name":"Gas","contents":"lpg","permitted_fill_pct":80,"heel_l":1.5,
		"shape":{"shape":"horizontal-cylinder","diameter_mm":300,"length_mm":800,"heads":"flat"},
		"bench":{"date":"2025-11-03","readings":[]},
		"setting":{"readout":"two-point","scale":"usable","step_ohm":1,"margin_ohm":0.2,"lower_ohm":10,"upper_ohm":76}}]}`), "f")
	if err != nil {
		t.Fatal(err)
	}
	k := j.Tanks[0]
	for mm := 0.0; mm <= 300; mm += 30 {
		k.Bench.Readings = append(k.Bench.Readings, job.Reading{MarkMM: at(mm), Ohm: 0.5 + mm/3})
	}
	return k
}

// A tank with a shape: what 100 % means, litres at each mark and beside the sight
// column, the heel, and the margin to the ohms at 100 %. By the formula of a lying
// cylinder a quarter of the height holds 0.195501109478, so 60 mm of 300 hold
// 0.142378489933 of 56.54866776 L: 8.05, cut to 8.0; and 80 % stand at 223.78 mm,
// where the sender gives 75.09 Ω.
func TestRecordThroughShape(t *testing.T) {
	j := sample()
	j.Tanks = []job.Tank{lying(t)}
	d := document(t, j)
	var table record.Table
	var key record.KeyIn
	for _, b := range d.Sections[0].Blocks {
		switch b := b.(type) {
		case record.Table:
			if b.Heading == "What will be shown" {
				table = b
			}
		case record.KeyIn:
			key = b
		}
	}
	if table.Columns[1].Name != "Litres" || table.Rows[2].Cells[0] != "60" || table.Rows[2].Cells[1] != "8.0" || len(table.Rows[2].Cells) != len(table.Columns) {
		t.Errorf("%v, %v", table.Columns, table.Rows[2])
	}
	// (8.0513 − 1.5)/(0.8 × 56.5487 − 1.5) = 14.98 %
	if got := table.Rows[2].Cells[3]; got != "15.0" {
		t.Errorf("should show %s at 60 mm", got)
	}
	if says := key.Sentences[0].Text; says != "100 % = as full as this tank may be filled (80 % of its water capacity: 45.2 L), 0 % = when 1.5 L is left, which can't be drawn. Told by the shape of the tank." {
		t.Errorf("says %q", says)
	}
	margin := ""
	for _, s := range key.Sentences {
		if strings.HasPrefix(s.Text, "Margin") {
			margin = s.Text
		}
	}
	if !strings.Contains(margin, "(75.1 Ω)") {
		t.Errorf("says %q", margin)
	}
	text := readPage(t, html(t, j, record.A4)).text
	contains(t, text,
		"Water capacity 56.5 L by its shape", "Permitted fill 80 % (45.2 L)", "Left when nothing more can be drawn 1.5 L",
		"Litres at each mark by the shape of the tank, with the tank level.", "permitted fill 223.8 mm", "† 240")
	desc := key.Column.Wide.Desc
	// The column's right side is litres from nothing to all of it.
	if !strings.Contains(desc, "Litres from 0 at 0 to 56.55 at 300") {
		t.Errorf("the sight column: %s", desc)
	}

	// On the float's own scale the permitted fill stands where the shape has it.
	own := lying(t)
	own.Setting.Scale = "mark"
	j.Tanks = []job.Tank{own}
	text = readPage(t, html(t, j, record.A4)).text
	contains(t, text, "100 % = the highest mark of the sender's own travel.", "permitted fill 223.8 mm", "† 240")

	// The same tank without its shape has no scale of that kind, and no figures.
	bare := lying(t)
	bare.Shape = nil
	j.Tanks = []job.Tank{bare}
	text = readPage(t, html(t, j, record.A4)).text
	if strings.Contains(text, "Key in 10 and 76") || !strings.Contains(text, "needs the tank's shape") {
		t.Error("a scale that can't be told was shown all the same")
	}

	// A stated capacity that disagrees is told, and the lesser counts for what may
	// be filled.
	stated := lying(t)
	stated.WaterCapacityL = 50
	j.Tanks = []job.Tank{stated}
	text = readPage(t, html(t, j, record.A4)).text
	contains(t, text, "Permitted fill 80 % (40 L)", "the stated capacity is 50 L", "as full as this tank may be filled (80 % of its water capacity: 40 L)")
	if v := stated.Capacity(); math.Abs(float64(v)-0.05654866776) > 1e-9 {
		t.Errorf("holds %v", v)
	}
}
