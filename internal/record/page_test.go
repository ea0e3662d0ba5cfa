package record_test

import (
	"bytes"
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/chart"
	"gaugewright/internal/golden"
	"gaugewright/internal/job"
	"gaugewright/internal/record"

	"pgregory.net/rapid"
)

// One of each kind of block, by hand, so that only this package can change it.
func TestGolden(t *testing.T) {
	drawing := chart.DrawColumn(chart.Column{Title: "Marks", MarkTitle: "Dial, %", Height: 240})
	narrow := chart.DrawCurve(chart.Curve{Title: "No readings", Width: 300})
	d := &record.Document{
		Title: "Level sender record", Name: "Level sender record, job 1", Note: "A note of 5 mm.",
		Facts: []record.Fact{{Name: "Customer", Value: "not stated", Missing: true}, {Name: "Job", Value: "1"}},
		Sections: []record.Section{{ID: "tank-1", Over: "Tank 1 of 1: LPG", Heading: "Gas", Accent: chart.Gas,
			Glance: record.Glance{KeyIn: "0 and 81 Ω", Proof: "not checked yet"},
			Blocks: []record.Block{
				record.Facts{List: []record.Fact{{Name: "Capacity", Value: "54 L"}}},
				record.Cautions{List: []string{"Gas burns."}},
				record.Todo{List: []string{"Prove: check the display at three marks"}},
				record.KeyIn{Numbers: "0 and 81", Under: "ohms", By: "Keyed in by nobody.",
					Sentences: []record.Sentence{{Weight: "note", Text: "100 % is full."}, {Weight: "bad", Word: "Not fit", Text: "Broken."}},
					Column:    &record.Figure{ID: "tank-1-column", Wide: drawing}},
				record.KeyIn{Table: &record.Table{ID: "tank-1-key", Heading: "Entries", Columns: []record.Column{{Name: "Ohms", Numeric: true}}, Rows: []record.Row{{Cells: []string{"4"}}}}},
				record.Figure{ID: "tank-1-curve", Heading: "Curve", Wide: drawing, Narrow: &narrow, Caption: "A caption."},
				record.Table{ID: "tank-1-check", Heading: "Check", Columns: []record.Column{{Name: "Mark", Numeric: true}, {Name: "Verdict"}},
					Rows: []record.Row{{Cells: []string{"20", "within"}}, {Cells: []string{"50", "outside"}, Strong: true}}, Notes: []string{"Tolerance."}},
				record.Findings{Heading: "Findings", List: []record.Sentence{{Weight: "doubt", Word: "Look at this", Text: "It moves."}}},
				record.Strip{Heading: "Readings", Entries: []record.Entry{{Mark: "10 %", Sweep: "▲ up", Ohm: "11 Ω"}, {Mark: "20 %", Ohm: "3 Ω", Out: "set aside", Note: "slipped"}}, Notes: []string{"Struck out."}},
				record.Table{ID: "tank-1-budget", Heading: "Budget", Scrolls: true, Columns: []record.Column{{Name: "In doubt"}, {Name: "u", Numeric: true}}, Rows: []record.Row{{Cells: []string{"The meter", "0.1 Ω"}}}},
				record.Code{ID: "tank-1-code", Heading: "Code", Text: "GW1:A", Captions: []string{"It holds this."},
					Drawing: chart.Code("Code", "Read it.", [][]bool{{true, false}, {false, true}}, 160)},
			}}},
		States: record.Table{ID: "states", Major: true, Heading: "What is stated", Columns: []record.Column{{Name: "Asked"}, {Name: "Here"}}, Rows: []record.Row{{Cells: []string{"A title", "It has one."}}}},
		Terms:  []string{"A term."}, Signatures: []record.Signature{{Under: "Fitter", Name: "R. Moor"}, {Under: "Date"}},
		Checksum: checksum, Made: made, Foot: "Job 1",
	}
	for _, paper := range []record.Paper{record.A4, record.Letter} {
		var b bytes.Buffer
		if err := d.HTML(&b, paper); err != nil {
			t.Fatal(err)
		}
		sound(t, b.Bytes())
		if paper == record.A4 {
			golden.Check(t, "blocks.html", b.Bytes())
		}
	}
}

// sound fails where a page breaks a rule that holds for every record.
func sound(t fatal, page []byte) read {
	t.Helper()
	r := readPage(t, page)
	for id, n := range r.ids {
		if n > 1 {
			t.Fatalf("the id %s is there %d times", id, n)
		}
	}
	for _, id := range r.named {
		if r.ids[id] != 1 {
			t.Fatalf("something refers to the id %q, which isn't there", id)
		}
	}
	for _, banned := range []string{"script", "link", "img", "iframe", "object", "embed", "base", "form", "image", "use"} {
		if r.elements[banned] > 0 {
			t.Fatalf("the page has an element %s", banned)
		}
	}
	for _, a := range r.attrs {
		switch name := strings.ToLower(a.Name.Local); {
		case strings.HasPrefix(name, "on"), name == "src", name == "srcset", name == "style":
			t.Fatalf("the page has an attribute %s=%q", name, a.Value)
		case name == "href" && !strings.HasPrefix(a.Value, "#"):
			t.Fatalf("the page refers to %q", a.Value)
		case name != "xmlns" && strings.Contains(a.Value, "://"):
			t.Fatalf("%s=%q names an address", name, a.Value)
		}
	}
	if rules := quoted.ReplaceAllString(r.style, ""); loads.MatchString(rules) {
		t.Fatalf("the style asks for something: %s", loads.FindString(rules))
	}
	return r
}

var (
	quoted     = regexp.MustCompile(`"[^"]*"`)
	loads      = regexp.MustCompile(`(?i)url\(|@import|@font-face|://|expression\(`)
	notANumber = regexp.MustCompile(`\b(NaN|Inf|%!)`)
)

func TestPageIsSound(t *testing.T) {
	r := sound(t, html(t, sample(), record.A4))
	if r.elements["h1"] != 1 || r.elements["svg"] != 3*6 {
		t.Errorf("%d h1 and %d svg; expected 1, and 18: two drawings in two widths, a column and a code for each of three tanks", r.elements["h1"], r.elements["svg"])
	}
}

// hostile puts a text into every field of a job that a person can write in.
func hostile(text string) *job.Job {
	j := sample()
	var fill func(v reflect.Value)
	fill = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.Pointer:
			if !v.IsNil() {
				fill(v.Elem())
			}
		case reflect.Slice:
			for i := range v.Len() {
				fill(v.Index(i))
			}
		case reflect.Struct:
			for i := range v.NumField() {
				switch v.Type().Field(i).Name {
				case "Contents", "Readout", "Scale", "When", "Sweep", "Time": // words the job file checks
				default:
					fill(v.Field(i))
				}
			}
		case reflect.String:
			v.SetString(text)
		}
	}
	fill(reflect.ValueOf(j))
	return j
}

// What the fitter writes is text, wherever it comes out: in headings, tables,
// drawings, ids and the foot of the printed page.
func TestFreeTextIsText(t *testing.T) {
	want := sound(t, html(t, sample(), record.A4))
	for _, text := range []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `</style><script>alert(1)</script>`, `"; } body { display: none } a { b: "`,
		`{{.}} {{template "facts"}}`, `\22 ; } @import url(//example.invalid)`, `</title></svg><script>`, "a\x00b\x07\u2028c", `javascript:alert(1)`, `]]><!--`, "\xff\xfe",
	} {
		got := sound(t, html(t, hostile(text), record.A4))
		for name, n := range got.elements {
			// Notes that were empty in the sample add elements of their own.
			if want.elements[name] == 0 {
				t.Errorf("%q brought an element %s (%d)", text, name, n)
			}
		}
		if strings.Count(got.style, "{") != strings.Count(want.style, "{") {
			t.Errorf("%q changed the rules of the page", text)
		}
	}
	text := sound(t, html(t, hostile(`<script>`), record.A4)).text
	contains(t, text, "Customer <script>", "Vehicle <script>", "Meter <script>", "Sender <script>", "fail; <1 % (<script>)")
}

// Any job at all, whether the job file would take it or not, makes a sound
// page; and one of numbers that JSON can hold makes a record without NaN.
func TestAnyJob(t *testing.T) {
	finite := rapid.OneOf(rapid.Float64Range(-5, 120), rapid.SampledFrom([]float64{0, 0, 1, 80, 100, 1e9, -1, 1e-300}))
	any := rapid.OneOf(finite, rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300}))
	t.Run("finite", func(t *testing.T) { anyJob(t, finite, true) })
	t.Run("any", func(t *testing.T) { anyJob(t, any, false) })
}

func anyJob(t *testing.T, number *rapid.Generator[float64], finite bool) {
	text := rapid.OneOf(rapid.SampledFrom([]string{"", "2025-11-03", strings.Repeat("long ", 60), strings.Repeat("x", 300), "<b>"}), rapid.StringMatching(`[^NI%]*`))
	rapid.Check(t, func(t *rapid.T) {
		j := &job.Job{Number: text.Draw(t, "number"), Customer: text.Draw(t, "customer"), Date: text.Draw(t, "date")}
		for range rapid.IntRange(0, 3).Draw(t, "tanks") {
			j.Tanks = append(j.Tanks, anyTank(t, number, text))
		}
		r := sound(t, html(t, j, record.A4))
		if finite && notANumber.MatchString(r.text) {
			t.Fatalf("the record says %q", notANumber.FindString(r.text))
		}
	})
}

func anyTank(t *rapid.T, number *rapid.Generator[float64], text *rapid.Generator[string]) job.Tank {
	kind := rapid.IntRange(0, 4).Draw(t, "marks in") // 4: mixed
	mark := func() (pct, mm, l, kg *float64) {
		k := kind
		if k == 4 {
			k = rapid.IntRange(0, 4).Draw(t, "mark in")
		}
		v := number.Draw(t, "mark")
		switch k {
		case 0:
			pct = &v
		case 1:
			mm = &v
		case 2:
			l = &v
		case 3:
			kg = &v
		}
		return pct, mm, l, kg
	}
	tank := job.Tank{Name: text.Draw(t, "name"), Contents: rapid.SampledFrom([]job.Contents{job.LPG, job.Water, job.Diesel, job.Petrol, job.Waste, job.Other, "", "milk"}).Draw(t, "contents"),
		WaterCapacityL: number.Draw(t, "capacity"), PermittedFillPct: number.Draw(t, "permitted")}
	for range rapid.IntRange(0, 8).Draw(t, "readings") {
		r := job.Reading{Ohm: number.Draw(t, "ohm"), Sweep: rapid.SampledFrom([]string{"", "up", "down", "sideways"}).Draw(t, "sweep"), Note: text.Draw(t, "note")}
		r.MarkPct, r.MarkMM, r.MarkL, r.MarkKg = mark()
		tank.Bench.Readings = append(tank.Bench.Readings, r)
	}
	for range rapid.IntRange(0, 2).Draw(t, "claims") {
		tank.Sender.Claimed = append(tank.Sender.Claimed, job.Claim{EmptyOhm: number.Draw(t, "empty"), FullOhm: number.Draw(t, "full")})
	}
	if rapid.Bool().Draw(t, "set") {
		tank.Setting = &job.Setting{Readout: rapid.SampledFrom([]string{"two-point", "table", "x"}).Draw(t, "readout"),
			Scale: rapid.SampledFrom([]string{"mark", "fill", ""}).Draw(t, "scale"), MarginOhm: number.Draw(t, "margin"),
			LowerOhm: at(number.Draw(t, "lower")), UpperOhm: at(number.Draw(t, "upper"))}
		for i := range rapid.IntRange(0, 4).Draw(t, "entries") {
			tank.Setting.Table = append(tank.Setting.Table, job.Entry{Ohm: float64(i) * 20, Pct: number.Draw(t, "pct")})
		}
	}
	for range rapid.IntRange(0, 2).Draw(t, "checks") {
		c := job.Check{When: rapid.SampledFrom([]string{job.AsFound, job.AsLeft, ""}).Draw(t, "when"), TolerancePct: number.Draw(t, "tolerance")}
		p := job.CheckPoint{ShownPct: number.Draw(t, "shown"), Note: text.Draw(t, "note")}
		p.MarkPct, p.MarkMM, p.MarkL, p.MarkKg = mark()
		c.Readings = append(c.Readings, p)
		tank.Checks = append(tank.Checks, c)
	}
	return tank
}
