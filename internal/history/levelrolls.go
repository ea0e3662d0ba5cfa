package history

import (
	"math"
	"slices"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/series"
	"gaugewright/internal/watch"
)

// MostMinutes is how many minutes LevelRolls holds: a little over two days.
const MostMinutes = 3000

// sharesPer is how many steps a share of 1 has.
const sharesPer = 10_000

// LevelRolls rolls up the levels of one tank by the minute, until a store takes
// them. The zero value is empty. It isn't for several goroutines at once.
type LevelRolls struct {
	rolls []LevelRoll // by rising time
	lost  uint64
}

// Add takes in the level after a reading, at that reading's time; a level that rests
// on none isn't counted. Each reading counts once: the level that a watch gives for a
// doubled reading is the one before again, and isn't to be added. Beyond MostMinutes
// the oldest minute goes, and its levels are counted as lost.
func (r *LevelRolls) Add(l watch.Level) {
	if !l.Time.IsZero() {
		r.Merge(rollOf(l))
	}
}

// Merge takes in a roll, which may be of many levels, at the minute in which it
// begins.
func (r *LevelRolls) Merge(o LevelRoll) {
	o.From = o.From.UTC().Truncate(time.Minute)
	// Nearly always the last minute, or a new one after it.
	at := len(r.rolls)
	if at > 0 && !r.rolls[at-1].From.Before(o.From) {
		var there bool
		at, there = slices.BinarySearchFunc(r.rolls, o.From, func(a LevelRoll, t time.Time) int { return a.From.Compare(t) })
		if there {
			r.rolls[at].Merge(o)
			return
		}
	}
	r.rolls = slices.Insert(r.rolls, at, o)
	if len(r.rolls) > MostMinutes {
		r.lost += uint64(r.rolls[0].Share.N + r.rolls[0].Without)
		r.rolls = slices.Delete(r.rolls, 0, 1)
	}
}

// Take gives the minutes that ended at a time or before it, by rising time, and
// forgets them.
func (r *LevelRolls) Take(before time.Time) []LevelRoll {
	n := 0
	for n < len(r.rolls) && !r.rolls[n].From.Add(time.Minute).After(before) {
		n++
	}
	out := slices.Clone(r.rolls[:n])
	r.rolls = slices.Delete(r.rolls, 0, n)
	return out
}

// Peek gives all minutes that weren't taken, by rising time.
func (r *LevelRolls) Peek() []LevelRoll { return slices.Clone(r.rolls) }

// Lost gives how many levels were lost for want of room.
func (r *LevelRolls) Lost() uint64 { return r.lost }

// rollOf rolls one level up.
func rollOf(l watch.Level) LevelRoll {
	out := LevelRoll{From: l.Time, Worst: l.Status}
	if !l.Shown || math.IsNaN(float64(l.Share)) {
		out.Without = 1
		return out
	}
	out.Share.Add(ofScale(l.Share))
	out.Low, out.High = ofScale(l.Low), ofScale(l.High)
	return out
}

// ofScale rounds a share to 1/10,000 within 0..1; NaN is 0.
func ofScale(s quantity.Share) int64 {
	if !(s > 0) {
		return 0
	}
	return int64(math.Round(math.Min(float64(s), 1) * sharesPer))
}

// Bucket gives what a roll came to, in shares of 1.
func (r LevelRoll) Bucket() LevelBucket {
	out := LevelBucket{From: r.From, N: r.Share.N, Without: r.Without, Worst: r.Worst}
	if r.Share.N > 0 {
		n := float64(r.Share.N) * sharesPer
		out.Min = quantity.Share(float64(r.Share.Min) / sharesPer)
		out.Max = quantity.Share(float64(r.Share.Max) / sharesPer)
		out.Mean = quantity.Share(float64(r.Share.Sum) / n)
		out.Low, out.High = quantity.Share(float64(r.Low)/n), quantity.Share(float64(r.High)/n)
	}
	return out
}

// Coarser puts rolls of levels together into those of a coarser resolution, by
// rising time.
func Coarser(rolls []LevelRoll, to Resolution) []LevelRoll {
	at := map[int64]int{}
	var out []LevelRoll
	for _, r := range rolls {
		from := floor(r.From.Unix(), int64(to))
		i, there := at[from]
		if !there {
			i = len(out)
			at[from] = i
			out = append(out, LevelRoll{From: time.Unix(from, 0).UTC()})
		}
		out[i].Merge(r)
	}
	slices.SortFunc(out, func(a, b LevelRoll) int { return a.From.Compare(b.From) })
	return out
}

// PackLevels appends rolls of levels to dst, at most series.Most of them, their
// times in whole seconds. Unpacked they are as they were.
func PackLevels(dst []byte, rolls []LevelRoll) []byte {
	column := make([]int64, len(rolls))
	shares := make([]series.Roll, len(rolls))
	for i, r := range rolls {
		column[i], shares[i] = r.From.Unix(), r.Share
	}
	dst = series.PackRolls(series.Pack(dst, column), shares)
	for _, of := range [...]func(r LevelRoll) int64{
		// The ends of an interval move with the level, so what lies between is packed.
		func(r LevelRoll) int64 { return r.Share.Sum - r.Low },
		func(r LevelRoll) int64 { return r.High - r.Share.Sum },
		func(r LevelRoll) int64 { return r.Without },
		func(r LevelRoll) int64 { return int64(r.Worst) },
	} {
		for i, r := range rolls {
			column[i] = of(r)
		}
		dst = series.Pack(dst, column)
	}
	return dst
}

// UnpackLevels appends to dst the rolls of levels at the beginning of b, and gives
// what follows them. The error is series.ErrDamaged.
func UnpackLevels(dst []LevelRoll, b []byte) (rolls []LevelRoll, rest []byte, err error) {
	column, rest, err := series.Unpack(nil, b)
	if err != nil {
		return dst, b, err
	}
	shares, rest, err := series.UnpackRolls(make([]series.Roll, 0, len(column)), rest)
	if err != nil || len(shares) != len(column) {
		return dst, b, series.ErrDamaged
	}
	n := len(dst)
	rolls = dst
	for i, t := range column {
		rolls = append(rolls, LevelRoll{From: time.Unix(t, 0).UTC(), Share: shares[i]})
	}
	of := rolls[n:]
	for _, put := range [...]func(r *LevelRoll, v int64) bool{
		func(r *LevelRoll, v int64) bool { r.Low = r.Share.Sum - v; return true },
		func(r *LevelRoll, v int64) bool { r.High = r.Share.Sum + v; return true },
		func(r *LevelRoll, v int64) bool { r.Without = v; return true },
		func(r *LevelRoll, v int64) bool {
			r.Worst = watch.Status(v)
			return v >= int64(watch.Good) && v <= int64(watch.Maintenance)
		},
	} {
		if column, rest, err = series.Unpack(column[:0], rest); err != nil || len(column) != len(of) {
			return dst, b, series.ErrDamaged
		}
		for i, v := range column {
			if !put(&of[i], v) {
				return dst, b, series.ErrDamaged
			}
		}
	}
	return rolls, rest, nil
}
