package outlook

import "math"

// use says whether a tank was used on a day.
type use int8

const (
	unclear use = iota // the doubt of the levels is too great to tell
	idle
	used
)

// Contexts of a day: what the days before it were like.
const (
	afterUse  = iota // the tank was used the day before
	afterIdle        // it wasn't for a day or two
	longIdle         // it wasn't for up to idleLong days
	laidUp           // nor for longer
	contexts
)

// idleLong is for how many days a tank is unused before it is laid up: longer than
// from one weekend to the next.
const idleLong = 7

// usedFrom is from which part of a usual day's use on a day counts as one on which
// the tank was used, and tellFrom how often its doubt that has to be.
const (
	usedFrom = 0.12
	tellFrom = 2.5
)

// habit is what the days tell of when a tank is used.
type habit struct {
	state  []use   // of each day
	usual  float64 // use of a day on which the tank is used
	base   float64 // use of a day on which it isn't
	chance [contexts][7]float64
	// shaky is the standard deviation of the logarithm of the odds.
	shaky   [contexts]float64
	weekday [7]float64 // of a day on which it is used, over usual
	clear   int        // days of which is known whether the tank was used
	part    float64    // of days on which it is used
	counted [7]float64 // days of each weekday that are clear
	even    float64    // how evenly it is used through the day, 0..1
}

// opening is what is expected of the contexts before anything was seen: the chance
// that the tank is used, and how many days that is worth (common practice, no
// source: people who use a tank mostly do so again on the next day).
var opening = [contexts][2]float64{{0.93, 3}, {0.42, 2}, {0.25, 1.5}, {0.10, 4}}

// shakiness is what part of the doubt of the odds is left once it is known that most
// people's habits hold: that of the odds of a beta distribution is for people of whom
// nothing is known (common practice, no source).
const shakiness = 0.65

// habits tells used days from others, and from that the habit.
func (m *Model) habits(p *shape) habit {
	h := habit{even: m.even()}
	days := m.days
	// What is usual is weighed by use itself, so that days without any don't pull it
	// down, and by how new a day is.
	var sum, squares, noise float64
	weight := 1.0
	for i := len(days) - 1; i >= 0; i-- {
		x := max(0, days[i].amount)
		v := m.doubt(i)
		sum += weight * x
		squares += weight * x * x
		noise += weight * v
		weight *= patternDecay
	}
	h.state = make([]use, len(days))
	h.weekday = [7]float64{1, 1, 1, 1, 1, 1, 1}
	h.part = 1
	if sum <= 0 {
		h.usual = 0
	} else {
		h.usual = max(squares-noise, 0.1*squares) / sum
	}
	edge := usedFrom * h.usual
	var low, lows float64
	for i := range days {
		d := &days[i]
		part := p.until(d.to) - p.until(d.from)
		u := math.Sqrt(m.doubt(i))
		switch {
		case d.amount > max(edge, tellFrom*u) && h.usual > 0:
			h.state[i] = used
		case tellFrom*u < 0.5*h.usual && d.amount <= edge && part > 0.6:
			h.state[i] = idle
			low += d.amount
			lows += d.seen()
		case h.usual == 0 && d.amount <= tellFrom*u && part > 0.6:
			h.state[i] = idle
		}
	}
	if lows > 0 {
		h.base = max(0, low/lows)
	}
	h.chances(days)
	return h
}

// chances works out how likely the tank is used on a day, by what the days before
// were like and by the weekday. Weekdays are shrunk towards all of them together, as
// far as what was seen is likelier that way (a beta-binomial for each weekday, whose
// concentration is the likeliest of a few).
func (h *habit) chances(days []day) {
	var yes, no [contexts][7]float64
	run, known := 0, false
	var on, all float64
	for i := range days {
		if i > 0 && days[i].n != days[i-1].n+1 {
			known = false
		}
		s := h.state[i]
		if s == unclear {
			known, run = false, 0
			continue
		}
		h.clear++
		h.counted[weekdayOf(days[i].n)]++
		// Newer days weigh more, but weekdays need weeks.
		w := math.Exp2(-float64(days[len(days)-1].n-days[i].n) / 90)
		all += w
		if s == used {
			on += w
		}
		if known {
			c := contextOf(run)
			if s == used {
				yes[c][weekdayOf(days[i].n)] += w
			} else {
				no[c][weekdayOf(days[i].n)] += w
			}
		}
		if s == used {
			run = 0
		} else {
			run++
		}
		known = true
	}
	if all > 0 {
		h.part = on / all
	}
	for c := range contexts {
		o := opening[c]
		if c == afterUse {
			// What draws by day and by night is an appliance: it goes on.
			o[0] += (0.99 - o[0]) * h.even
		}
		y, n := o[0]*o[1], (1-o[0])*o[1]
		a, b := y, n
		for wd := range 7 {
			a += yes[c][wd]
			b += no[c][wd]
		}
		mean := a / (a + b)
		best, most := 50.0, math.Inf(-1)
		for _, k := range [...]float64{0.4, 1.5, 6, 50} {
			l := -0.3 * math.Abs(math.Log(k/6)) // few weeks tell little: rather not far from the middle
			for wd := range 7 {
				l += logBeta(k*mean+yes[c][wd], k*(1-mean)+no[c][wd]) - logBeta(k*mean, k*(1-mean))
			}
			if l > most {
				best, most = k, l
			}
		}
		for wd := range 7 {
			h.chance[c][wd] = (best*mean + yes[c][wd]) / (best + yes[c][wd] + no[c][wd])
		}
		h.shaky[c] = shakiness * math.Sqrt(1/(a+0.3)+1/(b+0.3))
	}
}

// contextOf is what a number of days without use before a day makes it.
func contextOf(run int) int {
	switch {
	case run == 0:
		return afterUse
	case run <= 2:
		return afterIdle
	case run <= idleLong:
		return longIdle
	}
	return laidUp
}

// weekdayOf is the weekday of a calendar day, from Sunday on: 1970-01-01 was a
// Thursday.
func weekdayOf(n int32) int { return int((n%7 + 11) % 7) }

// logBeta is the logarithm of the beta function.
func logBeta(a, b float64) float64 {
	x, _ := math.Lgamma(a)
	y, _ := math.Lgamma(b)
	z, _ := math.Lgamma(a + b)
	return x + y - z
}
