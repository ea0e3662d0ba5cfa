package web

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"
)

const sampleFolder = "../../cmd/gaugewright/sample/"

// gridLines gives the lines of output that are rows of a table: those that begin
// with two blanks and then a figure.
func gridLines(output string) []string {
	var out []string
	for _, line := range strings.Split(output, "\n") {
		text := strings.TrimSpace(line)
		if strings.HasPrefix(line, "  ") && text != "" && strings.ContainsAny(text[:1], "0123456789") {
			out = append(out, oneLine(text))
		}
	}
	return out
}

// without drops the litres, the third word of "40 % 21.6 36.1 …": a job and a tank
// file may count them by different facts.
func without(rows []string) []string {
	out := make([]string, len(rows))
	for i, r := range rows {
		words := strings.Fields(r)
		out[i] = strings.Join(slices.Delete(words, 2, 3), " ")
	}
	return out
}

// inOrder fails unless want stands in got, in its order, whatever lies between.
func inOrder(t *testing.T, got, want []string) {
	t.Helper()
	if len(want) == 0 {
		t.Error("there is nothing to look for")
	}
	at := 0
	for _, w := range want {
		// What is kept and isn't the best has columns of its own behind.
		i := slices.IndexFunc(got[at:], func(g string) bool { return strings.HasPrefix(g+" ", w+" ") })
		if i < 0 {
			t.Fatalf("the page lacks the row %q, after %d rows that it has; its rows:\n%s", w, at, strings.Join(got, "\n"))
		}
		at += i + 1
	}
}

// What the pages say is, character for character, what the command line prints.
func TestAsTheCommandLine(t *testing.T) {
	run := program(t)
	b := open(t)
	j := sample(t)
	id := b.start(j)
	for _, c := range []struct {
		n                  int
		tank, file, claims string
		wish               []string // flags, each with its value
		litres             bool
		value, mark        string
	}{
		{1, "Gas", "gas", "0:90 0:95", []string{"scale", "fill"}, true, "36.2", "40"},
		{1, "Gas", "gas", "0:90 0:95", []string{"scale", "fill", "objective", "near-empty", "margin", "2%"}, true, "8", "7"},
		{1, "Gas", "gas", "0:90 0:95", []string{"scale", "mark", "objective", "rms"}, true, "88", "5"},
		{1, "Gas", "gas", "0:90 0:95", []string{"scale", "volume", "readout", "table", "points", "5"}, true, "50", "95"},
		{2, "Fresh water", "water", "0:190", []string{"scale", "volume"}, true, "100", "200"},
		{2, "Fresh water", "water", "0:190", []string{"scale", "volume", "readout", "table", "points", "6", "step", "0.1", "percent-step", "0.1"}, true, "2.5", "31"},
		{3, "Diesel", "diesel", "240:33", []string{"scale", "mark"}, false, "120", "30"},
		{3, "Diesel", "diesel", "240:33", []string{"scale", "mark", "readout", "table", "points", "6", "step", "0.1", "percent-step", "0.1"}, false, "60", "55"},
	} {
		t.Run(c.tank+" "+strings.Join(c.wish, " "), func(t *testing.T) {
			query, flags := url.Values{"readout": {"two-point"}}, []string{}
			for i := 0; i < len(c.wish); i += 2 {
				flags = append(flags, "--"+c.wish[i], c.wish[i+1])
				query.Set(c.wish[i], c.wish[i+1])
			}
			if query.Get("readout") == "table" {
				query.Set("table-step", query.Get("step"))
				query.Del("step")
			}
			status, page := b.get(fmt.Sprintf("/jobs/%s/%d/set?%s", id, c.n, query.Encode()))
			if status != 200 {
				t.Fatalf("the page answers %d:\n%s", status, plainText(page))
			}
			text := plainText(page)
			printed := run(t, append([]string{"job", "set", jobFileOf(t, j), c.tank}, flags...)...)
			_, said, _ := strings.Cut(printed, "\n\n")
			if query.Get("readout") == "table" {
				inOrder(t, rowsOf(page), gridLines(said))
				_, said, _ = strings.Cut(said, "\n\n")
			} else {
				words := strings.Fields(printed)
				want := fmt.Sprintf("Key in %s %s at 0 %% and %s %s at 100 %%", words[2], words[3], words[7], words[8])
				if !strings.Contains(text, want) {
					t.Errorf("the page doesn't say %q: %.400s", want, text)
				}
			}
			said, _, _ = strings.Cut(said, "\n\nNext for")
			if want := oneLine(said); !strings.Contains(text, want) {
				t.Errorf("the page doesn't say %q:\n%s", want, text)
			}
			span := []string{"span", sampleFolder + c.file + ".csv"}
			if c.litres {
				span = append(span, "--tank", sampleFolder+c.file+".tank.json")
			}
			_, after, _ := strings.Cut(run(t, append(span, flags...)...), "Worst error")
			rows, want := rowsOf(page), gridLines(after)
			if c.litres {
				_, shown, _ := strings.Cut(page, "What will be shown</h3>")
				rows, want = without(rowsOf(shown)[1:]), without(want)
			}
			inOrder(t, rows, want)
		})
		t.Run(c.tank+" curve "+c.value, func(t *testing.T) {
			status, page := b.get(fmt.Sprintf("/jobs/%s/%d/curve?value=%s&mark=%s", id, c.n, c.value, c.mark))
			if status != 200 {
				t.Fatalf("the page answers %d", status)
			}
			text := plainText(page)
			args := []string{"curve", sampleFolder + c.file + ".csv", "--at-ohm", c.value, "--at-mark", c.mark, "--budget", "--plan", fmt.Sprint(planned)}
			for _, claim := range strings.Fields(c.claims) {
				args = append(args, "--claimed", claim)
			}
			parts := strings.Split(strings.TrimSpace(run(t, args...)), "\n\n")
			if len(parts) != 5 {
				t.Fatalf("the command prints %d parts, expected findings, points, answers, budget and plan: %q", len(parts), parts)
			}
			for _, list := range []string{parts[0], parts[4]} {
				for _, finding := range strings.Split("\n"+list, "\n- ")[1:] {
					if want := strings.TrimPrefix(oneLine(finding), "Look: "); !strings.Contains(text, want) {
						t.Errorf("the page doesn't say %q", want)
					}
				}
			}
			inOrder(t, rowsOf(page), gridLines(parts[1]))
			_, note, _ := strings.Cut(parts[1], "  ± is")
			if want := oneLine("± is" + note); !strings.Contains(text, want) {
				t.Errorf("the page doesn't say %q", want)
			}
			for _, answer := range strings.Split(parts[2], "\n") {
				if want, _, _ := strings.Cut(strings.TrimSpace(answer), " (--continue"); !strings.Contains(text, want) {
					t.Errorf("the page doesn't answer %q", want)
				}
			}
			for i, line := range strings.Split(parts[3], "\n") {
				want := strings.TrimSpace(oneLine(line))
				if i == 1 {
					continue // the head
				}
				if !strings.Contains(strings.ToLower(text), strings.ToLower(want)) {
					t.Errorf("the page's budget doesn't say %q", want)
				}
			}
		})
	}
}
