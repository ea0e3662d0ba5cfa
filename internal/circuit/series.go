package circuit

import (
	"fmt"
	"math"
	"sort"
)

// Series is a series of preferred numbers for resistors.
type Series string

// The series of IEC 60063 known here.
const (
	E12 Series = "E12"
	E24 Series = "E24"
	E96 Series = "E96"
)

// seriesE12 and seriesE24 are in hundredths. They aren't rounded from 10^(i/24):
// 2.7 to 4.7 and 8.2 differ from that, so they have to be listed. Source: IEC
// 60063.
var (
	seriesE12 = []int{100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820}
	seriesE24 = []int{100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300,
		330, 360, 390, 430, 470, 510, 560, 620, 680, 750, 820, 910}
)

// hundredths gives the values of one decade in hundredths, or nil.
func (s Series) hundredths() []int {
	switch s {
	case E12:
		return seriesE12
	case E24:
		return seriesE24
	case E96:
		list := make([]int, 96)
		for i := range list {
			// E96 is rounded from 10^(i/96) throughout. Source: IEC 60063.
			list[i] = int(math.Round(100 * math.Pow(10, float64(i)/96)))
		}
		return list
	}
	return nil
}

// Values gives the values of one decade, 1 up to but not including 10.
func (s Series) Values() ([]float64, error) {
	h, err := s.known()
	if err != nil {
		return nil, err
	}
	list := make([]float64, len(h))
	for i, v := range h {
		list[i] = float64(v) / 100
	}
	return list, nil
}

func (s Series) known() ([]int, error) {
	h := s.hundredths()
	if h == nil {
		return nil, fmt.Errorf("series %q; expected E12, E24 or E96", string(s))
	}
	return h, nil
}

// The values of resistors that are looked through, Ω.
const (
	seriesLeast = 1e-3
	seriesMost  = 1e9
)

// Within gives the values of a series from low to high, both included, in
// rising order; low 0.001 or more, high 10⁹ or less, in ohm. It may be empty.
func (s Series) Within(low, high float64) ([]float64, error) {
	h, err := s.known()
	if err != nil {
		return nil, err
	}
	if !(low >= seriesLeast && high >= low && high <= seriesMost) {
		return nil, fmt.Errorf("values from %g to %g Ω; expected a range within 0.001 to 1000000000 Ω, the lower end first", low, high)
	}
	var list []float64
	for exponent := -5; exponent <= 7; exponent++ {
		for _, v := range h {
			// One division or product of whole numbers: correctly rounded, so that 4.7
			// is 4.7 in every decade.
			value := float64(v) * math.Pow10(max(0, exponent)) / math.Pow10(max(0, -exponent))
			if value >= low && value <= high {
				list = append(list, value)
			}
		}
	}
	return list, nil
}

// Nearest gives the value of a series with the least difference from v ohm, the
// smaller of two that are as near. It takes 0.001 to 9·10⁸ Ω.
func (s Series) Nearest(v float64) (float64, error) {
	if !(v >= seriesLeast && v <= 0.9*seriesMost) {
		return 0, fmt.Errorf("a resistor of %g Ω; expected 0.001 to 900000000 Ω", v)
	}
	list, err := s.Within(max(seriesLeast, v/2), min(seriesMost, v*2))
	if err != nil {
		return 0, err
	}
	i := sort.SearchFloat64s(list, v)
	switch {
	case i == len(list):
		return list[i-1], nil
	case i == 0 || list[i]-v < v-list[i-1]:
		return list[i], nil
	}
	return list[i-1], nil
}
