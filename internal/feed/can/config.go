package can

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/quantity"
)

// Config says which bus is listened to, or which recording of one is played, and
// which levels on it are of which tank.
type Config struct {
	// Interface is the network interface of the bus: "can0". Beside a log it is
	// the only one whose lines are read; left out there, all are.
	Interface string `toml:"interface"`
	// Log is a file that candump has recorded.
	Log string `toml:"log"`
	// Speed is how many times as fast as it was recorded a log is played: 1 as it
	// was, 10 ten times as fast; left out or 0: all at once. A gap is waited for a
	// minute at the most.
	Speed float64 `toml:"speed"`
	// Begins is when the log's first line was recorded, for logs whose times
	// count from its beginning or come from a clock that was never set. Left out:
	// the log's times are right.
	Begins time.Time `toml:"begins"`
	// Read says which levels are of which tank.
	Read []Read `toml:"read"`
}

// Read is one level on the bus and the tank that it is of: either pgn 127505 with
// instance and fluid, or spn 96 or 38.
type Read struct {
	Tank string `toml:"tank"` // by its name in the watch
	// PGN is 127505, NMEA 2000 fluid level; beside spn it may be 65276 or left out.
	PGN      uint32 `toml:"pgn"`
	Instance *uint8 `toml:"instance"` // 0 to 13
	Fluid    *Fluid `toml:"fluid"`    // "fuel", "water", "grey water", "live well", "oil", "black water", "gasoline", or its number
	// SPN is 96 for the first fuel level of SAE J1939, 38 for the second.
	SPN uint32 `toml:"spn"`
	// Source is the address of the device on the bus, 0 to 253; left out: any.
	Source *uint8 `toml:"source"`
	// Capacity, "150L", is compared with the one that an NMEA 2000 device tells;
	// left out: it isn't.
	Capacity string `toml:"capacity"`
}

// mostAddress is the highest address of a device; 254 and 255 are none.
const mostAddress = 253

// New makes the feed. The error says which key has what, and what was expected.
func New(name string, c Config) (feed.Feed, error) {
	switch {
	case c.Interface == "" && c.Log == "":
		return nil, fmt.Errorf(`%s: neither interface nor log; expected interface = "can0", or log = with the file of a recording`, name)
	case c.Log == "" && (c.Speed != 0 || !c.Begins.IsZero()):
		return nil, fmt.Errorf("%s: speed and begins are for a log, and there is none; take them out, or name a log", name)
	case !(c.Speed >= 0) || math.IsInf(c.Speed, 0):
		return nil, fmt.Errorf("%s: speed = %g; expected 1 for as it was recorded, 10 for ten times as fast, or 0 for all at once", name, c.Speed)
	case len(c.Read) == 0:
		return nil, fmt.Errorf("%s: no level to read; expected a table of read for each, with a tank and pgn or spn", name)
	}
	l := newListener(name)
	for n, r := range c.Read {
		if err := l.add(r); err != nil {
			return nil, fmt.Errorf("%s: read %d: %w", name, n+1, err)
		}
	}
	if c.Log != "" {
		return &player{name: name, config: c, listener: l}, nil
	}
	return &live{name: name, device: c.Interface, listener: l, open: open}, nil
}

// add makes one level to be read known to the listener.
func (l *listener) add(r Read) error {
	if r.Tank == "" {
		return fmt.Errorf("no tank; expected the name of one")
	}
	if r.Source != nil && *r.Source > mostAddress {
		return fmt.Errorf("source = %d; expected the address of a device, 0 to %d", *r.Source, mostAddress)
	}
	w := &wanted{tank: r.Tank, address: r.Source}
	if r.Capacity != "" {
		var err error
		if w.capacity, err = quantity.ParseCubicMetre(r.Capacity); err != nil {
			return fmt.Errorf("capacity: %w", err)
		}
		if w.capacity <= 0 {
			return fmt.Errorf(`capacity = %q; expected one above 0, like "150L"`, r.Capacity)
		}
	}
	to, err := l.place(r)
	if err != nil {
		return err
	}
	for _, other := range *to {
		if other.address == nil || w.address == nil || *other.address == *w.address {
			return fmt.Errorf("tank %s has a level that is tank %s's already; give each its own instance, fluid, spn or source", r.Tank, other.tank)
		}
	}
	*to = append(*to, w)
	return nil
}

// place is where a level's readers are kept.
func (l *listener) place(r Read) (*[]*wanted, error) {
	switch {
	case r.SPN != 0:
		if r.PGN != 0 && r.PGN != DashDisplayPGN {
			return nil, fmt.Errorf("pgn = %d with spn = %d; expected pgn = %d, or spn alone", r.PGN, r.SPN, DashDisplayPGN)
		}
		if r.Instance != nil || r.Fluid != nil || r.Capacity != "" {
			return nil, fmt.Errorf("instance, fluid or capacity with spn = %d; they are of pgn = %d, take them out", r.SPN, FluidLevelPGN)
		}
		switch r.SPN {
		case FuelLevel1:
			return &l.fuel[0], nil
		case FuelLevel2:
			return &l.fuel[1], nil
		}
		return nil, fmt.Errorf("spn = %d; expected %d for the first fuel level, or %d for the second", r.SPN, FuelLevel1, FuelLevel2)
	case r.PGN != FluidLevelPGN:
		return nil, fmt.Errorf("pgn = %d; expected %d with instance and fluid, or spn = %d or %d", r.PGN, FluidLevelPGN, FuelLevel1, FuelLevel2)
	case r.Instance == nil || *r.Instance > mostFluid:
		return nil, fmt.Errorf("instance is left out or too high; expected 0 to %d, as it is set on the device", mostFluid)
	case r.Fluid == nil || *r.Fluid > mostFluid:
		return nil, fmt.Errorf(`fluid is left out; expected what the device is set to, like fluid = "water"`)
	}
	return &l.fluid[*r.Instance|uint8(*r.Fluid)<<4], nil
}
