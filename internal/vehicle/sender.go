package vehicle

import (
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// Sender is a resistive level sender and the input that reads it.
type Sender struct {
	Empty, Full quantity.Ohm // at its lower and its upper stop; either may be the larger
	// Bottom and Top are where the stops are, in parts of the inside height; Top 0: 1.
	Bottom, Top float64
	// Bend bends the curve: a share m of the travel gives m + Bend·m·(1−m) of the
	// ohms. 0 is straight; between −1 and 1.
	Bend float64
	// ByVolume says that its dial goes by the volume of this very tank, and not by
	// the height.
	ByVolume bool
	// Steps is into how many steps the travel is divided by a chain of resistors
	// or the turns of a wire-wound track; 0: none.
	Steps int
	// Hysteresis is the play of float, arm and wiper in parts of the travel: how
	// far they lie apart at the same level, coming from above and from below.
	Hysteresis float64
	Noise      quantity.Ohm // standard deviation of one reading
	PerKelvin  float64      // relative change of the resistance per K, from 20 °C
	// X and Y are where it is mounted, from the middle of the plan: forward and to
	// port, in metres.
	X, Y float64
	// Least is the last digit of the input; 0: 0.1 Ω. Open is what the input reads
	// with nothing connected; 0: 99999 Ω.
	Least, Open quantity.Ohm
}

func (s *Sender) check() error {
	if s.Top == 0 {
		s.Top = 1
	}
	if s.Least == 0 {
		s.Least = 0.1
	}
	if s.Open == 0 {
		s.Open = 99999
	}
	switch {
	case s.Empty == s.Full || s.Empty < 0 || s.Full < 0 || math.IsNaN(float64(s.Empty+s.Full)):
		return fmt.Errorf("a sender of %g Ω empty and %g Ω full; expected two different values of 0 or more", s.Empty, s.Full)
	case !(s.Bottom >= 0 && s.Bottom < s.Top && s.Top <= 1):
		return fmt.Errorf("its stops are at %g and %g of the height; expected 0 to 1, the lower first", s.Bottom, s.Top)
	case !(math.Abs(s.Bend) < 1):
		return fmt.Errorf("its curve is bent by %g; expected between -1 and 1", s.Bend)
	case s.Steps < 0 || s.Steps == 1 || s.Hysteresis < 0 || s.Hysteresis > 0.2 || s.Noise < 0 || s.Least < 0 || s.Open < 0:
		return fmt.Errorf("steps %d, hysteresis %g, noise %g Ω, last digit %g Ω, open %g Ω; expected none below 0, not one step alone, and a hysteresis of at most 0.2",
			s.Steps, s.Hysteresis, s.Noise, s.Least, s.Open)
	}
	return nil
}

// probe is a sender in its tank.
type probe struct {
	Sender
	shape *shape
	mark  float64 // where the wiper stands, in parts of the travel
	half  float64 // of the play
}

func newProbe(s Sender, in *shape, share float64) *probe {
	p := &probe{Sender: s, shape: in, half: s.Hysteresis / 2}
	p.mark = p.ideal(in.height(share))
	return p
}

// ideal gives the mark for a height of the surface, held to the stops.
func (p *probe) ideal(h float64) float64 {
	if !p.ByVolume {
		return min(max((h/p.shape.tall-p.Bottom)/(p.Top-p.Bottom), 0), 1)
	}
	low, high := p.shape.share(p.Bottom*p.shape.tall), p.shape.share(p.Top*p.shape.tall)
	return min(max((p.shape.share(h)-low)/(high-low), 0), 1)
}

// follow lets float and wiper follow the surface: they stand still until it has
// moved by half of the play.
func (p *probe) follow(h float64) {
	m := p.ideal(h)
	p.mark = min(max(p.mark, m-p.half), m+p.half)
}

// resistance is that of the wiper where it stands, at a temperature.
func (p *probe) resistance(t float64) float64 {
	m := p.mark
	if p.Steps > 0 {
		m = math.Round(m*float64(p.Steps)) / float64(p.Steps)
	}
	m += p.Bend * m * (1 - m)
	r := float64(p.Empty) + m*float64(p.Full-p.Empty)
	return r * (1 + p.PerKelvin*(t-293.15))
}

// read rounds to the input's last digit and holds to what it can read.
func (p *probe) read(ohm float64) float64 {
	least := float64(p.Least)
	return min(max(quantity.Round(math.Round(ohm/least)*least, 9), 0), float64(p.Open))
}
