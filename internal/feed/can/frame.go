package can

import "strconv"

// Kind is what sort of frame it is.
type Kind uint8

// Kinds of frame.
const (
	Data   Kind = iota // one with up to 8 bytes
	Remote             // one that asks for data
	Fault              // the kernel's report of trouble on the bus
	FD                 // one of CAN FD, with up to 64 bytes
)

// Frame is one frame from a bus.
type Frame struct {
	ID       uint32 // 11 or 29 bits; of a fault the classes of the trouble
	Kind     Kind
	Extended bool  // a 29-bit identifier
	Flags    uint8 // of CAN FD: 1 bit rate switched, 2 sender is error passive
	Length   uint8 // 0 to 8, CAN FD 0 to 64; a remote frame asks for so many
	Data     [64]byte
}

// faultFlag marks the identifier of an error frame (Linux, can.h).
const faultFlag = 0x2000_0000

// Largest identifiers.
const (
	mostID         = 0x7FF
	mostExtendedID = 0x1FFF_FFFF
)

// Text is the frame as can-utils write it in a log: 18FEFC23#FF4BFFFFFFFFFFFF.
func (f *Frame) Text() []byte { return f.append(make([]byte, 0, 32)) }

func (f *Frame) append(b []byte) []byte {
	const digits = "0123456789ABCDEF"
	id, width := f.ID, 3
	if f.Kind == Fault {
		id |= faultFlag
	}
	if f.Extended || f.Kind == Fault {
		width = 8
	}
	for n := width - 1; n >= 0; n-- {
		b = append(b, digits[id>>(4*n)&0xF])
	}
	b = append(b, '#')
	switch f.Kind {
	case Remote:
		b = append(b, 'R')
		if f.Length > 0 {
			b = strconv.AppendUint(b, uint64(f.Length), 10)
		}
		return b
	case FD:
		b = append(b, '#', digits[f.Flags&0xF])
	}
	for _, d := range f.bytes() {
		b = append(b, digits[d>>4], digits[d&0xF])
	}
	return b
}

// bytes are the frame's data. A length that can't be is cut.
func (f *Frame) bytes() []byte { return f.Data[:min(int(f.Length), len(f.Data))] }
