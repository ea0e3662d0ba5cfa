package meter

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gaugewright/internal/curve"
)

// The kinds of meter, as they stand in [Setup.Kind].
const (
	SCPIOverTCP     = "scpi-tcp"     // SCPI over a raw network socket
	SCPIOverSerial  = "scpi-serial"  // SCPI over a serial line
	LinesOverTCP    = "lines-tcp"    // a number per line from a network socket, such as a serial server's
	LinesOverSerial = "lines-serial" // a number per line from a serial line
)

// Kinds lists every kind of meter.
var Kinds = []string{SCPIOverTCP, SCPIOverSerial, LinesOverTCP, LinesOverSerial}

// The ways to ask, as they stand in [Setup.Ask].
const (
	Measure = "measure" // MEAS:RES? and the like, which sets the meter and reads it in one; the default
	Read    = "read"    // the meter is set once by CONF:RES and the like, then asked READ?: quicker on many
)

// Setup is what has to be known of a meter to talk to it. Its zero fields mean
// what most meters want.
type Setup struct {
	Name     string       `json:"name,omitempty"` // what people call it
	Kind     string       `json:"kind"`           // one of Kinds
	Address  string       `json:"address"`        // host or host:port (5025 if SCPI names none); or a serial port
	Baud     int          `json:"baud,omitempty"` // of a serial line; 0 is 9600
	DataBits int          `json:"data_bits,omitempty"`
	Parity   string       `json:"parity,omitempty"` // "none", "even", "odd", "mark" or "space"; "" is none
	StopBits int          `json:"stop_bits,omitempty"`
	Ask      string       `json:"ask,omitempty"`      // Measure or Read; "" is Measure; SCPI alone
	Signal   curve.Signal `json:"-"`                  // what the bench wants; in JSON "signal", by its column's name
	EveryMS  int          `json:"every_ms,omitempty"` // pace in milliseconds, 50 to 5000; 0 is 200
}

// Limits and defaults of a setup: common practice, no source.
const (
	usualPort            = "5025" // of SCPI over a raw socket
	usualBaud            = 9600
	leastBaud, mostBaud  = 110, 4_000_000
	usualPace            = 200
	leastPace, mostPace  = 50, 5000
	longestName, longest = 60, 255
)

var parities = []string{"none", "even", "odd", "mark", "space"}

// Check says in a sentence what is wrong with the setup, and where; nil if a
// connection may be tried.
func (s Setup) Check() error {
	switch {
	case utf8.RuneCountInString(s.Name) > longestName || strings.ContainsFunc(s.Name, unicode.IsControl) || !utf8.ValidString(s.Name):
		return fmt.Errorf("name of the meter: expected one line of at most %d characters", longestName)
	case !slices.Contains(Kinds, s.Kind):
		return fmt.Errorf("kind of meter: found %.40q; expected one of %s", s.Kind, strings.Join(Kinds, ", "))
	case !slices.Contains(curve.Signals, s.Signal):
		return fmt.Errorf("signal: found number %d; expected ohms, volts, milliamps or a share of the supply", int(s.Signal))
	case s.Signal == curve.Ratio && s.scpi():
		return fmt.Errorf("signal: a meter that is asked by SCPI gives ohms, volts or milliamps, not a share of the supply; measure volts on a steady supply")
	case s.EveryMS != 0 && (s.EveryMS < leastPace || s.EveryMS > mostPace):
		return fmt.Errorf("pace: found %d ms; expected %d to %d, or 0 for %d", s.EveryMS, leastPace, mostPace, usualPace)
	case s.Ask != "" && s.Ask != Measure && s.Ask != Read:
		return fmt.Errorf("way of asking: found %.40q; expected %q or %q", s.Ask, Measure, Read)
	}
	if s.serial() {
		return s.checkSerial()
	}
	return s.checkTCP()
}

func (s Setup) checkSerial() error {
	switch {
	case s.Address == "" || len(s.Address) > longest || strings.ContainsFunc(s.Address, unicode.IsControl):
		return fmt.Errorf("serial port: found %.40q; expected its name, such as /dev/ttyUSB0 or COM3", s.Address)
	case s.Baud != 0 && (s.Baud < leastBaud || s.Baud > mostBaud):
		return fmt.Errorf("baud rate: found %d; expected %d to %d, or 0 for %d", s.Baud, leastBaud, mostBaud, usualBaud)
	case s.DataBits != 0 && s.DataBits != 7 && s.DataBits != 8:
		return fmt.Errorf("data bits: found %d; expected 7 or 8", s.DataBits)
	case s.Parity != "" && !slices.Contains(parities, s.Parity):
		return fmt.Errorf("parity: found %.40q; expected one of %s", s.Parity, strings.Join(parities, ", "))
	case s.StopBits < 0 || s.StopBits > 2:
		return fmt.Errorf("stop bits: found %d; expected 1 or 2", s.StopBits)
	}
	return nil
}

func (s Setup) checkTCP() error {
	sample := "192.168.0.7:" + usualPort
	if len(s.Address) > longest || strings.ContainsFunc(s.Address, func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) || r == '/' }) {
		return fmt.Errorf("address: found %.60q; expected a host and a port, such as %s", s.Address, sample)
	}
	host, port, err := net.SplitHostPort(s.endpoint())
	switch n, bad := strconv.Atoi(port); {
	case err != nil || host == "":
		return fmt.Errorf("address: found %.60q; expected a host and a port, such as %s", s.Address, sample)
	case port == "":
		return fmt.Errorf("address: %.60q names no port; a device that sends lines has no usual one, so write it behind a colon", s.Address)
	case bad != nil || n < 1 || n > 65535:
		return fmt.Errorf("address: found port %.20q; expected a number from 1 to 65535", port)
	}
	return nil
}

// endpoint is the address with its port: the usual one of SCPI where none is
// named, and an empty one for lines.
func (s Setup) endpoint() string {
	if s.serial() {
		return s.Address
	}
	if _, _, err := net.SplitHostPort(s.Address); err == nil {
		return s.Address
	}
	host := s.Address
	switch bare := strings.TrimSuffix(strings.TrimPrefix(host, "["), "]"); {
	case net.ParseIP(bare) != nil:
		host = bare
	case strings.ContainsAny(host, ":[]"):
		return host // SplitHostPort says what is wrong with it
	}
	if host == "" {
		return ""
	}
	if s.scpi() {
		return net.JoinHostPort(host, usualPort)
	}
	return net.JoinHostPort(host, "")
}

func (s Setup) scpi() bool   { return s.Kind == SCPIOverTCP || s.Kind == SCPIOverSerial }
func (s Setup) serial() bool { return s.Kind == SCPIOverSerial || s.Kind == LinesOverSerial }

func (s Setup) pace() time.Duration {
	if s.EveryMS == 0 {
		return usualPace * time.Millisecond
	}
	return time.Duration(s.EveryMS) * time.Millisecond
}

// who names the meter at the head of a sentence.
func (s Setup) who() string {
	if s.Name != "" {
		return "The meter " + s.Name + " at " + s.endpoint()
	}
	return "The meter at " + s.endpoint()
}

// plainSetup has the fields of a Setup and none of its methods.
type plainSetup Setup

// MarshalJSON writes the setup, with the signal as the name of its column:
// "ohm", "volt", "milliamp" or "of_supply_pct".
func (s Setup) MarshalJSON() ([]byte, error) {
	if !slices.Contains(curve.Signals, s.Signal) {
		return nil, fmt.Errorf("signal: number %d is none", int(s.Signal))
	}
	return json.Marshal(struct {
		plainSetup
		Signal string `json:"signal"`
	}{plainSetup(s), s.Signal.Column()})
}

// UnmarshalJSON reads what MarshalJSON writes; no signal is ohms. Unknown
// fields are refused by their name. It doesn't do what Check does.
func (s *Setup) UnmarshalJSON(text []byte) error {
	var in struct {
		plainSetup
		Signal string `json:"signal"`
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&in); err != nil {
		return fmt.Errorf("setup of a meter: %w", err)
	}
	var names []string
	for _, signal := range curve.Signals {
		if names = append(names, signal.Column()); in.Signal == signal.Column() || in.Signal == "" {
			*s = Setup(in.plainSetup)
			s.Signal = signal
			return nil
		}
	}
	return fmt.Errorf("setup of a meter: signal %.40q; expected one of %s", in.Signal, strings.Join(names, ", "))
}
