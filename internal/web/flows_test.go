package web

import (
	"encoding/csv"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/flow"
	"gaugewright/internal/job"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// The owner is told in words how long each tank lasts.
func TestLeftSaysHowLong(t *testing.T) {
	status, text := open(t, goingOn(t).options).get("/left")
	if status != 200 {
		t.Fatal(status)
	}
	for _, want := range []string{"Enough for 5 to 7 evenings; fill", "Enough for 2 to 4 days; fill", `<p class="lasts-not">No use has been seen yet.</p>`, "Nothing is wrong."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	if strings.Contains(text, "in doubt") || strings.Contains(text, `class="leak"`) {
		t.Error("nothing is in doubt and nothing leaks")
	}
	if _, text := open(t, stall(t).options).get("/left"); strings.Contains(text, `class="lasts`) {
		t.Error("where nothing is followed it says how long it lasts")
	}
}

// A level that isn't shown has no time left, and one in doubt says so.
func TestLeftSaysNoTimeOfNoLevel(t *testing.T) {
	w := goingOn(t)
	w.levels[0] = lost(w.levels[0], watch.BrokenWire, 28*time.Minute)
	w.levels[1].Status, w.levels[1].Fault = watch.OutOfSpec, watch.JustBeyond
	b := open(t, w.options)
	for _, path := range []string{"/left", "/left/now", "/left/gas"} {
		if _, text := b.get(path); strings.Contains(text, "evenings") {
			t.Errorf("%s: the gas has no level, and it is said how long it lasts", path)
		}
	}
	if _, text := b.get("/left"); !strings.Contains(text, "Enough for 2 to 4 days") || !strings.Contains(text, "This rests on a level that is in doubt.") {
		t.Error("a level in doubt doesn't say so of the time that is left")
	}
}

// A leak stands first on its card, before the level, with what to do, and the page
// leads to it; also where there is no level any more.
func TestLeftSaysLeakFirst(t *testing.T) {
	w := leaking(t)
	w.levels[1] = lost(w.levels[1], watch.NoReading, 3*time.Hour)
	for _, path := range []string{"/left", "/left/gas"} {
		_, text := open(t, w.options).get(path)
		leak, level := strings.Index(text, `<div class="leak">`), strings.Index(text, `class="amount"`)
		if leak < 0 || level < leak {
			t.Errorf("%s: the leak stands at %d, the level at %d", path, leak, level)
		}
		if strings.Contains(text, "evenings") {
			t.Errorf("%s says how long gas lasts that leaks, and when to fill it", path)
		}
		for _, want := range []string{"Gas is leaking", "Shut the valve at the tank. No flame, no spark", "call someone licensed", "Since 04:30. About 0.27 kg an hour.", `href="#cautions"`} {
			if !strings.Contains(text, want) {
				t.Errorf("%s doesn't say %q", path, want)
			}
		}
	}
	_, text := open(t, w.options).get("/left")
	for _, want := range []string{"It is probably leaking", "Switch the pump off", "Since 1 Nov 03:30. About 0.36 L an hour.", "<p>may be leaking</p>", "2 of 3 tanks need a look."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	before, after := open(t, goingOn(t).options), open(t, leaking(t).options)
	if a, b := markOf(before), markOf(after); a == b {
		t.Error("the mark by which pages look again is the same with a leak")
	}
}

func markOf(b *bench) string {
	_, text := b.get("/left")
	_, rest, _ := strings.Cut(text, `data-mark="`)
	mark, _, _ := strings.Cut(rest, `"`)
	return mark
}

// What came in and what went out stands among what happened, in order, each in a
// sentence with its doubt, and on a flag.
func TestLeftTankSaysWhatCameAndWent(t *testing.T) {
	w := goingOn(t).withPast(keptDay(dayBefore))
	b := open(t, w.options)
	_, text := b.get("/left/gas")
	at := 0
	for _, want := range []string{
		"Probably fell at once by 1.1 kg (0.2 to 1.9), 2 Nov, 06:30 to 06:31: taken out, spilt, or the sender was knocked.",
		"Filled with 10.9 kg (10.2 to 11.4), 2 Nov, 03:32 to 03:39.", "The float doesn’t move although the level must, 1 Nov, 12:30 to 18:30.",
		"What was drawn at once", "Drawn 1.4 kg (1.0 to 1.7), 1 Nov, 07:30 to 11:00.",
	} {
		i := strings.Index(text[at:], want)
		if i < 0 {
			t.Fatalf("%q doesn't stand there, or not in order, in\n%s", want, text[strings.Index(text, "happened-head"):])
		}
		at += i
	}
	for _, want := range []string{">came in<", ">went out<", "As it goes now: 2.7 kg (2.4 to 3.3) a day.", "Use by the day: 24 days", "Of a day’s use about 80 % falls between 18:00 and 22:00.", "Most is used on Fridays and Saturdays.", "This rests on 21 whole days.", "By itself the reading goes up and down by 2.1 points in a day (1.8 to 2.4)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page doesn't say %q", want)
		}
	}
	if strings.Contains(text, "leak took") || strings.Contains(text, "A leak") {
		t.Error("a leak that is less likely than not is told")
	}
	_, text = b.get("/left/gas?for=month")
	if !strings.Contains(text, "Drawn 1.4 kg") || !strings.Contains(text, "Filled with 10.9 kg") {
		t.Error("over a month spells of use or fillings aren't listed")
	}
	if _, text := b.get("/left"); strings.Contains(text, "Drawn 1.4 kg") {
		t.Error("spells of use stand on the owner's page")
	}
	if _, text := b.get("/left/fresh"); !strings.Contains(text, "The use is spread over the day.") || !strings.Contains(text, "L a day") {
		t.Error("the water's use isn't told")
	}
	if _, text := open(t, stall(t).withPast(keptDay(dayBefore)).options).get("/left/gas"); strings.Contains(text, "Use by the day") {
		t.Error("where nothing is followed there is a use by the day")
	}
}

// What can't be read costs the past alone, not what is left.
func TestLeftTankWithoutFlows(t *testing.T) {
	w := leaking(t).withPast(keptDay(dayBefore))
	w.flows.(*flowsOf).err = errors.New("the file is damaged")
	b := open(t, w.options)
	if status, text := b.get("/left/gas"); status != 200 || !strings.Contains(text, "What was kept can&#39;t be read") || !strings.Contains(text, `class="amount"`) {
		t.Error(status, text)
	}
	if status, _ := b.get("/left"); status != 200 {
		t.Error(status)
	}
}

func TestFlowFiles(t *testing.T) {
	w := goingOn(t).withPast(keptDay(dayBefore))
	w.labels[0].Units = quantity.Units{Mass: "lb"}
	b := open(t, w.options)
	read := func(path string) [][]string {
		status, text := b.get(path)
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		if status != 200 || err != nil {
			t.Fatal(path, status, err)
		}
		return rows
	}
	days := read("/left/gas/use.csv")
	if got := strings.Join(days[0], ","); got != "day,use_pct,low_pct,high_pct,use_lb,low_lb,high_lb,whole" || len(days) != 25 {
		t.Errorf("%d rows, head %s", len(days), got)
	}
	if last := days[24]; last[0] != "2025-11-02" || last[7] != "false" {
		t.Error(last)
	}
	events := read("/left/gas/events.csv?for=day")
	if got := strings.Join(events[0], ","); got != "kind,start,end,amount_pct,low_pct,high_pct,amount_lb,low_lb,high_lb,p,before_pct,after_pct,event" || len(events) != 5 {
		t.Errorf("%d rows, head %s", len(events), got)
	}
	if row := events[3]; row[0] != "refill" || row[1] != "2025-11-02T03:32:00Z" || row[3] != "40.2" || row[6] != "23.929" || row[9] != "0.999" {
		t.Error(row)
	}
	if row := events[2]; row[0] != "stuck" || row[3] != "" {
		t.Error(row)
	}
	other := open(t, stall(t).options)
	for _, path := range []string{"/left/gas/use.csv", "/left/gas/events.csv"} {
		if status, _ := other.get(path); status != 404 {
			t.Errorf("%s where nothing is followed: %d", path, status)
		}
	}
	if status, _ := b.get("/left/gas/events.csv?for=fortnight"); status != 422 {
		t.Error(status)
	}
}

// Whatever is told of a tank, no word is said of it that is no figure, and none of a
// level that isn't shown.
func TestLastsLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-0.1, 1.5), rapid.SampledFrom([]float64{0, 1, math.NaN(), math.Inf(1), math.Inf(-1)}))
		moment := rapid.SampledFrom([]time.Time{{}, sunday.Add(-5 * time.Hour), sunday, sunday.AddDate(2, 0, 0)})
		d := func(name string) time.Duration {
			return time.Duration(rapid.Int64Range(0, int64(outlook.Farthest)).Draw(t, name))
		}
		low := d("low")
		o := outlook.Outlook{At: moment.Draw(t, "at"), Left: outlook.Left{Known: rapid.Bool().Draw(t, "known"), Low: low, Mid: low, High: max(low, d("high"))}, FillBy: moment.Draw(t, "by"), Meals: rapid.SampledFrom([]string{"", "evenings"}).Draw(t, "meals"), Least: 3, Most: 5, Fills: rapid.Bool().Draw(t, "fills")}
		l := Label{Tank: "x", Contents: rapid.SampledFrom([]job.Contents{job.LPG, job.Water, job.Waste, job.Diesel}).Draw(t, "contents")}
		v := watch.Level{Shown: rapid.Bool().Draw(t, "shown")}
		said, _ := lastsOf(v, o, sunday)
		if said != "" && !v.Shown {
			t.Fatal(said)
		}
		m := measureOf(l, Use{Full: quantity.CubicMetre(f.Draw(t, "full")), FullMass: f.Draw(t, "mass")})
		e := flow.Event{Kind: rapid.SampledFrom([]flow.Kind{flow.Refill, flow.Drain, flow.Use, flow.Leak, flow.Drop, flow.Stuck}).Draw(t, "kind"), Start: sunday.Add(-time.Hour), End: moment.Draw(t, "end"), Amount: f.Draw(t, "amount"), Low: f.Draw(t, "l"), High: f.Draw(t, "h"), PerHour: f.Draw(t, "pace"), P: f.Draw(t, "p")}
		if !worthTelling(e) {
			return
		}
		what, do, since := leakSaid(l, m, e, sunday)
		text := said + flowWords(l, m, e, sunday) + what + do + since
		if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "%!") {
			t.Fatal(text)
		}
	})
}

func TestHoursWords(t *testing.T) {
	var night, flat, none [24]float64
	night[23], night[0], night[1] = 0.4, 0.4, 0.1
	night[12] = 0.1
	for i := range flat {
		flat[i] = 1
	}
	for want, by := range map[string][24]float64{
		"Of a day’s use about 80 % falls between 23:00 and 01:00.": night, "The use is spread over the day.": flat, "": none,
	} {
		if got := hoursWords(by); got != want {
			t.Errorf("%q; expected %q", got, want)
		}
	}
	for want, by := range map[string][7]float64{
		"Most is used on Sundays.": {4, 1, 1, 1, 1, 1, 1}, "Most is used on Saturdays and Sundays.": {3, 1, 1, 1, 1, 1, 3}, "": {1, 1, 1, 1, 1, 1, 1},
	} {
		if got := weekdayWords(by); got != want {
			t.Errorf("%q; expected %q", got, want)
		}
	}
}
