package flow

import "math"

// rise watches for what comes in: a cumulative sum (Page, Biometrika 41 (1954)
// 100-115) of the changes of the level, less what the warmth of a day may raise it by
// in that time, which begins anew when it comes down to 0.
type rise struct {
	Sum     float64 // points
	Start   mark    // where the sum was last about 0
	Crest   float64 // its largest
	CrestAt mark
	Gaps    float64 // hours within it without good levels
	GapAt   int64   // when the last of those ended
	Used    float64 // what is thought to have been drawn in those, points
	Event   int32   // -1: none is told
	Still   float64 // hours for which the level had stayed in one place before
	Before  quietBy
	After   after
}

// mark is a block's place in time and its level.
type mark struct {
	At, To   int64
	X, Share float64
	U        float64
}

func (b *block) mark() mark { return mark{b.At, b.To, b.X, b.Share, b.U} }

// quietBy is the level beside a rise, and how fast it fell there.
type quietBy struct {
	At        int64
	X, U      float64
	Tap, Long float64 // points/h: of a tap that runs there, and over the nearest hour
	Runs      int32   // blocks in which it was seen to run
}

// after is a refill that has ended, whose amount the levels that come after it
// may still change.
type after struct {
	Event      int32
	Start, End mark
	Before     quietBy
	Gaps, Used float64
	Still      float64 // hours for which the level had stayed in one place before
	UUsed      float64 // how well Used is known where the float was stuck, points
	Left       int32   // blocks to come
}

// Of a rise.
const (
	steepest  = 0.75 // points/h by which a swing of ±2 points a day may rise, and a bit: 2·2π/24 is 0.52
	pause     = 15 * minute
	leastRise = 1.2  // points
	floatPlay = 0.35 // points: a float lags behind by its play (common practice, no source)
	driveRise = 3.0  // after a drive the vehicle stands on another slope
)

func (s *state) pauseFor() int64 { return max(pause, int64(2.5*s.Cadence)) }

// rises takes a block into the watch for what comes in.
func (t *Tracker) rises(b *block, d float64, l lapse) {
	s := &t.s
	r := &s.Rise
	hours := float64(b.At-s.Last.At) / float64(hour)
	if r.Start.At == 0 {
		r.Start = s.Last.mark()
	}
	allow := steepest * hours
	if l.any() {
		// What was drawn meanwhile isn't seen; and a day swings no farther than it does.
		used := min(s.Ledger.Rate*t.hoursOfUse(s.Last.At, min(hours, 36)), t.holds(s.Last.X))
		allow = min(allow, 3)
		if l.Drive {
			allow += driveRise - leastRise
		}
		allow += 0.3*used + min(2*b.U, 0.6) // how well it is known by then counts when it is told
		d += used
		r.Gaps += hours
		r.GapAt = b.At
		r.Used += used
	}
	r.Sum += d - allow
	if r.Event < 0 && r.Sum <= 0 {
		r.restart(b)
		return
	}
	if r.Sum > r.Crest+max(0.1, 2*s.Noise) || r.Sum > r.Crest && b.At-r.CrestAt.At <= int64(2*s.Cadence)+minute {
		r.Crest, r.CrestAt = r.Sum, b.mark()
	}
	h := max(leastRise, 6*s.Noise, 3*s.Rough, 2.5*math.Hypot(b.U, r.Start.U))
	if s.Noises < 12 {
		h += 6 * (1 - s.Noises/12) // how noisy it is isn't known yet
	}
	if s.Stood < 20 {
		h += 2 * math.Exp(-float64(s.Stood)/2)
	}
	if r.Event < 0 {
		if r.Sum > h && b.U < max(0.4, 0.15*r.Sum) {
			t.tellRise(b)
		}
		return
	}
	t.amount(&after{Event: r.Event, Start: r.Start, End: r.CrestAt, Before: r.Before, Gaps: r.Gaps, Used: r.Used}, true)
	if b.At-r.CrestAt.At >= s.pauseFor() || r.Crest-r.Sum > max(8, 0.5*r.Crest) {
		t.endRise(b)
	}
}

// hoursOfUse gives how many hours of the mean use so many hours are worth, by what is
// drawn at their time of day: a night less, an evening more.
func (t *Tracker) hoursOfUse(from int64, hours float64) (worth float64) {
	parts := t.model.ByHour()
	if parts == [24]float64{} {
		for h := range parts {
			parts[h] = 1.3 / 24
			if h < 7 || h >= 22 {
				parts[h] = 0.5 / 24 // most people sleep (common practice, no source)
			}
		}
	}
	const step = 10 * minute
	left := int64(hours * float64(hour))
	for ; left > 0; from, left = from+step, left-step {
		worth += 24 * parts[moment(from).In(t.config.Zone).Hour()] * float64(min(step, left)) / float64(hour)
	}
	return worth
}

// holds gives what can be drawn of a level, points.
func (t *Tracker) holds(x float64) float64 {
	if t.config.Fills {
		x += 100
	}
	return max(0, x)
}

// restart forgets what has risen so far.
func (r *rise) restart(b *block) {
	*r = rise{Start: b.mark(), Event: -1, After: r.After}
}

// tellRise tells a refill that goes on.
func (t *Tracker) tellRise(b *block) {
	s := &t.s
	r := &s.Rise
	s.Fall.N = 0
	reason := whyRose
	if r.Gaps > 0 {
		reason = whyAcross
	}
	r.Start = s.foot(r.Start)
	if r.Start.At >= r.GapAt {
		r.Gaps, r.Used = 0, 0
	}
	r.Before = s.beside(r.Start)
	t.endUses(r.Start)
	if s.Rest.Since != 0 && math.Abs(s.Rest.X-r.Start.X) < max(0.3, 4*s.Noise) {
		r.Still = float64(r.Start.At-s.Rest.Since) / float64(hour)
	}
	r.Event = t.open(record{What: aRefill, Why: reason, Start: r.Start.To, Found: b.To, Before: r.Start.Share, After: -1, P: 0.5})
	t.amount(&after{Event: r.Event, Start: r.Start, End: r.CrestAt, Before: r.Before, Gaps: r.Gaps, Used: r.Used}, true)
}
