package can

import (
	"strings"
	"testing"

	"gaugewright/internal/feed/feedtest"
	"github.com/BurntSushi/toml"
)

func config(t testing.TB, text string) Config {
	t.Helper()
	return feedtest.Decode[Config](t, text)
}

const boat = `interface = "can0"
[[read]]
tank = "fresh"
pgn = 127505
instance = 0
fluid = "water"
capacity = "120L"
[[read]]
tank = "grey"
pgn = 127505
instance = 0
fluid = 2
[[read]]
tank = "diesel"
spn = 96
source = 0x23
[[read]]
tank = "spare"
spn = 38
`

func TestNew(t *testing.T) {
	if f, err := New("can/boat", config(t, boat)); err != nil || f.Name() != "can/boat" {
		t.Errorf("%v, %v", f, err)
	}
	const level = "\n[[read]]\ntank = \"fresh\"\n"
	for text, want := range map[string]string{
		"":                                   `can/boat: neither interface nor log; expected interface = "can0"`,
		`interface = "can0"`:                 "no level to read; expected a table of read",
		`interface = "can0"` + "\nspeed = 1": "speed and begins are for a log",
		`log = "a.log"` + "\nspeed = -1":     "speed = -1; expected 1",
		`log = "a.log"` + "\nspeed = nan":    "speed = NaN; expected 1",
		`interface = "can0"` + "\n[[read]]\nspn = 96":                                           "read 1: no tank",
		`interface = "can0"` + level:                                                            "read 1: pgn = 0; expected 127505",
		`interface = "can0"` + level + "pgn = 65276":                                            "pgn = 65276; expected 127505",
		`interface = "can0"` + level + "spn = 97":                                               "spn = 97; expected 96",
		`interface = "can0"` + level + "spn = 96\npgn = 127505":                                 "pgn = 127505 with spn = 96",
		`interface = "can0"` + level + "spn = 96\ninstance = 0":                                 "take them out",
		`interface = "can0"` + level + "spn = 96\nsource = 254":                                 "source = 254; expected",
		`interface = "can0"` + level + "pgn = 127505\nfluid = 'water'":                          "instance is left out",
		`interface = "can0"` + level + "pgn = 127505\nfluid = 'water'\ninstance = 14":           "too high; expected 0 to 13",
		`interface = "can0"` + level + "pgn = 127505\ninstance = 0":                             "fluid is left out",
		`interface = "can0"` + level + "spn = 96\n[[read]]\ntank = 'b'\nspn = 96":               "read 2: tank b has a level that is tank fresh's already",
		`interface = "can0"` + level + "spn = 96\nsource = 1" + level + "spn = 96":              "read 2: tank fresh has a level",
		`interface = "can0"` + level + "pgn = 127505\ninstance = 0\nfluid = 0\ncapacity = '12'": "capacity: ",
		`interface = "can0"` + level + "pgn = 127505\ninstance = 0\nfluid = 0\ncapacity = '0L'": "expected one above 0",
	} {
		if _, err := New("can/boat", config(t, text)); err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "can/boat: ") {
			t.Errorf("%s\n%v; expected %q", text, err, want)
		}
	}
	var c Config
	if _, err := toml.Decode("[[read]]\nfluid = 'lpg'", &c); err == nil || !strings.Contains(err.Error(), "expected one of fuel, water") {
		t.Error(err)
	}
}

func TestUnknownTank(t *testing.T) {
	for _, text := range []string{boat, strings.Replace(boat, "interface", "log", 1)} {
		f, err := New("can/boat", config(t, text))
		if err != nil {
			t.Fatal(err)
		}
		s := &feedtest.Tape{Tanks: []string{"fresh", "grey", "diesel"}}
		if err := f.Run(t.Context(), s, s); err == nil || !strings.Contains(err.Error(), "there is no tank spare") {
			t.Error(err)
		}
	}
}

// The configurations in the documentation are read, key by key, and can run.
func TestDocumentation(t *testing.T) {
	feedtest.Examples(t, New, "can", "feeds-can.md", 3)
}
