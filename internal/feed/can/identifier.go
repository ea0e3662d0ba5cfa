package can

import "fmt"

// Broadcast is the destination of a message that is for everyone.
const Broadcast = 0xFF

// Identifier is the 29-bit identifier of a frame as SAE J1939 and NMEA 2000
// divide it: from the top, 3 bits of priority, 18 bits that hold the parameter
// group number, and 8 bits with the address of whoever sends (SAE J1939-21, from
// memory; the identifiers of the tests are those of two standards).
type Identifier uint32

// Identify makes an identifier. The priority is 0 (first) to 7. A parameter group
// number has up to 18 bits; where its third byte from the top is below 0xF0 (the
// form called PDU 1) it has a destination, and its own last byte is 0. Otherwise
// (PDU 2) the only destination is [Broadcast].
func Identify(priority uint8, pgn uint32, source, destination uint8) (Identifier, error) {
	switch {
	case priority > 7:
		return 0, fmt.Errorf("priority %d of a CAN identifier; expected 0 to 7", priority)
	case pgn > 0x3FFFF:
		return 0, fmt.Errorf("parameter group number %d; expected 0 to 262143", pgn)
	case addressed(pgn) && pgn&0xFF != 0:
		return 0, fmt.Errorf("parameter group number %d goes to one destination, and so has to end in a byte of 0", pgn)
	case !addressed(pgn) && destination != Broadcast:
		return 0, fmt.Errorf("parameter group number %d goes to everyone; destination %d can't be said", pgn, destination)
	}
	id := uint32(priority)<<26 | pgn<<8 | uint32(source)
	if addressed(pgn) {
		id |= uint32(destination) << 8
	}
	return Identifier(id), nil
}

// addressed says whether messages of a parameter group go to one destination.
func addressed(pgn uint32) bool { return pgn>>8&0xFF < 0xF0 }

// Priority is 0, which goes first, to 7.
func (i Identifier) Priority() uint8 { return uint8(i >> 26 & 7) }

// PGN is the parameter group number, 0 to 262143.
func (i Identifier) PGN() uint32 {
	pgn := uint32(i) >> 8 & 0x3FFFF
	if addressed(pgn) {
		pgn &^= 0xFF
	}
	return pgn
}

// Source is the address of whoever sends.
func (i Identifier) Source() uint8 { return uint8(i) }

// Destination is the address that the message is for, or [Broadcast].
func (i Identifier) Destination() uint8 {
	if addressed(uint32(i) >> 8 & 0x3FFFF) {
		return uint8(i >> 8)
	}
	return Broadcast
}
