package web

import (
	"strings"
	"time"

	"gaugewright/internal/history"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// momentWords writes a moment with its day, and its year where that isn't this one.
func momentWords(at, now time.Time) string {
	at = at.In(now.Location())
	form := "15:04"
	if at.Second() != 0 {
		form = time.TimeOnly
	}
	if at.Year() == now.Year() {
		return at.Format("2 Jan, " + form)
	}
	return at.Format("2 Jan 2006, " + form)
}

// words says which time is shown, to the minute.
func (p *tankPast) words() string {
	return momentWords(p.from.Truncate(time.Minute), p.now) + " to " + momentWords(p.to.Truncate(time.Minute), p.now)
}

// lengthWords writes how long a part of a time is: "10 s", "5 min", "2 h", "1 day".
func lengthWords(d time.Duration) string {
	const day = 24 * time.Hour
	switch {
	case d == day:
		return "1 day"
	case d >= day:
		return quantity.Short(float64(d)/float64(day), 0) + " days"
	case d >= time.Hour:
		return quantity.Short(d.Hours(), 0) + " h"
	case d >= time.Minute:
		return quantity.Short(d.Minutes(), 0) + " min"
	}
	return quantity.Short(d.Seconds(), 0) + " s"
}

// doubtOf is half of the half width of a bucket's interval, as of a level.
func doubtOf(b history.LevelBucket) quantity.Share { return max(0, (b.High-b.Low)/4) }

// bucketLevel writes the mean of a bucket and its interval.
func bucketLevel(b history.LevelBucket) (level, between string) {
	u := doubtOf(b)
	return sharePct(b.Mean, u), betweenPct(watch.Level{U: u, Low: b.Low, High: b.High})
}

// tellable is for how many shares of the scale it is told what they come to: for none
// of a gas tank, as nobody is to reckon what would still go in.
func (l Label) tellable() int {
	if l.Contents == job.LPG {
		return 0
	}
	return min(len(l.Shares), len(l.Volumes))
}

// volumeAt gives what a share of the tank's scale comes to, straight between the
// pairs of its label; false where the label has none for it.
func (l Label) volumeAt(share quantity.Share) (quantity.CubicMetre, bool) {
	n := l.tellable()
	if n < 2 || !(share >= l.Shares[0]) || share > l.Shares[n-1] {
		return 0, false
	}
	for i := 1; i < n; i++ {
		if a, b := l.Shares[i-1], l.Shares[i]; share <= b && b > a {
			return l.Volumes[i-1] + (l.Volumes[i]-l.Volumes[i-1])*quantity.CubicMetre((share-a)/(b-a)), true
		}
	}
	return 0, false
}

// cellSafe keeps a spreadsheet from taking a text for a formula.
func cellSafe(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r\n", rune(text[0])) {
		return "'" + text
	}
	return text
}
