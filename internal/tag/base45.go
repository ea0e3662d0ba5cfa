package tag

import "strings"

// alphabet is that of RFC 9285, which is the alphabet of the alphanumeric mode
// of a QR code: every sign costs 5.5 modules, where a byte costs 8.
const alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

// toBase45 writes bytes as RFC 9285 has it: each two bytes, the first the higher,
// are three signs of base 45, the lowest first; a byte left over is two.
func toBase45(data []byte) string {
	var b strings.Builder
	b.Grow((len(data)*3 + 1) / 2)
	for ; len(data) >= 2; data = data[2:] {
		n := int(data[0])<<8 | int(data[1])
		b.WriteByte(alphabet[n%45])
		b.WriteByte(alphabet[n/45%45])
		b.WriteByte(alphabet[n/2025])
	}
	if len(data) == 1 {
		b.WriteByte(alphabet[data[0]%45])
		b.WriteByte(alphabet[data[0]/45])
	}
	return b.String()
}

// fromBase45 reads what toBase45 writes. Where it can't, at is the place of the
// first group of signs that stands for no bytes, and ok is false.
func fromBase45(text string) (data []byte, at int, ok bool) {
	data = make([]byte, 0, len(text)*2/3+1)
	for at < len(text) {
		group := text[at:min(at+3, len(text))]
		n, weight := 0, 1
		for i := range len(group) {
			digit := strings.IndexByte(alphabet, group[i])
			if digit < 0 {
				return nil, at + i, false
			}
			n += digit * weight
			weight *= 45
		}
		switch {
		case len(group) == 3 && n <= 0xffff:
			data = append(data, byte(n>>8), byte(n))
		case len(group) == 2 && n <= 0xff:
			data = append(data, byte(n))
		default:
			return nil, at, false
		}
		at += len(group)
	}
	return data, at, true
}
