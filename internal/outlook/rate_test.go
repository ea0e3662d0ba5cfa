package outlook

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// TestRateTable
func TestRateTable(t *testing.T) {
	zone, _ := time.LoadLocation("Europe/Vienna")
	for _, l := range []lengths{{0.2, 1}, {1, 3}, {3, 10}, {10, 40}, {40, 200}} {
		for i := range people {
			p := &people[i]
			n, in, low, high, off := 0, 0, 0, 0, 0.0
			for k := range 200 {
				r := rand.New(rand.NewPCG(uint64(k), 5))
				watched := math.Exp(math.Log(l.least) + r.Float64()*math.Log(l.most/l.least))
				life := p.live(r, 420, zone)
				from := r.IntN(96 * 200)
				to := from + max(1, int(watched*96))
				m := New(Config{Zone: zone})
				life.feed(m, r, from, to, 4, 0.1, p.u*0.1, false)
				x := m.Rate()
				if !x.Known {
					continue
				}
				truth := life.sum[len(life.sum)-1] * 0.1 / 420
				seen := (life.sum[to] - life.sum[from]) * 0.1 / (float64(to-from) / 96)
				n++
				off += math.Abs(x.Mid-seen) / truth
				switch {
				case truth < x.Low:
					low++
				case truth > x.High:
					high++
				default:
					in++
				}
			}
			t.Logf("%v %-30.30s %d in %.0f %% (below %d, above %d) off %.3f", l, p.name, n, 100*float64(in)/float64(n), low, high, off/float64(n))
		}
	}
}
