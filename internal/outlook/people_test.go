package outlook

import (
	"math"
	"math/rand/v2"
	"time"
)

// person is a kind of made-up user. Nothing here was measured; the kinds were written
// down before the model was tried on them.
type person struct {
	name string
	// day gives what is used on each of so many days, in any unit; the days begin on
	// a day of so many since 1970.
	day func(r *rand.Rand, n int, first int32) []float64
	// hours is when on a day: weights by hour; a draw scatters about it by burst.
	hours [24]float64
	burst float64 // 0: as the weights say; 1: in a few goes
	u     float64 // standard uncertainty of a level in parts of a usual day's use
}

func between24(from, to int) (h [24]float64) {
	for i := from; i < to; i++ {
		h[i%24] = 1
	}
	return h
}

func logNormal(r *rand.Rand, cv float64) float64 {
	v := math.Log1p(cv * cv)
	return math.Exp(math.Sqrt(v)*r.NormFloat64() - v/2)
}

func showers() (h [24]float64) {
	h[6], h[7], h[8], h[12], h[19], h[20], h[21] = 2, 4, 2, 1, 2, 2, 1
	return h
}

// days makes a person's days out of each one's mean.
func daysOf(mean func(r *rand.Rand) func(i int, wd int) float64, cv float64) func(*rand.Rand, int, int32) []float64 {
	return func(r *rand.Rand, n int, first int32) []float64 {
		f := mean(r)
		out := make([]float64, n)
		for i := range out {
			out[i] = f(i, weekdayOf(first+int32(i))) * logNormal(r, cv)
		}
		return out
	}
}

// people are the kinds of users.
var people = []person{
	{"evening food stall, Thursday to Sunday", daysOf(func(r *rand.Rand) func(int, int) float64 {
		return func(_, wd int) float64 {
			if wd >= 1 && wd <= 3 || r.Float64() < 0.08 {
				return 0
			}
			if wd == 6 || wd == 5 {
				return 1.4
			}
			return 1
		}
	}, 0.25), between24(17, 22), 0.3, 0.04},
	{"weekend hut", daysOf(func(r *rand.Rand) func(int, int) float64 {
		there := false
		return func(_, wd int) float64 {
			if wd == 5 {
				there = r.Float64() < 0.6
			}
			if !there || wd >= 1 && wd <= 4 {
				return 0
			}
			if wd == 5 {
				return 0.5
			}
			return 1
		}
	}, 0.4), between24(8, 23), 0.5, 0.04},
	{"steady fridge", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(int, int) float64 { return 1 }
	}, 0.06), between24(0, 24), 0, 0.1},
	{"family with showers, away now and then", daysOf(func(r *rand.Rand) func(int, int) float64 {
		away := 0
		return func(int, int) float64 {
			if away > 0 {
				away--
				return 0
			}
			if r.Float64() < 1.0/50 {
				away = 4 + r.IntN(10)
			}
			return 1
		}
	}, 0.35), showers(), 0.6, 0.05},
	{"weekly rhythm, more on weekends", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(_, wd int) float64 {
			if wd == 0 || wd == 6 {
				return 2
			}
			return 0.8
		}
	}, 0.3), between24(7, 22), 0.4, 0.05},
	{"heating through the seasons", daysOf(func(r *rand.Rand) func(int, int) float64 {
		phase, w := r.Float64()*365, 0.0
		return func(i, _ int) float64 {
			w = 0.8*w + 0.15*r.NormFloat64()
			return (1.1 + 0.8*math.Sin((float64(i)+phase)/365*2*math.Pi)) * math.Exp(w)
		}
	}, 0.15), between24(0, 24), 0.2, 0.06},
	{"workdays, in the morning", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(_, wd int) float64 {
			if wd == 0 || wd == 6 {
				return 0
			}
			return 1
		}
	}, 0.3), between24(6, 10), 0.3, 0.05},
	{"now and then, much or little", daysOf(func(r *rand.Rand) func(int, int) float64 {
		return func(int, int) float64 {
			if r.Float64() < 0.4 {
				return 0
			}
			return 1
		}
	}, 0.9), between24(8, 22), 0.7, 0.06},
	{"habits that change", daysOf(func(r *rand.Rand) func(int, int) float64 {
		rate := 1.0
		return func(int, int) float64 {
			if r.Float64() < 1.0/45 {
				rate = logNormal(r, 0.6)
			}
			return rate
		}
	}, 0.3), between24(7, 23), 0.4, 0.05},
	{"little use under much doubt", daysOf(func(*rand.Rand) func(int, int) float64 {
		return func(int, int) float64 { return 1 }
	}, 0.4), between24(7, 23), 0.4, 1.0},
	{"season's stay, then laid up", daysOf(func(r *rand.Rand) func(int, int) float64 {
		in, left := true, 20+r.IntN(60)
		return func(int, int) float64 {
			if left--; left < 0 {
				in = !in
				left = 20 + r.IntN(60)
			}
			if in {
				return 1
			}
			return 0
		}
	}, 0.3), between24(7, 23), 0.4, 0.05},
	{"night heater", daysOf(func(r *rand.Rand) func(int, int) float64 {
		cold := 0.0
		return func(int, int) float64 {
			cold = 0.7*cold + 0.25*r.NormFloat64()
			return math.Exp(cold)
		}
	}, 0.1), between24(22, 30), 0.1, 0.05},
}

// life is a person's use to the quarter of an hour.
type life struct {
	zone  *time.Location
	begin time.Time
	step  time.Duration
	sum   []float64 // drawn up to each step, sum[0] = 0
	usual float64   // use of a usual day
}

const quarter = 15 * time.Minute

// live makes n days of a person's life. Its unit is a usual day's use.
func (p *person) live(r *rand.Rand, n int, zone *time.Location) *life {
	first := int32(20000 + r.IntN(700))
	l := &life{zone: zone, begin: beginning(first, zone), step: quarter, usual: 1}
	days := p.day(r, n, first)
	l.sum = make([]float64, 1, n*97)
	for i, use := range days {
		steps := int(beginning(first+int32(i)+1, zone).Sub(beginning(first+int32(i), zone)) / quarter)
		w := make([]float64, steps)
		total := 0.0
		for k := range w {
			x := p.hours[k*24/steps]
			if x > 0 && p.burst > 0 {
				if r.Float64() < p.burst {
					x = 0
				} else {
					x *= r.ExpFloat64()
				}
			}
			w[k] = x
			total += x
		}
		if total == 0 {
			w[steps/2], total = 1, 1
		}
		for k := range w {
			l.sum = append(l.sum, l.sum[len(l.sum)-1]+use*w[k]/total)
		}
	}
	return l
}

// feed gives a model what levels read every so often, with their doubt, tell of the
// life between two steps; gaps leaves out stretches of a day to three now and then.
func (l *life) feed(m *Model, r *rand.Rand, from, to, every int, scale, u float64, gaps bool) {
	at := from
	e := u * r.NormFloat64()
	for at < to {
		next := min(at+every, to)
		if gaps && r.Float64() < 0.004 {
			next = min(at+96+r.IntN(200), to)
		}
		f := u * r.NormFloat64()
		m.Add(Drawn{
			From: l.begin.Add(time.Duration(at) * l.step), To: l.begin.Add(time.Duration(next) * l.step),
			Amount: (l.sum[next]-l.sum[at])*scale + f - e, U: math.Sqrt2 * max(u, 1e-6),
		})
		at, e = next, f
	}
}

// lasts is how long it really lasts from a step on, to the step.
func (l *life) lasts(from int, there float64) (time.Duration, bool) {
	for i := from; i < len(l.sum); i++ {
		if l.sum[i]-l.sum[from] >= there {
			return time.Duration(i-from) * l.step, true
		}
	}
	return 0, false
}
