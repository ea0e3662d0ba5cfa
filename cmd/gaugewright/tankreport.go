package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/telling"
)

// tankReport is what was found out of a tank.
type tankReport struct {
	file     *tankfile.File
	tank     *tank.Tank
	levels   *tank.Levels
	sender   tank.Sender // nil: none stated
	answers  []level
	seen     *tank.Seen
	shift    *tank.Shift // of a dial head, from its known point; nil: none
	leanings []tank.Leaning
	findings []finding.Finding
}

// byHeight answers for a height of the surface.
func (r *tankReport) byHeight(text string) (level, error) {
	h, err := quantity.ParseMetre(text)
	if err != nil {
		return level{}, err
	}
	top := r.tank.Height()
	if !(h >= 0 && h <= top*(1+1e-9)) {
		return level{}, fmt.Errorf("%s is outside the tank, which is %s high inside; expected 0mm to %smm", text, top, quantity.Short(float64(top)*1000, 3))
	}
	return at(r.levels, h), nil
}

// byVolume answers for a volume.
func (r *tankReport) byVolume(text string) (level, error) {
	v, err := quantity.ParseCubicMetre(text)
	if err != nil {
		return level{}, err
	}
	h, err := r.levels.HeightOf(v)
	if err != nil {
		return level{}, err
	}
	l := at(r.levels, h)
	l.volume = v
	slack := 1e-9 * r.tank.Height()
	switch {
	case h < -slack:
		l.note = "the surface lies below the tank's lowest level at the sensor: the sensor stands dry"
	case h > r.tank.Height()+slack:
		l.note = "the surface lies above the tank's highest level at the sensor: the sensor shows full"
	}
	return l, nil
}

// byMark answers for a mark of the sender, corrected where its head is known
// to sit off.
func (r *tankReport) byMark(text string) (level, error) {
	if r.sender == nil {
		return level{}, fmt.Errorf("the tank file has no sender; state one, or ask with --height")
	}
	var mark float64
	if _, rod := r.sender.(tank.Rod); rod {
		m, err := quantity.ParseMetre(text)
		if err != nil {
			return level{}, err
		}
		mark = float64(m)
	} else {
		m, err := quantity.ParseShare(text)
		if err != nil {
			return level{}, err
		}
		mark = float64(m)
		if !(mark >= 0 && mark <= 1) {
			return level{}, fmt.Errorf("found %s; expected 0%% to 100%%", text)
		}
	}
	note := ""
	if shift, err := r.headShift(); err != nil {
		return level{}, err
	} else if shift != nil {
		corrected, u := shift.Correct(mark)
		note = fmt.Sprintf("the head shows %s where it should show %s, ± %s", quantity.Share(mark), quantity.Share(math.Round(corrected*1000)/1000), telling.Doubt(200*u)+" points")
		mark = corrected
	}
	h, ok := r.sender.Height(mark)
	l := at(r.levels, h)
	l.note = note
	if !ok {
		l.note = joined(l.note, "outside the sender's travel: the nearest end counts")
	}
	return l, nil
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// What a dial is read to, and comes back to, as standard uncertainties: half a
// division of 5 % and 1 %, as half-widths. Common practice, no source.
var (
	dialRead   = 0.025 / math.Sqrt(3)
	dialRepeat = 0.01 / math.Sqrt(3)
)

// headShift gives the correction that the file's known point asks for; nil
// where there is none.
func (r *tankReport) headShift() (*tank.Shift, error) {
	if r.shift != nil || r.file.Sender == nil || r.file.Sender.KnownPoint == nil {
		return r.shift, nil
	}
	known, shown := r.file.Sender.KnownPoint.Known()
	if p, ok := r.file.PermittedFill(); ok {
		known.PermittedFill = float64(p)
	}
	var dial *tank.Dial
	if d, ok := r.sender.(tank.Dial); ok {
		dial = &d
	}
	shift, err := tank.FindShift(dial, known, float64(shown), dialRead, dialRepeat)
	if err != nil {
		return nil, fmt.Errorf("the sender's known point: %w", err)
	}
	r.shift = shift
	return shift, nil
}

// tell adds what the sender can't see, what its known point says and, where it
// was asked for, what a tilt does.
func (r *tankReport) tell(tilts bool) error {
	r.limits()
	if !r.tank.SensorInside() {
		place := "in the middle of the plan"
		if s := r.tank.Sensor(); s.X != 0 || s.Y != 0 {
			place = placeText(s)
		}
		r.findings = append(r.findings, finding.Finding{Kind: "sensor-outside", Weight: finding.Doubt,
			Text: fmt.Sprintf("The sensor stands %s, where the tank isn't: in a hole of it, or beyond a curved wall. State where it really stands (sensor, x_mm and y_mm); level readings are right all the same, those of a tilted tank aren't.", place)})
	}
	if r.sender != nil {
		seen, err := tank.See(r.tank, r.sender)
		if err != nil {
			return fmt.Errorf("/sender: %w", err)
		}
		r.seen = &seen
		r.findings = append(r.findings, seen.Findings...)
		shift, err := r.headShift()
		if err != nil {
			return err
		}
		if shift != nil {
			r.findings = append(r.findings, shift.Findings...)
		}
	}
	if !tilts {
		return nil
	}
	leanings, err := tank.EffectsWith(r.tank, r.sender)
	if err != nil {
		r.findings = append(r.findings, finding.Finding{Kind: "tilt-unknown", Text: "What a tilt does can't be told: " + err.Error() + "."})
		return nil
	}
	r.leanings = leanings
	text := tank.Summary(leanings, 0)
	if tilt := r.levels.Tilt(); !tilt.Level() {
		own, err := tank.LeanWith(r.tank, r.sender, tilt)
		if err != nil {
			return err
		}
		text = own.Sentence(0)
	}
	r.findings = append(r.findings, finding.Finding{Kind: "tilt", Weight: finding.Note, Text: text})
	// An arm's float isn't over its mount, so the place says nothing there.
	if place, err := tank.BestPlace(r.tank); err == nil && !swings(r.sender) {
		r.findings = append(r.findings, finding.Finding{Kind: "sensor-place", Weight: finding.Note, Text: place.Sentence(r.tank.Capacity())})
	}
	return nil
}

// limits says where the permitted fill and the heel stand, cut and not rounded:
// no figure may invite filling further.
func (r *tankReport) limits() {
	say := func(kind, text string) {
		r.findings = append(r.findings, finding.Finding{Kind: kind, Weight: finding.Note, Text: text})
	}
	if p, ok := r.file.PermittedFill(); ok {
		capacity := r.tank.Capacity()
		if stated, ok := r.file.Capacity(); ok {
			capacity = min(capacity, stated)
		}
		v := capacity * quantity.CubicMetre(p)
		if h, err := r.tank.Upright().HeightOf(v); err == nil {
			say("permitted-fill", fmt.Sprintf("No more than %s of it may be liquid: %s L, which stand at %s mm in the level tank. The tank's own filling stop and the local code decide, not this figure.",
				p, telling.Litres(v), quantity.Digits(math.Floor(float64(h)*1000), 0)))
		}
	}
	if heel, ok := r.file.Heel(r.tank); ok && heel > 0 {
		say("heel", fmt.Sprintf("The last %s L can't be drawn.", quantity.Digits(math.Ceil(float64(heel)*1e4-1e-6)/10, 1)))
	}
}

// swings says whether a sender's float goes along an arm.
func swings(s tank.Sender) bool {
	if d, ok := s.(tank.Dial); ok {
		return d.Arm != nil
	}
	_, arm := s.(tank.Arm)
	return arm
}

func (r *tankReport) bad() bool {
	for _, f := range r.findings {
		if f.Weight == finding.Bad {
			return true
		}
	}
	return false
}

// print puts the report on a terminal.
func (r *tankReport) print(w io.Writer) {
	name := r.file.Name
	if name == "" {
		name = "This tank"
	}
	fmt.Fprintf(w, "%s (%s) holds %s and is %s high inside.\n", name, strings.ReplaceAll(string(r.file.Shape), "-", " "),
		capacityText(r.tank.Capacity()), r.tank.Height())
	if s := r.tank.Sensor(); s.X != 0 || s.Y != 0 {
		fmt.Fprintf(w, "Heights are read %s.\n", placeText(s))
	}
	if tilt := r.levels.Tilt(); !tilt.Level() {
		fmt.Fprintf(w, "It stands %s.\n", tilt)
	}
	fmt.Fprintln(w)
	rows := r.answers
	if len(rows) == 0 {
		for i := range 11 {
			rows = append(rows, at(r.levels, r.tank.Height()*quantity.Metre(i)/10))
		}
	}
	g := telling.Grid{Head: []string{"height, mm", "volume, L", "of capacity, %", "surface, m²"}}
	columns := make([][]string, 4)
	for i, f := range []func(level) float64{
		func(l level) float64 { return float64(l.height) * 1000 },
		func(l level) float64 { return float64(l.volume) * 1000 },
		func(l level) float64 { return float64(l.volume/r.tank.Capacity()) * 100 },
		func(l level) float64 { return l.surface },
	} {
		values := make([]float64, len(rows))
		for k, l := range rows {
			values[k] = f(l)
		}
		columns[i] = quantity.Aligned(values, []int{1, 2, 1, 3}[i])
	}
	for k := range rows {
		g.Add(columns[0][k], columns[1][k], columns[2][k], columns[3][k])
	}
	writeGrid(w, g)
	fmt.Fprintln(w)
	for i, l := range rows {
		if l.note != "" {
			writeWrapped(w, "- ", fmt.Sprintf("At %s mm: %s.", columns[0][i], l.note))
		}
	}
	writeFindings(w, r.findings)
}

// capacityText prints a capacity to a tenth of a litre, a small one closer.
func capacityText(v quantity.CubicMetre) string {
	decimals := 1
	if v < 0.01 {
		decimals = 3
	}
	return quantity.Short(float64(v)*1000, decimals) + " L"
}

// placeText says where a sensor stands.
func placeText(s tank.Sensor) string {
	var parts []string
	side := func(v float64, plus, minus string) {
		if v != 0 {
			word := plus
			if v < 0 {
				word = minus
			}
			parts = append(parts, quantity.Metre(math.Abs(v)).String()+" "+word)
		}
	}
	side(s.X, "forward", "aft")
	side(s.Y, "to port", "to starboard")
	return strings.Join(parts, ", ") + " of the middle"
}

// result is the report for --json.
func (r *tankReport) result() fields {
	var out fields
	litres := func(v quantity.CubicMetre) float64 { return figure(v * 1000) }
	out.set("capacity_l", litres(r.tank.Capacity()))
	out.set("height_mm", figure(r.tank.Height()*1000))
	rows := make([]fields, len(r.answers))
	for i, l := range r.answers {
		rows[i].set("height_mm", figure(l.height*1000))
		rows[i].set("volume_l", litres(l.volume))
		rows[i].set("of_capacity_pct", figure(l.volume/r.tank.Capacity()*100))
		rows[i].set("surface_m2", figure(l.surface))
		rows[i].set("centroid_mm", nil)
		if c := r.levels.Centroid(l.height); !math.IsNaN(c.X) {
			rows[i].values[len(rows[i].values)-1] = []float64{figure(c.X * 1000), figure(c.Y * 1000), figure(c.Z * 1000)}
		}
		if l.note != "" {
			rows[i].set("note", l.note)
		}
	}
	out.set("at", rows)
	degrees := func(v float64) float64 { return figure(v * 180 / math.Pi) }
	tilt := r.levels.Tilt()
	out.set("pitch_deg", degrees(tilt.Pitch))
	out.set("roll_deg", degrees(tilt.Roll))
	if r.seen != nil {
		var s fields
		s.set("sees_pct", points(r.seen.Share))
		s.set("low_mm", figure(r.seen.Low*1000))
		s.set("high_mm", figure(r.seen.High*1000))
		s.set("below_l", litres(r.seen.Below))
		s.set("above_l", litres(r.seen.Above))
		out.set("sender", s)
	}
	leanings := make([]fields, len(r.leanings))
	for i, l := range r.leanings {
		leanings[i].set("pitch_deg", degrees(l.Tilt.Pitch))
		leanings[i].set("roll_deg", degrees(l.Tilt.Roll))
		leanings[i].set("error_at_half_l", litres(l.Half.Error))
		leanings[i].set("worst_error_l", litres(l.Worst.Error))
		leanings[i].set("worst_at_l", litres(l.Worst.True))
		leanings[i].set("text", l.Sentence(0))
	}
	out.set("tilted", leanings)
	out.set("findings", append([]finding.Finding{}, r.findings...))
	return out
}
