package record_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"
	"gaugewright/internal/tag"
)

func cards(t fatal, j *job.Job) *record.Cards {
	t.Helper()
	c, err := record.NewCards(j, checksum, time.Time{})
	if err != nil {
		t.Fatalf("no cards: %v", err)
	}
	return c
}

func cardPDF(t fatal, j *job.Job, paper record.Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := cards(t, j).PDF(&b, paper); err != nil {
		t.Fatalf("no PDF: %v", err)
	}
	return b.Bytes()
}

func TestCardSays(t *testing.T) {
	var b bytes.Buffer
	if err := cards(t, sample()).HTML(&b, record.A4); err != nil {
		t.Fatal(err)
	}
	paper := plainly(told(t, peer.Tool(t, "pdftotext", "poppler-utils"), "-raw", saved(t, cardPDF(t, sample(), record.A4)), "-"))
	for name, text := range map[string]string{"page": readPage(t, b.Bytes()).text, "paper": paper} {
		for _, want := range []string{"Job 2025-118, 3 November 2025", "Propane", "0 and 81", "Ohms: the first for 0 %, the second for 100 %.",
			"100 % = as full as this tank may be filled (80 % on the dial).", "Don't fill by the display.", "Check: conditional pass, 3 of 3 within 2 points",
			"Fresh water", "62 Ω → 24 %", "180 Ω → 100 %", "241 and 30", checksum[:12] + "…"} {
			if !strings.Contains(text, want) {
				t.Errorf("the %s doesn't say %q: %s", name, want, text)
			}
		}
		// Cautions stand whole where they belong.
		j := sample()
		for i, n := range []int{5, 0, 3} {
			list := j.Tanks[i].Cautions()
			if len(list) < n {
				t.Fatalf("%d cautions", len(list))
			}
			for _, c := range list {
				if !strings.Contains(text, strings.Join(strings.Fields(c), " ")) {
					t.Errorf("the %s doesn't say %q", name, c)
				}
			}
		}
		// No figure of the row is for a mark above the permitted fill.
		if strings.Contains(text, "97.9 100.0 100.0") {
			t.Errorf("the %s shows marks above the permitted fill", name)
		}
	}
}

// The codes of the cards are read from paper, 40 mm wide, of each sheet.
func TestCardCode(t *testing.T) {
	j := sample()
	var want []string
	for _, tank := range j.Tanks {
		c, err := tag.Encode(j, tank.Name)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, c.Text)
	}
	got := scanned(t, cardPDF(t, j, record.Letter))
	for _, w := range want { // in any order on a sheet
		if !strings.Contains(strings.Join(got, "\n"), w) {
			t.Errorf("%q wasn't read; %q was", w, got)
		}
	}
	if mm := cards(t, j).List[0].Code.Drawing.Width * 25.4 / 96; mm < 39.9 || mm > 40.1 {
		t.Errorf("a code of %.1f mm", mm)
	}
}

// Whatever is in a job, nothing on its cards leaves them, cautions stand whole,
// and the file keeps to what a record's does.
func TestCardTearsNothing(t *testing.T) {
	long300 := strings.TrimSpace(strings.Repeat("Tidewater Kitchen and Company ", 10))
	full := sample()
	full.Customer, full.Vehicle, full.Number = long300, long300, strings.Repeat("1234567890", 20)
	for i := range full.Tanks {
		full.Tanks[i].Name = fmt.Sprint(long300, i)
	}
	entries := &job.Setting{Readout: job.Table, Scale: "mark"}
	for i := range 40 {
		entries.Table = append(entries.Table, job.Entry{Ohm: 4 + 4*float64(i), Pct: float64(i) * 100 / 39})
	}
	many := sample()
	many.Tanks[1].Setting = entries
	few := sample()
	few.Tanks[1].Setting = &job.Setting{Readout: job.Table, Scale: "mark", Table: entries.Table[:30]}
	wide := sample()
	wide.Tanks[0].Setting.LowerOhm, wide.Tanks[0].Setting.UpperOhm = at(1234567.89), at(-1234567.89)
	for name, j := range map[string]*job.Job{"sample": sample(), "long": full, "many": many, "few": few, "wide": wide, "empty": {}, "bare": {Tanks: []job.Tank{{}}}, "hostile": hostile("W" + strings.Repeat("w", 400))} {
		for _, paper := range []record.Paper{record.A4, record.Letter} {
			data := cardPDF(t, j, paper)
			words, width, height, pages := laid(t, data)
			if want := max(1, (len(j.Tanks)+1)/2); pages != want {
				t.Errorf("%s: %d pages, expected %d", name, pages, want)
			}
			const mm = 72 / 25.4
			left, top := (width-148*mm)/2, (height-220*mm)/2
			for _, w := range words {
				foot := w.top > height-45
				inside := w.left >= left && w.right <= left+148*mm &&
					(w.top >= top && w.down <= top+105*mm || w.top >= top+115*mm && w.down <= top+220*mm)
				if len(j.Tanks) > 0 && !foot && !inside && w.top > 50 {
					t.Errorf("%s on %s: %.30q stands at %.0f to %.0f, %.0f to %.0f, outside the cards", name, paper, w.text, w.left, w.right, w.top, w.down)
				}
			}
		}
	}
	for name, j := range map[string]*job.Job{"sample": sample(), "empty": {}} {
		if got := archived(t, cardPDF(t, j, record.A4), false); len(got.Wrong) > 0 {
			t.Errorf("%s: %s", name, strings.Join(got.Wrong, "; "))
		}
	}
	if _, err := record.NewCards(nil, "", time.Time{}); err == nil {
		t.Error("no job was taken")
	}
	if err := cards(t, sample()).HTML(&bytes.Buffer{}, "A5"); err == nil {
		t.Error("a paper that isn't one was taken")
	}
	if err := cards(t, sample()).PDF(&bytes.Buffer{}, "A5"); err == nil {
		t.Error("a paper that isn't one was taken")
	}
}

// A readout that corrects its percentage by a table has both on record and card.
func TestEndsThenTable(t *testing.T) {
	j := sample()
	j.Tanks = j.Tanks[1:2]
	j.Tanks[0].Setting = &job.Setting{Readout: job.EndsThenTable, Scale: "mark", LowerOhm: at(3.0), UpperOhm: at(182.0), By: "R. Moor",
		ThenTable: []job.Correction{{InPct: 0, Pct: 0}, {InPct: 40, Pct: 31}, {InPct: 100, Pct: 100}}}
	contains(t, readPage(t, html(t, j, record.A4)).text, "Key in 3 and 182 ohms: the first for 0 %, the second for 100 %; then the table Entries that correct the percentage", "40 31",
		"Margin: 2.0 Ω between the sender's greatest ohms (180.0 Ω) and the greater end value.", "Key in: 3 and 182 Ω, then a table of 3 entries")
	contains(t, plainly(told(t, peer.Tool(t, "pdftotext", "poppler-utils"), "-raw", saved(t, cardPDF(t, j, record.A4)), "-")), "3 and 182", "40 → 31 %")
}
