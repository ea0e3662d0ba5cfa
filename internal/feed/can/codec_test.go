package can

import (
	"encoding/binary"
	"encoding/hex"
	"errors"
	"math"
	"strings"
	"testing"

	"gaugewright/internal/watch"

	"pgregory.net/rapid"
)

// Identifiers of the reference: priority 6, source 0x23 (SAE J1939 and NMEA
// 2000). The addressed one is the request of SAE J1939-21, PGN 59904, from memory.
func TestIdentifier(t *testing.T) {
	for _, c := range []struct {
		id          Identifier
		priority    uint8
		pgn         uint32
		source      uint8
		destination uint8
	}{
		{0x18FEFC23, 6, DashDisplayPGN, 0x23, Broadcast},
		{0x19F21123, 6, FluidLevelPGN, 0x23, Broadcast},
		{0x18EAFF23, 6, 59904, 0x23, 0xFF},
		{0x18EA2103, 6, 59904, 0x03, 0x21},
		{0x00000000, 0, 0, 0, 0},
		{0x1FFFFFFF, 7, 0x3FFFF, 0xFF, Broadcast},
	} {
		i := c.id
		if i.Priority() != c.priority || i.PGN() != c.pgn || i.Source() != c.source || i.Destination() != c.destination {
			t.Errorf("%08X: priority %d, PGN %d, source %d, destination %d", uint32(i), i.Priority(), i.PGN(), i.Source(), i.Destination())
		}
		made, err := Identify(c.priority, c.pgn, c.source, c.destination)
		if err != nil || made != i {
			t.Errorf("%08X, %v; expected %08X", uint32(made), err, uint32(i))
		}
	}
	for _, c := range []struct {
		priority    uint8
		pgn         uint32
		destination uint8
		words       string
	}{
		{8, FluidLevelPGN, Broadcast, "priority 8"}, {6, 0x40000, Broadcast, "262143"},
		{6, 59905, 3, "byte of 0"}, {6, FluidLevelPGN, 3, "to everyone"},
	} {
		if _, err := Identify(c.priority, c.pgn, 0x23, c.destination); err == nil || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%v, expected %q", err, c.words)
		}
	}
}

// Every identifier of 29 bits can be taken apart and put together again.
func TestIdentifierBackAndForth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i := Identifier(rapid.Uint32Range(0, mostExtendedID).Draw(t, "identifier"))
		if made, err := Identify(i.Priority(), i.PGN(), i.Source(), i.Destination()); err != nil || made != i {
			t.Fatalf("%08X, %v; expected %08X", uint32(made), err, uint32(i))
		}
	})
}

func data(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Frames and codings of the reference's table of PGN 127505 (open canboat
// database): the first three whole, the others by its rows.
func TestFluidLevel(t *testing.T) {
	for _, c := range []struct {
		name, bytes string
		want        FluidLevel
		exact       bool // encodes to the same bytes
	}{
		{"water 0", "10 3e 49 dc 05 00 00 ff", FluidLevel{0, Water, Level{Percent: 75}, 0.150}, true},
		{"fuel 1", "01 85 20 58 02 00 00 ff", FluidLevel{1, Fuel, Level{Percent: 33.3}, 0.060}, true},
		{"unknown", "12 ff 7f ff ff ff ff ff", FluidLevel{2, Water, Level{Said: watch.Unavailable}, 0}, true},
		{"out of range", "10 fe 7f ff ff ff ff ff", FluidLevel{0, Water, Level{Said: watch.Broken}, 0}, true},
		{"reserved", "10 fd 7f fd ff ff ff ff", FluidLevel{0, Water, Level{Said: watch.Unavailable}, 0}, false},
		{"capacity out of range", "5d 00 00 fe ff ff ff ff", FluidLevel{13, BlackWater, Level{}, 0}, false},
		{"highest", "00 fc 7f fc ff ff ff ff", FluidLevel{0, Fuel, Level{Percent: 131.056}, 429496.7292}, true},
		{"below zero", "20 06 ff 01 00 00 00 ff", FluidLevel{0, GreyWater, Level{Percent: -1}, 0.0001}, true},
		{"lowest", "d0 00 80 ff ff ff ff ff", FluidLevel{0, 13, Level{Percent: -131.072}, 0}, true},
	} {
		got, err := DecodeFluidLevel(data(t, c.bytes))
		same := got.Instance == c.want.Instance && got.Fluid == c.want.Fluid && got.Level.Said == c.want.Level.Said &&
			math.Abs(got.Level.Percent-c.want.Level.Percent) <= 0.002 && math.Abs(float64(got.Capacity-c.want.Capacity)) < 1e-9*(1+float64(c.want.Capacity))
		if err != nil || !same {
			t.Errorf("%s: %+v, %v; expected %+v", c.name, got, err, c.want)
		}
		if back, err := c.want.Encode(); err != nil || c.exact && hex.EncodeToString(back[:]) != strings.ReplaceAll(c.bytes, " ", "") {
			t.Errorf("%s: % x, %v; expected %s", c.name, back, err, c.bytes)
		}
	}
	for text, want := range map[string]error{
		"":                           ErrLength,
		"10 3e 49 dc 05 00 00":       ErrLength,
		"10 3e 49 dc 05 00 00 ff ff": ErrLength,
		"1e 3e 49 dc 05 00 00 ff":    ErrInstance,
		"1f 3e 49 dc 05 00 00 ff":    ErrInstance,
		"e0 3e 49 dc 05 00 00 ff":    ErrFluid,
		"f0 3e 49 dc 05 00 00 ff":    ErrFluid,
	} {
		if got, err := DecodeFluidLevel(data(t, text)); !errors.Is(err, want) {
			t.Errorf("%s: %+v, %v; expected %v", text, got, err, want)
		}
	}
	for _, l := range []FluidLevel{
		{Instance: 14}, {Fluid: 14}, {Level: Level{Percent: 131.06}}, {Level: Level{Percent: -131.08}},
		{Level: Level{Percent: math.NaN()}}, {Capacity: -1}, {Capacity: 429496.7293}, {Capacity: 1e300},
	} {
		if b, err := l.Encode(); err == nil {
			t.Errorf("%+v is % x; expected an error", l, b)
		}
	}
}

// Rows of the reference for SPN 96 and 38: 0.4 %/bit, 0 to 250 valid, 0xFB to
// 0xFD reserved, 0xFE error, 0xFF not available; 75 % lies between 187 and 188.
func TestFuelLevels(t *testing.T) {
	no, broken := Level{Said: watch.Unavailable}, Level{Said: watch.Broken}
	for _, c := range []struct {
		bytes string
		want  FuelLevels
		exact bool
	}{
		{"ff bb ff ff ff ff ff ff", FuelLevels{Level{Percent: 74.8}, no}, true},
		{"ff bc ff ff ff ff 00 ff", FuelLevels{Level{Percent: 75.2}, Level{}}, true},
		{"ff fa ff ff ff ff 7d ff", FuelLevels{Level{Percent: 100}, Level{Percent: 50}}, true},
		{"ff fe ff ff ff ff fe ff", FuelLevels{broken, broken}, true},
		{"ff fb ff ff ff ff fc ff", FuelLevels{no, no}, false},
		{"ff fd ff ff ff ff ff ff", FuelLevels{no, no}, false},
	} {
		if got, err := DecodeFuelLevels(data(t, c.bytes)); err != nil || got != c.want {
			t.Errorf("%s: %+v, %v; expected %+v", c.bytes, got, err, c.want)
		}
		if b, err := c.want.Encode(); err != nil || c.exact && hex.EncodeToString(b[:]) != strings.ReplaceAll(c.bytes, " ", "") {
			t.Errorf("% x, %v; expected %s", b, err, c.bytes)
		}
	}
	if _, err := DecodeFuelLevels(data(t, "ff bb")); !errors.Is(err, ErrLength) {
		t.Error(err)
	}
	for _, p := range []float64{-0.3, 100.3, math.NaN()} {
		if b, err := (FuelLevels{First: Level{Percent: p}}).Encode(); err == nil {
			t.Errorf("%g %% is % x; expected an error", p, b)
		}
	}
}

func TestFluidNames(t *testing.T) {
	for text, want := range map[string]Fluid{"Water": Water, "grey water": GreyWater, "gasoline": 6, "5": BlackWater, "13": 13} {
		var f Fluid
		if err := f.UnmarshalText([]byte(text)); err != nil || f != want {
			t.Errorf("%s: %v, %v", text, f, err)
		}
	}
	for f := range Fluid(mostFluid + 1) {
		var back Fluid
		text, err := f.MarshalText()
		if err != nil || back.UnmarshalText(text) != nil || back != f {
			t.Errorf("%v: %s, %v, %v", f, text, err, back)
		}
	}
	for _, text := range []string{"", "lpg", "14", "-1"} {
		var f Fluid
		if err := f.UnmarshalText([]byte(text)); err == nil || !strings.Contains(err.Error(), "grey water") {
			t.Errorf("%q: %v, %v", text, f, err)
		}
	}
	if s := Fluid(9).String(); s != "fluid 9" {
		t.Error(s)
	}
}

// What can be decoded comes back the same after encoding, whatever the bytes.
func FuzzLevels(f *testing.F) {
	for _, text := range []string{"103e49dc050000ff", "12ff7fffffffffff", "10fd7ffdffffffff", "ffbbffffffff7dff", "10"} {
		f.Add(data(f, text))
	}
	f.Fuzz(func(t *testing.T, bytes []byte) {
		if l, err := DecodeFluidLevel(bytes); err == nil {
			b, err := l.Encode()
			back, err2 := DecodeFluidLevel(b[:])
			if err != nil || err2 != nil || back != l {
				t.Errorf("% x: %+v, then %+v: %v, %v", bytes, l, back, err, err2)
			}
			if l.Level.Said == watch.Measured && binary.LittleEndian.Uint16(b[1:]) != binary.LittleEndian.Uint16(bytes[1:]) {
				t.Errorf("% x became % x", bytes, b)
			}
		}
		if l, err := DecodeFuelLevels(bytes); err == nil {
			b, err := l.Encode()
			back, err2 := DecodeFuelLevels(b[:])
			if err != nil || err2 != nil || back != l {
				t.Errorf("% x: %+v, then %+v: %v, %v", bytes, l, back, err, err2)
			}
		}
	})
}
