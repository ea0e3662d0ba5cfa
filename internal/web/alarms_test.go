package web

import (
	"context"
	"errors"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/browser"
	"gaugewright/internal/doors"
	"gaugewright/internal/flow"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// somebody is a board of alarms as a watch has it, in memory.
type somebody struct {
	mu    sync.Mutex
	tanks []*alarm.Tank
	moves []alarm.Move
	err   error
}

func (b *somebody) Alarms(context.Context) ([]alarm.Standing, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	var list []alarm.Standing
	for _, t := range b.tanks {
		list = append(list, t.Standings()...)
	}
	alarm.Sort(list)
	return list, b.err
}

func (b *somebody) Moves(_ context.Context, _ string, most int) ([]alarm.Move, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	var list []alarm.Move
	for i := range b.moves {
		list = append(list, b.moves[len(b.moves)-1-i])
	}
	return list[:min(most, len(list))], b.err
}

func (b *somebody) do(what func(*alarm.Tank) ([]alarm.Move, error)) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, t := range b.tanks {
		moves, err := what(t)
		b.moves = append(b.moves, moves...)
		if !errors.Is(err, alarm.ErrNone) {
			return err
		}
	}
	return alarm.ErrNone
}

func (b *somebody) Acknowledge(_ context.Context, id, by string) error {
	return b.do(func(t *alarm.Tank) ([]alarm.Move, error) { return t.Acknowledge(id, by, sunday) })
}

func (b *somebody) Shelve(_ context.Context, id, by string, until time.Time) error {
	return b.do(func(t *alarm.Tank) ([]alarm.Move, error) { return t.Shelve(id, by, sunday, until) })
}

func (b *somebody) Service(_ context.Context, id, by string, in bool) error {
	return b.do(func(t *alarm.Tank) ([]alarm.Move, error) { return t.Service(id, by, sunday, in) })
}

// called is the stall with alarms in each state: gas leaks and nobody knows, water was
// low and is filled again before anybody said so, the heater's tank is low and somebody
// knows, and one alarm is shelved.
func called(t testing.TB) *watches {
	t.Helper()
	w := stall(t)
	w.board = &somebody{}
	for _, l := range w.labels {
		rules := alarm.Usual(alarm.About{Tank: l.Tank, Gas: l.Tank == "gas"})
		w.board.tanks = append(w.board.tanks, alarm.NewTank(alarm.Config{Label: l.Label, Rules: rules, Zone: time.UTC}, nil))
	}
	took := func(n int, share float64, from time.Time) {
		for i := range 70 {
			at := from.Add(time.Duration(i) * time.Minute)
			w.board.moves = append(w.board.moves, w.board.tanks[n].Take(watch.Level{Tank: w.labels[n].Tank, Time: at, Shown: true, Share: quantity.Share(share), U: 0.01, Stale: 5 * time.Minute})...)
		}
	}
	took(1, 0.1, sunday.Add(-8*time.Hour))
	took(1, 0.9, sunday.Add(-6*time.Hour))
	took(2, 0.12, sunday.Add(-3*time.Hour))
	w.board.moves = append(w.board.moves, w.board.tanks[0].Flows(sunday, []flow.Event{{Kind: flow.Leak, Start: sunday.Add(-5 * time.Hour), Found: sunday.Add(-4 * time.Hour), PerHour: 0.012, P: 0.97}})...)
	if w.board.Acknowledge(t.Context(), "diesel/low", "Robin") != nil || w.board.Shelve(t.Context(), "diesel/stale", "The owner", sunday.Add(8*time.Hour)) != nil {
		t.Fatal("the board doesn't do what it is asked for")
	}
	return w
}

// The page says what needs somebody first, and each alarm how it stands; its buttons do
// what they say.
func TestAlarmsPage(t *testing.T) {
	w := called(t)
	b := open(t, w.options)
	_, text := b.get(alarmsPath)
	b.says("the page", text, "2 alarms wait for somebody.", "<bdi>Gas</bdi>: leak or sudden loss", "Gas leaks 1.2 % an hour.", "Nobody has acknowledged it.", "<span>critical</span>; <span>unacknowledged</span>",
		"returned to normal, unacknowledged", "Robin acknowledged it on", "The owner shelved it until", "No flame, no spark, no switch.", "Take it off the shelf", "Acknowledge")
	if gas, water := strings.Index(text, "<bdi>Gas</bdi>: leak"), strings.Index(text, "<bdi>Fresh water</bdi>: nearly empty"); gas < 0 || water < gas {
		t.Errorf("what is critical stands at %d, what isn't at %d", gas, water)
	}
	_, text = b.post(alarmsPath+"/acknowledge", "alarm", "gas/leak")
	b.says("after acknowledging", text, "1 alarm waits for somebody.", "<span>critical</span>; <span>acknowledged</span>", "The fitter acknowledged it.")
	_, text = b.post(alarmsPath+"/shelve", "alarm", "fresh/low", "for", "morning")
	b.says("after shelving", text, "No alarm waits for somebody.", "The fitter shelved it until "+sunday.AddDate(0, 0, 1).Format("2 January 2006")+" at 08:00.")
	_, text = b.post(alarmsPath+"/service", "alarm", "gas/leak", "in", "no")
	b.says("out of service", text, "The fitter took it out of service on", "Put back into service")
	_, text = b.post(alarmsPath+"/service", "alarm", "gas/leak", "in", "yes")
	b.says("in service, and still there", text, "1 alarm waits for somebody.", "put it back into service, and what it is about is there. Gas leaks 1.2 % an hour.")
	_, text = b.post(alarmsPath+"/shelve", "alarm", "fresh/low", "for", "end")
	b.says("off the shelf", text, "It came off the shelf.")
	for _, bad := range [][]string{{"/acknowledge", "alarm", "gas/none"}, {"/acknowledge"}, {"/shelve", "alarm", "gas/leak", "for", "ever"}, {"/service", "alarm", "gas/leak", "in", "maybe"}} {
		if status, _ := b.post(alarmsPath+bad[0], bad[1:]...); status != 404 && status != 422 {
			t.Errorf("%v: %d", bad, status)
		}
	}
	_, text = b.get(leftPath)
	b.says("what is left", text, "An alarm waits for somebody: Gas, leak or sudden loss.", "Every level can be believed.")
	b.saysNot("what is left", text, "Nothing is wrong.")
	_, text = b.get(watchedPath)
	b.says("the levels", text, "An alarm waits for somebody: Gas, leak or sudden loss.")
	_, text = open(t, stall(t).options).get(alarmsPath)
	b.says("a watch without alarms", text, "No alarm is set up.")
}

// Owners may do something about alarms and guests may not; a guest sees those of the
// tanks that the link is for.
func TestAlarmsRoles(t *testing.T) {
	w := called(t)
	y := newYard(t, w.options)
	text := body(t, y.ask("GET", alarmsPath, "", y.as(doors.Owner)))
	if !strings.Contains(text, `action="/alarms/acknowledge"`) {
		t.Error("an owner can't acknowledge")
	}
	form := url.Values{"alarm": {"gas/leak"}}.Encode()
	_, secret := y.link("fresh")
	guest := y.ask("GET", "/see/"+secret, "", nil).Cookies()
	text = body(t, y.ask("GET", alarmsPath, "", guest))
	if strings.Contains(text, "Gas") || !strings.Contains(text, "Fresh water") || strings.Contains(text, "<form method=\"post\" action=\"/alarms") {
		t.Errorf("a guest sees\n%s", text)
	}
	if a := y.ask("POST", alarmsPath+"/acknowledge", form, guest); a.StatusCode != 403 {
		t.Errorf("a guest acknowledges: %d", a.StatusCode)
	}
	if a := y.ask("POST", alarmsPath+"/acknowledge", form, y.as(doors.Owner)); a.StatusCode != 303 || a.Header.Get("Location") != alarmsPath {
		t.Errorf("an owner acknowledges: %d", a.StatusCode)
	}
	if list, _ := w.board.Alarms(t.Context()); list[0].Rule.ID == "gas/leak" {
		t.Errorf("%+v", list[0])
	}
}

// What people wrote doesn't become a part of the page.
func TestAlarmsEscape(t *testing.T) {
	w := called(t)
	r := alarm.Default("gas", alarm.Low)
	r.Says, r.Setting = breaksOut, runs
	evil := alarm.NewTank(alarm.Config{Label: runs + breaksOut, Rules: []alarm.Rule{r}, Zone: time.UTC}, nil)
	for i := range 70 {
		w.board.moves = append(w.board.moves, evil.Take(watch.Level{Time: sunday.Add(time.Duration(i) * time.Minute), Shown: true, Share: 0.01, U: 0.01, Stale: 5 * time.Minute})...)
	}
	w.board.tanks[0] = evil
	_, text := open(t, w.options).get(alarmsPath)
	for _, no := range []string{"<script>alert", "<b class=evil>", "<img class=evil"} {
		if strings.Contains(text, no) {
			t.Errorf("the page has %q", no)
		}
	}
	if !strings.Contains(text, "&lt;script&gt;alert(1)") {
		t.Error("the label isn't there as text")
	}
}

// In a browser: the buttons work without scripts, and the page follows the watch with
// them, with the focus where it was.
func TestAlarmsFollow(t *testing.T) {
	t.Parallel()
	w := called(t)
	b := open(t, w.options)
	ctx := browser.Open(t)
	browser.View(t, ctx, 390, 844, false)
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(b.url+alarmsPath), chromedp.WaitVisible("#alarm-fresh-low-known"), chromedp.Click("#alarm-fresh-low-known")); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#summary", "1 alarm waits for somebody.")
	if _, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: false}); err != nil {
		t.Fatal(err)
	}
	browser.Go(t, ctx, b.url+alarmsPath)
	runScript(t, ctx, `document.getElementById("alarm-gas-leak-hour").focus(); document.getElementById("others").open = true`)
	if err := w.board.Acknowledge(t.Context(), "gas/leak", "Robin"); err != nil {
		t.Fatal(err)
	}
	waitText(t, ctx, "#summary", "No alarm waits for somebody. 2 are known and go on.")
	if v := browser.Axe(t, ctx); len(v) > 0 {
		t.Errorf("axe-core finds %+v", v)
	}
	says(t, ctx, `document.activeElement.id + " " + document.getElementById("others").open`, "alarm-gas-leak-hour true")
}
