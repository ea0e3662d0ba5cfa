package station

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/paho"

	"gaugewright/internal/doors"
	"gaugewright/internal/language"
	"gaugewright/internal/notice"
	"gaugewright/internal/notice/hook"
)

// quickly is a pace for tests.
var quickly = noticePace{
	policy: notice.Policy{First: 20 * time.Millisecond, Most: 50 * time.Millisecond, Back: 40 * time.Millisecond, GiveUp: 300 * time.Millisecond, Unreached: time.Hour, Tries: 3, Longest: time.Second},
	rate:   notice.Rate{Burst: 1000, Every: time.Millisecond}, look: 50 * time.Millisecond, least: 10 * time.Millisecond, try: 2 * time.Second,
}

// house is a server that notices are posted to, which can be away, or refuse.
type house struct {
	mu    sync.Mutex
	posts []hook.Post
	code  int
	at    string
	srv   *httptest.Server
}

func newHouse(t *testing.T) *house {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	h := &house{at: l.Addr().String(), code: http.StatusNoContent}
	h.serve(l)
	t.Cleanup(func() { h.srv.Close() })
	return h
}

func (h *house) serve(l net.Listener) {
	h.srv = httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h.mu.Lock()
		defer h.mu.Unlock()
		if h.code == http.StatusNoContent {
			var p hook.Post
			if err := json.NewDecoder(r.Body).Decode(&p); err != nil {
				h.code = http.StatusBadRequest
			}
			h.posts = append(h.posts, p)
		}
		_, _ = io.Copy(io.Discard, r.Body)
		w.WriteHeader(h.code)
	}))
	h.srv.Listener.Close()
	h.srv.Listener = l
	h.srv.Start()
}

func (h *house) away() { h.srv.Close() }

func (h *house) back(t *testing.T) {
	t.Helper()
	l, err := net.Listen("tcp", h.at)
	if err != nil {
		t.Fatal(err)
	}
	h.serve(l)
}

func (h *house) answers(code int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.code = code
}

func (h *house) got() []hook.Post {
	h.mu.Lock()
	defer h.mu.Unlock()
	return append([]hook.Post(nil), h.posts...)
}

// telling starts a station with ways and the pace of tests.
func telling(t *testing.T, more string, o Options) (*Station, string) {
	t.Helper()
	secret := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(secret, []byte("an old tin kettle on the hob\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	path := write(t, "commit_every = \"1ms\"\n"+small+"[mqtt]\nlisten = \"127.0.0.1:0\"\n"+strings.ReplaceAll(more, "SECRET", secret))
	return toldFrom(t, path, o), path
}

func toldFrom(t *testing.T, path string, o Options) *Station {
	t.Helper()
	return toldAt(t, path, o, quickly)
}

func toldAt(t *testing.T, path string, o Options, pace noticePace) *Station {
	t.Helper()
	c, err := Read(path, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	o.Zone = time.UTC
	s, err := New(t.Context(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	s.posting.pace = pace
	for _, d := range s.posting.senders {
		d.gate = notice.NewGate(pace.rate)
	}
	if err := s.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	return s
}

func eventually(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); !ok(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("after 10 s it isn't so: " + what)
		}
	}
}

// spoken gives the languages in the program, each read already: under the race
// detector that takes some of the seconds within which a notice is to arrive.
func spoken(t *testing.T) language.Books {
	t.Helper()
	books, err := read()
	if err != nil {
		t.Fatal(err)
	}
	return books
}

var read = sync.OnceValues(func() (language.Books, error) {
	books, err := language.BuiltIn()
	for _, b := range books {
		b.Say("fresh water")
	}
	return books, err
})

func low(id string, at time.Time) notice.Notice {
	return notice.Notice{ID: id, Time: at, Alarm: "fresh/low", Kind: "low", Priority: notice.Critical, Tank: "fresh", Label: "Fresh water", Title: "Fresh water is low", Text: "Fresh water is at 12 %, below 15 %."}
}

func hookTo(h *house) string {
	return "[hook.house]\nurl = \"http://" + h.at + "/\"\nsecret_file = \"SECRET\"\n"
}

// A notice that comes while nobody is reached waits on the disk, also when the watch is
// stopped meanwhile, and is delivered once somebody is, with its own time.
func TestNoticesAfterAnOutage(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	h.away()
	s, path := telling(t, hookTo(h), Options{})
	at := time.Now().Add(-2 * time.Hour).Truncate(time.Second).UTC()
	for _, id := range []string{"a", "b", "a"} {
		if err := s.tell(t.Context(), low(id, at)); err != nil {
			t.Fatal(err)
		}
	}
	p := s.Notices()
	state := func(p notice.Post) notice.WayState {
		t.Helper()
		list, err := p.Ways(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range list {
			if w.Name == "hook/house" {
				return w
			}
		}
		t.Fatalf("there is no such way: %+v", list)
		return notice.WayState{}
	}
	eventually(t, "a try failed", func() bool { return state(p).Why != "" })
	if st := state(p); st.Waiting != 2 || st.Dead != 0 || !strings.Contains(st.Why, "isn't reached") {
		t.Errorf("the way stands as %+v", st)
	}
	if err := p.Test(t.Context(), "hook/house"); !notice.FailureOf(err).Unreached {
		t.Errorf("the test says %v", err)
	}
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	h.back(t)
	s = toldFrom(t, path, Options{})
	eventually(t, "both are delivered", func() bool { return len(h.got()) == 2 })
	for _, got := range h.got() {
		if !got.Time.Equal(at) || got.Late == "" || !strings.Contains(got.Text, "That was on "+notice.Moment(at, time.UTC)) {
			t.Errorf("it says %+v", got)
		}
	}
	if err := s.tell(t.Context(), low("a", at)); err != nil { // the alarm tells it again under the same name
		t.Fatal(err)
	}
	if err := s.Notices().Test(t.Context(), "hook/house"); err != nil {
		t.Error(err)
	}
	if err := s.Notices().Test(t.Context(), "hook/none"); !errors.Is(err, notice.ErrNoWay) {
		t.Errorf("a way that isn't there: %v", err)
	}
	eventually(t, "nothing waits", func() bool { return state(s.Notices()).Waiting == 0 })
	// However long what people wrote is, it is told.
	long := low("long", at)
	long.Title, long.Text = strings.Repeat("🪣", 300), strings.Repeat("🪣", 3000)
	if err := s.tell(t.Context(), long); err != nil {
		t.Error(err)
	}
	eventually(t, "it is delivered", func() bool { return len(h.got()) == 4 })
	if got := h.got(); len(got) != 4 || got[2].Kind != notice.KindTest {
		t.Errorf("the house got %d posts; expected 2 and a test", len(got))
	}
}

// A notice that isn't taken for long is given up, and says so: on the page, in the
// history and, as it is critical, by the other way. It can be sent again.
func TestNoticesGivenUp(t *testing.T) {
	t.Parallel()
	h, other := newHouse(t), newHouse(t)
	h.answers(http.StatusServiceUnavailable)
	s, _ := telling(t, hookTo(h)+strings.Replace(hookTo(other), "house", "other", 1)+"only = [\"critical\"]\n", Options{})
	if err := s.tell(t.Context(), low("a", time.Now())); err != nil {
		t.Fatal(err)
	}
	p := s.Notices()
	dead := func() []notice.Waiting {
		list, err := p.Dead(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	eventually(t, "it is given up", func() bool { return len(dead()) == 1 })
	if w := dead()[0]; w.Way != "hook/house" || w.Tries < 3 || !strings.Contains(w.Why, "503") {
		t.Errorf("%+v", w)
	}
	eventually(t, "the other way has both", func() bool { return len(other.got()) == 2 })
	if got := other.got()[1]; got.Kind != notice.KindUndelivered || !strings.HasPrefix(got.Text, "By hook/house nobody could be told of this: it was given up after ") {
		t.Errorf("the other way has %+v", got)
	}
	if notes := s.Standing().Notes; len(notes) == 0 || !strings.HasPrefix(notes[len(notes)-1], "A critical notice by hook/house couldn't be delivered") {
		t.Errorf("the notes are %q", notes)
	}
	h.answers(http.StatusNoContent)
	if err := p.Again(t.Context(), "a", "hook/house"); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it is delivered", func() bool { return len(h.got()) == 1 && len(dead()) == 0 })
	// What isn't critical goes by the one way alone.
	n := low("b", time.Now())
	n.Priority = notice.Low
	if err := s.tell(t.Context(), n); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it is delivered", func() bool { return len(h.got()) == 2 })
	h.answers(http.StatusNotFound)
	if err := s.tell(t.Context(), low("c", time.Now())); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it is given up at once", func() bool { return len(dead()) == 1 })
	if err := p.Drop(t.Context(), "c", "hook/house"); err != nil || len(dead()) != 0 {
		t.Error(err)
	}
	eventually(t, "the other way has all three", func() bool { return len(other.got()) >= 3 })
}

// Whoever refuses for a while gets what an alarm did in its order: that it was raised, and
// then that it is over.
func TestNoticesInOrder(t *testing.T) {
	t.Parallel()
	h := newHouse(t)
	h.answers(http.StatusServiceUnavailable)
	secret := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(secret, []byte("an old tin kettle on the hob\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	pace := quickly
	pace.policy.First, pace.policy.Most, pace.policy.GiveUp = time.Second, time.Second, time.Hour
	s := toldAt(t, write(t, "commit_every = \"1ms\"\n"+small+"[mqtt]\nlisten = \"127.0.0.1:0\"\n"+strings.ReplaceAll(hookTo(h), "SECRET", secret)), Options{}, pace)
	at := time.Now()
	raised, over := low("fresh/low@1/raised/0", at), low("fresh/low@2/over/0", at.Add(time.Second))
	over.State = "normal"
	if err := s.tell(t.Context(), raised); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the first was tried", func() bool { return mustWays(t, s.Notices())[0].Why != "" })
	h.answers(http.StatusNoContent)
	if err := s.tell(t.Context(), over); err != nil {
		t.Fatal(err)
	}
	eventually(t, "both are delivered", func() bool { return len(h.got()) == 2 })
	if got := h.got(); got[0].ID != raised.ID || got[1].ID != over.ID {
		t.Errorf("delivered are %s and then %s; expected the other order", got[0].ID, got[1].ID)
	}
}

// A server that never answers holds nobody else up.
func TestNoticesSlowWay(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0") // takes connections, and says nothing
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	h := newHouse(t)
	_, port, _ := net.SplitHostPort(l.Addr().String())
	s, _ := telling(t, hookTo(h)+"[mail.owner]\nhost = \"127.0.0.1\"\ntls = \"none\"\nport = "+port+"\nfrom = \"watch@tidewater.example\"\nto = [\"owner@tidewater.example\"]\n", Options{})
	begun := time.Now()
	for i := range 5 {
		if err := s.tell(t.Context(), low(fmt.Sprint(i), begun)); err != nil {
			t.Fatal(err)
		}
	}
	eventually(t, "the other way has all", func() bool { return len(h.got()) == 5 })
	if d := time.Since(begun); d > time.Second {
		t.Errorf("it took %v", d)
	}
}

// A broker hands a notice on to those who subscribed to it.
func TestNoticesByMQTT(t *testing.T) {
	t.Parallel()
	s, _ := telling(t, "", Options{})
	conn, err := net.Dial("tcp", s.brokerAt(t))
	if err != nil {
		t.Fatal(err)
	}
	got := make(chan *paho.Publish, 10)
	c := paho.NewClient(paho.ClientConfig{Conn: conn, OnPublishReceived: []func(paho.PublishReceived) (bool, error){func(p paho.PublishReceived) (bool, error) { got <- p.Packet; return true, nil }}})
	if _, err := c.Connect(t.Context(), &paho.Connect{ClientID: "reader", KeepAlive: 30, CleanStart: true}); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Subscribe(t.Context(), &paho.Subscribe{Subscriptions: []paho.SubscribeOptions{{Topic: "gaugewright/notice", QoS: 1}}}); err != nil {
		t.Fatal(err)
	}
	if err := s.tell(t.Context(), low("a", time.Now())); err != nil {
		t.Fatal(err)
	}
	select {
	case m := <-got:
		var p hook.Post
		if err := json.Unmarshal(m.Payload, &p); err != nil || p.ID != "a" || m.QoS != 1 || m.Retain {
			t.Errorf("%s, %v", m.Payload, err)
		}
	case <-time.After(5 * time.Second):
		t.Fatal("nothing came")
	}
	if err := s.Notices().Test(t.Context(), "mqtt"); err != nil {
		t.Error(err)
	}
}

// A device is told of the tanks of its link in its own language, until the link is
// revoked or the push service has forgotten it.
func TestNoticesByPush(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	got, code := 0, http.StatusCreated
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		defer mu.Unlock()
		if code == http.StatusCreated {
			got++
		}
		w.WriteHeader(code)
	}))
	defer service.Close()
	count := func() int { mu.Lock(); defer mu.Unlock(); return got }
	books := spoken(t)
	s, path := telling(t, "[push]\ncontact = \"mailto:watch@tidewater.example\"\nprivate = true\n", Options{Languages: books})
	p, ctx := s.Notices(), t.Context()
	device := func(n int, pass string) notice.Device {
		return notice.Device{Label: "Phone of R. Moor", Language: "de", Pass: pass,
			Subscription: []byte(fmt.Sprintf(`{"endpoint":"%s/%d","keys":{"p256dh":"BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4","auth":"BTBZMqHH6r4Tts7J_aSIgg"}}`, service.URL, n))}
	}
	if p.Key() == "" {
		t.Fatal("there is no key")
	}
	link, _, err := s.Passes().Make(ctx, doors.Pass{Kind: doors.Link, Name: "R. Moor", Tanks: []string{"grey"}}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	all, err := p.Subscribe(ctx, device(1, ""))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Subscribe(ctx, device(2, link.ID)); err != nil {
		t.Fatal(err)
	}
	if err := s.tell(ctx, low("a", time.Now())); err != nil { // fresh, which the link has not
		t.Fatal(err)
	}
	eventually(t, "one device is told", func() bool { return count() == 1 })
	n := low("b", time.Now())
	n.Tank = "grey"
	if err := s.tell(ctx, n); err != nil {
		t.Fatal(err)
	}
	eventually(t, "both devices are told", func() bool { return count() == 3 })
	eventually(t, "that is written down", func() bool {
		list, err := p.Waiting(ctx)
		return err == nil && len(list) == 0
	})
	key := p.Key()
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	s = toldFrom(t, path, Options{Languages: books})
	if p = s.Notices(); p.Key() != key {
		t.Error("another key after the start: every subscription would be void")
	}
	if err := p.Test(ctx, all); err != nil || count() != 4 {
		t.Errorf("the test says %v; %d came", err, count())
	}
	devices := func() (n int) {
		list, err := p.Ways(ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range list {
			if w.Device {
				n++
			}
		}
		return n
	}
	if devices() != 2 {
		t.Fatalf("%d devices", devices())
	}
	if err := s.store.RevokePass(ctx, link.ID, time.Now()); err != nil {
		t.Fatal(err)
	}
	for _, w := range mustWays(t, p) {
		if w.Device && w.Name != all {
			if err := p.Test(ctx, w.Name); !notice.FailureOf(err).Gone {
				t.Errorf("after its link was revoked: %v", err)
			}
		}
	}
	if devices() != 1 || count() != 4 {
		t.Errorf("%d devices, %d came", devices(), count())
	}
	mu.Lock()
	code = http.StatusGone
	mu.Unlock()
	if err := s.tell(ctx, low("c", time.Now())); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the device that is gone is let go of", func() bool { return devices() == 0 })
	if err := p.Remove(ctx, all); !errors.Is(err, notice.ErrNoWay) {
		t.Errorf("%v", err)
	}
	for n := range mostByLink + 1 {
		if _, err := p.Subscribe(ctx, device(100+n, link.ID)); (err != nil) != (n == mostByLink) {
			t.Errorf("device %d of the link: %v", n+1, err)
		}
	}
	for _, bad := range []string{"{", `{"endpoint":"http://10.0.0.1/"}`} {
		if _, err := p.Subscribe(ctx, notice.Device{Subscription: []byte(bad)}); !errors.Is(err, notice.ErrUnusable) {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

func mustWays(t *testing.T, p notice.Post) []notice.WayState {
	t.Helper()
	list, err := p.Ways(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// What is told is said in the language of who gets it, with their own words left alone.
func TestNoticesInGerman(t *testing.T) {
	t.Parallel()
	books := spoken(t)
	h := newHouse(t)
	s, _ := telling(t, hookTo(h)+"language = \"de\"\n", Options{Languages: books})
	n := low("a", time.Now().Add(-3*time.Hour))
	n.Label, n.Again = "Again and again", 1
	n.Title = "Notices were lost"
	n.Text = "This is a test: nothing is wrong. Whoever reads it knows that notices of the watch arrive here."
	if err := s.tell(t.Context(), n); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it is delivered", func() bool { return len(h.got()) == 1 })
	got := h.got()[0]
	if english := regexp.MustCompile(`(?i)\b(the|was|this|nothing|late|again)\b`); english.MatchString(got.Title + got.Text + got.Late) {
		t.Errorf("it says %q, %q, %q", got.Title, got.Text, got.Late)
	}
	if when := n.Time.UTC().Format(" um 15:04:05 Uhr (UTC+00:00)."); !strings.Contains(got.Text, when) {
		t.Errorf("it says %q; expected %q in it", got.Text, when)
	}
}

// What is wrong with how people are told is said when the watch is started.
func TestNoticesConfig(t *testing.T) {
	t.Parallel()
	for more, say := range map[string]string{
		"[mail.owner]\nhost = \"mail.example.org\"\n": `\[mail\.owner\]: from: "" is no address`,
		"[hook.house]\nurl = \"ftp://x\"\n":           `\[hook\.house\]: url is "ftp://x"`,
		"[push]\n":                                    `\[push\]: contact is ""`,
		"[quiet]\nfrom = \"10 pm\"\nto = \"07:00\"\n": `\[quiet\]: from is "10 pm"; expected a time of day`,
		"[mail.\"a b\"]\n":                            `\[mail\."a b"\]: a name has letters`,
		"[mail.owner]\nhost = \"mail.example.org\"\nfrom = \"a@example.org\"\nto = [\"b@example.org\"]\nonly = [\"urgent\"]\n": `mail/owner: only has "urgent"; expected some of critical, high, medium, low`,
		"[mail.owner]\nhost = \"mail.example.org\"\nfrom = \"a@example.org\"\nto = [\"b@example.org\"]\nlanguage = \"xx\"\n":   `mail/owner: .*xx`,
		"[mail.owner]\nsmtp = \"x\"\n": `there is no key mail\.owner\.smtp`,
	} {
		c, err := Read(write(t, small+more), nil, nil)
		if err == nil {
			err = c.Try()
		}
		if err == nil {
			_, err = New(t.Context(), c, Options{Log: slog.New(slog.DiscardHandler)})
		}
		if err == nil || !regexp.MustCompile(say).MatchString(err.Error()) {
			t.Errorf("%s it says %v, expected %s", more, err, say)
		}
	}
	c, err := Read(write(t, small+"[quiet]\nfrom = \"22:00\"\nto = \"07:30\"\n"), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if q, err := c.quiet(time.UTC); err != nil || q.From != 22*time.Hour || q.To != 7*time.Hour+30*time.Minute {
		t.Errorf("%+v, %v", q, err)
	}
}

// The configuration of docs/notices.md can be used as it stands there.
func TestNoticesSample(t *testing.T) {
	t.Parallel()
	doc, err := os.ReadFile("../../docs/notices.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(doc), "```toml\n")
	sample, _, ended := strings.Cut(rest, "```")
	if !found || !ended {
		t.Fatal("there is no sample")
	}
	path := write(t, small+sample)
	for _, name := range []string{"mail.password", "hook.secret"} {
		if err := os.WriteFile(filepath.Join(filepath.Dir(path), name), []byte("an old tin kettle on the hob\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Read(path, nil, nil)
	if err == nil {
		err = c.Try()
	}
	if err != nil {
		t.Error(err)
	}
	list, err := c.outwards()
	if err != nil || len(list) != 3 || list[1].way.What() != "fitter@example.org" {
		t.Errorf("%v, %v", list, err)
	}
}
