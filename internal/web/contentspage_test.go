package web

import (
	"bytes"
	"fmt"
	"html"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
)

// A page that is sent back as it came changes nothing.
func TestContentsKeptAsTheyAre(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	before, _ := b.job(id).Encode()
	for n, tank := range b.job(id).Tanks {
		status, text := b.post(fmt.Sprintf("/jobs/%s/%d/contents", id, n+1), pairs(contentsValues(tank, quantity.Units{}), "tank", tank.Name)...)
		if status != 200 || !strings.Contains(text, ">Kept.<") {
			t.Fatalf("%s: %d, %s", tank.Name, status, faultIn(text))
		}
	}
	if after, _ := b.job(id).Encode(); !bytes.Equal(before, after) {
		t.Errorf("before\n%s\nafter\n%s", before, after)
	}
}

// What the page tells is what the verb lasts printed, character for character:
// its own golden files, unwrapped, hold every sentence of the page.
func TestContentsTell(t *testing.T) {
	b := open(t, func(o *Options) {
		o.Now = func() time.Time { return time.Date(2026, 11, 3, 8, 0, 0, 0, time.UTC) }
	})
	j := sample(t)
	id := b.start(j)
	american := sample(t)
	american.Units = &quantity.Units{Volume: "US gal", Mass: "lb", Energy: "therm", Temperature: "F"}
	american.Tanks = american.Tanks[:1]
	us := b.start(american)
	for _, c := range []struct {
		golden string
		pages  []string
	}{
		{"lasts.txt", []string{fmt.Sprintf("/jobs/%s/1/contents", id), fmt.Sprintf("/jobs/%s/2/contents", id), fmt.Sprintf("/jobs/%s/3/contents", id)}},
		{"lasts.40.txt", []string{fmt.Sprintf("/jobs/%s/1/contents?by=level&now=40&at=-5C", us)}},
		{"lasts.overfull.txt", []string{fmt.Sprintf("/jobs/%s/1/contents?by=litres&now=48", id)}},
	} {
		data, err := os.ReadFile(filepath.Join("../../cmd/gaugewright/testdata", c.golden))
		if err != nil {
			t.Fatal(err)
		}
		all := ""
		for _, page := range c.pages {
			status, text := b.get(page)
			if status != 200 {
				t.Errorf("%s: %d", page, status)
			}
			all += html.UnescapeString(text)
		}
		lines := unwrapped(string(data))
		if len(lines) < 10 {
			t.Fatalf("%s has %d sentences", c.golden, len(lines))
		}
		for _, line := range lines {
			if !strings.Contains(all, ">"+line+"<") && !strings.Contains(all, "</b> "+line+"<") {
				t.Errorf("%s: the page lacks %q", c.golden, line)
			}
		}
	}
}

// unwrapped gives the sentences of what a verb printed: without bullets, names of
// rows and weights, and with the lines of one sentence joined.
func unwrapped(text string) []string {
	var out []string
	for _, line := range strings.Split(text, "\n") {
		switch {
		case line == "":
		case strings.HasPrefix(line, "- "), strings.HasPrefix(line, "! "):
			line = line[2:]
			for _, weight := range []string{"Look: ", "BAD: "} {
				line = strings.TrimPrefix(line, weight)
			}
			out = append(out, line)
		case strings.HasPrefix(line, "                "): // within a row
			out[len(out)-1] += " " + strings.TrimSpace(line)
		case strings.HasPrefix(line, "  ") && len(line) > 16 && line[14:16] == "  ": // a row
			out = append(out, line[16:])
		case strings.HasPrefix(line, "  "):
			out[len(out)-1] += " " + strings.TrimSpace(line)
		case len(out) > 0 && strings.HasPrefix(out[len(out)-1], "Ask for") && !strings.HasPrefix(line, "Caution"):
			out[len(out)-1] += " " + line
		case line == "Caution":
		default:
			out = append(out, line)
		}
	}
	return out
}

func TestContentsNow(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/contents", id)
	for _, c := range []struct {
		query, want string
		status      int
	}{
		{"?by=level&now=50", "filled to", 200},
		{"?by=level&now=50%25", "filled to", 200},
		{"?by=ohm&now=42,5", "filled to", 200},
		{"?by=ohm&now=42.5+ohm", "filled to", 200},
		{"?by=kg&now=8", "8.00 ± 0.07 kg", 200},
		{"?by=litres&now=20", "20 L", 200},
		{"?by=litres&now=5+USgal", "18.9", 200},
		{"?by=level&now=high", "high", 422},
		{"?by=level&now=-4", "class=\"wrong\"", 422},
		{"?by=level&now=400", "class=\"wrong\"", 422},
		{"?by=litres&now=12+banana", "banana", 422},
		{"?by=litres&now=1e9", "class=\"wrong\"", 422},
		{"?by=kg&now=-1", "class=\"wrong\"", 422},
		{"?by=ohm&now=NaN", "class=\"wrong\"", 422},
		{"?by=guess&now=4", "class=\"wrong\"", 422},
		{"?at=200C", "class=\"wrong\"", 422},
		{"?at=%3Cscript%3E", "class=\"wrong\"", 422},
	} {
		status, text := b.get(path + c.query)
		if status != c.status || !strings.Contains(html.UnescapeString(text), c.want) || strings.Contains(text, "<script>") {
			t.Errorf("%s: %d; expected %d with %q", c.query, status, c.status, c.want)
		}
		if !strings.Contains(text, "Never fill beyond the permitted fill") {
			t.Errorf("%s: no cautions", c.query)
		}
		if c.status == 422 && strings.Contains(text, `id="told"`) {
			t.Errorf("%s: tells of what can't be", c.query)
		}
	}
}

func TestContentsKeeps(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/contents", id)
	v := url.Values{"tank": {"Gas"}, "gas.mix": {"EN 589 winter"}, "temperature_c": {"-3,5"}, "price": {"2.10"}, "priced": {"kg"}, "currency": {"CHF"},
		"load.name": {"<b>heater</b>", "", "lamp", ""}, "load.preset": {"", "absorption fridge", "", ""}, "load.rate": {"1.8-2.2", "", "12 to 20", ""},
		"load.unit": {"kw", "kw", "g_per_h", "kw"}, "load.plate": {"gross", "", "net", ""}, "load.hours": {"3 – 12", "", "4", ""}}
	if status, text := b.post(path, pairs(v)...); status != 200 || strings.Contains(text, "<b>heater") {
		t.Fatalf("%d, %s", status, faultIn(text))
	}
	gas := b.job(id).Tanks[0]
	if gas.Gas.Mix != "EN 589 winter" || *gas.TemperatureC != -3.5 || gas.PricePerKg != 2.1 || gas.PricePerL != 0 || gas.Currency != "CHF" || len(gas.Loads) != 3 {
		t.Fatalf("%+v", gas)
	}
	if l := gas.Loads[0]; *l.KW != *job.Between(1.8, 2.2) || l.Plate != job.Gross || *l.HoursPerDay != *job.Between(3, 12) {
		t.Errorf("%+v", l)
	}
	if l := gas.Loads[2]; *l.GPerH != *job.Between(12, 20) || l.Plate != "" || *l.HoursPerDay != *job.Exactly(4) {
		t.Errorf("%+v", l)
	}
	// Rows come and go without anything being kept, and without anything typed lost.
	v = contentsValues(gas, quantity.Units{})
	v.Set("price", "not yet")
	if status, text := b.post(path, pairs(v, "tank", "Gas", "do", "add")...); status != 200 || strings.Count(text, `name="load.name"`) != 4 || !strings.Contains(text, `value="not yet"`) {
		t.Errorf("%d, %d loads", status, strings.Count(text, `name="load.name"`))
	}
	v = contentsValues(gas, quantity.Units{})
	if status, text := b.post(path, pairs(v, "tank", "Gas", "do", "remove.1")...); status != 200 || strings.Count(text, `name="load.name"`) != 2 || strings.Contains(text, `value="absorption fridge" selected`) || !strings.Contains(text, `value="lamp"`) {
		t.Errorf("%d, %d loads", status, strings.Count(text, `name="load.name"`))
	}
	if status, _ := b.post(path, pairs(v, "tank", "Gas", "do", "remove.99")...); status != 200 {
		t.Errorf("a row that isn't there: %d", status)
	}
	if len(b.job(id).Tanks[0].Loads) != 3 {
		t.Error("a row was taken out of the job")
	}
}

func TestContentsRefuse(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	before, _ := b.job(id).Encode()
	for _, c := range []struct {
		n           int
		name, value string
		want        string
	}{
		{1, "gas.propane", "70", "expected 100"},
		{1, "gas.propane", "lots", "expected 0 to 100 %"},
		{1, "gas.propane", "-60", "expected 0 to 100 %"},
		{1, "gas.mix", "swamp gas", "no gas is known by the name"},
		{1, "gas.by", "feel", "expected"},
		{1, "temperature_c", "warm", "warm"},
		{1, "temperature_c", "90", "90"},
		{1, "price", "0", "leave it blank"},
		{1, "price", "1e9", "expected 0 to 1000000"},
		{2, "density_kg_l", "9", "expected 0.5 to 2 kg/L"},
		{2, "density_kg_l", "0.6", "0.6"},
		{1, "load.rate", "much", "expected a figure"},
		{1, "load.rate", "-4", "-4"},
		{1, "load.rate", "3 to 2", "expected the lowest first"},
		{1, "load.rate", "1 to 2 to 3", "expected a figure"},
		{1, "load.rate", "", "say what it draws"},
		{1, "load.hours", "25", "25"},
		{1, "load.hours", "", "hours"},
		{1, "load.name", "", "say what it is that draws"},
		{1, "load.unit", "horses", "no such unit"},
		{1, "load.preset", "jacuzzi", "usual rate"},
	} {
		tank := b.job(id).Tanks[c.n-1]
		v := contentsValues(tank, quantity.Units{})
		if strings.HasPrefix(c.name, "load.") {
			v[c.name][0] = c.value
		} else {
			v.Set(c.name, c.value)
		}
		status, text := b.post(fmt.Sprintf("/jobs/%s/%d/contents", id, c.n), pairs(v, "tank", tank.Name)...)
		if text = html.UnescapeString(text); status != 422 || !strings.Contains(strings.ToLower(text), strings.ToLower(c.want)) || !strings.Contains(text, `class="wrong"`) {
			t.Errorf("%s = %q: %d, %s; expected 422 with %q", c.name, c.value, status, faultIn(text), c.want)
		}
		for _, name := range []string{"gas.propane", "price", "load.rate", "load.name", "load.hours", "temperature_c", "density_kg_l"} {
			if c.name == name && !strings.Contains(text, fmt.Sprintf(`name="%s" value="%s"`, c.name, c.value)) {
				t.Errorf("%s = %q isn't in the page any more", c.name, c.value)
			}
		}
	}
	if after, _ := b.job(id).Encode(); !bytes.Equal(before, after) {
		t.Error("something was kept")
	}
}

func TestContentsInBrowser(t *testing.T) {
	b := open(t)
	j := sample(t)
	j.Tanks[0].Loads[0].Name = "<script>alert(1)</script> a griddle with a name that is rather long"
	id := b.start(j)
	ctx := browser.Open(t)
	browser.View(t, ctx, 1440, 900, false)
	browser.Go(t, ctx, fmt.Sprintf("%s/jobs/%s/3/contents", b.url, id))
	before := len(b.job(id).Tanks[2].Loads)
	act(t, ctx, chromedp.Click("button[value=add]"))
	n := before
	waitText(t, ctx, fmt.Sprintf("#load-%d", n), "Remove")
	act(t, ctx, chromedp.SendKeys(fmt.Sprintf("#load-name-%d", n), "Second heater"), chromedp.SendKeys(fmt.Sprintf("#load-rate-%d", n), "0.1 to 0.3"), chromedp.SendKeys(fmt.Sprintf("#load-hours-%d", n), "4"+kb.Enter))
	waitText(t, ctx, "main", "Kept.")
	if got := b.job(id).Tanks[2].Loads; len(got) != before+1 || got[before].LPerH == nil {
		t.Fatalf("loads: %+v", got)
	}
	waitText(t, ctx, "#left", "Second heater")
}

func BenchmarkContentsPage(b *testing.B) {
	b.Run("gas", func(b *testing.B) { pageBench(b, get("/1/contents?by=level&now=40")) })
	b.Run("water", func(b *testing.B) { pageBench(b, get("/2/contents")) })
}
