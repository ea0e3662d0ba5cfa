package modbus

import (
	"encoding/binary"
	"fmt"
)

// Functions that read registers.
const (
	readHolding byte = 3
	readInput   byte = 4
	exceptional byte = 0x80 // added to the function of an answer that is an exception
)

// mostRegisters is how many registers one request may ask for.
const mostRegisters = 125

// exception is the code by which a device says that it can't answer.
type exception byte

// Error gives the words of the specification.
func (e exception) Error() string {
	switch e {
	case 1:
		return "illegal function"
	case 2:
		return "illegal data address"
	case 3:
		return "illegal data value"
	case 4:
		return "device failure"
	case 5:
		return "acknowledge, still working"
	case 6:
		return "device busy"
	case 8:
		return "memory parity error"
	case 10:
		return "gateway path unavailable"
	case 11:
		return "gateway target didn't answer"
	}
	return "an exception that isn't in the specification"
}

// remedy is what to do about an exception.
func (e exception) remedy() string {
	switch e {
	case 1:
		return "try the other function, holding or input"
	case 2, 3:
		return "look at register, counting and format; many documents count from 1"
	case 10, 11:
		return "look at the unit's number, its wiring and its power"
	}
	return "look at the device's own display or manual"
}

// passing says that the device, or the one behind a gateway, hasn't said
// anything about the registers: it is busy, or wasn't reached.
func (e exception) passing() bool { return e == 5 || e == 6 || e == 10 || e == 11 }

// pdu is the part of a request that is the same on every wire.
func pdu(function byte, address, count uint16) [5]byte {
	return [5]byte{function, byte(address >> 8), byte(address), byte(count >> 8), byte(count)}
}

// rtuRequest is a request on a serial line.
func rtuRequest(unit, function byte, address, count uint16) []byte {
	p := pdu(function, address, count)
	b := append([]byte{unit}, p[:]...)
	return binary.LittleEndian.AppendUint16(b, crc(b))
}

// tcpRequest is a request over TCP: the header and the same without the CRC.
func tcpRequest(transaction uint16, unit, function byte, address, count uint16) []byte {
	p := pdu(function, address, count)
	b := binary.BigEndian.AppendUint16(make([]byte, 0, 12), transaction)
	b = append(b, 0, 0, 0, byte(1+len(p)), unit)
	return append(b, p[:]...)
}

// crc is CRC-16 with the polynomial 0xA001 (0x8005 reflected), from 0xFFFF. It
// goes onto the wire low byte first.
func crc(bytes []byte) uint16 {
	c := uint16(0xFFFF)
	for _, b := range bytes {
		c ^= uint16(b)
		for range 8 {
			if c&1 != 0 {
				c = c>>1 ^ 0xA001
			} else {
				c >>= 1
			}
		}
	}
	return c
}

// rtuAnswer looks for the answer to a request in what has come so far. Bytes
// before it are passed over: noise from the line's turning around, an adapter's
// echo of the request, another unit's answer that came late. whole is false
// where it isn't there yet. data are the registers' bytes; the error is an
// [exception].
func rtuAnswer(got []byte, unit, function byte, count uint16) (data []byte, whole bool, err error) {
	for i := 0; i+5 <= len(got); i++ {
		if got[i] != unit {
			continue
		}
		n := 0
		switch {
		case got[i+1] == function && int(got[i+2]) == 2*int(count):
			n = 3 + 2*int(count)
		case got[i+1] == function|exceptional:
			n = 3
		default:
			continue
		}
		if len(got) < i+n+2 || binary.LittleEndian.Uint16(got[i+n:]) != crc(got[i:i+n]) {
			continue
		}
		if got[i+1] != function {
			return nil, true, exception(got[i+2])
		}
		return got[i+3 : i+n], true, nil
	}
	return nil, false, nil
}

// badFrame is an answer that is none.
type badFrame struct {
	why  string // in few fixed words
	what []byte
}

func (b badFrame) Error() string { return fmt.Sprintf("%s: % x", b.why, b.what[:min(len(b.what), 16)]) }

// Lengths of a frame over TCP.
const (
	headerLength  = 7
	longestLength = 254 // that the length field may give: unit and 253 bytes
)

// tcpFrame takes one frame off what has come: how many bytes it has, 0 where
// the rest is yet to come. An error is a [badFrame], after which nobody knows
// where the next frame begins.
func tcpFrame(got []byte) (length int, err error) {
	if len(got) < headerLength {
		return 0, nil
	}
	if binary.BigEndian.Uint16(got[2:]) != 0 {
		return 0, badFrame{"not Modbus TCP", got}
	}
	n := int(binary.BigEndian.Uint16(got[4:]))
	if n < 3 || n > longestLength {
		return 0, badFrame{"a frame of impossible length", got}
	}
	if len(got) < headerLength-1+n {
		return 0, nil
	}
	return headerLength - 1 + n, nil
}

// tcpAnswer reads a whole frame as the answer to a request. ours is false where
// it answers another one. The error is an [exception] or a [badFrame].
func tcpAnswer(frame []byte, transaction uint16, unit, function byte, count uint16) (data []byte, ours bool, err error) {
	if binary.BigEndian.Uint16(frame) != transaction {
		return nil, false, nil
	}
	body := frame[headerLength:]
	switch {
	case body[0] == function|exceptional && len(body) == 2:
		return nil, true, exception(body[1])
	case frame[headerLength-1] != unit:
		return nil, true, badFrame{"an answer of another unit", frame}
	case body[0] != function:
		return nil, true, badFrame{"an answer of another function", frame}
	case len(body) != 2+2*int(count) || int(body[1]) != 2*int(count):
		return nil, true, badFrame{"an answer of another length", frame}
	}
	return body[2:], true, nil
}
