package outlook

import "math"

// Rate gives the use per day as it was over all that was seen: what was drawn over how
// long was watched. Its interval is for the mean use of a day in the long run, so it
// has the scatter of days, that days resemble those before them, the doubt of the
// levels, and while less than some days was seen the part of the day that wasn't.
func (m *Model) Rate() Rate {
	if m.seconds <= 0 {
		return Rate{}
	}
	long := m.seconds / 86400 // days
	mid := m.total / long
	noise := math.Sqrt(m.slips+m.lu2) / long
	if mid <= 0 || mid < 0.5*noise {
		mid = max(0, mid)
		// Nothing seen: what would have been missed, and what a day or two may
		// have been without by chance.
		return Rate{Known: long >= 1, Low: 0, Mid: mid, High: mid + 1.7*noise}.held()
	}
	r := m.reckon()
	scatter, n := m.scatterOfMean(mid, r.habit.even)
	rel := math.Hypot(scatter, noise/mid)
	// The use of the hours that weren't seen: by the shape of the day, which few
	// days tell little of, it is between nothing and as much as that of the others.
	seen := 0.0
	for i := range m.days {
		d := &m.days[i]
		seen += r.shape.until(d.to) - r.shape.until(d.from)
	}
	if r.keep > 0 && seen > 0 && long < keepDays-1 {
		apart := math.Log(long / seen)
		rel = math.Hypot(rel, r.keep*math.Abs(apart)*0.6)
	}
	if long < 1 {
		rel = math.Hypot(rel, 0.7*(1-long))
	}
	// Weekdays that weren't seen may be others than those that were.
	if long < 7 {
		rel = math.Hypot(rel, weekdaysApart*(1-r.habit.even)*(1-long/7))
	}
	s := math.Sqrt(math.Log1p(rel * rel))
	t := student90(n)
	return Rate{Known: true, Low: mid * math.Exp(-t*s), Mid: mid, High: mid * math.Exp(t*s)}.held()
}

// held gives no figures where nothing is known.
func (r Rate) held() Rate {
	if !r.Known {
		return Rate{}
	}
	return r
}

// firstScatter is what days are taken to scatter by before many were seen, worth so
// many days (common practice, no source).
const (
	firstScatter = 0.45
	firstDays    = 3.0
)

// weekdaysApart is how much the mean of a week may differ from that of one of its days
// (common practice, no source).
const weekdaysApart = 0.4

// scatterOfMean is the standard uncertainty of the mean of days over the mean itself,
// and its degrees of freedom. The days' covariances are weighed by Bartlett's window
// (W. K. Newey and K. D. West, Econometrica 55, 1987).
func (m *Model) scatterOfMean(mean, even float64) (rel, freedom float64) {
	var x []float64
	for i := range m.days {
		d := &m.days[i]
		if seen := d.seen(); seen > 0.7 {
			x = append(x, d.amount/seen/mean-1)
		}
	}
	n := float64(len(x))
	days := max(0.3, m.seconds/86400)
	v0 := firstScatter * (1 - 0.9*even) // what goes on by day and by night is an appliance
	v0 *= v0
	if n < 2 {
		return math.Sqrt(v0 / days), firstDays
	}
	mu := 0.0
	for _, v := range x {
		mu += v / n
	}
	lags := min(int(n/4), 21)
	sum := 0.0
	var zero, one float64
	for k := 0; k <= lags; k++ {
		c := 0.0
		for i := k; i < len(x); i++ {
			c += (x[i] - mu) * (x[i-k] - mu)
		}
		c /= n
		if k == 0 {
			zero = c
			sum = c
			continue
		}
		if k == 1 {
			one = c
		}
		sum += 2 * (1 - float64(k)/float64(lags+1)) * c
	}
	v := (firstDays*v0 + (n-1)*zero) / (firstDays + n - 1)
	if zero > 0 {
		least := 1.0
		if n >= 28 {
			least = 0.4 // a weekly rhythm makes the mean surer than the days are
		}
		v *= min(max(sum/zero, least, chained(one/zero, n)), 12)
	}
	free := firstDays + n - 1
	if lags > 0 {
		free = min(free, 3*n/float64(lags))
	}
	return math.Sqrt(v / n), max(free, firstDays)
}

// student90 is the 0.95 quantile of Student's t: within 0.01 of the tables from 3
// degrees on (Cornish and Fisher's expansion, M. Abramowitz and I. A. Stegun, Handbook
// of Mathematical Functions, 26.7.5).
func student90(n float64) float64 {
	const z = 1.6448536269514722
	z3, z5, z7 := z*z*z, z*z*z*z*z, z*z*z*z*z*z*z
	return z + (z3+z)/(4*n) + (5*z5+16*z3+3*z)/(96*n*n) + (3*z7+19*z5+17*z3-15*z)/(384*n*n*n)
}

// chained is by how much more the mean of days scatters when each is like the one
// before it, with a correlation of r: (1+r)/(1-r), for an autoregression of the first
// order. What little a short run shows of r is shrunk.
func chained(r, n float64) float64 {
	r *= n / (n + 10)
	r = min(max(0, r), 0.85)
	return (1 + r) / (1 - r)
}
