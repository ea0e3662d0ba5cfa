package mqtt

import (
	"bytes"
	"encoding/binary"
	"unicode/utf8"
)

// Packet types and reason codes (MQTT 5, 2.1.2 and 2.4).
const (
	typePublish = 3
	typePubrel  = 6

	headPuback  = 0x40
	headPubrec  = 0x50
	headPubcomp = 0x70

	reasonSuccess       = 0x00
	reasonNotAuthorized = 0x87
	reasonTopicName     = 0x90
	reasonUnknownID     = 0x92
	reasonPayload       = 0x99
	propertyReason      = 0x1f
)

// packetHeader reads the beginning of a packet: how long the header is, and the rest.
// Where the header isn't whole yet, it gives 0; where it can't be, -1.
func packetHeader(b []byte) (head, rest int) {
	shift := 0
	for i := 1; i < len(b); i++ {
		rest |= int(b[i]&0x7f) << shift
		if b[i] < 0x80 {
			return i + 1, rest
		}
		if shift += 7; i == 4 {
			return -1, 0
		}
	}
	return 0, 0
}

// incoming is a PUBLISH packet (3.3). It points into the packet.
type incoming struct {
	qos     byte
	dup     bool
	id      uint16
	topic   []byte
	payload []byte
	mark    uint64 // see [markOf]
}

// readPublish reads a PUBLISH packet, but for its header. It isn't ok where there is
// something wrong with it, or something in it that the broker has said it
// doesn't take.
func readPublish(first byte, b []byte, five bool) (m incoming, ok bool) {
	m.qos, m.dup = first>>1&3, first&8 != 0
	if m.qos == 3 || m.dup && m.qos == 0 {
		return m, false
	}
	if m.topic, b, ok = takeText(b); !ok || len(m.topic) == 0 || !goodTopic(m.topic) {
		return m, false
	}
	if m.qos > 0 {
		if len(b) < 2 {
			return m, false
		}
		if m.id, b = binary.BigEndian.Uint16(b), b[2:]; m.id == 0 {
			return m, false
		}
	}
	if five {
		if b, ok = passProperties(b); !ok {
			return m, false
		}
	}
	m.payload = b
	return m, true
}

// goodTopic says whether a topic is one to publish at.
func goodTopic(b []byte) bool {
	plain := true
	for _, c := range b {
		if c == '+' || c == '#' || c == 0 {
			return false
		}
		plain = plain && c < utf8.RuneSelf
	}
	return plain || utf8.Valid(b)
}

// takeText takes what has two bytes for its length.
func takeText(b []byte) (taken, rest []byte, ok bool) {
	if len(b) < 2 {
		return nil, b, false
	}
	n := int(binary.BigEndian.Uint16(b))
	if b = b[2:]; len(b) < n {
		return nil, b, false
	}
	return b[:n], b[n:], true
}

// passProperties goes over the properties of a PUBLISH packet (3.3.2.3). None of
// them matters here. An alias for the topic isn't taken, as none was offered.
func passProperties(b []byte) (rest []byte, ok bool) {
	if len(b) > 0 && b[0] == 0 { // as nearly always
		return b[1:], true
	}
	// The length is coded as that of a packet, which has a byte before it.
	var length [5]byte
	head, n := packetHeader(length[:1+copy(length[1:], b)])
	if head <= 0 || n > len(b)-(head-1) {
		return b, false
	}
	b = b[head-1:]
	for list := b[:n]; len(list) > 0; {
		kind := list[0]
		list = list[1:]
		ok = true
		switch kind {
		case 0x01: // payload format
			list, ok = drop(list, 1)
		case 0x02: // expiry
			list, ok = drop(list, 4)
		case 0x03, 0x08, 0x09: // content type, where to respond, correlation data
			_, list, ok = takeText(list)
		case 0x26: // the user's own: name and value
			if _, list, ok = takeText(list); ok {
				_, list, ok = takeText(list)
			}
		default:
			ok = false
		}
		if !ok {
			return b, false
		}
	}
	return b[n:], true
}

func drop(b []byte, n int) ([]byte, bool) {
	if len(b) < n {
		return b, false
	}
	return b[n:], true
}

// appendAck appends an acknowledgement (3.4, 3.5, 3.7). Only MQTT 5 has reasons,
// and words for them.
func appendAck(to []byte, head byte, id uint16, five bool, code byte, words string) []byte {
	if !five || code == reasonSuccess {
		return append(to, head, 2, byte(id>>8), byte(id))
	}
	if words == "" {
		return append(to, head, 3, byte(id>>8), byte(id), code)
	}
	words = words[:min(len(words), wordsMost)]
	for !utf8.ValidString(words) {
		words = words[:len(words)-1]
	}
	to = append(to, head, byte(2+1+1+3+len(words)), byte(id>>8), byte(id), code, byte(3+len(words)), propertyReason, 0, byte(len(words)))
	return append(to, words...)
}

// wordsMost is how many bytes of words an acknowledgement has, so that each of
// its lengths is a byte.
const wordsMost = 120

// clean takes out of words what MQTT doesn't allow in text.
func clean(words string) string {
	return string(bytes.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, bytes.ToValidUTF8([]byte(words), nil)))
}
