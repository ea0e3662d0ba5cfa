package watch

import (
	"encoding/binary"
	"math"
	"testing"
	"time"
)

// FuzzTake hands over readings made of bytes: 8 for how far the time moves, 8 for
// the value, 1 for signal, what the source says, and which source. No level may be
// one that can't be.
func FuzzTake(f *testing.F) {
	row := func(move, value float64, flags byte) []byte {
		b := binary.LittleEndian.AppendUint64(nil, math.Float64bits(move))
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(value))
		return append(b, flags)
	}
	var calm, broken, clocks []byte
	for i := range 40 {
		calm = append(calm, row(1, 100+float64(i%3), 0)...)
		broken = append(broken, row(1, []float64{100, 99999, 0, 230, math.NaN()}[i%5], byte(i))...)
		clocks = append(clocks, row([]float64{1, 1e9, -1e9, 5, -5, 1e300}[i%6], 100, 0)...)
	}
	f.Add(calm)
	f.Add(broken)
	f.Add(clocks)
	in, err := Ends(0, 190, 0.1)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		w, err := New(Config{Tank: "a", Instrument: in})
		if err != nil {
			t.Fatal(err)
		}
		at := start
		for len(data) >= 17 {
			move := math.Float64frombits(binary.LittleEndian.Uint64(data))
			value := math.Float64frombits(binary.LittleEndian.Uint64(data[8:]))
			flags := data[16]
			data = data[17:]
			if move > -1e10 && move < 1e10 {
				at = at.Add(time.Duration(math.Max(-9e18, math.Min(9e18, move*1e9))))
			}
			r := Reading{Source: string('a' + rune(flags>>6)), Time: at, Value: value, Signal: Signal(flags & 3), Said: Said(flags >> 2 & 3)}
			if flags&16 != 0 {
				r.Arrived = at.Add(-time.Hour)
			}
			if flags&32 != 0 {
				r.Tilt = &Tilt{Pitch: radian(value), Roll: radian(move)}
			}
			sound(t, w.Take(r))
			l := w.At(at.Add(time.Second))
			sound(t, l)
			l.Publish()
		}
	})
}
