package lines

import (
	"context"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/feed/feedtest"
)

// Every example in the document is a configuration that works, and no key of
// the configuration is left out of the document.
func TestDocument(t *testing.T) {
	const file = "feeds-lines.md"
	text := feedtest.Page(t, file)
	list := regexp.MustCompile("(?s)```toml\n(.*?)```\n\n```\n(.*?)```").FindAllStringSubmatch(text, -1)
	if len(list) < 4 || len(list) != strings.Count(text, "```toml") {
		t.Fatalf("%d examples that are followed by lines, of %d", len(list), strings.Count(text, "```toml"))
	}
	for _, e := range list {
		feeds := feedtest.Feeds[Config](t, "lines", e[1])
		if len(feeds) != 1 {
			t.Errorf("%d feeds in\n%s", len(feeds), e[1])
		}
		for name, c := range feeds {
			f, err := New(name, c)
			if err != nil {
				t.Errorf("%v in\n%s", err, e[1])
				continue
			}
			for line := range strings.Lines(e[2]) {
				got := f.(*Feed).layout.read([]byte(line), nil, func(why string) { t.Errorf("%q: %s", line, why) })
				if len(got) == 0 && !strings.HasPrefix(line, "#") {
					t.Errorf("%q says nothing", line)
				}
			}
		}
	}
	feedtest.Documented(t, file, "address", "speed", "data_bits", "parity", "stop_bits", "tank", "columns", "keys", "separator", "between", "signal", "decimal_comma")
}

func TestNew(t *testing.T) {
	for address, want := range map[string]string{"/dev/ttyUSB0": "/dev/ttyUSB0 9600 8N1", "COM3": "COM3 9600 8N1", "tcp://[::1]:4001": "[::1]:4001"} {
		f, err := New("bench", Config{Address: address, Tank: "fresh"})
		if err != nil || f.Name() != "lines/bench" || f.(*Feed).host != want && f.(*Feed).line.String() != want {
			t.Errorf("%s: %+v, %v", address, f, err)
		}
	}
	keys := func(k ...string) map[string]string {
		m := map[string]string{}
		for _, k := range k {
			m[k] = "fresh" + k
		}
		return m
	}
	for _, c := range []struct {
		config Config
		want   string
	}{
		{Config{Tank: "fresh"}, `lines.bench.address: ""; expected a serial port like`},
		{Config{Tank: "fresh", Address: "udp://x:1"}, `lines.bench.address: "udp://x:1"; expected a serial port`},
		{Config{Tank: "fresh", Address: "tcp://x"}, "expected a host and a port of 1 to 65535"},
		{Config{Tank: "fresh", Address: "tcp://x:1", Speed: 9600}, "isn't a serial line here"},
		{Config{Tank: "fresh", Address: "COM3", Speed: 96}, "lines.bench.speed: 96 baud"},
		{Config{Address: "COM3"}, "lines.bench.tank: expected one of tank, columns and keys"},
		{Config{Address: "COM3", Tank: "fresh", Columns: []string{"fresh"}}, "expected one of tank, columns and keys"},
		{Config{Address: "COM3", Tank: "fresh", Signal: "mA"}, `lines.bench.signal: "mA"; expected "ohm"`},
		{Config{Address: "COM3", Columns: []string{"fresh", "fresh"}}, `lines.bench.columns: the 2. column: the tank "fresh" is there twice`},
		{Config{Address: "COM3", Columns: []string{"fresh", ""}}, "the 2. column: a tank's name is empty"},
		{Config{Address: "COM3", Columns: []string{"-"}}, "no column belongs to a tank"},
		{Config{Address: "COM3", Columns: []string{"fresh"}, Separator: "::"}, `lines.bench.separator: "::"; expected one character`},
		{Config{Address: "COM3", Columns: []string{"fresh"}, Separator: ".", DecimalComma: true}, `lines.bench.separator: "."`},
		{Config{Address: "COM3", Columns: []string{"fresh"}, Separator: ",", DecimalComma: true}, `lines.bench.separator: ","; expected one character that is no part of a number`},
		{Config{Address: "COM3", Keys: keys("R", "a=b")}, `lines.bench.keys: "a=b" can't be a name in a line`},
		{Config{Address: "COM3", Keys: keys(" R")}, `lines.bench.keys: " R" can't be`},
	} {
		if _, err := New("bench", c.config); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v; want %q", err, c.want)
		}
	}
	f, err := New("bench", Config{Address: "COM3", Columns: []string{"-", "unknown"}})
	if err != nil {
		t.Fatal(err)
	}
	s := &feedtest.Tape{}
	if err := f.Run(context.Background(), s, s); err == nil || !strings.Contains(err.Error(), `lines/bench: no tank "unknown" is watched; write its table [tank.unknown]`) {
		t.Error(err)
	}
}
