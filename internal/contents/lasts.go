package contents

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// Estimate is a figure as an interval: it lies between Low and High with 95 %,
// below Low and above High with 2.5 % each, and is as likely above Mid as below.
type Estimate struct{ Low, Mid, High float64 }

// Duration is how long something lasts, in seconds, as an [Estimate]. No end is
// beyond [Longest].
type Duration Estimate

// Longest is where durations end, in seconds: 100 years. Nothing here is known
// so far ahead.
const Longest = 100 * 365.25 * loadsDay

// Days gives the duration in days.
func (d Duration) Days() Estimate { return d.lastsIn(loadsDay) }

// Hours gives the duration in hours.
func (d Duration) Hours() Estimate { return d.lastsIn(3600) }

func (d Duration) lastsIn(unit float64) Estimate {
	return Estimate{d.Low / unit, d.Mid / unit, d.High / unit}
}

// Part is what one load takes of a day's use.
type Part struct {
	Name   string
	PerDay Between        // kg or m³: everything at its least, and at its most
	Mean   float64        // kg or m³ a day
	Share  quantity.Share // of the mean use of all loads
}

// Lasting is how long a supply lasts with its loads.
type Lasting struct {
	Name string  // of the supply
	By   Measure // what PerDay and Parts count
	// Nothing says that nothing uses it: Left is zero then and means nothing.
	Nothing bool
	// Empty says that nothing is left that can be drawn, at 97.5 %.
	Empty    bool
	Left     Duration
	PerDay   Estimate // kg or m³
	Parts    []Part   // in the order of the loads
	Findings []finding.Finding
}

// lastsSeed begins the random numbers of every calculation, so that the same
// figures come out each time.
const lastsSeed = 0x6c617374

// Lasts tells how long a supply lasts when the loads draw from it:
//
//	t = max(0, left − heel) / Σ count · rate · time a day · share of days
//
// What is left is normal, rectangular or both, see [Known]; the heel, each
// load's rate, time and share of days are rectangular over their ranges and
// independent of one another; a plate that doesn't say whether it is net or
// gross is either with the same probability. The distributions are carried
// through by the Monte Carlo method of JCGM 101:2008, with a fixed seed.
//
// The use is taken to be the same every day: a cold week is not in it unless
// the ranges hold it.
func Lasts(s Supply, loads []Load) (Lasting, error) {
	if err := s.Check(); err != nil {
		return Lasting{}, err
	}
	l := Lasting{Name: s.lastsName(), By: s.By}
	draws := make([]lastsDrawn, len(loads))
	least, most, mean := 0.0, 0.0, 0.0
	for i, load := range loads {
		if err := load.Check(); err != nil {
			return Lasting{}, err
		}
		per, err := s.lastsPer(load)
		if err != nil {
			return Lasting{}, err
		}
		day, err := s.PerDay(load)
		if err != nil {
			return Lasting{}, err
		}
		draws[i] = lastsDrawn{load.Rate.loadsTimes(load.loadsCount()), load.loadsTime(), load.loadsDays(), per}
		l.Parts = append(l.Parts, Part{Name: load.Name, PerDay: day, Mean: s.lastsMean(load, per)})
		least, most, mean = least+day.Low, most+day.High, mean+l.Parts[i].Mean
	}
	_, _, usable := s.Usable()
	if most <= 0 || usable/most > 1e6*Longest/loadsDay {
		l.Nothing = true
		return l, nil
	}
	for i := range l.Parts {
		l.Parts[i].Share = quantity.Share(l.Parts[i].Mean / mean)
	}
	l.lastsPropagate(s, draws)
	l.PerDay = Estimate{max(l.PerDay.Low, least), l.PerDay.Mid, min(l.PerDay.High, most)}
	l.lastsFindings(s, loads)
	return l, nil
}

// lastsDrawn is a load as it is drawn in each trial.
type lastsDrawn struct {
	rate, time, days Between
	per              []float64
}

func (d lastsDrawn) day(random *rand.Rand) float64 {
	per := d.per[0]
	if len(d.per) == 2 && random.Uint64()&1 == 1 {
		per = d.per[1]
	}
	return d.rate.loadsDraw(random) * d.time.loadsDraw(random) * d.days.loadsDraw(random) * per
}

// lastsTrials is how many trials are drawn: the ends of a 95 % interval then
// scatter by about a hundredth of the standard uncertainty, far less than the
// loads are known to.
const lastsTrials = 1 << 16

// lastsPropagate draws the use and what can be drawn, and takes the figures from
// the trials in order (JCGM 101:2008, 7.5 to 7.7). The time needs no mean, which
// wouldn't exist where the use may be almost nothing.
func (l *Lasting) lastsPropagate(s Supply, draws []lastsDrawn) {
	random := rand.New(rand.NewPCG(lastsSeed, 0))
	times, days := make([]float64, lastsTrials), make([]float64, lastsTrials)
	for i := range times {
		left := max(0, s.Left.lastsDraw(random)-s.Heel.loadsDraw(random))
		for _, d := range draws {
			days[i] += d.day(random)
		}
		switch {
		case left == 0:
		case days[i]*Longest <= left*loadsDay:
			times[i] = Longest
		default:
			times[i] = left / days[i] * loadsDay
		}
	}
	const low, mid, high = 0.025, 0.5, 0.975
	l.Left, l.PerDay = Duration(quantiles(times, low, mid, high)), quantiles(days, low, mid, high)
	l.Empty = l.Left.High == 0
}

func (l *Lasting) lastsFindings(s Supply, loads []Load) {
	practice := 0
	for _, load := range loads {
		if load.Practice {
			practice++
		}
	}
	if practice > 0 {
		l.Findings = append(l.Findings, finding.Finding{Kind: "usual-loads", Weight: finding.Note,
			Text: fmt.Sprintf("%d of %d loads are taken from common practice; what their plates say, and how long they really run, would tell it closer", practice, len(loads))})
	}
	if l.Empty {
		l.Findings = append(l.Findings, finding.Finding{Kind: "empty", Weight: finding.Bad,
			Text: fmt.Sprintf("nothing of the %s that is left can be drawn; refill before it is relied on", l.Name)})
		return
	}
	if ends := s.Left.Ends(); ends.Low < s.Heel.High {
		l.Findings = append(l.Findings, finding.Finding{Kind: "may-be-empty", Weight: finding.Doubt,
			Text: fmt.Sprintf("the doubt of the level is as large as what is left of the %s; it may be empty already", l.Name)})
	}
	if !math.IsInf(l.Left.High, 0) && l.Left.Low > 0 && l.Left.High > 3*l.Left.Low {
		l.Findings = append(l.Findings, finding.Finding{Kind: "wide", Weight: finding.Note,
			Text: "the longest time is more than three times the shortest; go by the shortest, and narrow the range of the load that takes most"})
	}
}
