package alarm

import "time"

// judge is what is known of how long something has been there, or not. It isn't kept:
// the last readings, gone through again, bring it back.
type judge struct {
	last          time.Time // of the last that was known
	sure, likely  time.Time // since when it is there; zero: it isn't
	clear, mostly time.Time // since when it has come back
}

// verdict is what a judge says.
type verdict struct {
	raise, back  bool
	began, ended time.Time
}

// take takes in the odds at a moment. Where nothing was known for longer than gap, the
// delays begin anew. Moments may step back: a late reading is one.
func (j *judge) take(at time.Time, gap time.Duration, o odds, r Rule) verdict {
	if !j.last.IsZero() && at.Sub(j.last) > gap {
		*j = judge{}
	}
	if at.After(j.last) {
		j.last = at
	}
	hold(&j.sure, at, o.there >= Sure)
	hold(&j.likely, at, o.there >= Likely)
	hold(&j.clear, at, o.back >= Sure)
	hold(&j.mostly, at, o.back >= Likely)
	long, longOff := patient(r.On), patient(r.Off)
	if r.Left > 0 { // by its own words: nine times in ten
		j.likely, j.mostly = j.sure, j.clear
		long, longOff = r.On, r.Off
	}
	return verdict{
		raise: lasted(j.sure, at, r.On) || lasted(j.likely, at, long),
		back:  lasted(j.clear, at, r.Off) || lasted(j.mostly, at, longOff),
		began: j.likely, ended: j.mostly,
	}
}

// hold notes since when something is so.
func hold(since *time.Time, at time.Time, so bool) {
	switch {
	case !so:
		*since = time.Time{}
	case since.IsZero() || at.Before(*since):
		*since = at
	}
}

func lasted(since, at time.Time, delay time.Duration) bool {
	return !since.IsZero() && at.Sub(since) >= delay
}
