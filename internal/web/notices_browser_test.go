package web

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	permit "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/serviceworker"
	"github.com/chromedp/chromedp"

	"gaugewright/internal/browser"
)

// A device asks to be told of alarms: a browser that lets the page tell nothing says so,
// one that does is asked for a subscription, which the watch keeps, and a message that the
// browser gets is shown, also one that can't be read.
func TestTellDevice(t *testing.T) {
	t.Parallel()
	w := posted(t)
	b := open(t, w.options)
	ctx := browser.Open(t)
	browser.View(t, ctx, 390, 844, false)
	may := func(setting permit.PermissionSetting) {
		t.Helper()
		if _, err := chromedp.CallBrowser(ctx, permit.SetPermission, permit.SetPermissionParams{Permission: &permit.PermissionDescriptor{Name: "notifications"}, Setting: setting, Origin: b.url}); err != nil {
			t.Fatal(err)
		}
	}
	browser.Go(t, ctx, b.url+leftPath)
	may(permit.PermissionSettingDenied)
	runScript(t, ctx, `location.reload()`)
	waitText(t, ctx, "#telldevice-words", "This browser lets the page tell nothing.")
	says(t, ctx, `String(document.getElementById("telldevice-do").hidden)`, "true")
	may(permit.PermissionSettingGranted)
	runScript(t, ctx, `location.reload()`)
	waitText(t, ctx, "#telldevice-do", "Tell this device of alarms")
	// No push service is reached from here: what the browser does with it stands in.
	runScript(t, ctx, `
window.given = { endpoint: "https://push.example.net/1", options: {}, toJSON() { return { endpoint: this.endpoint }; }, async unsubscribe() { window.ended = true; return true; } };
PushManager.prototype.subscribe = async (o) => { if (!o.userVisibleOnly || o.applicationServerKey.length !== 65) throw new Error("asked for " + JSON.stringify(o)); return window.given; };
document.getElementById("telldevice-name").value = "Phone of R. Moor";
document.getElementById("telldevice-do").click();`)
	waitText(t, ctx, "#telldevice-do", "Don’t tell this device any more")
	w.letters.mu.Lock()
	if d := w.letters.devices; len(d) != 1 || d[0].Label != "Phone of R. Moor" || string(d[0].Subscription) != `{"endpoint":"https://push.example.net/1"}` {
		t.Errorf("the watch has %+v", d)
	}
	w.letters.mu.Unlock()
	runScript(t, ctx, `document.getElementById("telldevice-do").click()`)
	waitText(t, ctx, "#telldevice-do", "Tell this device of alarms")
	says(t, ctx, `String(window.ended)`, "true")
	if did := w.letters.done(); len(did) != 1 || did[0] != "end https://push.example.net/1" {
		t.Errorf("the watch was asked to %q", did)
	}
	runScript(t, ctx, `PushManager.prototype.subscribe = async () => { throw new Error("no service"); }; document.getElementById("telldevice-do").click()`)
	waitText(t, ctx, "#telldevice-words", "That didn’t work")

	// What the worker makes of messages.
	registered := make(chan serviceworker.RegistrationID, 10)
	if err := chromedp.Listen(ctx, func(ev any) {
		if e, ok := ev.(*serviceworker.EventWorkerRegistrationUpdated); ok {
			for _, r := range e.Registrations {
				select {
				case registered <- r.RegistrationID:
				default:
				}
			}
		}
	}); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, serviceworker.Enable, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	// A message for a worker that isn't at work yet is lost.
	runScript(t, ctx, `navigator.serviceWorker.ready.then((r) => { const w = r.active; const done = () => { window.works = w.state; }; done(); w.addEventListener("statechange", done); })`)
	says(t, ctx, `String(window.works)`, "activated")
	var id serviceworker.RegistrationID
	select {
	case id = <-registered:
	case <-time.After(time.Minute):
		t.Fatal("no worker is registered")
	}
	message, err := json.Marshal(map[string]any{"id": "gas/leak/1", "tag": "a", "title": "Gas: leak or sudden loss", "body": "Gas leaks 1.2 % an hour.", "time": sunday, "critical": true})
	if err != nil {
		t.Fatal(err)
	}
	deliver := func(data string) {
		t.Helper()
		if _, err := chromedp.Call(ctx, serviceworker.DeliverPushMessage, serviceworker.DeliverPushMessageParams{Origin: b.url, RegistrationID: id, Data: data}); err != nil {
			t.Fatal(err)
		}
	}
	deliver(string(message))
	shown(t, ctx, `["Gas: leak or sudden loss|Gas leaks 1.2 % an hour.|a|/left"]`, func() { deliver(string(message)) })
	deliver(string(message)) // again: it is the same one
	deliver("no JSON")
	shown(t, ctx, `["Gas: leak or sudden loss|Gas leaks 1.2 % an hour.|a|/left","Gaugewright|||/left"]`, func() {})
}

// shown waits until the browser shows just these messages; every ten seconds in which it
// doesn't, again is done.
func shown(t *testing.T, ctx context.Context, want string, again func()) {
	t.Helper()
	runScript(t, ctx, `window.look = async () => { const r = await navigator.serviceWorker.getRegistration("/left"); window.told = JSON.stringify((await r.getNotifications()).map((n) => [n.title, n.body, n.tag, n.data.page].join("|")).sort()); }`)
	got := ""
	next := time.Now().Add(10 * time.Second)
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(next) {
			next = next.Add(10 * time.Second)
			again()
		}
		runScript(t, ctx, `look()`)
		if got = scriptText(t, ctx, `String(window.told)`); got == want {
			return
		}
	}
	t.Fatalf("the browser shows %s; expected %s", got, want)
}
