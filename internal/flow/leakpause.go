package flow

import "math"

// usual gives the least that was lost in a stretch of a day, the mean of the days before
// the newest k half hours.
func (f *floors) usual(k, m int32) float64 {
	sum, n := 0.0, 0.0
	for at := k; at+48 <= f.n; at += 48 {
		if least, known := f.least(at, at+48, m); known > 24 {
			sum += least
			n++
		}
	}
	if n == 0 {
		least, _ := f.least(k, f.n, m)
		few, _ := f.least(k, f.n, 4)
		return min(least, max(few, 0)*float64(m)/4) // of a part of a day
	}
	return sum / n
}

// pauses says whether there is a stretch within the newest k half hours in which less is
// lost, beyond the least that is usual at that time of day, than a leak would lose by
// itself. What the warmth does differently from day to day may hide a leak for a while.
func (f *floors) pauses(k int32, rate, swing float64, heated bool) bool {
	for _, m := range [...]int32{2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16} {
		lost := 0.5 * rate * float64(m)
		if lost < 2.2*f.u || 2*m > k {
			continue
		}
		much := 0.5*lost - 0.7*f.u - 0.3*hides(swing, m)
		warm := hides(swing, m)
		if least, _ := f.least(0, k, m); least < f.usual(k, m)+much {
			return true
		}
		for i := int32(0); i+m <= k; i++ {
			v, ok := f.lost(i, m)
			if !ok {
				continue
			}
			if least, days := f.atHour(i, k, m); days >= 3 && swing > 0.6 && v < min(least, warm)+0.5*lost-0.7*f.u || days > 0 && heated && v < min(least, warm)+much {
				return true
			}
		}
	}
	return false
}

// heated says whether the reading rises with the warmth of the day.
func (f *floors) heated(swing, base float64) bool { return swing > 0.6 || base < -2.5*f.u }

// atHour gives the least that was lost at the time of day of a stretch, or half an hour
// off it, on the days before the newest k half hours.
func (f *floors) atHour(i, k, m int32) (least float64, days int32) {
	least = math.Inf(1)
	for at := i + (k-i+48)/48*48; at+1+m <= f.n; at += 48 {
		known := int32(0)
		for j := at - 1; j <= at+1; j++ {
			if v, ok := f.lost(j, m); ok && j >= k {
				least, known = min(least, v), 1
			}
		}
		days += known
	}
	return least, days
}

// rests says whether it has rested of late: over the shortest stretch over which a leak
// at this rate would stand out beyond doubt.
func (f *floors) rests(k int32, rate, usual, swing float64) (long int32, rests bool) {
	for m := int32(4); m <= min(k, 48); m++ {
		lost := 0.5 * rate * float64(m)
		if lost < 4.5*f.u+0.2 {
			continue
		}
		v, ok := f.lost(0, m)
		return m, ok && v < 0.5*usual*float64(m)+0.25*lost-hides(swing, 2*m)
	}
	return 0, false
}

// before says whether there was a time of hours, before the newest k half hours, in which
// it fell as fast and as evenly: what a float that stuck has hidden since goes on.
func (f *floors) before(k int32, rate float64) bool {
	for m := int32(2); m <= 4; m++ {
		lost := 0.5 * rate * float64(m)
		if lost < 3.5*f.u {
			continue
		}
		long := 6 * m
		for at := k; at+long <= f.n; at++ {
			if all, ok := f.lost(at, long); !ok || all < 0.87*6*lost || all > 1.5*6*lost {
				continue
			}
			if least, _ := f.least(at, at+long, m); least > 0.5*lost {
				return true
			}
		}
		return false
	}
	return false
}
