package tag

import (
	"image"
	"image/color"
)

// quietZone is the white around a code in modules (ISO/IEC 18004, 6.3.8).
const quietZone = 4

// Image draws the code in pixels, so many to the module's side (1 where less is
// asked for), black on white with its quiet zone.
func (m Matrix) Image(pixels int) *image.Paletted {
	pixels = max(1, pixels)
	side := (m.Size + 2*quietZone) * pixels
	out := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y := range side {
		for x := range side {
			if m.Dark(x/pixels-quietZone, y/pixels-quietZone) {
				out.SetColorIndex(x, y, 1)
			}
		}
	}
	return out
}

// leastModule is the side of a module in mm from which on telephones read a code
// from a hand's breadth away (common practice, no source).
const leastModule = 0.33

// LeastMM gives the least side in mm at which the code should be printed, with
// its quiet zone.
func (m Matrix) LeastMM() float64 { return leastModule * float64(m.Size+2*quietZone) }
