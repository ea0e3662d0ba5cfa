package tankfile

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// Parts of the stated capacity: how far the sizes may be off it without a word,
// and how near to it another reading of the sizes has to come to be offered as
// the reason. Makers state round figures. Common practice, no source.
const (
	capacityAgrees   = 0.02
	capacityExplains = 0.01
)

// Walls, in millimetres, that may be offered as the reason why a stated
// capacity is less than the sizes give: sheet steel to thick moulded plastic.
// Common practice, no source.
const thinnest, thickest = 0.5, 12.0

// findings are those on the whole tank, and b's where a stated capacity doesn't
// settle them.
func (f *File) findings(t *tank.Tank, b *builder) (out []finding.Finding) {
	stated, ok := f.Capacity()
	if !ok {
		return b.findings
	}
	difference := t.Capacity() - stated
	if math.Abs(float64(difference)) > capacityAgrees*float64(stated) {
		return append(b.findings, f.disagrees(t, stated, b.open))
	}
	for _, k := range b.findings {
		// The plate says that the straight part was the straight part.
		if k.Kind != KindDeepHeads {
			out = append(out, k)
		}
	}
	return out
}

// disagrees says how far a stated capacity is from the sizes, and what to ask.
func (f *File) disagrees(t *tank.Tank, stated quantity.CubicMetre, open func(string) (io.ReadCloser, error)) finding.Finding {
	difference, side := t.Capacity()-stated, "more"
	if difference < 0 {
		difference, side = -difference, "less"
	}
	text := fmt.Sprintf("The sizes give %s, the stated capacity is %s: %s (%s) %s than stated. ",
		litres(t.Capacity()), litres(stated), litres(difference), quantity.Share(math.Round(float64(difference/stated)*1000)/1000), side)
	reasons := f.reasons(t.Capacity(), stated, open)
	switch {
	case len(reasons) > 0:
		text += strings.Join(reasons, " ")
	case f.Shape == Mesh:
		text += "Is the unit of the mesh right, and is it the inside that was drawn?"
	case f.Shape == Strapping:
		text += "Does the table go up to the brim, and is it this tank's?"
	default:
		text += "No usual slip accounts for it. Were all sizes measured on this tank, and is its shape the one chosen here?"
	}
	return finding.Finding{Kind: tank.KindCapacityDiffers, Weight: finding.Doubt, Text: text}
}

// reasons lists the slips that bring the sizes within a part of the stated
// capacity, each as a question with what to do.
func (f *File) reasons(computed, stated quantity.CubicMetre, open func(string) (io.ReadCloser, error)) []string {
	var out []string
	near := func(v quantity.CubicMetre) bool {
		return math.Abs(float64(v-stated)) <= capacityExplains*float64(stated)
	}
	with := func(change func(*Body)) quantity.CubicMetre {
		body := f.Body
		change(&body)
		other := File{Body: body}
		t, err := other.build(&builder{open: open})
		if err != nil || t == nil {
			return quantity.CubicMetre(math.NaN())
		}
		return t.Capacity()
	}
	say := func(v quantity.CubicMetre, format string, args ...any) {
		if near(v) {
			out = append(out, fmt.Sprintf(format, append(args, litres(v))...))
		}
	}
	switch {
	case f.LengthMM > 0 && f.cylindrical():
		say(with(func(y *Body) { y.OverallLengthMM, y.LengthMM = y.LengthMM, 0 }),
			"Is the length of %s over both heads, and not the straight part? Then write overall_length_mm, which gives %s.", quantity.Metre(metres(f.LengthMM)))
	case f.OverallLengthMM > 0:
		say(with(func(y *Body) { y.LengthMM, y.OverallLengthMM = y.OverallLengthMM, 0 }),
			"Is the overall length of %s that of the straight part only? Then write length_mm, which gives %s.", quantity.Metre(metres(f.OverallLengthMM)))
	}
	if f.cylindrical() && f.Heads == nil {
		for _, kind := range []string{"kloepper", "korbbogen", "asme-fd", "ellipsoidal-2-1", "hemispherical"} {
			if v := with(func(y *Body) { y.Heads = &Heads{Both: kind} }); near(v) {
				say(v, "Are the heads really flat, as they count unless given? %s ones give %s.", kind)
				break
			}
		}
	}
	if f.Shape == Mesh {
		for _, u := range []string{"mm", "cm", "m", "in"} {
			by := units[u] / units[f.Unit]
			if v := computed * quantity.CubicMetre(by*by*by); u != f.Unit && by != 1 {
				say(v, "Was the mesh drawn in %s? Then write that for its unit, which gives %s.", u)
			}
		}
	}
	if f.WallMM > 0 {
		say(with(func(y *Body) { y.WallMM = 0 }), "Are these inside sizes already? Then delete wall_mm, which gives %s.")
	} else if f.Shape != Mesh && f.Shape != Strapping && f.Shape != Stack && f.Shape != Joined {
		if wall, ok := wallFor(stated, func(mm float64) quantity.CubicMetre { return with(func(y *Body) { y.WallMM = mm }) }); ok {
			out = append(out, fmt.Sprintf("Are these outside sizes? A wall of %s all round accounts for it; measure it, and write wall_mm.", quantity.Metre(metres(wall))))
		}
	}
	permitted, ok := f.PermittedFill()
	if !ok {
		permitted = 0.8 // of LPG in vehicles and leisure; common practice, no source
	}
	if permitted < 1 {
		say(computed*quantity.CubicMetre(permitted), "Is the stated figure the permitted fill and not the whole capacity? %s of the sizes is %s.", permitted)
	}
	for _, g := range []struct {
		name   string
		volume float64
	}{{"US", tank.USGallon}, {"imperial", tank.ImperialGallon}} {
		if stated := float64(stated) * 1000 * g.volume; math.Abs(float64(computed)-stated) <= capacityExplains*stated {
			out = append(out, fmt.Sprintf("Is the stated figure in %s gallons? They come to %s.", g.name, litres(quantity.CubicMetre(stated))))
		}
	}
	return out
}

// wallFor finds the wall in millimetres, to a tenth, that brings the capacity
// down to the stated one.
func wallFor(stated quantity.CubicMetre, with func(mm float64) quantity.CubicMetre) (float64, bool) {
	low, high := thinnest, thickest
	if !(with(low) >= stated) {
		return 0, false
	}
	// A wall too thick for the tank gives no capacity, which isn't above it.
	if with(high) > stated {
		return 0, false
	}
	for high-low > 0.02 {
		if mid := (low + high) / 2; with(mid) > stated {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Round((low+high)*5) / 10, true
}

func (f *File) cylindrical() bool { return f.Shape == LyingCylinder || f.Shape == UprightCylinder }

// litres prints a volume as far as a comparison needs it.
func litres(v quantity.CubicMetre) string {
	decimals := 3
	for _, more := range []quantity.CubicMetre{0.001, 0.01, 1} {
		if v >= more {
			decimals--
		}
	}
	return quantity.Short(float64(v)*1000, decimals) + " L"
}
