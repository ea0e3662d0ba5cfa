package web

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // a picture may come as one
	"sync"
)

// mostPoints is the most that a picture may have, in points, and photoSide how long
// its longer side is as it is kept: a receipt can be read from that.
const (
	mostPoints = 26_000_000
	photoSide  = 1600
)

// onePhoto lets pictures be read one after the other: each takes up to a hundred
// megabytes meanwhile.
var onePhoto sync.Mutex

// plainPhoto makes of a picture (JPEG or PNG) one that has nothing but what can be
// seen on it: it is drawn anew, smaller, upright, as a JPEG. Where it was taken, when
// and with what, which telephones write into pictures (Exif), is not in it.
func plainPhoto(data []byte) ([]byte, error) {
	onePhoto.Lock()
	defer onePhoto.Unlock()
	config, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || kind != "jpeg" && kind != "png" || config.Width < 1 || config.Height < 1 {
		return nil, errors.New("that is no picture that can be read here; expected a JPEG or a PNG")
	}
	if points := config.Width * config.Height; config.Width > mostPoints || config.Height > mostPoints || points > mostPoints {
		return nil, fmt.Errorf("the picture has %d million points; expected %d million at the most", points/1_000_000, mostPoints/1_000_000)
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, errors.New("the picture is damaged, or didn’t come whole; take it once more")
	}
	way := 1
	if kind == "jpeg" {
		way = exifWay(data)
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, turned(shrunk(picture), way), &jpeg.Options{Quality: 80}); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// shrunk gives a picture whose longer side is photoSide at the most: each point the
// mean of a square of points. What is transparent becomes white.
func shrunk(p image.Image) *image.RGBA {
	b := p.Bounds()
	n := max(1, (max(b.Dx(), b.Dy())+photoSide-1)/photoSide)
	out := image.NewRGBA(image.Rect(0, 0, max(1, b.Dx()/n), max(1, b.Dy()/n)))
	mean := meanOf(p)
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			at := image.Pt(b.Min.X+x*n, b.Min.Y+y*n)
			out.SetRGBA(x, y, mean(image.Rectangle{at, at.Add(image.Pt(n, n))}.Intersect(b)))
		}
	}
	return out
}

// meanOf gives what makes the mean of a square of a picture. The pictures of
// telephones are in YCbCr (JFIF, ITU-T T.871), where the mean is taken before it is
// turned into red, green and blue: that is five times as fast.
func meanOf(p image.Image) func(image.Rectangle) color.RGBA {
	if p, ok := p.(*image.YCbCr); ok {
		return func(r image.Rectangle) color.RGBA {
			var sum [3]int
			for y := r.Min.Y; y < r.Max.Y; y++ {
				for x := r.Min.X; x < r.Max.X; x++ {
					c := p.COffset(x, y)
					sum[0], sum[1], sum[2] = sum[0]+int(p.Y[p.YOffset(x, y)]), sum[1]+int(p.Cb[c]), sum[2]+int(p.Cr[c])
				}
			}
			n := r.Dx() * r.Dy()
			red, green, blue := color.YCbCrToRGB(uint8((sum[0]+n/2)/n), uint8((sum[1]+n/2)/n), uint8((sum[2]+n/2)/n))
			return color.RGBA{red, green, blue, 255}
		}
	}
	at := pointsOf(p)
	return func(r image.Rectangle) color.RGBA {
		var sum [3]int
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				c := at(x, y)
				white := 0xffff - int(c.A)
				sum[0], sum[1], sum[2] = sum[0]+(int(c.R)+white)>>8, sum[1]+(int(c.G)+white)>>8, sum[2]+(int(c.B)+white)>>8
			}
		}
		n := r.Dx() * r.Dy()
		return color.RGBA{uint8((sum[0] + n/2) / n), uint8((sum[1] + n/2) / n), uint8((sum[2] + n/2) / n), 255}
	}
}

// pointsOf gives what reads the points of a picture, without an allocation for each
// where that can be.
func pointsOf(p image.Image) func(x, y int) color.RGBA64 {
	if p, ok := p.(image.RGBA64Image); ok {
		return p.RGBA64At
	}
	return func(x, y int) color.RGBA64 { return color.RGBA64Model.Convert(p.At(x, y)).(color.RGBA64) }
}

// turned puts a picture upright, by the way in which a camera says that it was held
// (Exif 2.32, 4.6.4: tag 0x0112): 1 is upright, 3 upside down, 6 and 8 on a side, the
// others mirrored too.
func turned(p *image.RGBA, way int) *image.RGBA {
	w, h := p.Rect.Dx(), p.Rect.Dy()
	from := map[int]func(x, y int) (int, int){
		2: func(x, y int) (int, int) { return w - 1 - x, y },
		3: func(x, y int) (int, int) { return w - 1 - x, h - 1 - y },
		4: func(x, y int) (int, int) { return x, h - 1 - y },
		5: func(x, y int) (int, int) { return y, x },
		6: func(x, y int) (int, int) { return y, h - 1 - x },
		7: func(x, y int) (int, int) { return w - 1 - y, h - 1 - x },
		8: func(x, y int) (int, int) { return w - 1 - y, x },
	}[way]
	if from == nil {
		return p
	}
	size := image.Rect(0, 0, w, h)
	if way >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(size)
	for y := range size.Dy() {
		for x := range size.Dx() {
			out.SetRGBA(x, y, p.RGBAAt(from(x, y)))
		}
	}
	return out
}

// exifWay finds in a JPEG in which way the camera was held; 1 where it doesn't say.
func exifWay(data []byte) int {
	for at := 2; at+4 <= len(data) && data[at] == 0xff; {
		kind, long := data[at+1], int(binary.BigEndian.Uint16(data[at+2:]))
		if kind == 0xda || long < 2 || at+2+long > len(data) {
			break
		}
		if body := data[at+4 : at+2+long]; kind == 0xe1 && bytes.HasPrefix(body, []byte("Exif\x00\x00")) {
			return tiffWay(body[6:])
		}
		at += 2 + long
	}
	return 1
}

// tiffWay finds the same in the TIFF structure of an Exif block.
func tiffWay(t []byte) int {
	if len(t) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.LittleEndian
	if t[0] == 'M' {
		order = binary.BigEndian
	}
	at := int64(order.Uint32(t[4:]))
	if at+2 > int64(len(t)) {
		return 1
	}
	n := int64(order.Uint16(t[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > int64(len(t)) {
			return 1
		}
		if order.Uint16(t[e:]) == 0x0112 {
			if way := int(order.Uint16(t[e+8:])); way >= 1 && way <= 8 {
				return way
			}
			return 1
		}
	}
	return 1
}
