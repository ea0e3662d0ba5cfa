package record_test

import (
	"bytes"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

func TestRecordSays(t *testing.T) {
	text := readPage(t, html(t, sample(), record.A4)).text
	contains(t, text,
		"Level sender record", "Tidewater Kitchen (invented)", "Food trailer, 5.2 m, “Second Helping”", "3 November 2025", "R. Moor", "2025-118",
		"Customer asks that the gas display stands at 100 %",
		// the tank and how it was read
		"Tank 1 of 3: LPG", "Water capacity 54 L", "Permitted fill 80 % (43.2 L)", "23 readings, by R. Moor on 3 November 2025", "Bench multimeter no. 4, leads zeroed", "Temperature of the sender 18.5 °C",
		// what was keyed in
		"Key in 0 and 81 ohms: the first for 0 %, the second for 100 %",
		"100 % = as full as this tank may be filled (80 % on the dial).",
		"Keyed in by R. Moor on 3 November 2025.",
		// what was found
		"Look at this: Reading 22.7 Ω at 40 % is far from the others at that mark and was set aside: repeat it.",
		"Rules out 10 to 180 Ω",
		"Agrees with 240 to 33 Ω",
		// checks
		"Check as found, before setting: fail, 0 of 3 within 2 points, 3 outside by more than the doubt", "Check as left: conditional pass, 3 of 3 within 2 points, 1 of them by less than the doubt", "Tolerance ±2 points;",
		"Check as left: fail, 2 of 3 within 2 points, 1 outside by more than the doubt", "10 50.0 46.0 −4.0 fail; <1 % (after waiting)",
		// Whole percents and marks to half a point, by hand: u² = 1/12 + 0.5²/3,
		// 2u = 0.82, rounded up; an error of the tolerance is as likely as not.
		"150 50.0 51.0 +1.0 pass; >99 %", "20 100.0 98.0 −2.0 conditional pass; 50 %", "Doubt of the error: ±0.9 points (about 95 %), from the display's step of 1 point and a mark held to ±0.5 points.",
		"points (about 95 %), from the display's step of 1 point, a mark held to ±0.5 points and the sender's own scatter and hysteresis.",
		"Rule: the guard band is the doubt itself (about 95 %); a pass is within 2 points by at least the guard band",
		// readings
		"40 % ▲ up 22.7 Ω set aside lead slipped?",
		// the other tanks
		"Tank 2 of 3: fresh water", "62 24", "Key in 241 and 30",
		// the end
		"Fitter", "Customer", "Date", "Job file SHA-256: "+checksum, "Made by Gaugewright on 4 November 2025, 16:20 UTC.",
	)
}

// Figures worked out by hand from the sample's readings.
//
// Propane, mark 80: read 79.6 and 79.7 (and 79.7 again, after the sweeps) going
// up and 79.0 going down; each way counts half. A display set to 0 and 81 shows
// R/81; the mark is at 100 % of the permitted fill.
func TestFiguresByHand(t *testing.T) {
	d := document(t, sample())
	rows := map[string][]string{}
	for _, b := range d.Sections[0].Blocks {
		if table, ok := b.(record.Table); ok && table.Heading == "What will be shown" {
			for _, r := range table.Rows {
				rows[r.Cells[0]] = r.Cells
			}
		}
	}
	for mark, want := range map[string][]string{
		// ((79.6+79.7)/2 + 79.0)/2 = 79.325; /81 = 97.93 %
		"80": {"80", "79.3", "100.0", "97.9", "−2.1"},
		// (11.3 + 10.7)/2 = 11.0; /81 = 13.58 %; 10/80 = 12.5 %
		"10": {"10", "11.0", "12.5", "13.6", "+1.1"},
		// (0.7 + 0.1)/2 = 0.4; /81 = 0.49 %
		"0": {"0", "0.4", "0.0", "0.5", "+0.5"},
		// beyond the permitted fill: held at 100 %
		"† 90": {"† 90", "89.5", "100.0", "100.0", "0.0"},
	} {
		got := rows[mark]
		if len(got) != 6 || strings.Join(got[:5], " ") != strings.Join(want, " ") {
			t.Errorf("mark %s: %q, want %q", mark, got, want)
		}
	}
	// The greatest ohms up to the permitted fill are 79.7, against 81.
	page := readPage(t, html(t, sample(), record.A4)).text
	contains(t, page, "Margin: 1.3 Ω between the sender's greatest ohms (79.7 Ω) and the greater end value.",
		"Beyond the scale the sender gives up to 89.8 Ω.",
		"At 80 % the display shows 97.9 % and should show 100.0 %: it reads low there. Don't fill by the display.",
		"† Above the permitted fill: the tank must not be filled so far.")
}

// The doubt of a steady sender in points, by hand: readings to 1 Ω have
// u = 1/√12 Ω (GUM F.2.2.1), twice that is 0.577 Ω, and over a span of 50 Ω
// that is 1.155 points, given as 1.2 because a doubt is rounded up.
func TestDoubtByHand(t *testing.T) {
	j := &job.Job{Number: "1", Tanks: []job.Tank{{Name: "Waste", Contents: job.Waste,
		Setting: &job.Setting{Readout: job.TwoPoint, Scale: "mark", LowerOhm: at(10.0), UpperOhm: at(60.0)}}}}
	for mark := 0.0; mark <= 100; mark += 25 {
		j.Tanks[0].Bench.Readings = append(j.Tanks[0].Bench.Readings, job.Reading{MarkPct: at(mark), Ohm: 11 + mark/25*12})
	}
	for _, b := range document(t, j).Sections[0].Blocks {
		if table, ok := b.(record.Table); ok && table.Heading == "What will be shown" {
			for _, r := range table.Rows {
				if r.Cells[5] != "±1.2" {
					t.Errorf("mark %s: doubt %s, want ±1.2", r.Cells[0], r.Cells[5])
				}
			}
			return
		}
	}
	t.Fatal("no table of what will be shown")
}

func TestUnfinished(t *testing.T) {
	j := &job.Job{Number: "7", Tanks: []job.Tank{
		{Name: "Empty notebook", Contents: job.Water},
		{Name: "Read, not set", Contents: job.Diesel, Bench: diesel().Bench, Sender: diesel().Sender},
	}}
	text := readPage(t, html(t, j, record.A4)).text
	contains(t, text, "Customer not stated", "Still to do Bench: take readings Curve: waits for the readings Set: choose the end values Prove: check the display at three marks",
		"Key in: nothing keyed in yet Check: not checked yet", "Falling: 240.0 Ω at 0 L, 33.0 Ω at 20 L.")
	for _, not := range []string{"What will be shown", "True and shown", "Keyed in by"} {
		if strings.Contains(text, not) {
			t.Errorf("a tank without a setting says %q", not)
		}
	}
	contains(t, readPage(t, html(t, &job.Job{}, record.A4)).text, "No tank has been entered in this job yet.", "Job not stated")
}

// A sender that can't be used is named as such, with its readings.
func TestSenderThatDoesntMove(t *testing.T) {
	tank := water()
	tank.Setting, tank.Checks = nil, nil
	for i := range tank.Bench.Readings {
		tank.Bench.Readings[i].Ohm = 55
	}
	text := readPage(t, html(t, &job.Job{Tanks: []job.Tank{tank}}, record.A4)).text
	contains(t, text, "Not fit: No curve could be made: all 14 readings are 55.0 Ω: the sender doesn't move", "Readings as they were taken", "280 mm 55 Ω")
}

// Nothing in the record of a gas tank may invite filling it too far: a scale
// that would show 100 % above what is accepted for LPG is refused with all its
// figures, and the permitted fill stated isn't repeated as if it held.
func TestGasIsNotOverfilled(t *testing.T) {
	tank := propane()
	tank.PermittedFillPct = 95
	text := readPage(t, html(t, &job.Job{Tanks: []job.Tank{tank}}, record.A4)).text
	for _, not := range []string{"0 and 81", "What will be shown", "What this means", "permitted fill 95 %", "51.3 L", "as full as this tank may be filled", "Check as left", "sure within"} {
		if strings.Contains(text, not) {
			t.Errorf("a permitted fill of 95 %% is stated for LPG, and the record says %q", not)
		}
	}
	contains(t, text, "95 % was stated, above the 85 % that is accepted for LPG", "Still to do")

	for _, j := range []job.Contents{job.LPG, job.Diesel, job.Petrol, job.Other} {
		tank := diesel()
		tank.Contents, tank.PermittedFillPct, tank.Loads = j, 80, nil
		page := string(html(t, &job.Job{Tanks: []job.Tank{tank}}, record.A4))
		cautions, key := strings.Index(page, ">Cautions<"), strings.Index(page, ">Key in<")
		if cautions < 0 || key < cautions {
			t.Errorf("%s: the cautions stand at %d and the figures at %d; cautions come first", j, cautions, key)
		}
		contains(t, readPage(t, []byte(page)).text, "It finds no leak and stops no filling.")
	}
}

func TestPapers(t *testing.T) {
	for _, p := range []record.Paper{record.A4, record.Letter} {
		if page := html(t, sample(), p); !bytes.Contains(page, []byte("size: "+string(p)+";")) {
			t.Errorf("the page doesn't ask for %s", p)
		}
	}
	if err := document(t, sample()).HTML(&bytes.Buffer{}, "A5; } body { display: none"); err == nil {
		t.Error("a paper that isn't one was taken")
	}
	for text, want := range map[string]record.Paper{"a4": record.A4, "A4": record.A4, "Letter": record.Letter, "LETTER": record.Letter} {
		if got, err := record.ParsePaper(text); err != nil || got != want {
			t.Errorf("paper %q: %q, %v", text, got, err)
		}
	}
	if _, err := record.ParsePaper("foolscap"); err == nil || !strings.Contains(err.Error(), "expected A4 or letter") {
		t.Errorf("paper foolscap: %v", err)
	}
}

func TestNewRefuses(t *testing.T) {
	if _, err := record.New(nil, "", made); err == nil {
		t.Error("no job was taken")
	}
}

func TestSameJobSameBytes(t *testing.T) {
	if !bytes.Equal(html(t, sample(), record.A4), html(t, sample(), record.A4)) {
		t.Error("the same job gave different bytes")
	}
}

func BenchmarkHTML(b *testing.B) {
	j := sample()
	for b.Loop() {
		d, err := record.New(j, checksum, made)
		if err != nil {
			b.Fatal(err)
		}
		var page bytes.Buffer
		if err := d.HTML(&page, record.A4); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(page.Len()), "bytes/page")
	}
}
