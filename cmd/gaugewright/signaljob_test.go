package main

import (
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/golden"
)

// Whole jobs of senders that give no ohms, from the readings to the record. The
// 0.5 to 4.5 V sender is straight: level = (V − 0.5)/4 (common practice, no
// source). The margin of 0.2 % of 4 V asks for 4.51 at 100 %; with 0.49 at 0 % both
// ends are off by 0.01/4.02 = 0.249 points, with 0.50 the upper one by 0.01/4.01.
func TestSignalJobs(t *testing.T) {
	for _, test := range []struct {
		name    string
		tank    []string
		set     []string
		shown   string
		keyed   string // in what was printed
		file    []string
		record  []string
		drawing string
	}{
		{name: "volts", tank: []string{"--readings", "testdata/volts.csv", "--claimed", "0.5:4.5", "--claimed", "0:5"},
			shown: "0,0\n50,50\n100,100\n", keyed: "4.51 V at 100 %",
			file:    []string{`{ "mark_pct": 25, "volt": 1.5, "sweep": "up" }`, `"empty_value": 0.5, "full_value": 4.5`, `"step_value": 0.01`, `"lower_value": 0.49`, `"upper_value": 4.51`},
			record:  []string{"0.49 and 4.51", "0 0.500 0.0 0.2 +0.2", "volts: the first for 0 %", "Margin: 0.010 V between the sender's greatest volts (4.500 V)", "4.51 V = 100 %", "Volts as the curve has them", "Key in: 0.49 and 4.51 V", "25 % ▲ up 1.5 V"},
			drawing: "voltage, V"},
		{name: "loop", tank: []string{"--readings", "testdata/loop.csv", "--claimed", "4:20"},
			set: []string{"--readout", "table", "--points", "3"}, shown: "0,0\n60,60\n100,100\n", keyed: "mA",
			file:    []string{`"mark_pct": 20, "milliamp": 7.21`, `"empty_value": 4, "full_value": 20`, `"value": `},
			record:  []string{"Entries to key in", "Milliamps as the curve has them", "a table of 3 entries", "20 % ▲ up 7.21 mA", "20.010"},
			drawing: "current, mA"},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			file, shown := filepath.Join(dir, "stall.job.json"), filepath.Join(dir, "shown.csv")
			page, svg := filepath.Join(dir, "stall.record.html"), filepath.Join(dir, "curve.svg")
			if err := os.WriteFile(shown, []byte("mark_pct,shown_pct\n"+test.shown), 0o600); err != nil {
				t.Fatal(err)
			}
			var all strings.Builder
			for _, args := range [][]string{
				{"job", "init", file, "--number", "TK-3", "--customer", "Tidewater Kitchen (invented)", "--date", "2026-11-03"},
				append([]string{"job", "tank", file, "Water", "--contents", "water", "--date", "2026-11-03"}, test.tank...),
				append([]string{"job", "set", file, "--date", "2026-11-03"}, test.set...),
				{"check", shown, "--into", file},
				{"job", "show", file},
				{"record", file},
				append([]string{"curve", test.tank[1], "--svg", svg}, test.tank[2:]...),
			} {
				status, out, messages := command("", args...)
				if status != 0 || messages != "" {
					t.Fatalf("%v: exit status %d, messages %q", args, status, messages)
				}
				all.WriteString(undated(strings.ReplaceAll(out, dir, "DIR")))
			}
			without(t, "what was printed", all.String(), test.keyed)
			golden.Check(t, test.name+".job.txt", []byte(all.String()))
			without(t, "the job file", contentsOf(t, file), test.file...)
			without(t, "the drawing", plainText(contentsOf(t, svg)), test.drawing)
			text := contentsOf(t, page)
			if at := strings.Index(text, "</style>"); at > 0 {
				text = text[at:]
			}
			text = plainText(strings.ReplaceAll(text, `class="ohm"`, ""))
			without(t, "the record", text, append(test.record, test.drawing)...)
			// The checksum and the day that it was made change.
			text = regexp.MustCompile(`[0-9a-f]{64}|Made by Gaugewright [^.]*\.`).ReplaceAllString(text, "…")
			golden.Check(t, test.name+".record.txt", []byte(undated(text)+"\n"))
		})
	}
}

// without fails where a text speaks of ohms, or doesn't say what it should.
func without(t *testing.T, what, text string, says ...string) {
	t.Helper()
	if strings.Contains(text, "Ω") || strings.Contains(strings.ToLower(text), "ohm") {
		t.Errorf("%s speaks of ohms: %s", what, text)
	}
	for _, s := range says {
		if !strings.Contains(text, s) {
			t.Errorf("%q isn't in %s: %s", s, what, text)
		}
	}
}

// undated takes out today's date, which a check has.
func undated(text string) string {
	now := time.Now()
	return strings.NewReplacer(now.Format("2 January 2006"), "TODAY", now.Format("2 Jan"), "TODAY", now.Format(time.DateOnly), "TODAY").Replace(text)
}

func contentsOf(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// plainText is what stands in a page or a drawing, a line for each piece.
func plainText(page string) string {
	page = regexp.MustCompile(`</(p|li|tr|h\d|dd|dt|text|title|desc|figcaption)>`).ReplaceAllString(page, "\n")
	page = regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")
	page = strings.ReplaceAll(html.UnescapeString(page), "\u00a0", " ")
	var lines []string
	for _, line := range strings.Split(page, "\n") {
		if line = strings.Join(strings.Fields(line), " "); line != "" {
			lines = append(lines, line)
		}
	}
	return strings.Join(lines, "\n")
}
