package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var docketEnds = []string{"--lower", "10", "--upper", "180", "--capacity", "54L", "--contents", "lpg"}

// The fields of the JSON stand whatever there is to say.
func TestDocketJSON(t *testing.T) {
	status, out, messages := command("", append([]string{"docket", "testdata/gas.dockets.csv", "--json"}, docketEnds...)...)
	if status != 1 || messages != "" {
		t.Fatalf("exit %d, %q; expected 1, as more was filled in than may be", status, messages)
	}
	var got docketJSON
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Dockets) != 7 || len(got.Curve) != 21 || !got.Helps || got.Capacity.Stated == nil || *got.Capacity.Stated != 54 || len(got.Cautions) == 0 {
		t.Errorf("%+v", got)
	}
	// The sender shows six points too much.
	for _, c := range got.Curve {
		if c.Shown >= 10 && c.Shown <= 80 && math.Abs(c.Level-(c.Shown-6)) > 2 {
			t.Errorf("at %g %% shown the level is %g %%; expected within 2 points of %g", c.Shown, c.Level, c.Shown-6)
		}
	}
	if !got.Propose || *got.Lower < 17 || *got.Lower > 23 {
		t.Errorf("proposes %v: %s", got.Propose, got.Reason)
	}
	_, out, _ = command("time,kind\n2026-06-01 18:30,stopped\n", append([]string{"docket", "-", "--json"}, docketEnds...)...)
	var fields map[string]any
	if err := json.Unmarshal([]byte(out), &fields); err != nil {
		t.Fatal(err)
	}
	for _, n := range strings.Fields("dockets count helps better_p error_without_pct error_with_pct curve capacity propose lower upper unit reason cautions") {
		if _, ok := fields[n]; !ok {
			t.Errorf("%q is missing in %s", n, out)
		}
	}
}

// What hasn't been yet is refused as the page does, by the row that it stands in; where a
// recording goes on for longer, up to its last reading.
func TestDocketThatIsToCome(t *testing.T) {
	soon, late := time.Now().Add(8*time.Minute), time.Now().Add(25*time.Hour)
	rows := func(second time.Time) string {
		return "time,litres\n2026-06-01 18:30,20\n" + second.UTC().Format(time.RFC3339) + ",21\n"
	}
	said := late.UTC().Format("2 January 2006 at 15:04 UTC")
	status, _, messages := command(rows(late), append([]string{"docket", "-"}, docketEnds...)...)
	if want := standardInput + ":3: the docket is from " + said + ", which hasn't been yet; expected a time up to now"; status != 2 || !strings.Contains(messages, want) {
		t.Errorf("exit %d, %q; expected %q", status, messages, want)
	}
	if status, _, messages := command(rows(soon), append([]string{"docket", "-"}, docketEnds...)...); status != 0 {
		t.Errorf("exit %d, %q; expected a clock that is off by minutes to be borne with", status, messages)
	}
	var history strings.Builder
	history.WriteString("time,ohm\n")
	for at := late.Add(-time.Hour); at.Before(late); at = at.Add(20 * time.Second) {
		fmt.Fprintf(&history, "%d,%d\n", at.Unix(), 100)
	}
	path := filepath.Join(t.TempDir(), "made-up.csv")
	if err := os.WriteFile(path, []byte(history.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	for second, want := range map[time.Time]int{late: 0, late.Add(time.Hour): 2} {
		if status, _, messages := command(rows(second), append([]string{"docket", "-", "--history", path}, docketEnds...)...); status != want {
			t.Errorf("a docket of %s with a recording up to %s: exit %d, %q; expected %d", second, late, status, messages, want)
		}
	}
}

// With a recording of the sender no levels have to be written down.
func TestDocketWithHistory(t *testing.T) {
	at := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	var history, dockets strings.Builder
	history.WriteString("time,ohm\n")
	dockets.WriteString("time,litres,stopped\n")
	hold := func(level float64, d time.Duration) {
		for end := at.Add(d); at.Before(end); at = at.Add(20 * time.Second) {
			fmt.Fprintf(&history, "%d,%.2f\n", at.Unix(), 10+170*(level+0.06))
		}
	}
	for _, low := range []float64{0.3, 0.15, 0.45} {
		hold(low, time.Hour)
		at = at.Add(5 * time.Minute)
		fmt.Fprintf(&dockets, "%s,%.1f,yes\n", at.Format(time.RFC3339), (0.78-low)*54/1.02)
		hold(0.78, time.Hour)
		at = at.Add(20 * time.Hour)
	}
	path := filepath.Join(t.TempDir(), "history.csv")
	if err := os.WriteFile(path, []byte(history.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	status, out, messages := command(dockets.String(), append([]string{"docket", "-", "--history", path, "--json"}, docketEnds...)...)
	var got docketJSON
	if err := json.Unmarshal([]byte(out), &got); status != 0 || err != nil || messages != "" {
		t.Fatalf("exit %d, %v, %q", status, err, messages)
	}
	if got.Count != 3 || len(got.Dockets) != 3 {
		t.Fatalf("%d of %d count: %+v", got.Count, len(got.Dockets), got.Dockets)
	}
	for i, before := range []float64{51, 21, 36} {
		d := got.Dockets[i]
		if d.Before == nil || d.After == nil || math.Abs(*d.Before-before) > 0.5 || math.Abs(*d.After-84) > 0.5 {
			t.Errorf("docket %d: %+v; expected from %g to 84 %%", i, d, before)
		}
	}
}

func TestDocketRefuses(t *testing.T) {
	for _, c := range []struct {
		in   string
		args []string
		want string
	}{
		{"time,litres\nnow,3\n", docketEnds, `standard input:2: time "now" can't be read`},
		{"time,litres\n2026-06-01,3\n", nil, "what the sender is isn't said"},
		{"time,litres\n2026-06-01,3\n", []string{"--lower", "10", "--upper", "10"}, "expected two that differ"},
		{"time,litres\n2026-06-01,3\n", []string{"--lower", "10", "--upper", "180", "--contents", "beer"}, `--contents "beer" is not known`},
		{"time,litres\n2026-06-01,3\n", []string{"--lower", "10", "--upper", "180", "--capacity", "-3L"}, "expected"},
		{"time,litres\n2026-06-01,3\n", []string{"--job", "x.json", "--lower", "10"}, "leave out --lower"},
		{"time,litres\n2026-06-01,3\n", append([]string{"--zone", "Moon"}, docketEnds...), `--zone "Moon" is not known`},
	} {
		status, _, messages := command(c.in, append([]string{"docket", "-"}, c.args...)...)
		if status != 2 || !strings.Contains(messages, c.want) {
			t.Errorf("%v: exit %d, %q; expected 2 and %q", c.args, status, messages, c.want)
		}
	}
}
