package tankfile

import (
	"fmt"

	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
	"gaugewright/internal/wording"
)

// Kinds of senders.
const (
	KindRod  = "rod"
	KindArm  = "swinging-arm"
	KindDial = "dial"
)

// Sender is what reads the level. Which of the fields a kind has, and which it
// needs, stands in the [Schema].
type Sender struct {
	Kind string `json:"kind"`

	MountHeightMM *float64 `json:"mount_height_mm,omitempty"` // of a rod; nil: the tank's highest inside point
	RodMM         float64  `json:"rod_mm,omitempty"`
	FootMM        float64  `json:"foot_mm,omitempty"`
	HeadMM        float64  `json:"head_mm,omitempty"`

	Marked        string   `json:"marked,omitempty"` // of a dial: "volume", "height" or "angle"; "" is volume
	PivotHeightMM *float64 `json:"pivot_height_mm,omitempty"`
	ArmMM         float64  `json:"arm_mm,omitempty"`
	LowDeg        *float64 `json:"low_deg,omitempty"`
	HighDeg       *float64 `json:"high_deg,omitempty"`
	TowardsDeg    float64  `json:"towards_deg,omitempty"`

	FloatMM float64 `json:"float_mm,omitempty"`
	SinksMM float64 `json:"sinks_mm,omitempty"`

	Marks      string      `json:"marks,omitempty"` // what marks in mm are: "tank" or "float"; "" is tank
	KnownPoint *KnownPoint `json:"known_point,omitempty"`
}

// KnownPoint is a point of the sender known in place.
type KnownPoint struct {
	ReadsPct float64 `json:"reads_pct"`
	IsPct    float64 `json:"is_pct"`
	DoubtPct float64 `json:"doubt_pct,omitempty"` // either way
	What     string  `json:"what,omitempty"`
}

// Known gives the point as the tank room takes it, and what the sender shows
// there.
func (k KnownPoint) Known() (known tank.KnownPoint, shown quantity.Share) {
	return tank.KnownPoint{Name: k.What, Least: max(0, k.IsPct-k.DoubtPct) / 100, Most: min(100, k.IsPct+k.DoubtPct) / 100},
		quantity.Share(k.ReadsPct / 100)
}

// In gives the sender in its tank: a [tank.Rod], a [tank.Arm] or a [tank.Dial].
// The error says what of it can't be right.
func (s Sender) In(t *tank.Tank) (tank.Sender, error) {
	var out tank.Sender
	switch s.Kind {
	case KindRod:
		_, top := t.Upright().Reach()
		mount := float64(top)
		if s.MountHeightMM != nil {
			mount = metres(*s.MountHeightMM)
		}
		out = tank.Rod{Mount: mount, Length: metres(s.RodMM), Float: metres(s.FloatMM), Sinks: metres(s.SinksMM),
			Foot: metres(s.FootMM), Head: metres(s.HeadMM), FromFloat: s.Marks == "float"}
	case KindArm:
		arm, err := s.arm()
		if err != nil {
			return nil, err
		}
		if arm == nil {
			return nil, fmt.Errorf("a swinging arm needs pivot_height_mm, arm_mm, low_deg and high_deg")
		}
		out = *arm
	case KindDial:
		arm, err := s.arm()
		if err != nil {
			return nil, err
		}
		marked := map[string]tank.Marked{"": tank.ByVolume, "volume": tank.ByVolume, "height": tank.ByHeight, "angle": tank.ByAngle}
		out = tank.Dial{Marked: marked[s.Marked], Tank: t, Arm: arm}
	default:
		return nil, fmt.Errorf("unknown kind of sender %s; expected %s", strict.Quoted(s.Kind), strict.AnyOf([]string{KindRod, KindArm, KindDial}))
	}
	return out, out.Check()
}

// arm gives the swinging arm, nil where nothing of it is stated.
func (s Sender) arm() (*tank.Arm, error) {
	var missing []string
	for _, f := range []struct {
		name  string
		there bool
	}{{"pivot_height_mm", s.PivotHeightMM != nil}, {"arm_mm", s.ArmMM != 0}, {"low_deg", s.LowDeg != nil}, {"high_deg", s.HighDeg != nil}} {
		if !f.there {
			missing = append(missing, f.name)
		}
	}
	switch {
	case len(missing) == 4 && s.TowardsDeg == 0 && s.FloatMM == 0 && s.SinksMM == 0:
		return nil, nil
	case len(missing) > 0:
		return nil, fmt.Errorf("the arm is stated in part; missing %s; state that, or delete all of the arm", wording.Several(quotes(missing), "and"))
	}
	return &tank.Arm{Pivot: metres(*s.PivotHeightMM), Length: metres(s.ArmMM), Low: radians(*s.LowDeg), High: radians(*s.HighDeg),
		Sinks: metres(s.SinksMM), Float: metres(s.FloatMM), Towards: radians(s.TowardsDeg)}, nil
}
