package modbus

import (
	"cmp"
	"fmt"
	"math"
	"net"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/port"
	"gaugewright/internal/watch"
)

// Config is one device, or one line with several units on it.
type Config struct {
	// URL is "tcp://host:502", "rtu:///dev/ttyUSB0", "rtu://COM3", or
	// "rtu+tcp://host:port" for RTU frames through a serial server. A host without
	// a port has 502.
	URL string `toml:"url"`

	// How a serial line is set: baud, "none", "even" or "odd", 1 or 2. Left out,
	// it is 19200 and even, as the specification of the serial line has it, and 1
	// stop bit, or 2 where there is no parity.
	Speed    int    `toml:"speed"`
	Parity   string `toml:"parity"`
	StopBits int    `toml:"stop_bits"`

	Unit     int           `toml:"unit"`     // 1 to 247, over TCP to 255; 1 if left out
	Every    feed.Duration `toml:"every"`    // 50ms to 1h; 5s if left out
	Timeout  feed.Duration `toml:"timeout"`  // for one answer, 10ms to 1m; 1s if left out
	Counting string        `toml:"counting"` // for those of Read that have none
	Read     []Read        `toml:"read"`
}

// Read is one number that a device holds.
type Read struct {
	Tank string `toml:"tank"`
	Unit int    `toml:"unit"` // where it isn't the line's

	Register int `toml:"register"`
	// Counting says how the document numbers its registers: "from 0" as on the
	// wire, "from 1", "from 30001" or "from 300001" (input), "from 40001" or
	// "from 400001" (holding).
	Counting string `toml:"counting"`
	Function string `toml:"function"` // "holding" (3) or "input" (4); follows from 30001 and 40001

	Format string `toml:"format"` // uint16, int16, uint32, int32, float32 or float64; uint16 if left out
	Order  string `toml:"order"`  // ABCD, CDAB, BADC or DCBA; of one register AB or BA, AB if left out

	Signal string  `toml:"signal"` // "ohm", "volt", "count" or "level_pct"; "ohm" if left out
	Scale  float64 `toml:"scale"`  // the value is scale times the number plus offset; 1 if left out
	Offset float64 `toml:"offset"`

	None     []int64  `toml:"none"`     // numbers, or their bits, that mean "no value"
	Least    *float64 `toml:"least"`    // values below aren't believed
	Greatest *float64 `toml:"greatest"` // values above aren't believed
}

// usual values.
const (
	usualPort    = "502"
	usualSpeed   = 19200
	usualEvery   = 5 * time.Second
	usualTimeout = time.Second
	mostReads    = 1000
)

// signals by their names.
var signals = map[string]watch.Signal{"ohm": watch.Ohm, "volt": watch.Volt, "count": watch.Count, "level_pct": watch.Percent}

// place is where a device is.
type place struct {
	scheme string
	host   string     // over TCP: host and port
	serial port.Setup // on a line
}

func (p place) String() string {
	if p.host != "" {
		return p.host
	}
	return p.serial.String()
}

// rtu says that frames are those of a serial line.
func (p place) rtu() bool { return p.scheme != "tcp" }

func (c Config) place() (p place, key string, err error) {
	scheme, rest, found := strings.Cut(c.URL, "://")
	p.scheme = scheme
	switch {
	case !found || rest == "":
		return p, "url", fmt.Errorf(`%q; expected one like "tcp://192.168.0.40:502", "rtu:///dev/ttyUSB0" or "rtu+tcp://192.168.0.41:4001"`, c.URL)
	case scheme == "rtu":
		p.serial = port.Setup{Path: rest, Speed: cmp.Or(c.Speed, usualSpeed), DataBits: 8, Parity: cmp.Or(c.Parity, "even"), StopBits: c.StopBits}
		if p.serial.StopBits == 0 {
			p.serial.StopBits = 1
			if p.serial.Parity == "none" {
				p.serial.StopBits = 2
			}
		}
		key, err = p.serial.Check()
		return p, key, err
	case scheme != "tcp" && scheme != "rtu+tcp":
		return p, "url", fmt.Errorf("%q; expected tcp, rtu or rtu+tcp before ://", scheme)
	case c.Speed != 0 || c.Parity != "" || c.StopBits != 0:
		return p, "url", fmt.Errorf("%q isn't a serial line here; speed, parity and stop_bits belong to rtu, or are set at the serial server", c.URL)
	}
	host, number, err := net.SplitHostPort(rest)
	if err != nil {
		host, number = strings.Trim(rest, "[]"), usualPort
		if scheme != "tcp" {
			return p, "url", fmt.Errorf("%q has no port; a serial server has no usual one, so write it", c.URL)
		}
	}
	if n, err := strconv.Atoi(number); err != nil || n < 1 || n > 65535 || host == "" || strings.ContainsAny(host, "/ ?#@") {
		return p, "url", fmt.Errorf("%q; expected a host and a port of 1 to 65535 behind ://", c.URL)
	}
	p.host = net.JoinHostPort(host, number)
	return p, "", nil
}

func (c Config) times() (every, timeout time.Duration, key string, err error) {
	every = cmp.Or(time.Duration(c.Every), usualEvery)
	timeout = cmp.Or(time.Duration(c.Timeout), usualTimeout)
	switch {
	case every < 50*time.Millisecond || every > time.Hour:
		return 0, 0, "every", fmt.Errorf("%v; expected 50ms to 1h", every)
	case timeout < 10*time.Millisecond || timeout > time.Minute:
		return 0, 0, "timeout", fmt.Errorf("%v; expected 10ms to 1m", timeout)
	}
	return every, timeout, "", nil
}

// counting is a way to number registers: the number of the first, and the
// function that the number stands for (0: none).
type counting struct {
	name     string
	first    int
	function byte
}

var countings = []counting{
	{"from 0", 0, 0}, {"from 1", 1, 0},
	{"from 30001", 30001, readInput}, {"from 300001", 300001, readInput},
	{"from 40001", 40001, readHolding}, {"from 400001", 400001, readHolding},
}

// item makes what is to be read of a line's configuration and one of its reads.
func (c Config) item(r Read, highestUnit int) (i item, key string, err error) {
	i.tank = r.Tank
	if r.Tank == "" {
		return i, "tank", fmt.Errorf("is missing; expected the name of a tank")
	}
	unit := cmp.Or(r.Unit, c.Unit, 1)
	if unit < 1 || unit > highestUnit {
		return i, "unit", fmt.Errorf("%d; expected 1 to %d", unit, highestUnit)
	}
	i.unit = byte(unit)

	if i.meaning, key, err = r.meaning(); err != nil {
		return i, key, err
	}
	how := cmp.Or(r.Counting, c.Counting)
	n := slices.IndexFunc(countings, func(k counting) bool { return k.name == how })
	if n < 0 {
		return i, "counting", fmt.Errorf(`%q; say how the device's document numbers its registers: "from 0", "from 1", "from 30001" or "from 40001"`, how)
	}
	k := countings[n]
	address := r.Register - k.first
	if most := 65536 - i.meaning.format.words; address < 0 || address > most {
		return i, "register", fmt.Errorf("%d; expected %d to %d, counted %s", r.Register, k.first, most+k.first, k.name)
	}
	i.address = uint16(address)

	switch {
	case r.Function == "" && k.function != 0:
		i.function = k.function
	case r.Function == "holding" && k.function != readInput:
		i.function = readHolding
	case r.Function == "input" && k.function != readHolding:
		i.function = readInput
	case r.Function == "holding" || r.Function == "input":
		return i, "function", fmt.Errorf("%q, and registers counted %s are of the other kind", r.Function, k.name)
	default:
		return i, "function", fmt.Errorf(`%q; expected "holding" or "input"`, r.Function)
	}
	return i, "", nil
}

func (r Read) meaning() (m meaning, key string, err error) {
	m = meaning{scale: cmp.Or(r.Scale, 1), offset: r.Offset, none: r.None, least: math.Inf(-1), greatest: math.Inf(1)}
	if m.format, err = named("format", formats, func(f format) string { return f.name }, cmp.Or(r.Format, "uint16")); err != nil {
		return m, "format", err
	}
	among, name := orders, r.Order
	if m.format.words == 1 {
		among, name = shortOrders, cmp.Or(name, "AB")
	}
	if m.order, err = named("order of "+m.format.name, among, func(o order) string { return o.name }, name); err != nil {
		return m, "order", err
	}
	signal, known := signals[cmp.Or(r.Signal, "ohm")]
	if !known {
		return m, "signal", fmt.Errorf(`%q; expected "ohm", "volt", "count" or "level_pct"`, r.Signal)
	}
	m.signal = signal
	for key, v := range map[string]float64{"scale": m.scale, "offset": m.offset} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return m, key, fmt.Errorf("%v; expected a number", v)
		}
	}
	if r.Least != nil {
		m.least = *r.Least
	}
	if r.Greatest != nil {
		m.greatest = *r.Greatest
	}
	if !(m.least < m.greatest) {
		return m, "greatest", fmt.Errorf("%v isn't above least, %v", m.greatest, m.least)
	}
	return m, "", nil
}
