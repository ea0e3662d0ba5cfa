package docket

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/contents"
	"gaugewright/internal/quantity"
)

// Tank is what is known of a tank besides its dockets. The zero value of a field means
// that it isn't known.
type Tank struct {
	// Full is what the full scale holds, m³, as it was stated. 0: it is to be learned
	// from the dockets too.
	Full quantity.CubicMetre
	// Water is the whole inside of the tank, m³; 0: Full.
	Water quantity.CubicMetre
	// Content turns a level on the scale, 0..1, into what there is, in parts of
	// Full; it rises with the level. nil: they are the same.
	Content func(level float64) float64
	// Permitted is the content at which a filling stops by itself, in parts of Full;
	// 0: 0.8 for gas and 1 for anything else.
	Permitted float64
	// Heel is the content at which nothing more can be drawn, in parts of Full.
	Heel float64
	// Gas says that it is LPG, and Fuel that it is diesel or petrol.
	Gas, Fuel bool
	// Densities turn kilograms into litres; nil: kilograms can't be used.
	Densities contents.Densities
	// Guessed says that the densities are those of a mixture that nobody stated.
	Guessed bool
	Kelvin  float64 // of the contents; 0: 15 °C
	// Signal gives what the sender gives at a level that it shows, in its unit; nil: no
	// end values are proposed. It rises or falls throughout. SignalUnit is for words.
	Signal     func(level float64) float64
	SignalUnit string
	// Lower and Upper are the end values that are keyed in now; both 0: as Signal has
	// them at empty and full.
	Lower, Upper float64
	// Units are those in which people are told.
	Units quantity.Units
}

// permitted gives the content at which the pump stops.
func (t Tank) permitted() float64 {
	switch {
	case t.Permitted > 0:
		return t.Permitted
	case t.Gas:
		return float64(contents.AutomotiveFill)
	}
	return 1
}

// content gives the content at a level, carried on in a straight line beyond the ends.
func (t Tank) content(level float64) float64 {
	if t.Content == nil {
		return level
	}
	const step = 0.02
	switch {
	case level < 0:
		return t.Content(0) + level*(t.Content(step)-t.Content(0))/step
	case level > 1:
		return t.Content(1) + (level-1)*(t.Content(1)-t.Content(1-step))/step
	}
	return t.Content(level)
}

// level is the reverse of content.
func (t Tank) level(content float64) float64 {
	if t.Content == nil {
		return content
	}
	low, high := -0.5, 1.5
	for range 48 {
		mid := (low + high) / 2
		if t.content(mid) < content {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// slope gives how fast the content rises with the level.
func (t Tank) slope(level float64) float64 {
	const step = 0.02
	return max(0.05, (t.content(level+step)-t.content(level-step))/(2*step))
}

// Limits of what can be a docket.
const (
	MostLitres    = 100_000.0
	MostKilograms = 100_000.0
	// Ahead is how far the time of a docket may be ahead of the clock of the one who
	// takes it in: a phone's clock isn't the watch's.
	Ahead = 10 * time.Minute
	// MostPhoto is how large a picture may be, bytes.
	MostPhoto = 3 << 20
)

func (d Docket) ahead(now time.Time) bool { return d.Time.After(now.Add(Ahead)) }

func (d Docket) notYet() error {
	return fmt.Errorf("the docket is from %s, which hasn't been yet; expected a time up to now", d.Time.UTC().Format("2 January 2006 at 15:04 UTC"))
}

// Check says what of a docket can't be; nil: it can be used. now is the time at which
// it is entered; zero: it isn't looked at.
func (d Docket) Check(now time.Time) error {
	amount := func() error {
		for _, a := range []struct {
			v, most float64
			unit    string
		}{{d.Litres, MostLitres, "L"}, {d.Kilograms, MostKilograms, "kg"}} {
			if math.IsNaN(a.v) || a.v < 0 || a.v > a.most {
				return fmt.Errorf("the docket says %s %s; expected above 0, up to %s %s", quantity.Short(a.v, 1), a.unit, quantity.Short(a.most, 0), a.unit)
			}
		}
		return nil
	}
	switch {
	case d.ID == "" || len(d.ID) > 64:
		return fmt.Errorf("the docket has no ID of 1 to 64 characters; send one that is made once for each docket")
	case d.Time.IsZero() || d.Time.Year() < 2000 || d.Time.Year() > 2200:
		return fmt.Errorf("the docket has no time that can be; expected the day and the hour of the filling")
	case !now.IsZero() && d.ahead(now):
		return d.notYet()
	case len(d.Note) > 2000:
		return fmt.Errorf("the note has %d bytes; expected up to 2000", len(d.Note))
	case len(d.Typed) > 100:
		return fmt.Errorf("the amount as typed has %d bytes; expected up to 100", len(d.Typed))
	}
	if err := amount(); err != nil {
		return err
	}
	switch d.Kind {
	case Receipt, Weighed:
		if (d.Litres > 0) == (d.Kilograms > 0) {
			return fmt.Errorf("the docket has no amount, or two; expected litres or kilograms, above 0")
		}
	case Stopped, RanOut:
		if d.Litres > 0 || d.Kilograms > 0 {
			return fmt.Errorf("a docket of the kind %q has an amount; expected none, or the kind %q", d.Kind, Receipt)
		}
	default:
		return fmt.Errorf("there is no kind of docket %q; expected %s, %s, %s or %s", d.Kind, Receipt, Stopped, RanOut, Weighed)
	}
	if d.Stopped && d.Kind != Receipt {
		return fmt.Errorf("a docket of the kind %q says besides that the pump stopped; expected that of a %s alone", d.Kind, Receipt)
	}
	return nil
}
