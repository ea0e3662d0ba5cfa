package web

import (
	"fmt"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// How far the bench may be off is kept, and widens what the curve is known to.
func TestBenchDoubts(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	at := fmt.Sprintf("/jobs/%s/1/bench", id)
	before, err := b.job(id).Tanks[0].Curve()
	if err != nil {
		t.Fatal(err)
	}
	status, page := b.post(at, "key", "a", "tank", "Gas", "marks", "mark_pct", "accuracy", "0,9 % + 2", "leads", "0,3 Ω", "misread", "±1 %", "weather", "0.5")
	want := job.Doubts{MeterPct: 0.9, MeterDigits: 2, LeadsOhm: 0.3, Mark: 1, TemperaturePct: 0.5}
	if got := b.first(id).Doubts; status != 200 || got == nil || *got != want {
		t.Fatalf("%d %q: %+v", status, faultOf(page), got)
	}
	after, err := b.job(id).Tanks[0].Curve()
	if err != nil {
		t.Fatal(err)
	}
	if was, is := before.Points()[5].U, after.Points()[5].U; !(is > was) {
		t.Errorf("the curve is known to %v, and was to %v", is, was)
	}
	for _, field := range []string{`value="0.9%&#43;2"`, `value="0.3"`, `name="misread" inputmode="decimal" maxlength="40" autocomplete="off" value="1"`, `value="0.5"`} {
		if !strings.Contains(page, field) {
			t.Errorf("the page lacks %s", field)
		}
	}
	for _, c := range []struct{ field, typed, says string }{
		{"accuracy", "good", "isn't a meter's specification"},
		{"accuracy", "0.5%+2000", "1000 of its last digits at the most"},
		{"leads", "101", "expected 0 to 100 Ω"},
		{"leads", "-1", "expected 0 to 100 Ω"},
		{"misread", "NaN", "expected 0 to 100 %"},
		{"weather", "51", "expected 0 to 50 %"},
	} {
		status, page := b.post(at, "key", "b"+c.field+c.typed, "tank", "Gas", "marks", "mark_pct", c.field, c.typed)
		if status != 422 || !strings.Contains(plainText(page), c.says) || !strings.Contains(page, `id="`+c.field+`"`) || *b.first(id).Doubts != want {
			t.Errorf("%s %q: %d %q", c.field, c.typed, status, faultOf(page))
		}
	}
	b.post(at, "key", "c", "tank", "Gas", "marks", "mark_pct")
	if got := b.first(id).Doubts; got != nil {
		t.Errorf("nothing stated is kept as %+v", got)
	}
}

// What a check is made with is kept with it, and another makes a check of its own.
func TestProveKeepsDoubts(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Tanks[0].Checks = nil
	id := b.start(j)
	at := fmt.Sprintf("/jobs/%s/1/prove", id)
	look := func(key, mark, step, doubt string) (int, string) {
		return b.post(at, "key", key, "tank", "Gas", "mark", mark, "shown", "50", "tolerance", "2", "when", "as left", "step", step, "doubt", doubt)
	}
	look("1", "40", "0,1", "0.5 %")
	look("2", "20", "0.1", "0.5")
	_, page := look("3", "60", "", "")
	checks := b.job(id).Tanks[0].Checks
	if len(checks) != 2 || len(checks[0].Readings) != 2 || *checks[0].DisplayStepPct != 0.1 || *checks[0].MarkDoubt != 0.5 || checks[1].DisplayStepPct != nil || checks[1].MarkDoubt != nil {
		t.Fatalf("%s\n%+v", faultOf(page), checks)
	}
	for _, c := range [][3]string{{"0", "", "step of the display"}, {"x", "", "step of the display"}, {"101", "", "step of the display"}, {"", "-1", "a mark may be misread"}, {"", "101", "a mark may be misread"}} {
		if status, page := look("4"+c[0]+c[1], "60", c[0], c[1]); status != 422 || !strings.Contains(page, c[2]) {
			t.Errorf("%v: %d %q", c, status, faultOf(page))
		}
	}
}

// Type, batch and serial number of a sender are kept from the page of its tank.
func TestTankKeepsSenderType(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	fields := append(tankFields(sample(t).Tanks[0]), "tank", "Gas")
	for i := 0; i+1 < len(fields); i += 2 {
		switch fields[i] {
		case "sender.type":
			fields[i+1] = " side dial "
		case "sender.batch":
			fields[i+1] = "spring"
		case "sender.serial":
			fields[i+1] = "0017"
		}
	}
	status, page := b.post(fmt.Sprintf("/jobs/%s/1/tank", id), fields...)
	if s := b.job(id).Tanks[0].Sender; status != 200 || s.Type != "side dial" || s.Batch != "spring" || s.Serial != "0017" {
		t.Errorf("%d %q: %+v", status, faultOf(page), s)
	}
}

// End values with a table behind them are kept with what they were chosen for, and
// the page begins with that the next time.
func TestSetKeepsWish(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	at := fmt.Sprintf("/jobs/%s/1/set", id)
	wish := []string{"tank", "Gas", "readout", "ends-then-table", "scale", "mark", "objective", "never-high", "points", "5", "percent-step", "1", "highest", "120"}
	query := ""
	for i := 0; i+1 < len(wish); i += 2 {
		query += wish[i] + "=" + wish[i+1] + "&"
	}
	_, page := b.get(at + "?" + query)
	_, rest, _ := strings.Cut(page, `name="keyed" value="`)
	keyed, _, _ := strings.Cut(rest, `"`)
	status, page := b.post(at, append(wish, "key", "k", "keyed", strings.ReplaceAll(keyed, "&gt;", ">"))...)
	s := b.job(id).Tanks[0].Setting
	if status != 200 || s.Readout != job.EndsThenTable || s.Objective != "never-high" || s.Points != 5 || s.StepPct != 1 || s.HighestOhm != 120 || len(s.ThenTable) < 2 || len(s.ThenTable) > 5 {
		t.Fatalf("%d %q: %+v", status, faultOf(page), s)
	}
	_, page = b.get(at)
	for _, says := range []string{`value="ends-then-table" checked`, `value="never-high" checked`, `id="f-points" name="points" inputmode="decimal" autocomplete="off" value="5"`, `name="highest" inputmode="decimal" autocomplete="off" value="120"`, "then a table of"} {
		if !strings.Contains(page, says) {
			t.Errorf("the page lacks %s", says)
		}
	}
}
