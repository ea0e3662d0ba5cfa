package tag

import (
	"fmt"
	"strconv"
	"strings"

	"rsc.io/qr/coding"
)

// Matrix is the modules of a QR code (ISO/IEC 18004), without the quiet zone of
// four modules that has to be left white around it.
type Matrix struct {
	Size    int    // modules on a side: 17 + 4 × Version
	Version int    // 1 to 40
	Level   string // of error correction: "M" restores about 15 % of the code, "L" about 7 %
	Mask    int    // 0 to 7, the pattern laid over the data

	dark []bool
}

// Dark says whether the module in column x of row y, both from 0 at the upper
// left, is dark. Beyond the code, in the quiet zone, nothing is.
func (m Matrix) Dark(x, y int) bool {
	return x >= 0 && y >= 0 && x < m.Size && y < m.Size && m.dark[y*m.Size+x]
}

// Rows gives the modules row by row from the top, dark as true.
func (m Matrix) Rows() [][]bool {
	rows := make([][]bool, m.Size)
	for y := range rows {
		rows[y] = append([]bool(nil), m.dark[y*m.Size:(y+1)*m.Size]...)
	}
	return rows
}

// The largest versions: above mostAtM level L is taken, and above mostAtL the
// modules are too fine for a telephone at the size of a pocket card: 117 modules
// in 50 mm are 0.43 mm each (common practice, no source).
const (
	mostAtM = 25
	mostAtL = 25
)

// MaxText is how many signs of text Modules takes at most: the alphanumeric
// capacity of version 25 at level L (ISO/IEC 18004, table 7).
const MaxText = 1853

// Modules draws a code's text as a QR code in alphanumeric mode, at level M, or
// at level L where M would need more than version 25. The text is what [Encode]
// gives, or any other of the alphanumeric signs 0–9, A–Z, space and $%*+-./:, of
// up to [MaxText] signs. The mask is the one with the least penalty by ISO/IEC
// 18004, 7.8.3.
func Modules(text string) (Matrix, error) {
	data := coding.Alpha(text)
	if err := data.Check(); err != nil || text == "" {
		return Matrix{}, fmt.Errorf("a printed code has the signs 0 to 9, A to Z, space and $%%*+-./: alone; found %s", firstOdd(text))
	}
	level, most := coding.M, coding.Version(mostAtM)
	version := fits(data, level, most)
	if version == 0 {
		level, most = coding.L, mostAtL
		version = fits(data, level, most)
	}
	if version == 0 {
		return Matrix{}, fmt.Errorf("the printed code has %d signs, and %d are the most that a telephone reads at this size; leave the tank's shape out, or use a table with fewer entries", len(text), MaxText)
	}
	var best Matrix
	least := -1
	for mask := range 8 {
		plan, err := coding.NewPlan(version, level, coding.Mask(mask))
		if err != nil {
			return Matrix{}, fmt.Errorf("the printed code can't be drawn: %w", err)
		}
		code, err := plan.Encode(data)
		if err != nil {
			return Matrix{}, fmt.Errorf("the printed code can't be drawn: %w", err)
		}
		m := Matrix{Size: code.Size, Version: int(version), Level: level.String(), Mask: mask, dark: make([]bool, code.Size*code.Size)}
		for y := range m.Size {
			for x := range m.Size {
				m.dark[y*m.Size+x] = code.Black(x, y)
			}
		}
		if p := m.penalty(); least < 0 || p < least {
			best, least = m, p
		}
	}
	return best, nil
}

// fits gives the least version that takes the text at a level, or 0.
func fits(data coding.Alpha, level coding.Level, most coding.Version) coding.Version {
	for v := coding.Version(coding.MinVersion); v <= most; v++ {
		if data.Bits(v) <= v.DataBytes(level)*8 {
			return v
		}
	}
	return 0
}

// firstOdd names the first sign that isn't alphanumeric.
func firstOdd(text string) string {
	for _, r := range text {
		if r > 0x7e || strings.IndexByte(alphabet, byte(r)) < 0 {
			return strconv.QuoteRune(r)
		}
	}
	return "nothing"
}
