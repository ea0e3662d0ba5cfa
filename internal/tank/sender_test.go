package tank_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

const degree = math.Pi / 180

// senderBox is a box of 800 × 500 × 300 mm, 120 L.
func senderBox(t testing.TB, at tank.Sensor) *tank.Tank {
	t.Helper()
	return newTank(t, made(t)(tank.Box(0.8, 0.5, 0.3)), at)
}

// senderLying is a lying cylinder with flat ends, 300 mm across and 800 mm long.
func senderLying(t testing.TB, at tank.Sensor) *tank.Tank {
	t.Helper()
	return newTank(t, made(t)(tank.Cylinder(0.3, 0.8, true, tank.Head{Kind: tank.Flat}, tank.Head{Kind: tank.Flat})), at)
}

func senderOf(list []finding.Finding, kind string) *finding.Finding {
	for i := range list {
		if list[i].Kind == kind {
			return &list[i]
		}
	}
	return nil
}

// Pivot 150 mm, arm 180 mm, −50° to 50°: h = pivot + arm·sin(angle), heights at
// every quarter of the angle. Values reckoned apart from this code to 0.001 mm.
func TestArmHeights(t *testing.T) {
	arm := tank.Arm{Pivot: 0.15, Length: 0.18, Low: -50 * degree, High: 50 * degree}
	for i, want := range []float64{12.112, 73.929, 150, 226.071, 287.888} {
		h, ok := arm.Height(float64(i) / 4)
		if !ok || math.Abs(float64(h)*1000-want) > 0.0005 {
			t.Errorf("mark %d/4: %v mm, %v; want %v", i, float64(h)*1000, ok, want)
		}
	}
}

// A rod by hand: face at 320 mm, 300 mm of rod, a float of 40 mm sunk in 25 mm,
// stops of 5 and 10 mm. Float's underside from 25 to 270 mm, surface from 50 to
// 295 mm.
func TestRodByHand(t *testing.T) {
	rod := tank.Rod{Mount: 0.32, Length: 0.3, Float: 0.04, Sinks: 0.025, Foot: 0.005, Head: 0.01}
	low, high := rod.Reach()
	if math.Abs(float64(low)-0.05) > 1e-15 || math.Abs(float64(high)-0.295) > 1e-15 {
		t.Errorf("reach %s to %s; want 50 to 295 mm", low, high)
	}
	for _, c := range []struct {
		fromFloat bool
		mark, h   float64
		ok        bool
	}{
		{false, 0.1, 0.1, true}, {true, 0, 0.05, true}, {true, 0.1, 0.15, true}, {true, 0.245, 0.295, true},
		{false, 0.04, 0.05, false}, {false, 0.3, 0.295, false}, {true, -0.01, 0.05, false}, {true, 0.3, 0.295, false},
	} {
		rod.FromFloat = c.fromFloat
		if h, ok := rod.Height(c.mark); ok != c.ok || math.Abs(float64(h)-c.h) > 1e-15 {
			t.Errorf("from float %v, mark %v: %s, %v; want %v, %v", c.fromFloat, c.mark, h, ok, c.h, c.ok)
		}
	}
	rod.FromFloat = true
	if m, ok := rod.Mark(0.4); ok || math.Abs(m-0.245) > 1e-15 {
		t.Errorf("above the travel: %v, %v; want the highest mark, false", m, ok)
	}
}

func TestDialMarks(t *testing.T) {
	lying := senderLying(t, tank.Sensor{})
	arm := &tank.Arm{Pivot: 0.15, Length: 0.14, Low: -60 * degree, High: 60 * degree}
	for _, c := range []struct {
		dial       tank.Dial
		mark, want float64
		ok         bool
	}{
		// 0.25 of the height is 0.195501109478 of the volume of a lying cylinder:
		// the handbook's partial volumes, Perry's 7th ed., table 10-64 (from memory).
		{tank.Dial{Marked: tank.ByVolume, Tank: lying}, 0.195501109478, 0.075, true},
		{tank.Dial{Marked: tank.ByHeight, Tank: lying}, 0.25, 0.075, true},
		{tank.Dial{Marked: tank.ByAngle, Arm: arm}, 0.25, 0.15 - 0.14*0.5, true},
		{tank.Dial{Marked: tank.ByHeight, Tank: lying, Arm: arm}, 0, 0.15 - 0.14*math.Sqrt(0.75), false},
		{tank.Dial{Marked: tank.ByHeight, Tank: lying}, 1.1, 0.3, false},
	} {
		h, ok := c.dial.Height(c.mark)
		if ok != c.ok || math.Abs(float64(h)-c.want) > 1e-11 {
			t.Errorf("%s at %v: %v, %v; want %v, %v", c.dial.Marked, c.mark, float64(h), ok, c.want, c.ok)
		}
	}
}

// Marks come back as they were; heights rise with marks; beyond the reach a
// sender stands still.
func TestSenderLaws(t *testing.T) {
	lying := senderLying(t, tank.Sensor{})
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0, 1)
		var s tank.Sender
		mark := func(share float64) float64 { return share }
		switch rapid.IntRange(0, 3).Draw(t, "sender") {
		case 0:
			r := tank.Rod{
				Mount: rapid.Float64Range(0, 2).Draw(t, "mount"), Length: rapid.Float64Range(0.2, 2).Draw(t, "length"),
				Float: rapid.Float64Range(0.01, 0.05).Draw(t, "float"), Foot: rapid.Float64Range(0, 0.05).Draw(t, "foot"),
				Head: rapid.Float64Range(0, 0.05).Draw(t, "head"), FromFloat: rapid.Bool().Draw(t, "from float"),
			}
			r.Sinks = r.Float * share.Draw(t, "sinks")
			low, high := r.Reach()
			from := 0.0
			if !r.FromFloat {
				from = float64(low)
			}
			mark = func(share float64) float64 { return from + share*float64(high-low) }
			s = r
		case 1:
			low := rapid.Float64Range(-80, 70).Draw(t, "low")
			high := rapid.Float64Range(low+5, 80).Draw(t, "high")
			s = tank.Arm{Pivot: rapid.Float64Range(0, 1).Draw(t, "pivot"), Length: rapid.Float64Range(0.05, 1).Draw(t, "length"),
				Low: low * degree, High: high * degree, Sinks: rapid.Float64Range(-0.02, 0.02).Draw(t, "sinks")}
		case 2:
			s = tank.Dial{Marked: tank.ByVolume, Tank: lying}
		default:
			s = tank.Dial{Marked: tank.ByHeight, Tank: lying}
		}
		if err := s.Check(); err != nil {
			t.Fatal(err)
		}
		a, b := share.Draw(t, "a"), share.Draw(t, "b")
		a, b = min(a, b), max(a, b)
		ha, ok := s.Height(mark(a))
		hb, okB := s.Height(mark(b))
		if !ok || !okB || ha > hb {
			t.Fatalf("heights %v and %v (%v, %v) at %v and %v", ha, hb, ok, okB, a, b)
		}
		back, ok := s.Mark(ha)
		if !ok || math.Abs(back-mark(a)) > 1e-12*max(1, mark(1)) {
			t.Fatalf("%v came back as %v, %v", mark(a), back, ok)
		}
		low, high := s.Reach()
		if ha < low-1e-15 || hb > high+1e-15 {
			t.Fatalf("heights %v and %v outside %v to %v", ha, hb, low, high)
		}
		under, okUnder := s.Mark(low - 0.01)
		over, okOver := s.Mark(high + 0.01)
		if okUnder || okOver || math.Abs(under-mark(0)) > 1e-12 || math.Abs(over-mark(1)) > 1e-12*max(1, mark(1)) {
			t.Fatalf("beyond the reach it shows %v (%v) and %v (%v)", under, okUnder, over, okOver)
		}
	})
}

func TestSeeBox(t *testing.T) {
	box := senderBox(t, tank.Sensor{})
	// 400 L per metre of height; surface from 50 to 270 mm.
	rod := tank.Rod{Mount: 0.3, Length: 0.28, Float: 0.04, Sinks: 0.025, Foot: 0.005, Head: 0.015}
	seen, err := tank.See(box, rod)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{{"low", float64(seen.Low), 0.05}, {"high", float64(seen.High), 0.27}, {"below", float64(seen.Below), 0.02}, {"above", float64(seen.Above), 0.012}, {"share", float64(seen.Share), 0.088 / 0.12}} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s: %v; want %v", c.name, c.got, c.want)
		}
	}
	for kind, say := range map[string]string{
		tank.KindDeadBottom: "The last 20 L (16.7 % of the capacity) can't be seen: below 50 mm of height the sender stands at its lowest and shows 50 mm, with 20 L in the tank as with none.",
		tank.KindDeadTop:    "The topmost 12 L (10 % of the capacity) can't be seen: above 270 mm of height the sender stands at its highest and shows 270 mm. Don't fill by it beyond that: it can't tell how much room is left.",
	} {
		if f := senderOf(seen.Findings, kind); f == nil || f.Text != say || f.Weight != finding.Doubt {
			t.Errorf("%s: %+v; want %q", kind, f, say)
		}
	}
	if finding.Worst(seen.Findings) == finding.Bad {
		t.Errorf("bad: %+v", seen.Findings)
	}
}

func TestSeeStrikes(t *testing.T) {
	box := senderBox(t, tank.Sensor{X: -0.1})
	lying := senderLying(t, tank.Sensor{Y: 0.1})
	up := tank.Arm{Pivot: 0.15, Length: 0.18, Low: -50 * degree, High: 50 * degree, Float: 0.04}
	for _, c := range []struct {
		name   string
		tank   *tank.Tank
		sender tank.Sender
		kind   string
		weight finding.Weight
		say    string
	}{
		{"rod", box, tank.Rod{Mount: 0.31, Length: 0.322, Float: 0.03, Head: 0.02}, tank.KindRodTooLong, finding.Bad, "The rod is 12 mm too long"},
		// Under a sensor 100 mm off the middle of a circle of 150 mm radius the
		// floor stands at 150 − √(150² − 100²) = 38.197 mm.
		{"rod on a round floor", lying, tank.Rod{Mount: 0.25, Length: 0.22, Float: 0.03, Head: 0.02}, tank.KindRodTooLong, finding.Bad, "8.2 mm below the floor"},
		{"float under the roof", box, tank.Rod{Mount: 0.33, Length: 0.3, Float: 0.03, Head: 0.02}, tank.KindStrikesRoof, finding.Doubt, "meets the roof 10 mm before"},
		// 150 − 180·sin 50° − 20 = −7.888 mm.
		{"arm, floor", box, up, tank.KindStrikesFloor, finding.Bad, "at −50° its float would reach 7.9 mm below"},
		{"arm, roof", box, up, tank.KindStrikesRoof, finding.Bad, "at 50° its float would reach 7.9 mm above"},
		// The wall stands 500 mm ahead of the pivot, 300 mm behind it.
		{"arm, wall", box, tank.Arm{Pivot: 0.15, Length: 0.51, Low: -10 * degree, High: 10 * degree}, tank.KindStrikesWall, finding.Bad, "outside the tank"},
		{"dial's arm", box, tank.Dial{Marked: tank.ByVolume, Tank: box, Arm: &up}, tank.KindStrikesFloor, finding.Bad, "7.9 mm"},
		{"nothing", box, tank.Rod{Mount: 0.9, Length: 0.5, Float: 0.03, Sinks: 0.02}, tank.KindSeesNothing, finding.Bad, "sees nothing"},
	} {
		seen, err := tank.See(c.tank, c.sender)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		f := senderOf(seen.Findings, c.kind)
		if f == nil || f.Weight != c.weight || !strings.Contains(f.Text, c.say) {
			t.Errorf("%s: %+v; want %s with %q", c.name, seen.Findings, c.kind, c.say)
		}
	}
	// A shelf of 400 × 500 × 50 mm built in at half the height, ahead of x = 0.
	shelf := newTank(t, tank.Sum{Plus: []tank.Solid{made(t)(tank.Box(0.8, 0.5, 0.3))},
		Minus: []tank.Solid{tank.Placed{Solid: made(t)(tank.Box(0.4, 0.5, 0.05)), At: effectVec(0.2, 0, 0.12)}}}, tank.Sensor{X: 0.1})
	if seen, err := tank.See(shelf, tank.Rod{Mount: 0.3, Length: 0.28, Float: 0.03, Sinks: 0.02}); err != nil || senderOf(seen.Findings, tank.KindMeetsInside) == nil {
		t.Errorf("a rod through a shelf: %+v, %v", seen.Findings, err)
	}
	behind := newTank(t, tank.Sum{Plus: []tank.Solid{made(t)(tank.Box(0.8, 0.5, 0.3))},
		Minus: []tank.Solid{tank.Placed{Solid: made(t)(tank.Box(0.4, 0.5, 0.05)), At: effectVec(0.2, 0, 0.12)}}}, tank.Sensor{X: -0.1})
	swing := tank.Arm{Pivot: 0.15, Length: 0.15, Low: -40 * degree, High: 40 * degree}
	if seen, err := tank.See(behind, swing); err != nil || senderOf(seen.Findings, tank.KindStrikesWall) == nil {
		t.Errorf("an arm through a shelf: %+v, %v", seen.Findings, err)
	}
	swing.Towards = math.Pi
	if seen, err := tank.See(behind, swing); err != nil || finding.Worst(seen.Findings) == finding.Bad {
		t.Errorf("an arm away from the shelf: %+v, %v", seen.Findings, err)
	}
	ring := newTank(t, made(t)(tank.Ring(0.65, 0.2, 'z')), tank.Sensor{})
	if seen, err := tank.See(ring, tank.Rod{Mount: 0.2, Length: 0.18, Float: 0.03, Sinks: 0.02}); err != nil || senderOf(seen.Findings, tank.KindCantCheck) == nil {
		t.Errorf("over the hole of a ring: %+v, %v", seen.Findings, err)
	}
	// Held down by the roof the float never comes higher than 300 − 30 + 15 mm.
	if seen, err := tank.See(box, tank.Rod{Mount: 0.33, Length: 0.32, Float: 0.03, Sinks: 0.015, Head: 0.02}); err != nil || math.Abs(float64(seen.High)-0.285) > 1e-9 {
		t.Errorf("under the roof: %+v, %v; want up to 285 mm", seen, err)
	}
	short := up
	short.Length = 0.16
	if seen, err := tank.See(box, short); err != nil || finding.Worst(seen.Findings) == finding.Bad {
		t.Errorf("an arm that fits: %+v, %v", seen.Findings, err)
	}
	short.Length, short.Towards = 0.35, math.Pi
	if seen, _ := tank.See(box, short); senderOf(seen.Findings, tank.KindStrikesWall) == nil {
		t.Errorf("pointing aft it would strike: %+v", seen.Findings)
	}
}

func TestSenderChecks(t *testing.T) {
	nan := math.NaN()
	lying := senderLying(t, tank.Sensor{})
	for _, c := range []struct {
		sender tank.Sender
		say    string
	}{
		{tank.Rod{Mount: 0.3, Length: 0.02, Float: 0.03}, "no travel"},
		{tank.Rod{Mount: 0.3, Length: 0.2, Float: 0.03, Sinks: 0.04}, "it doesn't float"},
		{tank.Rod{Mount: nan, Length: 0.2, Float: 0.03}, "mounting face"},
		{tank.Rod{Mount: 0.3, Length: 300, Float: 0.03}, "the length below it is 300000 mm"},
		{tank.Arm{Pivot: 0.1, Length: 0.1, Low: 1, High: -1}, "the lower stop first"},
		{tank.Arm{Pivot: 0.1, Length: 0.1, Low: nan, High: 1}, "the lower stop first"},
		{tank.Arm{Pivot: 0.1, Low: -1, High: 1}, "no length"},
		{tank.Arm{Pivot: 0.1, Length: 0.1, Low: -1, High: 1, Sinks: 1}, "below the surface"},
		{tank.Dial{Marked: tank.ByAngle}, "no arm"},
		{tank.Dial{Marked: tank.ByVolume}, "a tank that isn't given"},
		{tank.Dial{Marked: tank.Marked(7), Tank: lying}, "nothing that is known"},
		{tank.Dial{Marked: tank.ByHeight, Tank: lying, Arm: &tank.Arm{Pivot: 2, Length: 0.1, Low: -1, High: 1}}, "outside the tank"},
	} {
		err := c.sender.Check()
		if err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%+v: %v; want %q", c.sender, err, c.say)
		}
		if _, err := tank.See(lying, c.sender); err == nil {
			t.Errorf("%+v was put into a tank", c.sender)
		}
	}
}

func TestSuggestRod(t *testing.T) {
	box := senderBox(t, tank.Sensor{})
	like := tank.Rod{Mount: 0.3256, Float: 0.03, Sinks: 0.02, Foot: 0.005, Head: 0.01}
	s, err := tank.SuggestRod(box, like, tank.UsualClearance)
	if err != nil {
		t.Fatal(err)
	}
	// 325.6 − 10 down to whole millimetres; the stop from 35.6 up to 36 mm.
	if math.Abs(s.Sender.Length-0.315) > 1e-12 || math.Abs(s.Sender.Head-0.036) > 1e-12 {
		t.Errorf("rod %v, head %v; want 315 and 36 mm", s.Sender.Length, s.Sender.Head)
	}
	if want := "A rod of 315 mm below the mounting face keeps 10 mm off the floor; with its upper stop 36 mm below the face the float keeps 10 mm off the roof, and sees 81.3 % of the capacity, with the surface from 35.6 mm to 279.6 mm."; s.Text != want {
		t.Errorf("%s\nwant %s", s.Text, want)
	}
	if finding.Worst(s.Seen.Findings) == finding.Bad {
		t.Errorf("%+v", s.Seen.Findings)
	}
	if _, err := tank.SuggestRod(box, tank.Rod{Mount: 0.05, Float: 0.06}, 0.01); err == nil || !strings.Contains(err.Error(), "no rod fits") {
		t.Errorf("a float higher than the room: %v", err)
	}
	if _, err := tank.SuggestRod(box, like, quantity.Metre(math.NaN())); err == nil {
		t.Error("a clearance of NaN was taken")
	}
}

func TestSuggestArm(t *testing.T) {
	box := senderBox(t, tank.Sensor{X: -0.3})
	for _, c := range []struct {
		name          string
		like          tank.Arm
		length, pivot float64
	}{
		// (150 − 10)/sin 50° = 182.76 mm.
		{"floor and roof", tank.Arm{Pivot: 0.15, Low: -50 * degree, High: 50 * degree}, 0.182, 0.15},
		// (150 − 10 − 20)/sin 50° = 156.65 mm.
		{"with a float", tank.Arm{Pivot: 0.15, Low: -50 * degree, High: 50 * degree, Float: 0.04}, 0.156, 0.15},
		// The wall stands 100 mm behind the pivot: 90 mm.
		{"wall", tank.Arm{Pivot: 0.15, Low: -10 * degree, High: 10 * degree, Towards: math.Pi}, 0.09, 0.15},
		{"pivot too", tank.Arm{Low: -50 * degree, High: 50 * degree}, 0.182, 0.15},
	} {
		s, err := tank.SuggestArm(box, c.like, 0.01)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if math.Abs(s.Sender.Length-c.length) > 1e-9 || math.Abs(s.Sender.Pivot-c.pivot) > 1e-9 {
			t.Errorf("%s: arm %v on %v; want %v on %v", c.name, s.Sender.Length, s.Sender.Pivot, c.length, c.pivot)
		}
		if finding.Worst(s.Seen.Findings) == finding.Bad {
			t.Errorf("%s: %+v", c.name, s.Seen.Findings)
		}
		longer := s.Sender
		longer.Length += 0.012 // clearance and a step, at the least
		if longer.Length *= 1.2; c.name != "pivot too" {
			if seen, err := tank.See(box, longer); err != nil || finding.Worst(seen.Findings) != finding.Bad {
				t.Errorf("%s: a longer arm strikes nothing: %v", c.name, err)
			}
		}
	}
	s, _ := tank.SuggestArm(box, tank.Arm{Pivot: 0.15, Low: -50 * degree, High: 50 * degree}, 0.01)
	if want := "An arm of 182 mm on a pivot at 150 mm, from −50° to 50°, keeps 10 mm off floor, roof and walls, and sees 92.9 % of the capacity, with the surface from 10.6 mm to 289.4 mm."; s.Text != want {
		t.Errorf("%s\nwant %s", s.Text, want)
	}
	for _, like := range []tank.Arm{{Pivot: 0.005, Low: -1, High: 1}, {Pivot: 0.15, Low: 1, High: 1}, {Pivot: 0.15, Low: -1, High: 1, Float: 0.3}} {
		if s, err := tank.SuggestArm(box, like, 0.01); err == nil {
			t.Errorf("%+v gave %s", like, s.Text)
		}
	}
}
