package tank

import (
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// KnownPoint is a level known in place: somewhere between two shares of the
// tank's capacity, every share there as likely as another. Of a dial whose tank
// isn't given they are taken for shares of the dial.
type KnownPoint struct {
	Name          string  // in a sentence: "the fill stop"
	Least, Most   float64 // 0..1
	FullByRule    bool    // at this level the tank is as full as it may be
	PermittedFill float64 // the share of the capacity that may be filled; 0 stands for 0.8
}

// FillStop is the automatic stop that ends the filling at 80 % of the capacity,
// with a tolerance of 0 and −5 %. Source: UN Regulation No. 67, from memory.
func FillStop() KnownPoint {
	return KnownPoint{Name: "the fill stop", Least: 0.75, Most: 0.80, FullByRule: true}
}

// EmptyTank is a tank with nothing in it that can be drawn, and at most the
// share given left over.
func EmptyTank(left float64) KnownPoint { return KnownPoint{Name: "the empty tank", Most: left} }

// Mean and U of the interval. Source: JCGM 100:2008, 4.3.8, formula 9b (from
// memory): the middle of the limits, and their distance over √12.
func (k KnownPoint) Mean() float64 { return (k.Least + k.Most) / 2 }
func (k KnownPoint) U() float64    { return (k.Most - k.Least) / math.Sqrt(12) }

func (k KnownPoint) permitted() float64 {
	if k.PermittedFill == 0 {
		return 0.8
	}
	return k.PermittedFill
}

// MostShift is the largest shift, in parts of the travel, that a head can have
// and still be on its mount. Common practice, no source.
const MostShift = 0.15

// Shift is the correction of a dial head that sits a few degrees off after it
// was swapped, found at one known point. It is a shift of the angle, the same
// at every reading; the dial's own scale turns it into marks.
type Shift struct {
	By, U float64 // in shares of the angle's travel: what the head shows too much; standard uncertainty
	// Reading is the standard uncertainty of one more reading of the dial.
	Reading  float64
	Findings []finding.Finding

	dial  *Dial
	shown float64
	known KnownPoint
}

// Kinds of findings about a shifted head.
const (
	KindShift         = "head-shift"
	KindShiftUnproven = "head-shift-one-point"
	KindShiftFill     = "head-shift-permitted-fill"
	KindShiftLateStop = "head-shift-late-stop"
)

// FindShift finds the shift from what the dial shows at a known point. The
// standard uncertainties of its reading (division, parallax) and of its
// repeatability are shares of the dial. The dial gives how its marks go with
// the angle; nil is a dial whose marks are evenly spaced, as is one without an
// arm. A shift beyond [MostShift] is refused: that is not a head a few degrees
// off.
func FindShift(dial *Dial, known KnownPoint, shown, uReading, uRepeat float64) (*Shift, error) {
	if !(known.Least >= 0 && known.Most <= 1 && known.Least <= known.Most) {
		return nil, fmt.Errorf("the known point lies between %g and %g %%; expected 0 to 100 %%, the lower first", known.Least*100, known.Most*100)
	}
	if p := known.permitted(); !(p > 0 && p <= 1) {
		return nil, fmt.Errorf("the permitted fill is %g %%; expected above 0 and at most 100 %%", p*100)
	}
	if !(shown >= 0 && shown <= 1) {
		return nil, fmt.Errorf("the dial shows %g %%; expected 0 to 100 %%", shown*100)
	}
	if !(uReading >= 0 && uReading < 0.5 && uRepeat >= 0 && uRepeat < 0.5) {
		return nil, fmt.Errorf("the doubts of the dial are %g %% and %g %%; expected 0 or more and less than 50 %%", uReading*100, uRepeat*100)
	}
	if dial != nil {
		if err := dial.Check(); err != nil {
			return nil, err
		}
	}
	s := &Shift{dial: dial, shown: shown, known: known, Reading: math.Hypot(uReading, uRepeat)}
	least, most := s.angle(s.trueMark(known.Least)), s.angle(s.trueMark(known.Most))
	in := KnownPoint{Least: least, Most: most}
	s.By = s.angle(shown) - in.Mean()
	s.U = math.Hypot(in.U(), s.Reading*s.slope(shown))
	if math.Abs(s.By) > MostShift {
		return nil, fmt.Errorf("the dial shows %s at %s, where %s is expected: off by %s of its travel, and that isn't a head a few degrees off (at most %s); look for a bent arm, a head for another tank, or a float that has sunk",
			dialPercent(shown), known.name(), dialPercent(s.mark(in.Mean())), dialPercent(math.Abs(s.By)), dialPercent(MostShift))
	}
	s.Findings = s.words()
	return s, nil
}

func (k KnownPoint) name() string {
	if k.Name == "" {
		return "the known point"
	}
	return k.Name
}

// trueMark is what a head that sits right would show at a share of the capacity.
func (s *Shift) trueMark(share float64) float64 {
	if s.dial == nil || s.dial.Tank == nil {
		return share
	}
	return s.dial.dialShows(share * float64(s.dial.Tank.Capacity()))
}

// angle turns a share of the dial into one of the angle's travel.
func (s *Shift) angle(mark float64) float64 {
	if s.dial == nil || s.dial.Arm == nil || s.dial.Marked == ByAngle {
		return mark
	}
	h, _ := s.dial.Height(mark)
	a, _ := s.dial.Arm.Mark(h)
	return a
}

// mark is the reverse of angle, held to the dial.
func (s *Shift) mark(angle float64) float64 {
	angle = min(1, max(0, angle))
	if s.dial == nil || s.dial.Arm == nil || s.dial.Marked == ByAngle {
		return angle
	}
	h, _ := s.dial.Arm.Height(angle)
	m, _ := s.dial.Mark(h)
	return m
}

// slope is d(angle)/d(mark), over a hundredth of the dial.
func (s *Shift) slope(mark float64) float64 {
	low, high := max(0, mark-0.005), min(1, mark+0.005)
	return (s.angle(high) - s.angle(low)) / (high - low)
}

// Correct gives the true mark of a reading and its standard uncertainty: that
// of the shift and of the reading itself, combined as independent. Source:
// JCGM 100:2008, 5.1.2.
func (s *Shift) Correct(shown float64) (mark, u float64) {
	shown = min(1, max(0, shown))
	angle := s.angle(shown) - s.By
	uAngle := math.Hypot(s.U, s.Reading*s.slope(shown))
	mark = s.mark(angle)
	low, high := angle-0.005, angle+0.005
	return mark, uAngle * max(0, (s.mark(high)-s.mark(low))/(high-low))
}

// Full gives the reading of the dial that is to count as 100 % of the permitted
// fill, as a share of the dial. A correction never raises it beyond what is
// known to be full: where the known point is the full one, the reading found
// there; elsewhere the printed mark. Where the correction makes it less, the
// less is given.
func (s *Shift) Full() float64 {
	printed := s.trueMark(s.known.permitted())
	corrected := s.mark(s.angle(printed) + s.By)
	if s.known.FullByRule {
		return min(s.shown, corrected)
	}
	return min(printed, corrected)
}

func (s *Shift) words() (list []finding.Finding) {
	points := func(v float64) string { return quantity.Short(math.Abs(v)*100, 1) }
	side := "high"
	if s.By < 0 {
		side = "low"
	}
	text := fmt.Sprintf("At %s the dial shows %s, where %s is right: the head sits off by %s %% of its travel and reads %s. Every reading is corrected by that, ± %s.",
		s.known.name(), dialPercent(s.shown), dialPercent(s.mark(s.angle(s.shown)-s.By)), points(s.By), side, points(2*s.U))
	if math.Abs(s.By) <= 2*s.U {
		text = fmt.Sprintf("At %s the dial shows %s: off by %s ± %s %% of its travel, no more than the doubt. It may well sit right.", s.known.name(), dialPercent(s.shown), points(s.By), points(2*s.U))
	}
	list = []finding.Finding{
		{Kind: KindShift, Weight: finding.Note, Text: text},
		{Kind: KindShiftUnproven, Weight: finding.Doubt, Text: "One point can't tell a head that sits off from a scale that is wrong: check the corrected reading at another level before relying on it."},
		{Kind: KindShiftFill, Weight: finding.Note, Text: fmt.Sprintf(
			"As full as may be is where the dial shows %s, and no more: a correction never raises the permitted fill, and it is no cut-off.", dialPercentDown(s.Full()))},
	}
	if s.known.FullByRule && s.By > 0 {
		list = append(list, finding.Finding{Kind: KindShiftLateStop, Weight: finding.Doubt, Text: fmt.Sprintf(
			"A stop that closes late looks just like a head that reads high. Before the dial's %s counts as full, make sure by weight, or by the litres filled into an empty tank, that no more than the permitted fill is in it.", dialPercentDown(s.Full()))})
	}
	return list
}

// dialPercentDown rounds down, for a mark that must not be exceeded.
func dialPercentDown(m float64) string { return quantity.Short(math.Floor(m*100+1e-9), 0) + " %" }
