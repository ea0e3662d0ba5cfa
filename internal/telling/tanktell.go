package telling

import (
	"errors"
	"fmt"
	"math"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// Tell adds what the sender can't see, what its known point says and, where it
// was asked for, what a tilt does.
func (r *TankReport) Tell(tilts bool) error {
	r.limits()
	if !r.Tank.SensorInside() {
		place := "in the middle of the plan"
		if s := r.Tank.Sensor(); s.X != 0 || s.Y != 0 {
			place = placeText(s)
		}
		r.Findings = append(r.Findings, finding.Finding{Kind: "sensor-outside", Weight: finding.Doubt,
			Text: fmt.Sprintf("The sensor stands %s, where the tank isn't: in a hole of it, or beyond a curved wall. State where it really stands (sensor, x_mm and y_mm); level readings are right all the same, those of a tilted tank aren't.", place)})
	}
	if r.Sender != nil {
		seen, err := tank.See(r.Tank, r.Sender)
		if err != nil {
			return fmt.Errorf("/sender: %w", err)
		}
		r.Seen = &seen
		r.Findings = append(r.Findings, seen.Findings...)
		shift, err := r.headShift()
		if err != nil {
			return err
		}
		if shift != nil {
			r.Findings = append(r.Findings, shift.Findings...)
		}
	}
	if !tilts {
		return nil
	}
	leanings, err := tank.EffectsWith(r.Tank, r.Sender)
	if err != nil {
		r.Findings = append(r.Findings, finding.Finding{Kind: "tilt-unknown", Text: "What a tilt does can't be told: " + err.Error() + "."})
		return nil
	}
	r.Leanings = leanings
	text := tank.Summary(leanings, 0)
	if tilt := r.Levels.Tilt(); !tilt.Level() {
		own, err := tank.LeanWith(r.Tank, r.Sender, tilt)
		if err != nil {
			return err
		}
		text = own.Sentence(0)
	}
	r.Findings = append(r.Findings, finding.Finding{Kind: "tilt", Weight: finding.Note, Text: text})
	// An arm's float isn't over its mount, so the place says nothing there.
	if place, err := tank.BestPlace(r.Tank); err == nil && !swings(r.Sender) {
		r.Findings = append(r.Findings, finding.Finding{Kind: "sensor-place", Weight: finding.Note, Text: place.Sentence(r.Tank.Capacity())})
	}
	return nil
}

// limits says where the permitted fill and the heel stand, cut and not rounded:
// no figure may invite filling further.
func (r *TankReport) limits() {
	say := func(kind, text string) {
		r.Findings = append(r.Findings, finding.Finding{Kind: kind, Weight: finding.Note, Text: text})
	}
	if p, ok := r.File.PermittedFill(); ok {
		capacity := r.Tank.Capacity()
		if stated, ok := r.File.Capacity(); ok {
			capacity = min(capacity, stated)
		}
		v := capacity * quantity.CubicMetre(p)
		if h, err := r.Tank.Upright().HeightOf(v); err == nil {
			say("permitted-fill", fmt.Sprintf("No more than %s of it may be liquid: %s L, which stand at %s mm in the level tank. The tank's own filling stop and the local code decide, not this figure.",
				p, Litres(v), quantity.Digits(math.Floor(float64(h)*1000), 0)))
		}
	}
	if heel, ok := r.File.Heel(r.Tank); ok && heel > 0 {
		say("heel", fmt.Sprintf("The last %s L can't be drawn.", quantity.Digits(math.Ceil(float64(heel)*1e4-1e-6)/10, 1)))
	}
}

// Suggestion says how long the sender's rod or arm should be for this tank, with
// the usual clearance.
func (r *TankReport) Suggestion() (string, error) {
	switch like := r.Sender.(type) {
	case tank.Rod:
		s, err := tank.SuggestRod(r.Tank, like, tank.UsualClearance)
		return s.Text, err
	case tank.Arm:
		s, err := tank.SuggestArm(r.Tank, like, tank.UsualClearance)
		return s.Text, err
	case tank.Dial:
		if like.Arm != nil {
			s, err := tank.SuggestArm(r.Tank, *like.Arm, tank.UsualClearance)
			return s.Text, err
		}
	}
	return "", errors.New("the tank file has no sender with a rod or an arm; state one, its length may be a guess")
}

// swings says whether a sender's float goes along an arm.
func swings(s tank.Sender) bool {
	if d, ok := s.(tank.Dial); ok {
		return d.Arm != nil
	}
	_, arm := s.(tank.Arm)
	return arm
}
