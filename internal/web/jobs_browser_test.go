package web

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
)

func onPage(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	for _, width := range []int{320, 390, 820, 1440} {
		browser.NoSidewaysScroll(t, ctx, width)
	}
	for _, dark := range []bool{false, true} {
		for _, width := range []int{390, 1440} {
			browser.View(t, ctx, width, 900, dark)
			for _, v := range browser.Axe(t, ctx) {
				t.Errorf("%s, dark %v, %d wide: %v", name, dark, width, v)
			}
		}
		for _, width := range []int{390, 820, 1440} {
			shoot(t, ctx, name, width, dark)
		}
	}
	small, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](smallTargets))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range small {
		t.Errorf("%s: a target below 48 pixels: %s", name, s)
	}
}

// smallTargets lists what can be pressed and is lower or narrower than 48
// pixels, but for links in running text.
const smallTargets = `[...document.querySelectorAll('main a, main button, main input, main summary, main textarea')].filter((e) => {
	if (e.closest('p.lead, li > p:not(.row)') || e.type === 'hidden') return false;
	const target = e.matches('.choice input') ? e.closest('label') : e.closest('.order') || e;
	const box = target.getBoundingClientRect();
	return box.width > 0 && (box.height < 47.9 || box.width < 47.9);
}).map((e) => e.outerHTML.slice(0, 120))`

// One field finds as one types and starts at the press of a button.
func TestFieldFindsAndStarts(t *testing.T) {
	b := open(t)
	b.start(sample(t))
	b.start(&job.Job{Number: "2025-002", Customer: "The hut on the hill", Tanks: []job.Tank{}})
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+"/")
	if err := chromedp.Do(ctx, chromedp.SendKeys("#find", "hut")); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#count", "1 job found.")
	if list := textOf(t, ctx, "#list"); strings.Contains(list, "Tidewater") || !strings.Contains(list, "The hut") {
		t.Errorf("the list is %q", list)
	}
	// The field keeps the focus, and Enter finds as well.
	if err := chromedp.Do(ctx, chromedp.SendKeys("#find", " boat\r"), chromedp.WaitVisible("#count")); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#count", "No job has all of that")
	if err := chromedp.Do(ctx, chromedp.Click("#start"), chromedp.WaitVisible("#vehicle")); err != nil {
		t.Fatal(err)
	}
	if j := b.job("j3"); j.Customer != "hut boat" {
		t.Errorf("started for %q", j.Customer)
	}
}

// From the list to the bench with the keyboard alone: the order of the page is
// the order of the work.
func TestKeyboard(t *testing.T) {
	b := open(t)
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+"/")
	press := func(keys string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.KeyEvent(keys)); err != nil {
			t.Fatal(err)
		}
	}
	focus := func(id string) {
		t.Helper()
		for range 40 {
			press("\t")
			if at, err := chromedp.Run(ctx, chromedp.Evaluate[string]("document.activeElement.id || document.activeElement.innerText")); err != nil {
				t.Fatal(err)
			} else if at == id {
				return
			}
		}
		t.Fatalf("the keyboard doesn't reach %q", id)
	}
	focus("find")
	press("Tidewater")
	focus("start")
	press("\r")
	waitText(t, ctx, "h1", "Facts of the job")
	focus("vehicle")
	press("trailer")
	focus("Keep, and add a tank")
	press("\r")
	waitText(t, ctx, "h1", "A new tank")
	for range 40 {
		press("\t")
		if on, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("document.activeElement.name === 'contents'")); err != nil {
			t.Fatal(err)
		} else if on {
			break
		}
	}
	press(" ")
	focus("Add, and go to the bench")
	press("\r")
	for end := time.Now().Add(time.Minute); len(b.job("j1").Tanks) == 0 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
	}
	j := b.job("j1")
	if j.Customer != "Tidewater" || j.Vehicle != "trailer" || len(j.Tanks) != 1 || j.Tanks[0].Contents != job.LPG {
		t.Errorf("kept: %+v", j)
	}
}

// A form that can't be kept stays with what was typed, and says so where the
// eye is.
func TestRefusedOnScreen(t *testing.T) {
	t.Parallel()
	b := open(t)
	id := b.start(sample(t))
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+jobPath(id)+"/tanks")
	err := chromedp.Do(ctx, chromedp.Click("input[value=lpg]"), chromedp.SendKeys("#name", "Second"), chromedp.SendKeys("#permitted_fill_pct", "90"),
		chromedp.SendKeys("#claimed", "all of it"), chromedp.Click("main .do"), chromedp.WaitVisible("#fault"))
	if err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#fault", "Not kept yet: see the marked field.")
	waitText(t, ctx, "#claimed-hint", "is no span")
	if v, err := chromedp.Run(ctx, chromedp.Value("#name")); err != nil || v != "Second" {
		t.Errorf("the name is %q %v", v, err)
	}
	onPage(t, ctx, "refused-newtank")
	if err := chromedp.Do(ctx, chromedp.SetValue("#claimed", "0 to 90"), chromedp.Click("main .do")); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#permitted_fill_pct-hint", "for lpg no permitted fill above 85 is accepted")
}

// Without scripts everything is done by forms: find, start, facts, tank, copy,
// take out, take in.
func TestWithoutScripts(t *testing.T) {
	t.Parallel()
	b := open(t)
	ctx := browser.Open(t)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	do := func(steps ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, steps...); err != nil {
			t.Fatal(err)
		}
	}
	visit := func(path string) { t.Helper(); do(chromedp.Navigate(b.url + path)) }
	visit("/")
	do(chromedp.SendKeys("#find", "Tidewater"), chromedp.Click("#start"), chromedp.WaitVisible("#vehicle"),
		chromedp.SendKeys("#vehicle", "trailer"), chromedp.Click("main .do"), chromedp.WaitVisible("#claimed"),
		chromedp.Click("input[value=water]"), chromedp.SendKeys("#water_capacity_l", "90"), chromedp.Click("main .do"), chromedp.WaitNotPresent("#claimed"))
	if j := b.job("j1"); j.Vehicle != "trailer" || len(j.Tanks) != 1 || j.Tanks[0].WaterCapacityL != 90 {
		t.Fatalf("kept: %+v", j)
	}
	visit("/jobs/j1")
	do(chromedp.Click("form[action$='/copy'] button"), chromedp.WaitVisible("#vehicle"))
	if b.count() != 2 {
		t.Errorf("%d jobs; expected 2", b.count())
	}
	visit("/jobs/j1")
	do(chromedp.Click("summary"), chromedp.Click("form[action$='/1/remove'] button"), chromedp.WaitNotPresent("summary"))
	if n := len(b.job("j1").Tanks); n != 0 {
		t.Errorf("%d tanks; expected none", n)
	}
	file := filepath.Join(t.TempDir(), "sample.job.json")
	if err := os.WriteFile(file, []byte(fileOf(t, sample(t))), 0o600); err != nil {
		t.Fatal(err)
	}
	visit("/?find=nothing")
	do(chromedp.SetUploadFiles("#files", []string{file}), chromedp.Click("#import-form button"), chromedp.WaitVisible(".taken"))
	if b.count() != 3 {
		t.Errorf("%d jobs; expected 3", b.count())
	}
}

// Files dropped on the list are taken in, and the page of what came of them
// holds up.
func TestDropped(t *testing.T) {
	b := open(t)
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+"/")
	drop := `(() => {
		const data = new DataTransfer();
		data.items.add(new File(['{"version":1,"number":"7","customer":"Hut","tanks":[]}'], 'hut.json'));
		data.items.add(new File(['{"version":1,"numb":"7","customer":"Hut","tanks":[{"name":"x","contents":"beer"}]}'], '` + strings.Repeat("long", 60) + `.json'));
		for (const kind of ['dragenter', 'dragover', 'drop']) document.querySelector('h1').dispatchEvent(new DragEvent(kind, { dataTransfer: data, bubbles: true, cancelable: true }));
	})()`
	if err := chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](drop), chromedp.WaitVisible(".taken")); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, ".taken", "Kept.")
	if b.count() != 1 {
		t.Errorf("%d jobs; expected 1", b.count())
	}
	onPage(t, ctx, "exchange")
}

// A card that is looked at follows what is done elsewhere.
func TestCardFollows(t *testing.T) {
	b := open(t)
	id := b.start(&job.Job{Number: "1", Tanks: []job.Tank{}})
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+jobPath(id))
	b.post(jobPath(id)+"/tanks", "key", "k", "contents", "diesel", "name", "Under the floor")
	waitText(t, ctx, "#card", "Under the floor")
}
