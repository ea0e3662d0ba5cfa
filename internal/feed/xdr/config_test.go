package xdr

import (
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed/feedtest"
)

var noon = time.Date(2026, 5, 3, 12, 0, 0, 0, time.UTC)

func config(t testing.TB, text string) Config {
	t.Helper()
	return feedtest.Decode[Config](t, text)
}

// boat is what the tests listen for, without where it comes from.
const boat = `
[[read]]
tank = "fresh"
name = "FreshWater#0"
type = "E"
[[read]]
tank = "grey"
name = "Grey"
capacity = "50L"
[[read]]
tank = "diesel"
name = "FUEL"
type = "G"
signal = "ohm"
[[read]]
tank = "spare"
name = "Spare"
`

var tanks = []string{"fresh", "grey", "diesel", "spare"}

func receiving(t testing.TB, text string) *receiver {
	t.Helper()
	if !strings.Contains(text, "tcp") && !strings.Contains(text, "udp") && !strings.Contains(text, "serial") {
		text = "tcp = '127.0.0.1:10110'\n" + text
	}
	f, err := New("xdr/boat", config(t, text))
	if err != nil {
		t.Fatal(err)
	}
	return f.(*receiver)
}

func TestNew(t *testing.T) {
	if f, err := New("xdr/boat", config(t, "serial = '/dev/ttyUSB0'\nspeed = 38400\n"+boat)); err != nil || f.Name() != "xdr/boat" {
		t.Errorf("%v, %v", f, err)
	}
	const tcp = "tcp = '10.0.0.1:10110'\n"
	const level = "[[read]]\ntank = 'fresh'\nname = 'a'\n"
	for text, want := range map[string]string{
		"":                                                    "0 of tcp, udp and serial are there; expected one, like",
		tcp + "udp = ':1'":                                    "2 of tcp, udp and serial",
		tcp + "speed = 4800\n" + level:                        "speed = 4800 without serial",
		"serial = 'a'\nspeed = -1\n" + level:                  "speed: -1 baud; expected 110 to",
		"tcp = ':10110'\n" + level:                            `tcp = ":10110"; expected an address with a port, like "192.168.0.10:10110"`,
		"tcp = 'boat'\n" + level:                              "expected an address with a port",
		"udp = '10110'\n" + level:                             `udp = "10110"; expected an address with a port, like ":10110"`,
		tcp + "checksum = 'no'\n" + level:                     `checksum = "no"; expected "needed" or "optional"`,
		tcp + "pitch = 'Roll'\n" + level:                      "pitch and roll are both Roll",
		tcp:                                                   "no transducer to read",
		tcp + "[[read]]\nname = 'a'":                          "read 1: no tank",
		tcp + "[[read]]\ntank = 'a'":                          "read 1: no name",
		tcp + level + "type = 'C'":                            `type = "C"; expected E, V, G or U`,
		tcp + level + "type = 'EV'":                           `type = "EV"; expected`,
		tcp + level + "type = 'G'":                            `no signal for type = "G"`,
		tcp + level + "signal = 'amps'":                       `signal = "amps"; expected "ohm"`,
		tcp + level + "type = 'E'\nsignal = 'ohm'":            "take it out",
		tcp + level + "capacity = '12'":                       "capacity: ",
		tcp + level + "capacity = '0L'":                       "expected one above 0",
		tcp + level + strings.Replace(level, "'a'", "'A'", 1): "read 2: the transducer A is tank fresh's already",
	} {
		if _, err := New("xdr/boat", config(t, text)); err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "xdr/boat: ") {
			t.Errorf("%s\n%v; expected %q", text, err, want)
		}
	}
	s := &feedtest.Tape{Tanks: tanks[1:]}
	if err := receiving(t, boat).Run(t.Context(), s, s); err == nil || !strings.Contains(err.Error(), "there is no tank fresh") {
		t.Error(err)
	}
}

// The configurations in the documentation are read, key by key, and can run.
func TestDocumentation(t *testing.T) {
	feedtest.Examples(t, New, "xdr", "feeds-xdr.md", 3)
}
