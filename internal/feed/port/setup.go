package port

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"go.bug.st/serial"
)

// Setup is how a serial line is set. Data bits, parity and stop bits are those
// of each character.
type Setup struct {
	Path     string // "/dev/ttyUSB0", "COM3"
	Speed    int    // in baud, 110 to 4,000,000
	DataBits int    // 7 or 8
	Parity   string // "none", "even" or "odd"
	StopBits int    // 1 or 2
}

// Parities are the words for a parity.
var Parities = []string{"none", "even", "odd"}

// Check says which key of a configuration is wrong and what was expected. The
// keys are speed, data_bits, parity and stop_bits.
func (s Setup) Check() (key string, err error) {
	switch {
	case s.Path == "":
		return "", fmt.Errorf("the name of the port is missing; expected one like /dev/ttyUSB0 or COM3")
	case s.Speed < 110 || s.Speed > 4_000_000:
		return "speed", fmt.Errorf("%d baud; expected 110 to 4000000, mostly 9600 or 19200", s.Speed)
	case s.DataBits != 7 && s.DataBits != 8:
		return "data_bits", fmt.Errorf("%d; expected 7 or 8", s.DataBits)
	case !slices.Contains(Parities, s.Parity):
		return "parity", fmt.Errorf("%q; expected %q", s.Parity, Parities)
	case s.StopBits != 1 && s.StopBits != 2:
		return "stop_bits", fmt.Errorf("%d; expected 1 or 2", s.StopBits)
	}
	return "", nil
}

// String gives a setup as it is usually written: "/dev/ttyUSB0 9600 8N1".
func (s Setup) String() string {
	letter := "N"
	if s.Parity != "" {
		letter = strings.ToUpper(s.Parity[:1])
	}
	return fmt.Sprintf("%s %d %d%s%d", s.Path, s.Speed, s.DataBits, letter, s.StopBits)
}

// Character is how long one character takes on the line: a start bit, the data
// bits, the parity bit if there is one, and the stop bits.
func (s Setup) Character() time.Duration {
	bits := 1 + s.DataBits + s.StopBits
	if s.Parity != "none" {
		bits++
	}
	return time.Duration(bits) * time.Second / time.Duration(s.Speed)
}

func (s Setup) mode() *serial.Mode {
	m := &serial.Mode{BaudRate: s.Speed, DataBits: s.DataBits}
	switch s.Parity {
	case "even":
		m.Parity = serial.EvenParity
	case "odd":
		m.Parity = serial.OddParity
	}
	if s.StopBits == 2 {
		m.StopBits = serial.TwoStopBits
	}
	return m
}
