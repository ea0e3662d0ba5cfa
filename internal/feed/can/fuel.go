package can

import (
	"fmt"
	"math"

	"gaugewright/internal/watch"
)

// DashDisplayPGN is the parameter group of SAE J1939 that tells fuel levels, once
// a second: 0xFEFC.
const DashDisplayPGN = 65276

// Suspect parameter numbers of the two tanks.
const (
	FuelLevel1 = 96
	FuelLevel2 = 38
)

// Where the levels are among the 8 bytes: byte 2 and byte 7 as the standard
// counts, which is from 1.
const (
	fuel1At = 1
	fuel2At = 6
)

// Codings of a parameter of one byte (SAE J1939-71, from memory).
const (
	byteMost        = 250 // the highest that is a value
	byteError       = 0xFE
	byteUnavailable = 0xFF
)

// FuelLevels are the two levels in a message of PGN 65276, in steps of 0.4 %.
type FuelLevels struct{ First, Second Level }

// DecodeFuelLevels reads the 8 bytes of PGN 65276. A parameter that is not
// available or reserved is Unavailable; the standard's error indicator is Broken.
func DecodeFuelLevels(data []byte) (FuelLevels, error) {
	if len(data) != 8 {
		return FuelLevels{}, ErrLength
	}
	return FuelLevels{First: fuelLevel(data[fuel1At]), Second: fuelLevel(data[fuel2At])}, nil
}

func fuelLevel(raw byte) Level {
	switch {
	case raw <= byteMost:
		return Level{Percent: float64(raw) * 2 / 5}
	case raw == byteError:
		return Level{Said: watch.Broken}
	}
	return Level{Said: watch.Unavailable}
}

// Encode writes the message, all other parameters not available. What isn't a
// whole step is rounded to the nearest one; a level outside 0 to 100 % is an
// error.
func (l FuelLevels) Encode() (data [8]byte, err error) {
	for i := range data {
		data[i] = byteUnavailable
	}
	for _, field := range []struct {
		at    int
		level Level
	}{{fuel1At, l.First}, {fuel2At, l.Second}} {
		switch p := math.RoundToEven(field.level.Percent * 5 / 2); {
		case field.level.Said == watch.Broken:
			data[field.at] = byteError
		case field.level.Said == watch.Unavailable:
		case !(p >= 0 && p <= byteMost):
			return data, fmt.Errorf("fuel level of %g %%; expected 0 to 100", field.level.Percent)
		default:
			data[field.at] = byte(p)
		}
	}
	return data, nil
}
