package record_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"
	"gaugewright/internal/tag"
)

// scanned gives the texts of the codes on the pages of a PDF, as zbarimg reads
// them at 200 dots to the inch.
func scanned(t *testing.T, data []byte) []string {
	t.Helper()
	paint, scan := peer.Tool(t, "pdftoppm", "poppler-utils"), peer.Tool(t, "zbarimg", "zbar-tools")
	dir := t.TempDir()
	path := filepath.Join(dir, "r.pdf")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	told(t, paint, "-r", "200", "-gray", path, filepath.Join(dir, "page"))
	pages, err := filepath.Glob(filepath.Join(dir, "page*.pgm"))
	if err != nil || len(pages) == 0 {
		t.Fatalf("no page was painted: %v", err)
	}
	var texts []string
	for _, p := range pages {
		// It ends with 4 where a page has no code.
		out, err := command(scan, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", p)
		if err != nil && !strings.Contains(err.Error(), "exit status 4") {
			t.Fatalf("%s: %v", p, err)
		}
		texts = append(texts, strings.FieldsFunc(out, func(r rune) bool { return r == '\n' })...)
	}
	return texts
}

// Each tank's code is on the paper, is read by a scanner, and is that of the tank:
// 42 mm wide with its white.
func TestRecordCode(t *testing.T) {
	j := sample()
	var want []string
	for _, name := range []string{"Propane", "Fresh water", "Heater diesel"} {
		c, err := tag.Encode(j, name)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, c.Text)
	}
	// Letter is tried with the cards.
	if got := scanned(t, pdf(t, j, record.A4)); strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("read %q, expected %q", got, want)
	}
	for _, s := range document(t, j).Sections {
		c := s.Blocks[len(s.Blocks)-1].(record.Code)
		if mm := c.Drawing.Width * 25.4 / 96; mm < 41.9 || mm > 42.1 || c.Drawing.Height != c.Drawing.Width {
			t.Errorf("%s: a code of %.1f mm", s.Heading, mm)
		}
		if back, err := tag.Decode(c.Text); err != nil || back.Tanks[0].Setting == nil {
			t.Errorf("%s: %v", s.Heading, err)
		}
	}
	page := string(html(t, j, record.A4))
	if n := strings.Count(page, `<div class="qr"><svg`); n != 3 {
		t.Errorf("the page has %d codes", n)
	}
	// Nothing to put into a code: none.
	if text := string(html(t, &job.Job{Tanks: []job.Tank{{Name: "bare"}}}, record.A4)); strings.Contains(text, `class="qr"`) {
		t.Error("a tank without anything has a code")
	}
}

// The table of what is stated follows the job.
func TestRecordStates(t *testing.T) {
	rows := func(j *job.Job) map[string]string {
		out := map[string]string{}
		for _, r := range document(t, j).States.Rows {
			out[r.Cells[0]] = r.Cells[2]
		}
		return out
	}
	full, bare := rows(sample()), rows(&job.Job{})
	if len(full) != 19 || len(bare) != 19 {
		t.Fatalf("%d and %d rows", len(full), len(bare))
	}
	for name, c := range map[string]struct{ full, bare string }{
		"The customer":                                  {"Tidewater Kitchen (invented), as told by the fitter.", "Not stated."},
		"The dates of the work":                         {"Job of 3 November 2025. Read on 3 November 2025, keyed in on 3 November 2025, checked on 3 November 2025.", "Job of no stated day. Read on no stated day, keyed in on no stated day, checked on no stated day."},
		"Results before and after adjustment":           {"As found: Propane. As left: Propane, Fresh water and Heater diesel.", "As found: no display was checked before it was set. As left: no display was checked after it was set."},
		"The conditions":                                {"The temperature of each sender as it was read; it isn't stated for Fresh water.", "The temperature of each sender as it was read, under the heading of the tank. Others, such as moisture, have no part in the result."},
		"Who answers for it":                            {"Whoever signs below; until then, nobody.", "Whoever signs below; until then, nobody."},
		"Its identification, page by page, and its end": {"Job 2025-118 and the checksum of its file. Each page has the job's number and its own of so many; the last says that it ends.", "No job number is stated; the checksum of the job file stands at the end. Each page has its number of so many; the last says that it ends."},
	} {
		if full[name] != c.full || bare[name] != c.bare {
			t.Errorf("%s: %q and %q", name, full[name], bare[name])
		}
	}
	signed := sample()
	signed.Signature = &job.Signature{By: "R. Moor"}
	signed.Tanks[0].Bench.Doubts = &job.Doubts{MeterPct: 0.8, MeterDigits: 2, MeterStep: 0.1, LeadsOhm: 0.2, Mark: 0.5}
	if got := rows(signed); !strings.Contains(got["Who answers for it"], "digital signature by R. Moor") || strings.Contains(got["The uncertainty, in the unit of the result"], "Propane") {
		t.Errorf("%q, %q", got["Who answers for it"], got["The uncertainty, in the unit of the result"])
	}
	contains(t, readPage(t, html(t, signed, record.A4)).text, "Errors of the meter meter ±0.8 % of the reading; ±2 digits of 0.1 Ω; leads 0.2 Ω, taken off; marks ±0.5 %")
}

// The budget adds up to what it says, and is that of the curve.
func TestRecordBudget(t *testing.T) {
	var table record.Table
	for _, b := range document(t, sample()).Sections[0].Blocks {
		if found, ok := b.(record.Table); ok && found.Heading == "Uncertainty budget" {
			table = found
		}
	}
	if len(table.Rows) < 4 {
		t.Fatalf("%d rows", len(table.Rows))
	}
	number := func(s string) (v float64) {
		v, err := parse(s)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	sum, shares := 0.0, 0.0
	for _, r := range table.Rows[:len(table.Rows)-1] {
		sum += number(r.Cells[4]) * number(r.Cells[4])
		shares += number(r.Cells[5])
		// what it adds is u times the sensitivity
		if got, want := number(r.Cells[4]), number(r.Cells[1])*number(r.Cells[3]); got < want-0.002 || got > want+0.002 {
			t.Errorf("%v: adds %g, expected %g", r.Cells, got, want)
		}
	}
	total := number(table.Rows[len(table.Rows)-1].Cells[4])
	if d := sum - total*total; d < -0.002 || d > 0.002 || shares < 98 || shares > 102 {
		t.Errorf("adds up to the square %g with shares of %g %%; the table says %g", sum, shares, total)
	}
	page := bytes.TrimSpace(html(t, sample(), record.A4))
	contains(t, readPage(t, page).text, "Budget of the mark told from one reading of", "where the display should show 50 %.", "Expanded uncertainty, 95 %: ±")
}
