package api

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/doors"
	"gaugewright/internal/flow"
	"gaugewright/internal/history"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// noon is when the tests are.
var noon = time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)

// stall is a made-up watch of a travelling food stall: fresh water that is well,
// gas with a broken wire, and diesel of which nothing came.
type stall struct {
	mu      sync.Mutex
	fresh   float64
	changed chan struct{}
	failing string
	begun   bool // the feeds have
	err     error
	posted  []string
	asked   []history.Stretch
	board   *board // nil: there are no alarms
}

// Alarms is the board where there is one.
func (s *stall) Alarms() alarm.Board {
	if s.board == nil {
		return nil
	}
	return s.board
}

func newStall() *stall { return &stall{fresh: 0.5184, changed: make(chan struct{}), begun: true} }

// moves sets the level of the fresh water.
func (s *stall) moves(to float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.fresh = to
	close(s.changed)
	s.changed = make(chan struct{})
}

func (s *stall) Tanks() []TankAbout {
	return []TankAbout{
		{Name: "fresh", Label: "Fresh water", Contents: job.Water, Sentence: "100 % is the whole tank.", Capacity: 0.0999, Job: "TK-2026-014", JobTank: "Fresh"},
		{Name: "lpg", Contents: job.LPG, Permitted: 0.8, Cautions: []string{"Never fill beyond the permitted fill."}},
		{Name: "diesel"},
	}
}

func (s *stall) Levels(now time.Time) []watch.Level {
	s.mu.Lock()
	defer s.mu.Unlock()
	nan := math.NaN()
	levels := []watch.Level{
		{Tank: "fresh", Source: "mqtt", Time: now.Add(-4 * time.Second), Ohm: 118.4, MarkPct: 52.3, Mark: 52.3, Shown: true, Share: quantity.Share(s.fresh), U: 0.0087, Low: 0.501, High: 0.536,
			Motion: watch.Standing, Age: 4 * time.Second, Stale: 5 * time.Minute},
		{Tank: "lpg", Source: "mqtt", Time: now.Add(-time.Minute), Ohm: quantity.Ohm(nan), MarkPct: nan, Status: watch.Failure, Fault: watch.BrokenWire, Since: now.Add(-time.Hour),
			Last: watch.LastGood{Time: now.Add(-time.Hour), Share: 0.61, U: 0.01}, Age: time.Minute, Stale: 5 * time.Minute},
		{Tank: "diesel", Stale: 5 * time.Minute},
	}
	for i := range levels {
		l := &levels[i]
		for _, v := range []*float64{&l.Volume.Mid, &l.Volume.U, &l.Mass.Mid, &l.Mass.U, &l.Last.Volume.Mid, &l.Last.Volume.U, &l.Last.Mass.Mid, &l.Last.Mass.U} {
			*v = nan // not known
		}
	}
	levels[0].Volume.Mid, levels[0].Volume.U = 0.05179, 0.00087
	return levels
}

func (s *stall) Counts() []watch.Counts {
	return []watch.Counts{{Taken: 86400, Spikes: 3}, {Open: 7}, {}}
}

func (s *stall) Feeds() []FeedState {
	f := []FeedState{
		{Name: "mqtt", Up: true, Where: "127.0.0.1:1883", Since: noon, Taken: 86400, Refused: []Tally{{"an unknown field", 2}}},
		{Name: "modbus/bay", Where: "127.0.0.1:502", Since: noon, Why: "connection refused", Again: noon.Add(time.Minute)},
	}
	if !s.begun {
		f[1] = FeedState{Name: "modbus/bay"}
	}
	return f
}

func (s *stall) Changed() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.changed
}

func (s *stall) Standing() WatchState {
	st := WatchState{Started: noon.Add(-time.Hour), Waiting: 40, Kept: 86400, Bytes: 1 << 20, Lost: []Tally{{"readings that waited for the disk", 5}}, Notes: []string{"The watch before this one was cut off."}}
	st.Commits.Add(3 * time.Millisecond)
	st.Commits.Add(20 * time.Second)
	if s.failing != "" {
		st.Failing, st.Since = s.failing, noon
	}
	return st
}

func (s *stall) Lines(context.Context, string) ([]history.Line, error) {
	return []history.Line{{Tank: "fresh", Source: "mqtt", Signal: watch.Ohm}, {Tank: "fresh", Source: "bay", Signal: watch.Percent}}, s.err
}

func (s *stall) Readings(_ context.Context, l history.Line, x history.Stretch) ([]history.Bucket, error) {
	s.asked = append(s.asked, x)
	return []history.Bucket{{From: x.From, N: 60, Min: 117.9, Mean: 118.4, Max: 118.9}, {From: x.From.Add(time.Minute)}}, s.err
}

func (s *stall) Events(context.Context, string, time.Time, time.Time, int) ([]history.Event, error) {
	return []history.Event{
		{Time: noon, Tank: "lpg", Kind: history.FaultBegan, Fault: watch.BrokenWire, Status: watch.Failure, Level: 0.61},
		{Time: noon.Add(-time.Hour), Kind: history.ClockMoved, Text: "This machine's clock was set back by 3 h.", Level: -1},
		{Time: noon.Add(-2 * time.Hour), Tank: "fresh", Kind: history.FaultEnded, Fault: watch.Jump, Level: -1},
	}, s.err
}

func (s *stall) Since(context.Context, string) (time.Time, error) {
	return noon.AddDate(0, -1, 0), s.err
}

func (s *stall) Post(_ context.Context, tank string, payload []byte) (int, error) {
	if s.failing != "" {
		return 0, &Refusal{Status: http.StatusServiceUnavailable, Detail: "The readings couldn't be kept.", Again: 5 * time.Second}
	}
	s.posted = append(s.posted, tank+" "+string(payload))
	return 1, nil
}

// serving serves a stall to programs.
func serving(t *testing.T, s *stall, change ...func(*Options)) string {
	t.Helper()
	o := Options{Watch: past{s}, Take: s, Now: func() time.Time { return noon }, Zone: time.UTC, Version: "1.2.3", StreamEvery: time.Millisecond}
	for _, c := range change {
		c(&o)
	}
	a, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(a.Before(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "a page") })))
	t.Cleanup(server.Close)
	return server.URL
}

// past gives the stall's past, whose Levels is another than a watch's.
type past struct{ *stall }

func (p past) Past() history.Past { return pastLevels(p) }

type pastLevels struct{ *stall }

func (p pastLevels) Levels(_ context.Context, _ string, x history.Stretch) ([]history.LevelBucket, error) {
	p.asked = append(p.asked, x)
	return []history.LevelBucket{{From: x.From, N: 60, Min: 0.514, Mean: 0.5184, Max: 0.521, Low: 0.501, High: 0.536}, {From: x.From.Add(time.Minute), Without: 60, Worst: watch.Failure}}, p.err
}

// reply is what came back.
type reply struct {
	status int
	head   http.Header
	text   string
	json   map[string]any
}

func ask(t *testing.T, method, url, body string, head ...string) reply {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(head); i += 2 {
		r.Header.Set(head[i], head[i+1])
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	out := reply{status: res.StatusCode, head: res.Header, text: string(text)}
	if strings.Contains(res.Header.Get("Content-Type"), "json") {
		if err := json.Unmarshal(text, &out.json); err != nil {
			t.Fatalf("%s: %v in %s", url, err, text)
		}
	}
	return out
}

var errDisk = errors.New("/var/lib/secret: input/output error")

// guest is someone who came by a link that shows the fresh water alone.
func guest(*http.Request) (Access, error) {
	return Access{Visitor: doors.Visitor{Role: doors.Guest, Name: "the owner's phone", Tanks: []string{"fresh"}}}, nil
}

// serve serves a handler.
func serve(t *testing.T, h http.Handler) string {
	t.Helper()
	server := httptest.NewServer(h)
	t.Cleanup(server.Close)
	return server.URL
}

// many is a watch of more tanks than anyone has.
type many struct{ nothing }

func (many) Tanks() []TankAbout {
	list := make([]TankAbout, mostTanks+100)
	for i := range list {
		list[i].Name = "tank" + strconv.Itoa(i)
	}
	return list
}

func (many) Levels(time.Time) []watch.Level { return make([]watch.Level, mostTanks+100) }

// board is the alarms of the stall: gas that leaks, and fresh water that is well.
type board struct {
	mu   sync.Mutex
	tank *alarm.Tank
}

func newBoard() *board {
	b := &board{tank: alarm.NewTank(alarm.Config{Label: "Gas", Rules: []alarm.Rule{alarm.Default("lpg", alarm.Leak), alarm.Default("fresh", alarm.Low)}}, nil)}
	b.tank.Flows(noon, []flow.Event{{Kind: flow.Leak, Start: noon.Add(-time.Hour), Found: noon, PerHour: 0.01, P: 0.99}})
	return b
}

func (b *board) Alarms(context.Context) ([]alarm.Standing, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	list := b.tank.Standings()
	alarm.Sort(list)
	return list, nil
}

func (b *board) Moves(context.Context, string, int) ([]alarm.Move, error) {
	return []alarm.Move{{ID: "lpg/leak", Time: noon, From: alarm.Normal, To: alarm.Unacknowledged, What: "Gas leaks 1 % an hour."},
		{ID: "fresh/low", Time: noon, From: alarm.Normal, To: alarm.Shelved, By: "Robin"}}, nil
}

func (b *board) do(_ []alarm.Move, err error) error { return err }

func (b *board) Acknowledge(_ context.Context, id, by string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.do(b.tank.Acknowledge(id, by, noon))
}

func (b *board) Shelve(_ context.Context, id, by string, until time.Time) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.do(b.tank.Shelve(id, by, noon, until))
}

func (b *board) Service(_ context.Context, id, by string, in bool) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.do(b.tank.Service(id, by, noon, in))
}
