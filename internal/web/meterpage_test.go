package web

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"

	"gaugewright/internal/browser"
	"gaugewright/internal/quantity"
	"gaugewright/internal/sitting"
)

// onBench is a workshop with meters that say what a test lets them.
type onBench struct {
	mu     sync.Mutex
	list   []MeterSeen
	heard  chan struct{}
	tried  MeterSeen
	failed error
}

func newOnBench(names ...string) *onBench {
	b := &onBench{heard: make(chan struct{})}
	for i, n := range names {
		b.list = append(b.list, MeterSeen{Setup: MeterSetup{Name: n, Kind: "scpi-tcp", Address: "127.0.0.1:5025"}, Chosen: i == 0})
	}
	return b
}

// says lets the meter on the bench say something.
func (b *onBench) says(state sitting.State, value quantity.Ohm, spell int64, words string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range b.list {
		if b.list[i].Chosen {
			b.list[i].Last = sitting.Sample{At: sunday, State: state, Value: value, Spell: spell, Words: words}
			b.list[i].Steady = value
		}
	}
	close(b.heard)
	b.heard = make(chan struct{})
}

func (b *onBench) List() []MeterSeen {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]MeterSeen(nil), b.list...)
}

func (b *onBench) Chosen() (MeterSeen, bool) {
	for _, m := range b.List() {
		if m.Chosen {
			return m, true
		}
	}
	return MeterSeen{}, false
}

func (b *onBench) Heard() <-chan struct{} {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.heard
}

func (b *onBench) Keep(_ context.Context, m MeterSetup) error {
	if b.failed != nil {
		return b.failed
	}
	b.mu.Lock()
	b.list = append(b.list, MeterSeen{Setup: m})
	b.mu.Unlock()
	return b.Choose(context.Background(), m.Name)
}

func (b *onBench) Remove(_ context.Context, name string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i, m := range b.list {
		if m.Setup.Name == name {
			b.list = append(b.list[:i:i], b.list[i+1:]...)
			return nil
		}
	}
	return errors.New("there is no such meter")
}

func (b *onBench) Choose(_ context.Context, name string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range b.list {
		b.list[i].Chosen = b.list[i].Setup.Name == name
	}
	return nil
}

func (b *onBench) Try(context.Context, MeterSetup) (MeterSeen, error) { return b.tried, b.failed }
func (b *onBench) Ports() []string                                    { return []string{"/dev/ttyUSB0"} }

func TestMetersPage(t *testing.T) {
	m := newOnBench()
	b := open(t, func(o *Options) { o.Meters = m })
	if _, text := b.get("/meters"); !strings.Contains(text, "No meter: ohms are typed.") || !strings.Contains(text, "/dev/ttyUSB0") {
		t.Errorf("an empty workshop:\n%s", text)
	}
	form := []string{"name", "<b>left</b>", "kind", "scpi-serial", "address", "/dev/ttyUSB0", "baud", "19200", "ask", "read", "gives", "ohm"}
	m.tried = MeterSeen{Identity: "MAKER,MODEL", Last: sitting.Sample{State: sitting.Reading, Value: 36.25}}
	_, text := b.post("/meters/try", form...)
	for _, want := range []string{"It answers as MAKER,MODEL and reads 36.25 Ω.", `value="&lt;b&gt;left&lt;/b&gt;"`, `value="19200"`, `value="read" checked`, `value="scpi-serial" checked`} {
		if !strings.Contains(text, want) {
			t.Errorf("after trying it the page lacks %s", want)
		}
	}
	if len(m.list) != 0 {
		t.Error("trying a meter keeps it")
	}
	b.post("/meters", form...)
	want := MeterSetup{Name: "<b>left</b>", Kind: "scpi-serial", Address: "/dev/ttyUSB0", Baud: 19200, Ask: "read"}
	if got, ok := m.Chosen(); !ok || got.Setup != want {
		t.Errorf("kept %+v; expected %+v", got.Setup, want)
	}
	m.says(sitting.Reading, 36.2, 0, "")
	if _, text := b.get("/meters"); strings.Contains(text, "<b>left") || !strings.Contains(text, `<span id="value-text">36.2</span>`) {
		t.Errorf("a meter that reads:\n%s", text)
	}
	m.says(sitting.Overload, 36.2, 0, "The leads are open.")
	if _, text := b.get("/meters"); strings.Contains(text, "36.2") || !strings.Contains(text, "The leads are open.") {
		t.Errorf("an overload shows a value, or no words:\n%s", text)
	}
	b.post("/meters/choose", "name", "")
	if _, ok := m.Chosen(); ok {
		t.Error("it is still on the bench")
	}
	b.post("/meters/remove", "name", want.Name)
	if len(m.list) != 0 {
		t.Error("it is still on the list")
	}
}

func TestMetersPageRefuses(t *testing.T) {
	m := newOnBench()
	b := open(t, func(o *Options) { o.Meters = m })
	for _, path := range []string{"/meters", "/meters/try"} {
		if _, text := b.post(path, "name", "x", "kind", "scpi-tcp", "address", "bench-1", "baud", "fast"); !strings.Contains(capital(text), "expected bauds, like 9600") || !strings.Contains(text, `value="bench-1"`) {
			t.Errorf("%s with a wrong speed:\n%s", path, text)
		}
	}
	m.failed = errors.New("nothing listens at bench-1:5025; look at its cable")
	if status, text := b.post("/meters", "name", "x", "kind", "scpi-tcp", "address", "bench-1"); status != 422 || !strings.Contains(text, "Nothing listens at bench-1:5025; look at its cable. Nothing was kept.") {
		t.Errorf("a meter that can't be kept: %d\n%s", status, text)
	}
	if status, text := b.post("/meters/remove", "name", "nobody"); status != 422 || !strings.Contains(text, "There is no such meter.") {
		t.Errorf("removing what isn't there: %d\n%s", status, text)
	}
}

// The page follows the meter, and shows no value that isn't one.
func TestMetersPageInBrowser(t *testing.T) {
	m := newOnBench("Left", "Right, with a rather long name of its own so that it has to be broken")
	m.says(sitting.Reading, 36.2, 0, "")
	b := open(t, func(o *Options) { o.Meters = m })
	ctx := browser.Open(t)
	browser.Go(t, ctx, b.url+"/meters")
	see := func(state sitting.State, value quantity.Ohm, words, want string) {
		t.Helper()
		m.says(state, value, 0, words)
		waitText(t, ctx, "#now", want)
	}
	see(sitting.Reading, 41.7, "", "41.7")
	see(sitting.Overload, 41.7, "The leads are open.", "The leads are open.")
	if got := textOf(t, ctx, "#now"); strings.Contains(got, "41.7") {
		t.Errorf("an overload shows %q", got)
	}
	see(sitting.Away, 0, "The meter doesn’t answer.", "The meter doesn’t answer.")
	see(sitting.Reading, 12, "", "12.0")
}
