package web

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gaugewright/internal/chart"
)

// drawIcons is "-icons": the pictures are drawn anew from the mark.
var drawIcons = flag.Bool("icons", false, "draw static/icon-*.png anew from static/mark.svg")

// The pictures that a phone keeps of the page are the mark, on paper. On one that
// may be cut round, all of it lies in the circle of four fifths of its width that
// never is (W3C Web Application Manifest, "Icon masks and safe zone").
func TestIcons(t *testing.T) {
	mark, err := os.ReadFile("static/mark.svg")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		side, scale int
		safe        bool
	}{
		"icon-180.png": {180, 5, false}, "icon-192.png": {192, 6, false}, "icon-512.png": {512, 16, false},
		"icon-192-maskable.png": {192, 4, true}, "icon-512-maskable.png": {512, 11, true},
	} {
		want, ground := icon(t, string(mark), c.side, c.scale)
		if c.safe {
			for y := range c.side {
				for x := range c.side {
					dx, dy := float64(x)+0.5-float64(c.side)/2, float64(y)+0.5-float64(c.side)/2
					if far := dx*dx+dy*dy > 0.16*float64(c.side*c.side); far && want.At(x, y) != ground {
						t.Fatalf("%s: the mark reaches %d, %d, where it may be cut off", name, x, y)
					}
				}
			}
		}
		path := filepath.Join("static", name)
		if *drawIcons {
			var b bytes.Buffer
			if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, want); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		file, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got, err := png.Decode(bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		if got.Bounds() != want.Bounds() {
			t.Fatalf("%s is %v; expected %v", name, got.Bounds(), want.Bounds())
		}
		for y := range c.side {
			for x := range c.side {
				r, g, b, a := got.At(x, y).RGBA()
				if R, G, B, A := want.At(x, y).RGBA(); r != R || g != G || b != B || a != A {
					t.Fatalf("%s isn't the mark at %d, %d; draw it anew with -icons", name, x, y)
				}
			}
		}
	}
	for _, colour := range []string{paperLight, paperDark} {
		if !strings.Contains(chart.CSS(), colour) {
			t.Errorf("the paper of the phone's frame, %s, isn't one of the pages' colours", colour)
		}
	}
}

// icon draws the mark in the middle of a square: it is made of upright and level
// strokes alone, whose edges fall on whole pixels at a whole scale.
func icon(t *testing.T, mark string, side, scale int) (*image.Paletted, color.Color) {
	t.Helper()
	colour := func(of string) color.Color {
		v, err := strconv.ParseUint(of[1:], 16, 32)
		if err != nil {
			t.Fatal(err)
		}
		return color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 255}
	}
	style := func(rule string) string { return regexp.MustCompile(rule).FindStringSubmatch(mark)[1] }
	ground, ink, sheet, water := colour(paperLight), colour(style(`\.i\{stroke:(#\w+)`)), colour(style(`\.s\{fill:(#\w+)`)), colour(style(`\.w\{fill:(#\w+)`))
	picture := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{ground, ink, sheet, water})
	wide, high := 22, 30
	if !strings.Contains(mark, `viewBox="0 0 22 30"`) {
		t.Fatal("the mark has another size")
	}
	fill := func(c color.Color, x0, y0, x1, y1 float64) {
		left, top := (side-wide*scale)/2, (side-high*scale)/2
		at := func(v float64, from int) int { return from + int(v*float64(scale)) }
		for y := at(y0, top); y < at(y1, top); y++ {
			for x := at(x0, left); x < at(x1, left); x++ {
				picture.Set(x, y, c)
			}
		}
	}
	// Each path is moves, and strokes to the right or down, or a box.
	for _, p := range regexp.MustCompile(`<path class="([^"]+)" d="([^"]+)"(?: stroke-width="(\d+)")?`).FindAllStringSubmatch(mark, -1) {
		half, _ := strconv.ParseFloat("0"+p[3], 64)
		half /= 2
		for _, d := range regexp.MustCompile(`M([\d.]+) ([\d.]+)h([\d.]+)(?:v([\d.]+)h[\d.-]+z)?`).FindAllStringSubmatch(p[2], -1) {
			var n [4]float64
			for i := range n {
				n[i], _ = strconv.ParseFloat("0"+d[i+1], 64)
			}
			x, y, w, h := n[0], n[1], n[2], n[3]
			switch p[1] {
			case "i s":
				fill(ink, x-half, y-half, x+w+half, y+h+half)
				fill(sheet, x+half, y+half, x+w-half, y+h-half)
			case "w":
				fill(water, x, y, x+w, y+h)
			case "i":
				fill(ink, x, y-half, x+w, y+half)
			default:
				t.Fatalf("the mark has a path of class %q", p[1])
			}
		}
	}
	return picture, ground
}
