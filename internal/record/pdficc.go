package record

import (
	"bytes"
	"encoding/binary"
	"math"
	"sync"
)

// The colours of the PDF are those of sRGB, and the file says so with a profile
// of its own: an ICC display profile of version 4, of three curves and a matrix,
// worked out here from the numbers that define sRGB.
//
// Sources: IEC 61966-2-1 (primaries and white of ITU-R BT.709, x and y; the
// transfer function), ICC.1:2010 (layout, D50, the linear Bradford matrix of
// annex E, parametric curves of type 3); all from memory.
var (
	primaries = [3][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}
	whiteD65  = [2]float64{0.3127, 0.3290}
	whiteD50  = [3]float64{0.9642, 1, 0.8249}
	bradford  = matrix{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}
	// gamma, then a, b, c and d of Y = (aX+b)^g for X ≥ d and cX below.
	transfer = [5]float64{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045}
)

type matrix [3][3]float64

func (m matrix) times(n matrix) (out matrix) {
	for i := range 3 {
		for k := range 3 {
			for j := range 3 {
				out[i][k] += m[i][j] * n[j][k]
			}
		}
	}
	return out
}

func (m matrix) on(v [3]float64) (out [3]float64) {
	for i := range 3 {
		for k := range 3 {
			out[i] += m[i][k] * v[k]
		}
	}
	return out
}

// inverse is by cofactors; none of the matrices here is near singular.
func (m matrix) inverse() (out matrix) {
	minor := func(i, k int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (k+1)%3, (k+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*minor(0, 0) + m[0][1]*minor(0, 1) + m[0][2]*minor(0, 2)
	for i := range 3 {
		for k := range 3 {
			out[k][i] = minor(i, k) / det
		}
	}
	return out
}

func diagonal(v [3]float64) matrix {
	return matrix{{v[0], 0, 0}, {0, v[1], 0}, {0, 0, v[2]}}
}

// ofChromaticity gives X, Y and Z for x and y, with Y of 1.
func ofChromaticity(c [2]float64) [3]float64 {
	return [3]float64{c[0] / c[1], 1, (1 - c[0] - c[1]) / c[1]}
}

// colorants gives the columns X, Y, Z of red, green and blue as seen by D50, and
// the matrix that takes the white of sRGB there.
func colorants() (rgb, adapt matrix) {
	var m matrix
	for k, p := range primaries {
		for i, v := range ofChromaticity(p) {
			m[i][k] = v
		}
	}
	white := ofChromaticity(whiteD65)
	m = m.times(diagonal(m.inverse().on(white)))
	from, to := bradford.on(white), bradford.on(whiteD50)
	adapt = bradford.inverse().times(diagonal([3]float64{to[0] / from[0], to[1] / from[1], to[2] / from[2]})).times(bradford)
	return adapt.times(m), adapt
}

// fixed is a number as s15Fixed16.
func fixed(v float64) []byte {
	return binary.BigEndian.AppendUint32(nil, uint32(int32(math.Round(v*65536))))
}

// localized is a text of type multiLocalizedUnicode, in English.
func localized(text string) []byte {
	b := append([]byte("mluc\x00\x00\x00\x00"), 0, 0, 0, 1, 0, 0, 0, 12, 'e', 'n', 'U', 'S')
	b = binary.BigEndian.AppendUint32(b, uint32(2*len(text)))
	b = binary.BigEndian.AppendUint32(b, 28)
	for _, c := range []byte(text) { // ASCII
		b = append(b, 0, c)
	}
	return b
}

// srgb is the profile, less than a kilobyte.
var srgb = sync.OnceValue(func() []byte {
	rgb, adapt := colorants()
	xyz := func(v [3]float64) []byte {
		return bytes.Join([][]byte{[]byte("XYZ \x00\x00\x00\x00"), fixed(v[0]), fixed(v[1]), fixed(v[2])}, nil)
	}
	column := func(k int) [3]float64 { return [3]float64{rgb[0][k], rgb[1][k], rgb[2][k]} }
	curve := []byte("para\x00\x00\x00\x00\x00\x03\x00\x00")
	for _, v := range transfer {
		curve = append(curve, fixed(v)...)
	}
	chad := []byte("sf32\x00\x00\x00\x00")
	for _, r := range adapt {
		for _, v := range r {
			chad = append(chad, fixed(v)...)
		}
	}
	tags := []struct {
		name string
		data []byte
	}{
		{"desc", localized("sRGB")}, {"cprt", localized("No copyright, use freely")}, {"wtpt", xyz(whiteD50)}, {"chad", chad},
		{"rXYZ", xyz(column(0))}, {"gXYZ", xyz(column(1))}, {"bXYZ", xyz(column(2))}, {"rTRC", curve}, {"gTRC", nil}, {"bTRC", nil},
	}
	table := binary.BigEndian.AppendUint32(nil, uint32(len(tags)))
	var body []byte
	at, size := 0, 0
	for _, t := range tags {
		if t.data != nil { // else as the one before
			at, size = 128+4+12*len(tags)+len(body), len(t.data)
			body = append(body, t.data...)
			for len(body)%4 != 0 {
				body = append(body, 0)
			}
		}
		table = append(table, t.name...)
		table = binary.BigEndian.AppendUint32(table, uint32(at))
		table = binary.BigEndian.AppendUint32(table, uint32(size))
	}
	head := make([]byte, 128)
	binary.BigEndian.PutUint32(head, uint32(len(head)+len(table)+len(body)))
	copy(head[8:], "\x04\x20\x00\x00mntrRGB XYZ ")                                                   // version 4.2, a display
	copy(head[24:], []byte{0x07, 0xEA, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0})                                // 1 January 2026, always the same
	copy(head[36:], "acsp")                                                                          //
	copy(head[68:], bytes.Join([][]byte{{0, 0, 0xF6, 0xD6}, {0, 1, 0, 0}, {0, 0, 0xD3, 0x2D}}, nil)) // D50
	return bytes.Join([][]byte{head, table, body}, nil)
})
