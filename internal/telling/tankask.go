package telling

import (
	"errors"
	"fmt"
	"math"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// ByHeight answers for a height of the surface.
func (r *TankReport) ByHeight(text string) (TankLevel, error) {
	h, err := quantity.ParseMetre(text)
	if err != nil {
		return TankLevel{}, err
	}
	top := r.Tank.Height()
	if !(h >= 0 && h <= top*(1+1e-9)) {
		return TankLevel{}, fmt.Errorf("%s is outside the tank, which is %s high inside; expected 0mm to %smm", text, top, quantity.Short(float64(top)*1000, 3))
	}
	return LevelAt(r.Levels, h), nil
}

// ByVolume answers for a volume.
func (r *TankReport) ByVolume(text string) (TankLevel, error) {
	v, err := quantity.ParseCubicMetre(text)
	if err != nil {
		return TankLevel{}, err
	}
	h, err := r.Levels.HeightOf(v)
	if err != nil {
		return TankLevel{}, err
	}
	l := LevelAt(r.Levels, h)
	l.Volume = v
	slack := 1e-9 * r.Tank.Height()
	switch {
	case h < -slack:
		l.Note = "the surface lies below the tank's lowest level at the sensor: the sensor stands dry"
	case h > r.Tank.Height()+slack:
		l.Note = "the surface lies above the tank's highest level at the sensor: the sensor shows full"
	}
	return l, nil
}

// ErrNoSender says that a mark was asked for and nothing is known of the sender.
var ErrNoSender = errors.New("the tank file has no sender; state one")

// ByMark answers for a mark of the sender, corrected where its head is known
// to sit off.
func (r *TankReport) ByMark(text string) (TankLevel, error) {
	if r.Sender == nil {
		return TankLevel{}, ErrNoSender
	}
	var mark float64
	if _, rod := r.Sender.(tank.Rod); rod {
		m, err := quantity.ParseMetre(text)
		if err != nil {
			return TankLevel{}, err
		}
		mark = float64(m)
	} else {
		m, err := quantity.ParseShare(text)
		if err != nil {
			return TankLevel{}, err
		}
		mark = float64(m)
		if !(mark >= 0 && mark <= 1) {
			return TankLevel{}, fmt.Errorf("found %s; expected 0%% to 100%%", text)
		}
	}
	note := ""
	if shift, err := r.headShift(); err != nil {
		return TankLevel{}, err
	} else if shift != nil {
		corrected, u := shift.Correct(mark)
		note = fmt.Sprintf("the head shows %s where it should show %s, ± %s", quantity.Share(mark), quantity.Share(math.Round(corrected*1000)/1000), Doubt(200*u)+" points")
		mark = corrected
	}
	h, ok := r.Sender.Height(mark)
	l := LevelAt(r.Levels, h)
	l.Note = note
	if !ok {
		l.Note = joined(l.Note, "outside the sender's travel: the nearest end counts")
	}
	return l, nil
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// DialDoubt is what a dial is read to, and comes back to, as standard
// uncertainties: half a division of 5 % and 1 %, as half-widths. Common practice,
// no source.
var DialDoubt = tank.MarkingDoubt{Mark: 0.025 / math.Sqrt(3), Shift: 0.01 / math.Sqrt(3)}

// headShift gives the correction that the file's known point asks for; nil
// where there is none.
func (r *TankReport) headShift() (*tank.Shift, error) {
	if r.Shift != nil || r.File.Sender == nil || r.File.Sender.KnownPoint == nil {
		return r.Shift, nil
	}
	known, shown := r.File.Sender.KnownPoint.Known()
	if p, ok := r.File.PermittedFill(); ok {
		known.PermittedFill = float64(p)
	}
	var dial *tank.Dial
	if d, ok := r.Sender.(tank.Dial); ok {
		dial = &d
	}
	shift, err := tank.FindShift(dial, known, float64(shown), DialDoubt.Mark, DialDoubt.Shift)
	if err != nil {
		return nil, fmt.Errorf("the sender's known point: %w", err)
	}
	r.Shift = shift
	return shift, nil
}
