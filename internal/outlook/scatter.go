package outlook

import "math"

// What the uses of days may scatter by, over their mean, runs from leastScatter up by
// steps of a fifth. Before many days were seen it is about firstScatter, give or take a
// factor of e^scatterSpread (common practice, no source).
const (
	scatterSteps  = 28
	leastScatter  = 0.01
	scatterStep   = 1.2
	firstScatter  = 0.3
	scatterSpread = 0.8
)

// weekdaysApart is how much the mean of a week may differ from that of one of its days,
// over the scatter of days (common practice, no source).
const weekdaysApart = 0.7

// scattering is how likely each scatter is, and how many days the mean of all rests on.
type scattering struct {
	p    [scatterSteps]float64
	days float64
}

// scatterOf is the scatter of a step.
var scatterOf = func() (s [scatterSteps]float64) {
	for i := range s {
		s[i] = leastScatter * math.Pow(scatterStep, float64(i))
	}
	return s
}()

// seenDay is a day's use over the mean, the variance that the doubt of levels adds to
// it, and how much of the day was seen.
type seenDay struct{ x, noise, seen float64 }

// apart gives the days of which most was seen. What was seen of the first and the last
// makes one more where together they are about a day.
func (m *Model) apart(mean float64) []seenDay {
	out := make([]seenDay, 0, len(m.days))
	var ends seenDay
	for i := range m.days {
		d := &m.days[i]
		seen := d.seen()
		switch {
		case seen > 0.7:
			out = append(out, seenDay{d.amount/seen/mean - 1, m.doubt(i) / (seen * seen * mean * mean), seen})
		case i == 0 || i == len(m.days)-1:
			ends.x += d.amount / mean
			ends.noise += m.doubt(i) / (mean * mean)
			ends.seen += seen
		}
	}
	if ends.seen > 0.7 {
		out = append(out, seenDay{ends.x/ends.seen - 1, ends.noise / (ends.seen * ends.seen), ends.seen})
	}
	return out
}

// scattering weighs how much days scatter by how likely it makes those that were seen,
// whatever their mean.
func (m *Model) scattering(mean, even float64) scattering {
	days := m.apart(mean)
	s := scattering{days: max(0.3, m.seconds/86400) / resemblance(days)}
	// What goes on by day and by night is an appliance, whose days are alike; what is
	// half that may be an appliance beside people.
	alike := min(1, max(0, 2*even-1))
	first := firstScatter * (1 - 0.85*alike)
	most := math.Inf(-1)
	for i, scatter := range scatterOf {
		z := math.Log(scatter/first) / scatterSpread
		like := -z * z / 2
		if len(days) > 1 {
			var w, wx, wxx float64
			for _, d := range days {
				v := scatter*scatter/d.seen + d.noise
				like -= math.Log(v) / 2
				w += 1 / v
				wx += d.x / v
				wxx += d.x * d.x / v
			}
			like -= math.Log(w)/2 + (wxx-wx*wx/w)/2
		}
		s.p[i] = like
		most = max(most, like)
	}
	sum := 0.0
	for i := range s.p {
		s.p[i] = math.Exp(s.p[i] - most)
		sum += s.p[i]
	}
	for i := range s.p {
		s.p[i] /= sum
	}
	return s
}

// within gives half the 90 % interval of the mean's logarithm: a mixture of normal
// distributions, one for each scatter. rest is the relative standard uncertainty from
// elsewhere, long the days that were watched.
func (s *scattering) within(rest, long float64) float64 {
	var sd [scatterSteps]float64
	high := 0.0
	for i, scatter := range scatterOf {
		v := scatter*scatter/s.days + rest*rest
		// Weekdays that weren't seen may be others than those that were.
		if long < 7 {
			w := weekdaysApart * scatter * (1 - long/7)
			v += w * w
		}
		sd[i] = math.Sqrt(math.Log1p(v))
		high = max(high, sd[i])
	}
	low := 0.0
	high *= 2
	for range 40 {
		t := (low + high) / 2
		in := 0.0
		for i, p := range s.p {
			in += p * math.Erf(t/sd[i]/math.Sqrt2)
		}
		if in < Coverage {
			low = t
		} else {
			high = t
		}
	}
	return high
}

// resemblance is by how much more the mean of days scatters because they resemble those
// before them. The days' covariances are weighed by Bartlett's window (W. K. Newey and
// K. D. West, Econometrica 55, 1987).
func resemblance(days []seenDay) float64 {
	n := float64(len(days))
	lags := min(int(n/4), 21)
	if lags < 1 {
		return 1
	}
	mu := 0.0
	for _, d := range days {
		mu += d.x / n
	}
	sum := 0.0
	var zero, one float64
	for k := 0; k <= lags; k++ {
		c := 0.0
		for i := k; i < len(days); i++ {
			c += (days[i].x - mu) * (days[i-k].x - mu)
		}
		c /= n
		switch k {
		case 0:
			zero, sum = c, c
			continue
		case 1:
			one = c
		}
		sum += 2 * (1 - float64(k)/float64(lags+1)) * c
	}
	if zero <= 0 {
		return 1
	}
	least := 1.0
	if n >= 28 {
		least = 0.4 // a weekly rhythm makes the mean surer than the days are
	}
	return min(max(sum/zero, least, chained(one/zero, n)), 12)
}

// chained is by how much more the mean of days scatters when each is like the one
// before it, with a correlation of r: (1+r)/(1-r), for an autoregression of the first
// order. What little a short run shows of r is shrunk.
func chained(r, n float64) float64 {
	r *= n / (n + 10)
	r = min(max(0, r), 0.85)
	return (1 + r) / (1 - r)
}
