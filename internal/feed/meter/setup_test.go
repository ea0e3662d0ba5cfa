package meter

import (
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/internal/curve"
)

func TestCheck(t *testing.T) {
	good := Setup{Kind: SCPIOverTCP, Address: "192.168.0.7"}
	for _, test := range []struct {
		name   string
		change func(*Setup)
		say    string // "" for a good one
	}{
		{"host alone", func(s *Setup) {}, ""},
		{"host and port", func(s *Setup) { s.Address = "bench-1:5555" }, ""},
		{"version 6", func(s *Setup) { s.Address = "fe80::1" }, ""},
		{"version 6 with port", func(s *Setup) { s.Address = "[::1]:5025" }, ""},
		{"lines with port", func(s *Setup) { s.Kind, s.Address = LinesOverTCP, "10.0.0.2:4001" }, ""},
		{"a share by lines", func(s *Setup) { s.Kind, s.Address, s.Signal = LinesOverSerial, "COM3", curve.Ratio }, ""},
		{"serial", func(s *Setup) {
			*s = Setup{Kind: SCPIOverSerial, Address: "/dev/ttyUSB0", Baud: 19200, DataBits: 7, Parity: "even", StopBits: 2}
		}, ""},
		{"no kind", func(s *Setup) { s.Kind = "" }, `kind of meter: found ""; expected one of scpi-tcp, scpi-serial`},
		{"a name of two lines", func(s *Setup) { s.Name = "a\nb" }, "name of the meter: expected one line"},
		{"a signal of none", func(s *Setup) { s.Signal = 9 }, "signal: found number 9"},
		{"a share by SCPI", func(s *Setup) { s.Signal = curve.Ratio }, "not a share of the supply"},
		{"too fast", func(s *Setup) { s.EveryMS = 1 }, "pace: found 1 ms; expected 50 to 5000"},
		{"a way of asking", func(s *Setup) { s.Ask = "beg" }, `way of asking: found "beg"`},
		{"no address", func(s *Setup) { s.Address = "" }, "address: found"},
		{"a page's address", func(s *Setup) { s.Address = "http://bench-1" }, "expected a host and a port"},
		{"port of letters", func(s *Setup) { s.Address = "bench:scpi" }, `address: found port "scpi"`},
		{"port too high", func(s *Setup) { s.Address = "bench:70000" }, `address: found port "70000"`},
		{"lines without port", func(s *Setup) { s.Kind = LinesOverTCP }, "names no port"},
		{"serial without name", func(s *Setup) { s.Kind, s.Address = LinesOverSerial, "" }, "serial port: found"},
		{"baud", func(s *Setup) { s.Kind, s.Baud = LinesOverSerial, 5 }, "baud rate: found 5"},
		{"data bits", func(s *Setup) { s.Kind, s.DataBits = LinesOverSerial, 9 }, "data bits: found 9"},
		{"parity", func(s *Setup) { s.Kind, s.Parity = LinesOverSerial, "E" }, `parity: found "E"`},
		{"stop bits", func(s *Setup) { s.Kind, s.StopBits = LinesOverSerial, 3 }, "stop bits: found 3"},
	} {
		s := good
		test.change(&s)
		err := s.Check()
		if test.say == "" && err != nil {
			t.Errorf("%s: %v", test.name, err)
		}
		if test.say != "" && (err == nil || !strings.Contains(err.Error(), test.say)) {
			t.Errorf("%s: %v; expected %q", test.name, err, test.say)
		}
	}
}

// 5025 is the usual port of SCPI over a raw socket: common practice, no source.
func TestEndpoint(t *testing.T) {
	for _, test := range []struct{ kind, address, want string }{
		{SCPIOverTCP, "192.168.0.7", "192.168.0.7:5025"},
		{SCPIOverTCP, "bench-1:5555", "bench-1:5555"},
		{SCPIOverTCP, "::1", "[::1]:5025"},
		{SCPIOverTCP, "[::1]", "[::1]:5025"},
		{SCPIOverTCP, "[::1]:9", "[::1]:9"},
		{LinesOverTCP, "bench-1:4001", "bench-1:4001"},
		{LinesOverSerial, "COM3", "COM3"},
	} {
		if got := (Setup{Kind: test.kind, Address: test.address}).endpoint(); got != test.want {
			t.Errorf("%s, %s: %s, want %s", test.kind, test.address, got, test.want)
		}
	}
}

func TestSetupInJSON(t *testing.T) {
	for _, s := range []Setup{
		{Kind: SCPIOverTCP, Address: "192.168.0.7"},
		{Name: "Left bench", Kind: LinesOverSerial, Address: "COM3", Baud: 4800, DataBits: 7, Parity: "odd", StopBits: 2, Signal: curve.Milliamps, EveryMS: 500},
		{Kind: SCPIOverSerial, Address: "/dev/ttyUSB0", Ask: Read, Signal: curve.Volts},
	} {
		text, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		if want := `"signal":"` + s.Signal.Column() + `"`; !strings.Contains(string(text), want) {
			t.Errorf("%s; expected %s in it", text, want)
		}
		var back Setup
		if err := json.Unmarshal(text, &back); err != nil || back != s {
			t.Errorf("%s reads as %+v, %v", text, back, err)
		}
	}
	for text, say := range map[string]string{
		`{"kind":"scpi-tcp","adress":"x"}`:    `unknown field "adress"`,
		`{"kind":"scpi-tcp","signal":"ohms"}`: "expected one of ohm, volt, milliamp, of_supply_pct",
		`{"kind":5}`:                          "setup of a meter",
	} {
		var s Setup
		if err := json.Unmarshal([]byte(text), &s); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%s: %v; expected %q", text, err, say)
		}
	}
}
