package feed

import (
	"math"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Limits of one payload.
const (
	MaxPayload  = 64 << 10 // bytes
	MaxReadings = 1000     // readings in one array
)

// Defaults are what a payload doesn't say of itself.
type Defaults struct {
	Tank    string       // whose reading it is, where the payload doesn't name a tank
	Source  string       // who sent it: "mqtt"
	Signal  watch.Signal // of a bare number, and of an object without a value
	Arrived time.Time    // when it came in
	// TankInside says that each object may name its tank, and has to where Tank
	// is "".
	TankInside bool
	// Doubted is told why a time that a source said isn't believed; nil: nobody is.
	Doubted func(why string)
}

// Decode appends to a list the readings that a payload has. A payload is one of
//
//	118.4                                   a number in the tank's own signal; null: no value
//	{"ohm": 118.4}                          or "volt", "count", "level_pct": one of them
//	[{"ohm": 118.4, "time": …}, 118.6]      several
//
// as JSON (RFC 8259). An object may have, too:
//
//	"time"                   when it was measured: RFC 3339 text, or Unix seconds as a number
//	"pitch_deg", "roll_deg"  how the vehicle stood, -180 to 180; one alone has the other 0
//	"fault"                  any text but "": the source says that it is broken, and a value means nothing
//	"source"                 whose reading it is, where several read one tank: letters, digits, - and _, 32 at most
//	"tank"                   where [Defaults.TankInside] says so
//
// A value that is null says that the source has none; anything else that is null
// isn't there. Names are in small letters, and none may stand twice or be
// unknown. A time that can't be isn't believed; see [When].
//
// All of a payload counts or none of it: the error is a [*Refusal], and the list
// is given back as it was. Numbers alone and plain flat objects are read without
// allocation.
func Decode(into []watch.Reading, payload []byte, d Defaults) ([]watch.Reading, error) {
	if len(payload) > MaxPayload {
		return into, refuse(TooLong, "the payload has %d bytes; expected at most %d", len(payload), MaxPayload)
	}
	if out, ok := plain(into, payload, &d); ok {
		return out, nil
	}
	return thorough(into, payload, &d)
}

// token is a value in a payload that isn't built of others.
type token struct {
	kind kind
	num  float64 // infinite where no float64 is that large
	text []byte
}

type kind uint8

const (
	number kind = iota
	text
	null
	other
)

// fields gathers what an object says.
type fields struct {
	seen        uint16 // by field
	value       token
	signal      watch.Signal
	said        time.Time
	pitch, roll float64 // degrees
	tank        string
	source      string
	tilted      bool
	broken      bool
}

type field uint8

const (
	theOhm field = iota
	theVolt
	theCount
	theLevel
	theTime
	thePitch
	theRoll
	theFault
	theTank
	theSource
	noField
)

// values are the fields that are values.
const values = 1<<theOhm | 1<<theVolt | 1<<theCount | 1<<theLevel

// signals are the signals of the fields that are values.
var signals = [...]watch.Signal{theOhm: watch.Ohm, theVolt: watch.Volt, theCount: watch.Count, theLevel: watch.Percent}

func named(name []byte) field {
	switch string(name) {
	case "ohm":
		return theOhm
	case "volt":
		return theVolt
	case "count":
		return theCount
	case "level_pct":
		return theLevel
	case "time":
		return theTime
	case "pitch_deg":
		return thePitch
	case "roll_deg":
		return theRoll
	case "fault":
		return theFault
	case "tank":
		return theTank
	case "source":
		return theSource
	}
	return noField
}

// put adds a field. It tells what is wrong with it, nil where nothing is.
func (f *fields) put(name []byte, t token, d *Defaults) *Refusal {
	which := named(name)
	switch {
	case which == noField || which == theTank && !d.TankInside:
		return refuse(UnknownField, `unknown field %s; expected "ohm", "volt", "count" or "level_pct", and "time", "pitch_deg", "roll_deg", "fault", "source"%s`,
			short(name), map[bool]string{true: `, "tank"`}[d.TankInside])
	case f.seen&(1<<which) != 0:
		return refuse(FieldTwice, "the field %s stands there twice; expected each once", short(name))
	case values&(1<<which) != 0 && f.seen&values != 0:
		return refuse(SeveralValues, "the field %s is a second value; expected one value in each reading", short(name))
	}
	f.seen |= 1 << which
	if t.kind == number && math.IsInf(t.num, 0) {
		return refuse(OutOfRange, "the number at %s is beyond what can be reckoned with; expected one up to 1.8e308", short(name))
	}
	if t.kind == null && values&(1<<which) == 0 {
		return nil // as if the field weren't there
	}
	switch which {
	case theOhm, theVolt, theCount, theLevel:
		if t.kind != number && t.kind != null {
			return refuse(WrongKind, "the field %s isn't a number; expected a number, or null where there is none", short(name))
		}
		f.value, f.signal = t, signals[which]
	case theTime:
		return f.time(t)
	case thePitch, theRoll:
		if t.kind != number {
			return refuse(WrongKind, "the field %s isn't a number; expected degrees", short(name))
		}
		if math.Abs(t.num) > 180 {
			return refuse(OutOfRange, "the field %s is %v; expected degrees from -180 to 180", short(name), t.num)
		}
		f.tilted = true
		if which == thePitch {
			f.pitch = t.num
		} else {
			f.roll = t.num
		}
	case theFault:
		if t.kind != text {
			return refuse(WrongKind, `the field "fault" isn't text; expected what is at fault`)
		}
		f.broken = len(t.text) > 0
	case theTank:
		if t.kind != text {
			return refuse(WrongKind, `the field "tank" isn't text; expected a tank's name`)
		}
		f.tank = string(t.text)
	case theSource:
		if t.kind != text || !named32(t.text) {
			return refuse(WrongKind, `the field "source" is no name; expected letters, digits, - and _, 32 at most`)
		}
		f.source = string(t.text)
	}
	return nil
}

// named32 says whether a text is a source's name.
func named32(b []byte) bool {
	for _, c := range b {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_') {
			return false
		}
	}
	return len(b) > 0 && len(b) <= 32
}

// lastSecond is 9999-12-31T23:59:59Z in Unix seconds.
const lastSecond = 253402300799

// time reads the time.
func (f *fields) time(t token) *Refusal {
	switch t.kind {
	case number:
		// A float64 holds the time of day to a quarter of a microsecond.
		whole, part := math.Modf(min(max(t.num, -lastSecond), lastSecond))
		f.said = time.Unix(int64(whole), int64(math.Round(part*1e6))*1000)
		return nil
	case text:
		if f.said.UnmarshalText(t.text) != nil {
			return refuse(NotATime, `the time %s can't be read; expected one like "2026-11-03T14:02:00Z", or Unix seconds as a number`, short(t.text))
		}
		return nil
	}
	return refuse(WrongKind, `the field "time" is neither text nor a number; expected a time like "2026-11-03T14:02:00Z", or Unix seconds`)
}

// reading gives the reading that the fields make.
func (f *fields) reading(d *Defaults) (watch.Reading, *Refusal) {
	r := watch.Reading{Tank: d.Tank, Source: d.Source, Arrived: d.Arrived, Signal: d.Signal}
	if f.tank != "" {
		r.Tank = f.tank
	}
	if f.source != "" {
		r.Source += "/" + f.source
	}
	switch {
	case r.Tank == "":
		return r, refuse(NoTank, `no tank is named; expected the field "tank"`)
	case f.seen&values == 0 && !f.broken:
		return r, refuse(NoValue, `no value is there; expected "ohm", "volt", "count" or "level_pct", a number or null`)
	}
	if f.seen&values != 0 {
		r.Signal = f.signal
	}
	switch {
	case f.broken:
		r.Said = watch.Broken
	case f.value.kind == null:
		r.Said = watch.Unavailable
	default:
		r.Value = f.value.num
	}
	if f.tilted {
		r.Tilt = &watch.Tilt{Pitch: radian(f.pitch), Roll: radian(f.roll)}
	}
	var why string
	if r.Time, r.Clock, why = When(d.Arrived, f.said); why != "" && d.Doubted != nil {
		d.Doubted(why)
	}
	return r, nil
}

func radian(degrees float64) quantity.Radian { return quantity.Radian(degrees * math.Pi / 180) }
