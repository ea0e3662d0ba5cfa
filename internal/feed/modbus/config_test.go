package modbus

import (
	"context"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/feedtest"
)

// Every example in the document is a configuration that works, and no key of
// the configuration is left out of the document.
func TestDocument(t *testing.T) {
	const file = "feeds-modbus.md"
	feedtest.Examples(t, New, "modbus", file, 3)
	feedtest.Documented(t, file, "url", "speed", "parity", "stop_bits", "unit", "every", "timeout", "counting", "tank", "register", "function", "format", "order", "signal", "scale", "offset", "none", "least", "greatest")
}

func TestNew(t *testing.T) {
	for url, want := range map[string]string{
		"tcp://10.0.0.7":            "10.0.0.7:502",
		"tcp://bay.lan:1502":        "bay.lan:1502",
		"tcp://[::1]":               "[::1]:502",
		"rtu:///dev/ttyUSB0":        "/dev/ttyUSB0 19200 8E1",
		"rtu://COM3":                "COM3 19200 8E1",
		"rtu+tcp://10.0.0.8:4001":   "10.0.0.8:4001",
		"rtu+tcp://[fe80::1]:4001":  "[fe80::1]:4001",
		"rtu:///dev/serial/by-id/x": "/dev/serial/by-id/x 19200 8E1",
	} {
		made, err := New("bay", one(url))
		if err != nil {
			t.Errorf("%s: %v", url, err)
			continue
		}
		f := made.(*Feed)
		if got := f.place.host; f.Name() != "modbus/bay" || got != want && f.place.serial.String() != want {
			t.Errorf("%s: %q, %+v", url, got, f.place)
		}
		if f.every != 5*time.Second || f.timeout != time.Second {
			t.Errorf("every %v, timeout %v", f.every, f.timeout)
		}
	}
	c := one("rtu:///dev/ttyUSB0")
	c.Parity = "none"
	if f, err := New("bay", c); err != nil || f.(*Feed).place.serial.StopBits != 2 {
		t.Errorf("without parity: %+v, %v", f, err)
	}
	for _, k := range []struct {
		counting, function string
		register           int
		address            uint16
		code               byte
	}{
		{"from 0", "input", 0, 0, 4}, {"from 1", "holding", 1, 0, 3}, {"from 30001", "", 30108, 107, 4},
		{"from 40001", "", 40001, 0, 3}, {"from 400001", "holding", 465536, 65535, 3}, {"from 300001", "", 300002, 1, 4},
	} {
		i, key, err := Config{Counting: "from 0"}.item(Read{Tank: "fresh", Counting: k.counting, Function: k.function, Register: k.register}, 247)
		if err != nil || i.address != k.address || i.function != k.code || i.unit != 1 {
			t.Errorf("%+v: %+v, %s %v", k, i, key, err)
		}
	}
}

func TestNewRefuses(t *testing.T) {
	ten := 10.0
	for _, c := range []struct {
		change func(*Config)
		want   string
	}{
		{func(c *Config) { c.URL = "" }, `modbus.bay.url: ""; expected one like "tcp://192.168.0.40:502"`},
		{func(c *Config) { c.URL = "udp://x" }, `modbus.bay.url: "udp"; expected tcp, rtu or rtu+tcp before ://`},
		{func(c *Config) { c.URL = "tcp://x:0" }, "a port of 1 to 65535"},
		{func(c *Config) { c.URL = "tcp://x/y" }, "a host and a port"},
		{func(c *Config) { c.URL = "rtu+tcp://x" }, "has no port"},
		{func(c *Config) { c.Speed = 9600 }, "isn't a serial line here"},
		{func(c *Config) { c.URL, c.Speed = "rtu://COM3", 50 }, "modbus.bay.speed: 50 baud"},
		{func(c *Config) { c.URL, c.Parity = "rtu://COM3", "E" }, `modbus.bay.parity: "E"; expected ["none" "even" "odd"]`},
		{func(c *Config) { c.Every = feed.Duration(time.Millisecond) }, "modbus.bay.every: 1ms; expected 50ms to 1h"},
		{func(c *Config) { c.Timeout = feed.Duration(time.Hour) }, "modbus.bay.timeout: 1h0m0s; expected 10ms to 1m"},
		{func(c *Config) { c.Read = nil }, "modbus.bay.read: there are 0; expected 1 to 1000 tables [[modbus.bay.read]]"},
		{func(c *Config) { c.Unit = 256 }, "the 1. table, unit: 256; expected 1 to 255"},
		{func(c *Config) { c.URL, c.Unit = "rtu://COM3", 248 }, "unit: 248; expected 1 to 247"},
		{func(c *Config) { c.Read[0].Tank = "" }, "tank: is missing"},
		{func(c *Config) { c.Read = append(c.Read, c.Read[0]) }, `the 2. table, tank: "fresh" is there twice`},
		{func(c *Config) { c.Counting = "" }, `counting: ""; say how the device's document numbers its registers`},
		{func(c *Config) { c.Read[0].Register = 65536 }, "register: 65536; expected 0 to 65535, counted from 0"},
		{func(c *Config) { c.Counting = "from 1" }, "register: 0; expected 1 to 65536, counted from 1"},
		{func(c *Config) { c.Counting, c.Read[0].Register = "from 30001", 30001 }, "registers counted from 30001 are of the other kind"},
		{func(c *Config) { c.Read[0].Function = "" }, `function: ""; expected "holding" or "input"`},
		{func(c *Config) { c.Read[0].Format = "float" }, `format: "float" is no format; expected one of ["float32"`},
		{func(c *Config) { c.Read[0].Format = "float32" }, `order: "" is no order of float32; expected one of ["ABCD" "BADC" "CDAB" "DCBA"]`},
		{func(c *Config) { c.Read[0].Order = "ABCD" }, `order: "ABCD" is no order of uint16; expected one of ["AB" "BA"]`},
		{func(c *Config) { c.Read[0].Signal = "amp" }, `signal: "amp"; expected "ohm"`},
		{func(c *Config) { c.Read[0].Least, c.Read[0].Greatest = &ten, &ten }, "greatest: 10 isn't above least, 10"},
	} {
		config := one("tcp://bench")
		c.change(&config)
		if _, err := New("bay", config); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v; want %q", err, c.want)
		}
	}
	c := one("tcp://bench")
	c.Read[0].Tank = "unknown"
	f, err := New("bay", c)
	if err != nil {
		t.Fatal(err)
	}
	s := &feedtest.Tape{}
	if err := f.Run(context.Background(), s, s); err == nil || !strings.Contains(err.Error(), `modbus/bay: no tank "unknown" is watched; write its table [tank.unknown]`) {
		t.Error(err)
	}
}
