package watch

import (
	"math"
	"math/rand/v2"
	"time"
)

// A history is what an invented vehicle's sender gave, and what was true.
type history struct {
	kind         string
	lower, upper float64
	rows         []row
}

type row struct {
	at     float64 // s, as the source said it
	ohm    float64
	level  float64 // points, true
	moving bool    // true: something swings
	broken bool    // the row belongs to a broken spell
	wild   bool    // the row is a spike
}

// plan is what a history is drawn from.
type plan struct {
	interval   float64 // s between readings
	uneven     float64 // 0..1: how irregular
	resolution float64
	white      float64 // ohms
	swing      float64 // points: standard deviation of the slosh while driving hard
	period     float64 // s of the slosh
	damping    float64 // ratio
	hills      float64 // points: standard deviation of slow accelerations
	hillTime   float64
	spikes     float64 // probability of a reading
	use        float64 // points/h while standing, on average
	driveUse   float64 // points/h while moving
}

// phase is a stretch of a history.
type phase struct {
	what string // "stand", "still", "tap", "fill", "drive", "gap", "open", "short"
	long float64
	rate float64 // points/s for tap and fill
}

// draw makes a history. The slosh is a damped oscillator driven by random
// accelerations that come and go; it rings on after the vehicle stops.
func (p plan) draw(kind string, r *rand.Rand, lower, upper, level float64, phases []phase) history {
	h := history{kind: kind, lower: lower, upper: upper}
	t, next := 0.0, 0.0
	x, v, hill := 0.0, 0.0, 0.0
	drive, driveLeft := 0.0, 0.0
	dt := min(0.02, p.interval)
	omega := 2 * math.Pi / p.period
	usePulse, useRate := 0.0, 0.0
	for _, ph := range phases {
		end := t + ph.long
		for t < end {
			step := dt
			quiet := ph.what != "drive" && math.Abs(x) < 0.01 && math.Abs(v) < 0.01*omega && math.Abs(hill) < 0.02
			if quiet {
				step = min(max(next-t, dt), max(end-t, dt))
				x, v, hill = 0, 0, 0
			}
			acc := 0.0
			if ph.what == "drive" {
				if driveLeft <= 0 {
					drive = p.swing * math.Abs(r.NormFloat64()+0.3)
					driveLeft = 1 + 12*r.ExpFloat64()
				}
				driveLeft -= step
				acc = drive * math.Sqrt(4*p.damping*omega*omega*omega/step) * r.NormFloat64()
				a := math.Exp(-step / p.hillTime)
				hill = a*hill + p.hills*math.Sqrt(1-a*a)*r.NormFloat64()
			} else if !quiet {
				hill *= math.Exp(-step / 4)
			}
			if !quiet {
				v += step * (acc - 2*p.damping*omega*v - omega*omega*x)
				x += step * v
			}
			switch ph.what {
			case "stand":
				if usePulse <= 0 {
					usePulse = 30 + 600*r.ExpFloat64()
					useRate = 0
					if r.Float64() < 0.5 {
						useRate = 2 * p.use / 3600 * (0.3 + r.ExpFloat64())
					}
				}
				usePulse -= step
				level -= useRate * step
			case "tap", "fill":
				level += ph.rate * step
			case "drive":
				level -= p.driveUse / 3600 * step
			}
			level = min(100, max(0, level))
			t += step
			if t < next {
				continue
			}
			next = t + p.interval*(1+p.uneven*(2*r.Float64()-1))
			if ph.what == "gap" {
				continue
			}
			surface := min(100, max(0, level+x+hill))
			ohm := lower + (upper-lower)*surface/100 + p.white*r.NormFloat64()
			w := row{at: t, level: level, moving: !quiet}
			switch {
			case ph.what == "open":
				w.broken = true
				ohm = [...]float64{99999, 1e6, 1.5 * max(lower, upper)}[int(ph.rate)%3]
			case ph.what == "short":
				w.broken, ohm = true, 0
			case r.Float64() < p.spikes:
				w.wild = true
				ohm = min(lower, upper) + math.Abs(upper-lower)*1.3*r.Float64()
			}
			ohm = max(0, ohm)
			if p.resolution > 0 {
				ohm = math.Round(ohm/p.resolution) * p.resolution
				ohm = math.Round(ohm*1e6) / 1e6
			}
			w.ohm = ohm
			h.rows = append(h.rows, w)
		}
	}
	return h
}

// start is when histories begin.
var start = time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)

func (r row) time() time.Time {
	return start.Add(time.Duration(math.Round(r.at*1e3)) * time.Millisecond)
}

// plain draws a vehicle with a straight sender and noise from a textbook: trips of
// 10 to 60 minutes among standing, with slow use and a refill.
func plain(r *rand.Rand, slosh string) history {
	every := pick(r, 1.0, 5, 10, 30)
	noise := pick(r, 0.2, 0.5)
	h := history{kind: "plain", lower: 10, upper: 180}
	use := (0.5 + 4.5*r.Float64()) / 3600
	level := 60 + 30*r.Float64()
	sigma, amplitude, period := 2+4*r.Float64(), 3+5*r.Float64(), 1+r.Float64()
	lasts, x := 5+15*r.Float64(), 0.0
	moving, until, fillUntil := false, 1800+3600*r.Float64(), 0.0
	for t := 0.0; t < 8*3600; t += every {
		if t >= until {
			moving = !moving
			until = t + 600 + 3000*r.Float64()
			x = sigma * r.NormFloat64()
			if !moving && level < 50 {
				fillUntil = t + 300
			}
		}
		level -= use * every
		if t > fillUntil-150 && t < fillUntil && !moving {
			level += 40. / 150 * every
		}
		level = min(95, max(5, level))
		seen := level
		if moving {
			switch slosh {
			case "sine":
				seen += amplitude * math.Sin(2*math.Pi*(t/period+r.Float64()))
			case "white":
				seen += sigma * r.NormFloat64()
			default:
				a := math.Exp(-every / lasts)
				x = a*x + sigma*math.Sqrt(1-a*a)*r.NormFloat64()
				seen += x
			}
		}
		ohm := max(0, 10+1.7*seen+noise*r.NormFloat64())
		h.rows = append(h.rows, row{at: t, level: level, moving: moving, ohm: math.Round(ohm*10) / 10})
	}
	return h
}
