package xdr

import (
	"cmp"
	"fmt"
	"net"
	"slices"
	"strings"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/port"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Config says where sentences come from and which transducers are of which tank.
type Config struct {
	// TCP is the address of a multiplexer or gateway that is connected to:
	// "192.168.0.10:10110". One of tcp, udp and serial has to be there.
	TCP string `toml:"tcp"`
	// UDP is where datagrams are listened for: ":10110" on all of this machine's
	// addresses, "127.0.0.1:10110" on one, "239.2.1.1:10110" in a multicast group.
	UDP string `toml:"udp"`
	// Serial is the name of a serial port: "/dev/ttyUSB0", "COM3".
	Serial string `toml:"serial"`
	Speed  int    `toml:"speed"` // of a serial port, in baud; left out: 4800
	// Checksum is "needed", or "optional" for sources that send none; a wrong one
	// is always refused. Left out: needed.
	Checksum string `toml:"checksum"`
	// Clock says that the source's own time is believed, as it stands in ZDA, RMC
	// and tag blocks. Left out: readings bear the time of their arrival.
	Clock bool `toml:"clock"`
	// Pitch and Roll name the angles of the vehicle: positive nose up, and
	// positive starboard down. Left out: PITCH and ROLL.
	Pitch string `toml:"pitch"`
	Roll  string `toml:"roll"`
	// Read says which transducers are of which tank.
	Read []Read `toml:"read"`
}

// Read is one transducer and the tank that it is of.
type Read struct {
	Tank string `toml:"tank"` // by its name in the watch
	Name string `toml:"name"` // the transducer's, in capitals or not
	// Type is E for a fluid level, V for a volume, G for a generic value, U for a
	// voltage; left out: any of them.
	Type string `toml:"type"`
	// Signal is what a generic value is: "ohm", "volt", "count" or "level_pct".
	Signal string `toml:"signal"`
	// Capacity is the whole of the tank, "150L": a volume is made a level by it.
	Capacity string `toml:"capacity"`
}

const (
	needed   = "needed"
	optional = "optional"

	usualSpeed = 4800 // and 38400 for the fast form (NMEA 0183-HS, from memory)

	readable = "EVGU" // the types that may be a tank's
)

// signals are the words for what a generic value is.
var signals = map[string]watch.Signal{"ohm": watch.Ohm, "volt": watch.Volt, "count": watch.Count, "level_pct": watch.Percent}

// New makes the feed. The error says which key has what, and what was expected.
func New(name string, c Config) (feed.Feed, error) {
	l := &listener{name: name, bare: c.Checksum == optional, believes: c.Clock,
		pitch: angle{name: cmp.Or(c.Pitch, "PITCH")}, roll: angle{name: cmp.Or(c.Roll, "ROLL")}, strangers: map[string]string{}}
	r := &receiver{name: name, listener: l}
	if err := r.from(c); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	switch {
	case c.Checksum != "" && c.Checksum != needed && c.Checksum != optional:
		return nil, fmt.Errorf("%s: checksum = %q; expected %q or %q", name, c.Checksum, needed, optional)
	case strings.EqualFold(l.pitch.name, l.roll.name):
		return nil, fmt.Errorf("%s: pitch and roll are both %s; expected two names", name, l.pitch.name)
	case len(c.Read) == 0:
		return nil, fmt.Errorf("%s: no transducer to read; expected a table of read for each, with a tank and a name", name)
	}
	for n, read := range c.Read {
		if err := l.add(read); err != nil {
			return nil, fmt.Errorf("%s: read %d: %w", name, n+1, err)
		}
	}
	return r, nil
}

// from sets where sentences come from.
func (r *receiver) from(c Config) error {
	given := slices.DeleteFunc([]string{c.TCP, c.UDP, c.Serial}, func(s string) bool { return s == "" })
	switch {
	case len(given) != 1:
		return fmt.Errorf(`%d of tcp, udp and serial are there; expected one, like tcp = "192.168.0.10:10110"`, len(given))
	case c.Serial == "" && c.Speed != 0:
		return fmt.Errorf("speed = %d without serial; take it out", c.Speed)
	}
	if c.Serial != "" {
		// 8 data bits, no parity, one stop bit: NMEA 0183, from memory.
		setup := port.Setup{Path: c.Serial, Speed: cmp.Or(c.Speed, usualSpeed), DataBits: 8, Parity: "none", StopBits: 1}
		if key, err := setup.Check(); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
		r.where, r.open = c.Serial, serialPort(setup)
		return nil
	}
	r.where = given[0]
	host, number, err := net.SplitHostPort(r.where)
	if err != nil || number == "" || c.TCP != "" && host == "" {
		key, like := "tcp", "192.168.0.10:10110"
		if c.UDP != "" {
			key, like = "udp", ":10110"
		}
		return fmt.Errorf("%s = %q; expected an address with a port, like %q", key, r.where, like)
	}
	if r.open = dialled(c.TCP); c.UDP != "" {
		r.open, r.datagrams = datagrams(c.UDP), true
	}
	return nil
}

// add makes one transducer known to the listener.
func (l *listener) add(r Read) error {
	w := &wanted{tank: r.Tank, name: strings.TrimSpace(r.Name), kind: strings.ToUpper(r.Type), generic: -1}
	switch {
	case r.Tank == "":
		return fmt.Errorf("no tank; expected the name of one")
	case w.name == "":
		return fmt.Errorf("no name; expected the transducer's, as it stands last in its group")
	case len(w.kind) > 1 || !strings.Contains(readable, w.kind):
		return fmt.Errorf("type = %q; expected E, V, G or U", r.Type)
	}
	if r.Signal != "" {
		s, ok := signals[r.Signal]
		switch {
		case !ok:
			return fmt.Errorf(`signal = %q; expected "ohm", "volt", "count" or "level_pct"`, r.Signal)
		case w.kind != "" && w.kind != "G":
			return fmt.Errorf("signal with type = %q; only a generic value needs it, take it out", r.Type)
		}
		w.generic = int(s)
	} else if w.kind == "G" {
		return fmt.Errorf(`no signal for type = "G"; expected what the value is: "ohm", "volt", "count" or "level_pct"`)
	}
	if r.Capacity != "" {
		v, err := quantity.ParseCubicMetre(r.Capacity)
		if err != nil {
			return fmt.Errorf("capacity: %w", err)
		}
		if w.capacity = v; v <= 0 {
			return fmt.Errorf(`capacity = %q; expected one above 0, like "150L"`, r.Capacity)
		}
	}
	for _, other := range l.wanted {
		if strings.EqualFold(other.name, w.name) && (other.kind == "" || w.kind == "" || other.kind == w.kind) {
			return fmt.Errorf("the transducer %s is tank %s's already; give each its own name or type", w.name, other.tank)
		}
	}
	l.wanted = append(l.wanted, w)
	return nil
}
