package record

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"io"
)

// withoutMap takes the table cmap out of a font in the file. Codes come to their
// glyphs by a map beside the font, so it has no use (ISO 32000-1, 9.9), and the
// writer of fonts gets it wrong where many characters follow one another.
func withoutMap(o object) (object, error) {
	z, err := zlib.NewReader(bytes.NewReader(o.stream))
	if err != nil {
		return o, err
	}
	data, err := io.ReadAll(z)
	if err != nil {
		return o, err
	}
	font, err := withoutTable(data, "cmap")
	if err != nil {
		return o, err
	}
	packed, err := deflated(font)
	if err != nil {
		return o, err
	}
	return object{fmt.Appendf(nil, "<</Filter /FlateDecode /Length %d /Length1 %d>>\n", len(packed), len(font)), packed}, nil
}

// deflated packs a stream.
func deflated(data []byte) ([]byte, error) {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	if _, err := z.Write(data); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// withoutTable writes a TrueType font without one of its tables, and with the sums
// that belong to it then (ISO/IEC 14496-22, 4.5 and the table head).
func withoutTable(font []byte, name string) ([]byte, error) {
	type table struct {
		tag  string
		data []byte
	}
	var tables []table
	if len(font) < 12 {
		return nil, errUnread
	}
	n := int(binary.BigEndian.Uint16(font[4:]))
	for i := range n {
		if len(font) < 12+16*n {
			return nil, errUnread
		}
		entry := font[12+16*i:]
		at, size := int(binary.BigEndian.Uint32(entry[8:])), int(binary.BigEndian.Uint32(entry[12:]))
		if at > len(font) || size > len(font)-at {
			return nil, errUnread
		}
		if tag := string(entry[:4]); tag != name {
			tables = append(tables, table{tag, bytes.Clone(font[at : at+size])})
		}
	}
	power, log := 1, 0
	for power*2 <= len(tables) {
		power, log = power*2, log+1
	}
	out := append([]byte{}, font[:4]...)
	for _, v := range []int{len(tables), 16 * power, log, 16 * (len(tables) - power)} {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	at, head := 12+16*len(tables), -1
	var body []byte
	for _, t := range tables {
		if t.tag == "head" && len(t.data) >= 12 {
			head = at + len(body)
			copy(t.data[8:12], []byte{0, 0, 0, 0})
		}
		out = append(out, t.tag...)
		for _, v := range []uint32{sumOf(t.data), uint32(at + len(body)), uint32(len(t.data))} {
			out = binary.BigEndian.AppendUint32(out, v)
		}
		body = append(body, t.data...)
		for len(body)%4 != 0 {
			body = append(body, 0)
		}
	}
	if head < 0 {
		return nil, errUnread
	}
	out = append(out, body...)
	binary.BigEndian.PutUint32(out[head+8:], 0xB1B0AFBA-sumOf(out))
	return out, nil
}

// sumOf adds up the words of a table, noughts behind it.
func sumOf(data []byte) (sum uint32) {
	for i := 0; i < len(data); i += 4 {
		var word [4]byte
		copy(word[:], data[i:])
		sum += binary.BigEndian.Uint32(word[:])
	}
	return sum
}
