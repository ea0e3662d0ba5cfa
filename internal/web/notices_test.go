package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/doors"
	"gaugewright/internal/notice"
)

// letters are what was sent, in memory.
type letters struct {
	mu            sync.Mutex
	ways          []notice.WayState
	waiting, dead []notice.Waiting
	devices       []notice.Device
	key           string
	fails         error
	did           []string
}

func (l *letters) note(what ...string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.did = append(l.did, strings.Join(what, " "))
}

func (l *letters) done() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clone(l.did)
}

func (l *letters) Ways(context.Context) ([]notice.WayState, error)   { return l.ways, nil }
func (l *letters) Dead(context.Context) ([]notice.Waiting, error)    { return l.dead, nil }
func (l *letters) Waiting(context.Context) ([]notice.Waiting, error) { return l.waiting, nil }
func (l *letters) Key() string                                       { return l.key }

func (l *letters) has(way string) error {
	if !slices.ContainsFunc(l.ways, func(w notice.WayState) bool { return w.Name == way }) {
		return notice.ErrNoWay
	}
	return nil
}

func (l *letters) Again(_ context.Context, id, way string) error {
	if !slices.ContainsFunc(l.dead, func(w notice.Waiting) bool { return w.Notice.ID == id && w.Way == way }) {
		return notice.ErrNoNotice
	}
	l.note("again", id, way)
	return nil
}

func (l *letters) Drop(_ context.Context, id, way string) error {
	l.note("drop", id, way)
	return l.has(way)
}

func (l *letters) Test(_ context.Context, way string) error {
	l.note("test", way)
	return errors.Join(l.has(way), l.fails)
}

func (l *letters) Subscribe(_ context.Context, d notice.Device) (string, error) {
	if !strings.HasPrefix(string(d.Subscription), "{") {
		return "", fmt.Errorf("%w: it isn't JSON", notice.ErrUnusable)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.devices = append(l.devices, d)
	return "push/1", nil
}

func (l *letters) Unsubscribe(_ context.Context, endpoint string) error {
	l.note("end", endpoint)
	return nil
}

func (l *letters) Remove(_ context.Context, way string) error {
	l.note("remove", way)
	return l.has(way)
}

// somewhere is a point of P-256: the public key of RFC 8291, 5.
const somewhere = "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8"

// posted is the stall with ways in each state, what waits and what was given up.
func posted(t testing.TB) *watches {
	w := called(t)
	leak := notice.Notice{ID: "gas/leak/1", Time: sunday.Add(-5 * time.Hour), Tank: "gas", Label: "Gas", Kind: "leak", Priority: notice.Critical, Title: "Gas: leak or sudden loss"}
	low := notice.Notice{ID: "diesel/low/1", Time: sunday.Add(-70 * time.Hour), Tank: "diesel", Label: "Diesel", Kind: "low", Priority: notice.Medium, Title: "Diesel: nearly empty"}
	w.letters = &letters{key: somewhere,
		ways: []notice.WayState{
			{Name: "mail/owner", What: "owner@tidewater.example", Sent: 12, Last: sunday.Add(-4 * time.Hour)},
			{Name: "hook/house", What: "house.tidewater.example", Waiting: 1, Dead: 1, Last: sunday.Add(-6 * time.Minute), Why: "house.tidewater.example answers 503 Service Unavailable"},
			{Name: "mqtt", What: "127.0.0.1:1883", Sent: 1},
			{Name: "push/a1b2c3d4e5f6", What: "Phone of R. Moor", Device: true, Since: sunday.AddDate(0, -1, 0), Sent: 3},
		},
		waiting: []notice.Waiting{{Notice: leak, Way: "hook/house", Tries: 4, Next: sunday.Add(20 * time.Minute), Why: "house.tidewater.example answers 503 Service Unavailable", Last: sunday.Add(-6 * time.Minute)}},
		dead:    []notice.Waiting{{Notice: low, Way: "hook/house", Tries: 74, Dead: sunday.Add(-20 * time.Hour), Why: "house.tidewater.example answers 503 Service Unavailable"}},
	}
	return w
}

// The page says how each way stands and why, and its buttons do what they say.
func TestSentPage(t *testing.T) {
	w := posted(t)
	b := open(t, w.options)
	_, text := b.get(sentPath)
	b.says("the page", text, "owner@tidewater.example", "12 notices were sent by it since the watch was started.", "1 waits.", "1 was given up.", "The last try, at 09:24, failed:",
		"house.tidewater.example answers 503 Service Unavailable", "It asked to be told on 2 October 2025.", "Gas: leak or sudden loss", "It was tried 4 times. The next try is at 09:50.",
		"Diesel: nearly empty", "Given up at 1 Nov 13:30. It was tried 74 times.", `data-key="`+somewhere+`"`)
	for _, c := range []struct{ path, id, way, did, says string }{
		{"/test", "", "mail/owner", "test mail/owner", "The test was sent, and taken."},
		{"/again", "diesel/low/1", "hook/house", "again diesel/low/1 hook/house", "It is sent again now."},
		{"/drop", "gas/leak/1", "hook/house", "drop gas/leak/1 hook/house", "It was let go of."},
		{"/remove", "", "push/a1b2c3d4e5f6", "remove push/a1b2c3d4e5f6", "The device isn’t told any more."},
	} {
		status, text := b.post(sentPath+c.path, "id", c.id, "way", c.way)
		b.says(c.path, text, c.says)
		if did := w.letters.done(); status != 200 || did[len(did)-1] != c.did {
			t.Errorf("%s: %d, it did %q", c.path, status, did)
		}
	}
	for _, path := range []string{"/test", "/again", "/remove"} {
		if status, _ := b.post(sentPath+path, "id", "x", "way", "mail/none"); status != 404 {
			t.Errorf("%s of what isn't there: %d", path, status)
		}
	}
	w.letters.fails = errors.New("the mail server isn't reached: <b class=evil>no route</b>")
	status, text := b.post(sentPath+"/test", "way", "mail/owner")
	b.says("a test that fails", text, "wasn’t delivered. The machine says why:", "no route")
	if status != 502 || strings.Contains(text, "<b class=evil>") {
		t.Errorf("a test that fails: %d, %s", status, text)
	}
	// Where there are no ways, no watch, no browsers.
	none := stall(t)
	none.letters = &letters{}
	_, text = open(t, none.options).get(sentPath)
	b.says("no ways", text, "the configuration of the watch names no way")
	b.saysNot("no ways", text, "telldevice")
	if status, _ := open(t, none.options).post(devicePath, "subscription", "{}"); status != 404 {
		t.Errorf("a device where nothing is sent to any: %d", status)
	}
	if status, _ := open(t).get(sentPath); status != 404 {
		t.Errorf("without a watch: %d", status)
	}
}

// What people and other machines wrote doesn't become a part of the page.
func TestSentEscapes(t *testing.T) {
	w := posted(t)
	w.letters.ways[0].What, w.letters.ways[1].Why = runs, breaksOut
	w.letters.dead[0].Notice.Title, w.letters.dead[0].Why, w.letters.waiting[0].Notice.ID = breaksOut, runs, `"><img class=evil>`
	_, text := open(t, w.options).get(sentPath)
	for _, no := range []string{"<script>alert", "<b class=evil>", "<img class=evil"} {
		if strings.Contains(text, no) {
			t.Errorf("the page has %q", no)
		}
	}
}

// A fitter alone sees what was sent; owners and guests may have their own device told,
// a guest of the tanks of the link and for as long as it works.
func TestSentRoles(t *testing.T) {
	w := posted(t)
	y := newYard(t, w.options)
	form := url.Values{"subscription": {`{"endpoint":"https://push.example.net/1"}`}, "name": {" Phone "}}.Encode()
	link, secret := y.link("fresh")
	guest := y.ask("GET", "/see/"+secret, "", nil).Cookies()
	for name, c := range map[string]struct {
		cookies []*http.Cookie
		page    int
		want    notice.Device
	}{
		"a fitter": {y.as(doors.Fitter), 200, notice.Device{Label: "Phone"}},
		"an owner": {y.as(doors.Owner), 403, notice.Device{Label: "Phone"}},
		"a guest":  {guest, 403, notice.Device{Label: "Tidewater Kitchen: Phone", Pass: link.ID}},
	} {
		for _, path := range []string{"", "/test", "/again", "/drop", "/remove"} {
			method := "POST"
			if path == "" {
				method = "GET"
			}
			if a := y.ask(method, sentPath+path, "way=mail%2Fowner", c.cookies); (a.StatusCode == 403) != (c.page == 403) {
				t.Errorf("%s at %s: %d", name, path, a.StatusCode)
			}
		}
		w.letters.devices = nil
		if a := y.ask("POST", devicePath, form, c.cookies); a.StatusCode != 204 || len(w.letters.devices) != 1 {
			t.Errorf("%s: %d, %v", name, a.StatusCode, w.letters.devices)
		} else if d := w.letters.devices[0]; d.Label != c.want.Label || d.Pass != c.want.Pass || string(d.Subscription) != `{"endpoint":"https://push.example.net/1"}` {
			t.Errorf("%s: %+v", name, d)
		}
		if a := y.ask("POST", devicePath+"/end", "endpoint=https%3A%2F%2Fpush.example.net%2F1", c.cookies); a.StatusCode != 204 {
			t.Errorf("%s lets go: %d", name, a.StatusCode)
		}
		if a := y.ask("POST", devicePath, "subscription=nothing", c.cookies); a.StatusCode != 422 {
			t.Errorf("%s with what is no subscription: %d", name, a.StatusCode)
		}
	}
	if a := y.ask("POST", devicePath, form, nil); a.StatusCode != 401 {
		t.Errorf("nobody: %d", a.StatusCode)
	}
	if a := y.ask("POST", devicePath, form, y.as(doors.Owner), "Sec-Fetch-Site", "cross-site"); a.StatusCode != 403 {
		t.Errorf("by another site's page: %d", a.StatusCode)
	}
}

func BenchmarkSentPage(b *testing.B) {
	w := posted(b)
	for range 100 {
		w.letters.waiting = append(w.letters.waiting, w.letters.waiting[0])
		w.letters.dead = append(w.letters.dead, w.letters.dead[0])
	}
	s, err := New(Options{Store: newMemory(), Watch: w, Now: func() time.Time { return sunday }})
	if err != nil {
		b.Fatal(err)
	}
	benchmarkGet(b, s, sentPath)
}
