package lines

import (
	"cmp"
	"errors"
	"fmt"
	"net"
	"strconv"
	"strings"

	"gaugewright/internal/feed/port"
	"gaugewright/internal/watch"
)

// Config is one device that sends lines. One of Tank, Columns and Keys says
// whose the numbers are.
type Config struct {
	// Address is the name of a serial port ("/dev/ttyUSB0", "COM3"), or
	// "tcp://host:port".
	Address string `toml:"address"`

	// How a serial line is set: baud, 7 or 8, "none", "even" or "odd", 1 or 2.
	// Left out, it is 9600, 8, none, 1.
	Speed    int    `toml:"speed"`
	DataBits int    `toml:"data_bits"`
	Parity   string `toml:"parity"`
	StopBits int    `toml:"stop_bits"`

	Tank    string            `toml:"tank"`    // one number a line: "118.4"
	Columns []string          `toml:"columns"` // several, from the left: "118.4,77"; "-" is none of ours
	Keys    map[string]string `toml:"keys"`    // names in the line, and the tanks that they stand for: "R=118.4"

	// Separator is between columns or pairs: "," if left out, ";" with a decimal
	// comma; " " is any number of blanks and tabs.
	Separator string `toml:"separator"`
	// Between is between a name and its number, "=" if left out. It may be the
	// same as the separator: "fresh,118.4".
	Between string `toml:"between"`

	Signal       string `toml:"signal"` // "ohm", "volt", "count" or "level_pct"; "ohm" if left out
	DecimalComma bool   `toml:"decimal_comma"`
}

const mostColumns = 100

var signals = map[string]watch.Signal{"ohm": watch.Ohm, "volt": watch.Volt, "count": watch.Count, "level_pct": watch.Percent}

// place gives the host and port of a network connection, or else the serial
// line.
func (c Config) place() (host string, line port.Setup, key string, err error) {
	if rest, ok := strings.CutPrefix(c.Address, "tcp://"); ok {
		name, number, err := net.SplitHostPort(rest)
		n, bad := strconv.Atoi(number)
		switch {
		case err != nil || bad != nil || name == "" || n < 1 || n > 65535:
			return "", line, "address", fmt.Errorf(`%q; expected a host and a port of 1 to 65535, like "tcp://192.168.0.9:4001"`, c.Address)
		case c.Speed != 0 || c.DataBits != 0 || c.Parity != "" || c.StopBits != 0:
			return "", line, "address", fmt.Errorf("%q isn't a serial line here; speed, data_bits, parity and stop_bits are set at the serial server", c.Address)
		}
		return rest, line, "", nil
	}
	if c.Address == "" || strings.Contains(c.Address, "://") {
		return "", line, "address", fmt.Errorf(`%q; expected a serial port like "/dev/ttyUSB0" or "COM3", or "tcp://host:port"`, c.Address)
	}
	line = port.Setup{Path: c.Address, Speed: cmp.Or(c.Speed, 9600), DataBits: cmp.Or(c.DataBits, 8), Parity: cmp.Or(c.Parity, "none"), StopBits: cmp.Or(c.StopBits, 1)}
	key, err = line.Check()
	return "", line, key, err
}

// layout checks how lines are to be read.
func (c Config) layout() (l layout, key string, err error) {
	l = layout{tank: c.Tank, columns: c.Columns, keys: c.Keys, comma: c.DecimalComma}
	ways := 0
	for _, set := range []bool{c.Tank != "", len(c.Columns) > 0, len(c.Keys) > 0} {
		if set {
			ways++
		}
	}
	if ways != 1 {
		return l, "tank", errors.New("expected one of tank, columns and keys, to say whose the numbers are")
	}
	signal, known := signals[cmp.Or(c.Signal, "ohm")]
	if !known {
		return l, "signal", fmt.Errorf(`%q; expected "ohm", "volt", "count" or "level_pct"`, c.Signal)
	}
	l.signal = signal

	l.separator, l.between = c.Separator, cmp.Or(c.Between, "=")
	if l.separator == "" {
		l.separator = ","
		if c.DecimalComma {
			l.separator = ";"
		}
	}
	for key, s := range map[string]string{"separator": l.separator, "between": l.between} {
		r := []rune(s)
		switch {
		case len(r) != 1 || strings.ContainsAny(s, "0123456789+-.#\r\n%") || s == "," && c.DecimalComma:
			return l, key, fmt.Errorf("%q; expected one character that is no part of a number, such as , ; | = or a blank", s)
		}
	}
	tanks := map[string]bool{}
	add := func(tank string) error {
		switch {
		case tank == "":
			return errors.New("a tank's name is empty")
		case tanks[tank]:
			return fmt.Errorf("the tank %q is there twice; a line says one thing of each", tank)
		}
		tanks[tank] = true
		return nil
	}
	if len(c.Columns) > mostColumns || len(c.Keys) > mostColumns {
		return l, "columns", fmt.Errorf("there are more than %d", mostColumns)
	}
	for n, tank := range c.Columns {
		if tank == "-" {
			continue
		}
		if err := add(tank); err != nil {
			return l, "columns", fmt.Errorf("the %d. column: %w", n+1, err)
		}
	}
	if len(c.Columns) > 0 && len(tanks) == 0 {
		return l, "columns", errors.New("no column belongs to a tank")
	}
	for name, tank := range c.Keys {
		if name != strings.TrimSpace(name) || name == "" || strings.Contains(name, l.separator) || strings.Contains(name, l.between) {
			return l, "keys", fmt.Errorf("%q can't be a name in a line: it is empty, or has blanks around it, or a separator in it", name)
		}
		if err := add(tank); err != nil {
			return l, "keys", err
		}
	}
	return l, "", nil
}

// tanks are the names of all the tanks that lines are read for.
func (l *layout) tanks() []string {
	var list []string
	if l.tank != "" {
		list = append(list, l.tank)
	}
	for _, c := range l.columns {
		if c != "-" {
			list = append(list, c)
		}
	}
	for _, t := range l.keys {
		list = append(list, t)
	}
	return list
}
