package readings

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"gaugewright/internal/curve"
)

const (
	wantHeader = "expected a header row such as mark_pct,ohm, and a row for each reading below it"
	wantNumber = "expected a plain number such as 42.5"
	wantTime   = "expected RFC 3339 with the offset from UTC, such as 2026-11-03T09:30:00+01:00"
	theColumns = "the columns are mark_pct (or mark_mm, mark_l or mark_kg), ohm (or volt, milliamp or of_supply_pct), sweep, time and note"
	missing    = "leave the row out or write it as a # comment"
	inQuotes   = `a number with a decimal comma, or a note with a comma, goes in quotes, such as "12,5"`
	notText    = "so this is not a text file; expected CSV; export a spreadsheet as CSV first"
)

func TestReadRefuses(t *testing.T) {
	const head = "mark_pct,ohm,sweep,time,note\n"
	tests := []struct {
		name, text string
		want       []string // without the file's name
	}{
		// The file as a whole.
		{"empty", "", []string{" the file is empty; " + wantHeader}},
		{"only a byte order mark", "\uFEFF", []string{" the file is empty; " + wantHeader}},
		{"only comments", "# a\r\n\r\n # b\n,,\n", []string{" nothing but comments and blank lines; " + wantHeader}},
		{"only empty quotes", "\"\u00a0\"\n", []string{" nothing but comments and blank lines; " + wantHeader}},
		{"header alone", "# a\nmark_pct,ohm\n\n# b\n", []string{"2:1: no row below the header row; expected a row for each reading, such as 50,95.2"}},
		{"NUL", "mark_pct,ohm\n50,\x0095\n", []string{"2:4: control character U+0000, " + notText}},
		{"control byte after an accent", "mark_pct,ohm\r\n# \u00e9\u00e9\x07\r\n", []string{"2:5: control character U+0007, " + notText}},
		{"control byte in Windows-1252", "# \xe9\xe9\x1b\n", []string{"1:5: control character U+001B, " + notText}},
		{"a byte Windows-1252 has nothing for", "\n# \xe9\x81\n", []string{"2:4: control character U+0081, " + notText}},
		{"zip archive", "PK\x03\x04\x14\x00", []string{"1:3: control character U+0003, " + notText}},
		{"UTF-16 without a mark", "m\x00a\x00", []string{"1:2: control character U+0000, " + notText}},
		{"UTF-32", "\xff\xfe\x00\x00m\x00\x00\x00", []string{"1:1: control character U+0000, " + notText}},
		{"UTF-8 mark and another encoding", "\uFEFFmark_pct,ohm,note\n50,95,caf\xe9\n", []string{"2:10: byte 0xE9 is not UTF-8, which the byte order mark at the start promises; save the file again as CSV in UTF-8"}},
		{"UTF-16 cut", "\xff\xfem\x00a", []string{" UTF-16 text of 5 bytes, an odd number, so its end is missing; save the file again as CSV in UTF-8"}},
		{"half a surrogate pair", "\xff\xfe#\x00\n\x00#\x00\x3d\xd8", []string{"2:2: half of a UTF-16 surrogate pair; save the file again as CSV in UTF-8"}},
		{"very wide row", "mark_pct,ohm\n50,95\n" + strings.Repeat(",", 64), []string{"3:1: a row of more than 64 fields; " + wantHeader}},

		// The header row.
		{"no header", "# x\n0,240\n50,95\n", []string{"2:1: the first row starts with the number 0; expected a header row that names the columns, such as mark_pct,ohm"}},
		{"no header, semicolons", "\"0,5\";240,1\n", []string{"1:1: the first row starts with the number 0,5; expected a header row that names the columns, such as mark_pct,ohm"}},
		{"no mark column", "ohm,note\n95,x\n", []string{"1:1: the header row has no mark column; add one of mark_pct, mark_mm, mark_l or mark_kg, such as mark_pct,ohm"}},
		{"no ohm column", "mark_pct,note\n50,x\n", []string{"1:1: the header row has no ohm column; add it, such as mark_pct,ohm (or volt, milliamp or of_supply_pct, where that is what the sender gives)"}},
		{"two marks", "mark_pct,ohm,mark_mm\n1,2,3\n", []string{"1:14: column mark_mm is a second mark column beside mark_pct; keep the one that was read and delete the other"}},
		{"column twice", "mark_pct,ohm, OHM\n1,2,3\n", []string{"1:15: column ohm stands twice; delete one of the two"}},
		{"mark column twice", "mark_pct,mark_pct\n1,2\n", []string{"1:10: column mark_pct stands twice; delete one of the two"}},
		{"ohms", "mark_pct,Ohms\n1,2\n", []string{`1:10: column "ohms" is not known; rename it to ohm if that is what it holds, or delete it`}},
		{"resistance", "mark_pct,Resistance\n1,2\n", []string{`1:10: column "resistance" is not known; rename it to ohm if that is what it holds, or delete it`}},
		{"resistance with its unit", "mark_pct,Resistance (Ω)\n1,2\n", []string{`1:10: column "resistance (ω)" is not known; rename it to ohm if that is what it holds, or delete it`}},
		{"mark", "mark,ohm\n1,2\n", []string{`1:1: column "mark" is not known; rename it to mark_pct if that is what it holds, or delete it`}},
		{"mark in percent", "Mark [%];ohm\n1;2\n", []string{`1:1: column "mark [%]" is not known; rename it to mark_pct if that is what it holds, or delete it`}},
		{"mark in another unit", "mark_in,ohm\n1,2\n", []string{`1:1: column "mark_in" is not known; a mark is given in one of mark_pct, mark_mm, mark_l or mark_kg; turn the figures into one of these`}},
		{"kiloohms", "mark_pct,kohm\n1,2\n", []string{`1:10: column "kohm" is not known; turn the figures into ohms and name the column ohm`}},
		{"slip", "mark_pct,ohm,swep,tme\n1,2,,\n", []string{
			`1:14: column "swep" is not known; rename it to sweep if that is what it holds, or delete it`,
			`1:19: column "tme" is not known; rename it to time if that is what it holds, or delete it`}},
		{"unknown", "mark_pct,ohm,colour\n1,2,red\n", []string{`1:14: column "colour" is not known; rename it or delete it; ` + theColumns}},
		{"long unknown", "mark_pct,ohm," + strings.Repeat("é", 41) + "\n", []string{`1:14: column "` + strings.Repeat("é", 40) + `…" is not known; rename it or delete it; ` + theColumns}},
		{"sentence for a header", "Bench readings of 3 November\nmark_pct,ohm\n1,2\n", []string{`1:1: column "bench readings of 3 november" is not known; rename it or delete it; ` + theColumns}},

		// The shape of a row.
		{"too few fields", "mark_pct,ohm,note\n50,95\n", []string{"2:1: 2 fields where the header row has 3, separated by commas; add what is missing, or leave it empty between separators"}},
		{"another separator", "mark_pct,ohm\n50;95\n", []string{"2:1: 1 field where the header row has 2, separated by commas; add what is missing, or leave it empty between separators"}},
		{"decimal comma between commas", "mark_pct,ohm\n50,95,2\n", []string{"2:7: 3 fields where the header row has 2, separated by commas; delete what is too much; " + inQuotes}},
		{"too many between semicolons", "mark_pct;ohm\n50;95;2\n", []string{"2:7: 3 fields where the header row has 2, separated by semicolons; delete what is too much"}},
		{"too many between tabs", "mark_pct\tohm\n50\t95\t2\n", []string{"2:7: 3 fields where the header row has 2, separated by tabs; delete what is too much"}},
		{"cell under no name", "mark_pct,ohm,\n50,95,x\n", []string{`2:7: "x" stands in column 3, which has no name in the header row; name the column or empty the cell`}},
		{"open quote", "mark_pct,ohm,note\n50,95,é\n50,95,\"é\n51,96,x\n", []string{`3:7: a field opens with a " that is never closed; add the closing "`}},
		{"quote in a bare field", "mark_pct,ohm,note\r\n50,95,é 5\" hose\r\n", []string{`2:10: a " inside a field that isn't in quotes; put the whole field in quotes and double the inner one, such as "5"" hose"`}},
		{"quote not doubled", "mark_pct,ohm,note\n50,95,\"a\nb\"c\"\n", []string{`3:2: a " that neither ends the field nor is doubled; write "" for a " inside a field in quotes`}},

		// Cells.
		{"the letter o", "# x\r\n\r\nmark_pct,ohm\r\n1,2\r\n2,3\r\n3,4\r\n50,4o.2\r\n", []string{`7:4: ohm "4o.2" is not a number; ` + wantNumber}},
		{"empty ohm", head + "50,,,,\n", []string{"2:4: ohm is empty; expected a plain number such as 42.5, or no row at all"}},
		{"empty mark", head + " ,95,,,\n", []string{"2:2: mark_pct is empty; expected a plain number such as 42.5, or no row at all"}},
		{"two separators", "mark_pct;ohm\n50;1.234,5\n", []string{`2:4: ohm "1.234,5" has more than one separator; write the number without grouping its thousands`}},
		{"blank in a number", head + "50,1 234,,,\n", []string{`2:4: ohm "1 234" is not a number; ` + wantNumber}},
		{"hexadecimal", head + "50,0x10,,,\n", []string{`2:4: ohm "0x10" is not a number; ` + wantNumber}},
		{"unit in the cell", head + "50 %,95 Ω,,,\n", []string{
			`2:1: mark_pct "50 %" has its unit with it; write the number alone, the unit is in the column name`,
			`2:6: ohm "95 Ω" has its unit with it; write the number alone, the unit is in the column name`}},
		{"kiloohms in the cell", head + "50,1.2kΩ,,,\n", []string{`2:4: ohm "1.2kΩ" is not a number; ` + wantNumber}},
		{"a # in every cell", "mark_pct,ohm\n\"#1\",\"#2\"\n", []string{
			`2:1: mark_pct "#1" is not a number; ` + wantNumber,
			`2:6: ohm "#2" is not a number; ` + wantNumber}},
		{"overload", head + "50,OL,,,\n51,0.L,,,\n52,inf,,,\n53,Overload,,,\n54,∞,,,\n", []string{
			`2:4: ohm "OL" is the meter's overload, which means an open circuit; ` + missing,
			`3:4: ohm "0.L" is the meter's overload, which means an open circuit; ` + missing,
			`4:4: ohm "inf" is the meter's overload, which means an open circuit; ` + missing,
			`5:4: ohm "Overload" is the meter's overload, which means an open circuit; ` + missing,
			`6:4: ohm "∞" is the meter's overload, which means an open circuit; ` + missing}},
		{"no value", head + "NaN,NaN,,,\n", []string{
			`2:1: mark_pct "NaN" stands for a missing value; ` + missing,
			`2:5: ohm "NaN" stands for a missing value; ` + missing}},
		{"infinite mark", head + "inf,95,,,\n", []string{`2:1: mark_pct "inf" is not a number; ` + wantNumber}},
		{"negative ohms", head + "50,-5,,,\n", []string{"2:4: ohm -5 is negative, which no resistance is; mend the number or leave the row out"}},
		{"too many ohms", head + "50,100000.1,,,\n", []string{"2:4: ohm 100000.1 is above 100000, more than any level sender has; mend the number, or leave the row out if the circuit was open"}},
		{"beyond a float", head + "50,1e999,,,\n", []string{"2:4: ohm 1e999 is above 100000, more than any level sender has; mend the number, or leave the row out if the circuit was open"}},
		{"140 %", head + "140,95,,,\n", []string{"2:1: mark_pct 140 is outside 0 to 100; mend the number or leave the row out"}},
		{"negative mark", head + "−1,95,,,\n", []string{"2:1: mark_pct −1 is outside 0 to 100; mend the number or leave the row out"}},
		{"height too large", "mark_mm,ohm\n100001,95\n", []string{"2:1: mark_mm 100001 is outside 0 to 100000; mend the number or leave the row out"}},
		{"volume too large", "mark_l,ohm\n1000001,95\n", []string{"2:1: mark_l 1000001 is outside 0 to 1000000; mend the number or leave the row out"}},
		{"mass too large", "mark_kg,ohm\n1e7,95\n", []string{"2:1: mark_kg 1e7 is outside 0 to 1000000; mend the number or leave the row out"}},
		{"bad sweep", head + "50,95,sideways,,\n", []string{`2:7: sweep "sideways" is not known; expected up, down or nothing`}},
		{"time without offset", head + "50,95,up,2026-11-03T09:30:00,\n", []string{`2:10: time "2026-11-03T09:30:00" can't be read; ` + wantTime}},
		{"time of a spreadsheet", head + "50,95,up,03/11/2026 09:30,\n", []string{`2:10: time "03/11/2026 09:30" can't be read; ` + wantTime}},
		{"no such day", head + "50,95,up,2026-02-30T09:30:00Z,\n", []string{`2:10: time "2026-02-30T09:30:00Z" can't be read; ` + wantTime}},
		{"one-digit hour", head + "50,95,up,2026-11-03T9:30:00Z,\n", []string{`2:10: time "2026-11-03T9:30:00Z" can't be read; ` + wantTime}},
		{"comma before the fraction", head + "50,95,up,\"2026-11-03T09:30:00,5Z\",\n", []string{`2:10: time "2026-11-03T09:30:00,5Z" can't be read; ` + wantTime}},
		{"offset out of range", head + "50,95,up,2026-11-03T09:30:00+24:00,\n", []string{`2:10: time "2026-11-03T09:30:00+24:00" can't be read; ` + wantTime}},
		{"leap second", head + "50,95,up,1990-12-31T23:59:60Z,\n", []string{`2:10: time "1990-12-31T23:59:60Z" can't be read; ` + wantTime}},
		{"column after accents", "note,mark_pct,ohm\n\"Größe, m²\",50,x\n", []string{`2:16: ohm "x" is not a number; ` + wantNumber}},
		{"line after a note of three", "note,mark_pct,ohm\n\"a\n#\nb\",50,x\n", []string{`4:7: ohm "x" is not a number; ` + wantNumber}},
		{"accents in Windows-1252", "note;mark_pct;ohm\r\n\xe9\x80;50;x\r\n", []string{`2:7: ohm "x" is not a number; ` + wantNumber}},
		{"five at most", head + strings.Repeat("50,x,,,\n", 9), []string{
			`2:4: ohm "x" is not a number; ` + wantNumber, `3:4: ohm "x" is not a number; ` + wantNumber,
			`4:4: ohm "x" is not a number; ` + wantNumber, `5:4: ohm "x" is not a number; ` + wantNumber,
			`6:4: ohm "x" is not a number; ` + wantNumber}},
		{"everything in one row", head + "140,-1,left,noon,\n", []string{
			"2:1: mark_pct 140 is outside 0 to 100; mend the number or leave the row out",
			"2:5: ohm -1 is negative, which no resistance is; mend the number or leave the row out",
			`2:8: sweep "left" is not known; expected up, down or nothing`,
			`2:13: time "noon" can't be read; ` + wantTime}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Read(strings.NewReader(tt.text), "tank.csv")
			if err == nil {
				t.Fatalf("accepted as %+v", got)
			}
			if len(got.Readings) > 0 {
				t.Errorf("readings beside an error: %+v", got)
			}
			want := "tank.csv:" + strings.Join(tt.want, "\ntank.csv:")
			if err.Error() != want {
				t.Errorf("\ngot  %s\nwant %s", err, want)
			}
			checkErrors(t, tt.text, err)
		})
	}
}

func TestReadTooManyRows(t *testing.T) {
	rows := "mark_pct,ohm\n" + strings.Repeat("50,95\n", curve.MaxReadings)
	got, err := Read(strings.NewReader(rows), "tank.csv")
	if err != nil || len(got.Readings) != curve.MaxReadings {
		t.Fatalf("%d rows, %v", len(got.Readings), err)
	}
	_, err = Read(strings.NewReader(rows+"50,95\n"), "tank.csv")
	want := fmt.Sprintf("tank.csv:%d:1: more than %d rows; a bench file has thousands at most, so this is another file, or one to be split", curve.MaxReadings+2, curve.MaxReadings)
	if err == nil || err.Error() != want {
		t.Errorf("\ngot  %v\nwant %s", err, want)
	}
}

// What takes most room: a row of separators alone, one field as large as a
// file may be, and as many lines as it can hold. None may run away. All that is
// asked for in one reading, garbage included, stays below 24 times the largest
// file; separators without a limit to the fields of a row took 167 times.
func TestReadLargeOddities(t *testing.T) {
	for name, text := range map[string]string{
		"separators": "mark_pct,ohm\n" + strings.Repeat(",", MaxBytes-20),
		"one field":  "mark_pct,ohm,note\n1,2," + strings.Repeat("x", MaxBytes-30),
		"open quote": "mark_pct,ohm,note\n1,2,\"" + strings.Repeat("\n", MaxBytes-30),
		"Windows":    "mark_pct,ohm\n#" + strings.Repeat("\x80", MaxBytes-30),
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := Read(strings.NewReader(text), "tank.csv")
			runtime.ReadMemStats(&after)
			if (err == nil) != (name == "one field") {
				t.Errorf("got %v", err)
			}
			if err != nil && len(err.Error()) > 2000 {
				t.Errorf("a message of %d bytes", len(err.Error()))
			}
			asked := float64(after.TotalAlloc-before.TotalAlloc) / MaxBytes
			t.Logf("asked for %.1f times the largest file", asked)
			if asked > 24 {
				t.Errorf("asked for %.1f times the largest file", asked)
			}
		})
	}
}

// Error leaves out the parts of the place that are not known.
func TestErrorText(t *testing.T) {
	for want, e := range map[string]*Error{
		"tank.csv: m":     {Name: "tank.csv", Msg: "m"},
		"tank.csv:3: m":   {Name: "tank.csv", Line: 3, Msg: "m"},
		"tank.csv:3:4: m": {Name: "tank.csv", Line: 3, Column: 4, Msg: "m"},
	} {
		if e.Error() != want {
			t.Errorf("got %s, want %s", e, want)
		}
	}
}
