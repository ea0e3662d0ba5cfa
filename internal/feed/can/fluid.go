package can

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// FluidLevelPGN is the parameter group of NMEA 2000 that tells the level of a
// tank: one frame of 8 bytes every 2.5 s.
const FluidLevelPGN = 127505

// Fluid is what a tank of PGN 127505 is for, 0 to 13. There is none for LPG.
type Fluid uint8

// Fluids. Number 6 is from one open library, the others from two.
const (
	Fuel Fluid = iota
	Water
	GreyWater
	LiveWell
	Oil
	BlackWater
	Gasoline
)

var fluids = []string{"fuel", "water", "grey water", "live well", "oil", "black water", "gasoline"}

// mostFluid is the highest fluid and the highest instance that there can be: 14
// means reserved and 15 not available.
const mostFluid = 13

// String names the fluid; one without a name is "fluid 7".
func (f Fluid) String() string {
	if int(f) < len(fluids) {
		return fluids[f]
	}
	return "fluid " + strconv.Itoa(int(f))
}

// UnmarshalText reads a fluid by its name or its number.
func (f *Fluid) UnmarshalText(text []byte) error {
	word := strings.ToLower(strings.TrimSpace(string(text)))
	if i := slices.Index(fluids, word); i >= 0 {
		*f = Fluid(i)
		return nil
	}
	n, err := strconv.ParseUint(word, 10, 8)
	if err != nil || n > mostFluid {
		return fmt.Errorf("fluid %q; expected one of %s, or a number from 0 to %d", text, strings.Join(fluids, ", "), mostFluid)
	}
	*f = Fluid(n)
	return nil
}

// MarshalText writes a fluid so that it can be read again.
func (f Fluid) MarshalText() ([]byte, error) {
	if int(f) < len(fluids) {
		return []byte(fluids[f]), nil
	}
	return strconv.AppendUint(nil, uint64(f), 10), nil
}

// Level is what one field says of a level.
type Level struct {
	Said    watch.Said
	Percent float64 // means nothing unless Said is Measured
}

// FluidLevel is a message of PGN 127505.
type FluidLevel struct {
	Instance uint8 // 0 to 13: which of several tanks of this fluid
	Fluid    Fluid // 0 to 13
	// Level has steps of 0.004 %. It may be below 0 and above 100.
	Level Level
	// Capacity has steps of 0.1 L; 0: not told.
	Capacity quantity.CubicMetre
}

// Errors of [DecodeFluidLevel] and [DecodeFuelLevels].
var (
	ErrLength   = errors.New("wrong length")
	ErrInstance = errors.New("no instance")
	ErrFluid    = errors.New("no type of fluid")
)

// Codings of a field's last values (reference: the open canboat database).
const (
	levelUnavailable  = math.MaxInt16
	levelOutOfRange   = math.MaxInt16 - 1
	levelReserved     = math.MaxInt16 - 2
	capacityReserved  = math.MaxUint32 - 2 // and the two above it
	levelPerPercent   = 250                // 0.004 % each
	capacityPerMetre3 = 10_000             // 0.1 L each
)

// DecodeFluidLevel reads the 8 bytes of PGN 127505, little endian: instance (4
// bits), fluid (4), level (16, signed, 0.004 %), capacity (32, 0.1 L), reserved
// (8). A level that is not available or reserved is Unavailable; one that the
// device calls out of range is Broken.
func DecodeFluidLevel(data []byte) (FluidLevel, error) {
	if len(data) != 8 {
		return FluidLevel{}, ErrLength
	}
	l := FluidLevel{Instance: data[0] & 0xF, Fluid: Fluid(data[0] >> 4)}
	switch {
	case l.Instance > mostFluid:
		return FluidLevel{}, ErrInstance
	case l.Fluid > mostFluid:
		return FluidLevel{}, ErrFluid
	}
	switch raw := int16(binary.LittleEndian.Uint16(data[1:])); raw {
	case levelUnavailable, levelReserved:
		l.Level.Said = watch.Unavailable
	case levelOutOfRange:
		l.Level.Said = watch.Broken
	default:
		l.Level.Percent = float64(raw) / levelPerPercent
	}
	if raw := binary.LittleEndian.Uint32(data[3:]); raw < capacityReserved {
		l.Capacity = quantity.CubicMetre(raw) / capacityPerMetre3
	}
	return l, nil
}

// Encode writes the message. What isn't a whole step is rounded to the nearest
// one. An error says which field can't be said.
func (l FluidLevel) Encode() (data [8]byte, err error) {
	level := math.RoundToEven(l.Level.Percent * levelPerPercent)
	capacity := math.RoundToEven(float64(l.Capacity) * capacityPerMetre3)
	switch {
	case l.Instance > mostFluid:
		return data, fmt.Errorf("instance %d of a fluid level; expected 0 to %d", l.Instance, mostFluid)
	case l.Fluid > mostFluid:
		return data, fmt.Errorf("fluid %d of a fluid level; expected 0 to %d", l.Fluid, mostFluid)
	case l.Level.Said == watch.Unavailable:
		level = levelUnavailable
	case l.Level.Said == watch.Broken:
		level = levelOutOfRange
	case !(level >= math.MinInt16 && level < levelReserved):
		return data, fmt.Errorf("fluid level of %g %%; expected -131.072 to 131.056", l.Level.Percent)
	}
	switch {
	case capacity == 0:
		capacity = math.MaxUint32
	case !(capacity > 0 && capacity < capacityReserved):
		return data, fmt.Errorf("capacity of %g m3 of a fluid level; expected 0 to 429496.7292", float64(l.Capacity))
	}
	data[0] = l.Instance | uint8(l.Fluid)<<4
	binary.LittleEndian.PutUint16(data[1:], uint16(int16(level)))
	binary.LittleEndian.PutUint32(data[3:], uint32(capacity))
	data[7] = 0xFF
	return data, nil
}
