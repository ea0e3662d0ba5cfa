package series

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestFoldIsAddOneByOne: folding is what adding each value to the bucket of its time
// gives, and nothing is lost or counted twice.
func TestFoldIsAddOneByOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Int64Range(-100, 400)
		if rapid.Bool().Draw(t, "anywhere") {
			at = rapid.Int64()
		}
		times := rapid.SliceOfN(at, 0, 60).Draw(t, "times")
		if rapid.Bool().Draw(t, "in order") {
			slices.Sort(times)
		}
		values := rapid.SliceOfN(rapid.Int64Range(-1000, 1000), len(times), len(times)).Draw(t, "values")
		from, width := rapid.Int64Range(-50, 50).Draw(t, "from"), rapid.Int64Range(1, 70).Draw(t, "width")
		got := make([]Roll, rapid.IntRange(0, 6).Draw(t, "buckets"))
		expect := slices.Clone(got)
		// In two goes, as chunks come.
		half := len(times) / 2
		Fold(times[:half], values[:half], from, width, got)
		Fold(times[half:], values[half:], from, width, got)
		for i := range times {
			for j := range expect {
				if begins := from + int64(j)*width; times[i] >= begins && times[i] < begins+width {
					expect[j].Add(values[i])
				}
			}
		}
		if !slices.Equal(got, expect) {
			t.Fatalf("%v, expected %v", got, expect)
		}
	})
}

func TestRollsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		widest := rapid.SampledFrom([]int64{3, 1000, math.MaxInt64}).Draw(t, "widest")
		number := rapid.Int64Range(-widest, widest)
		rolls := rapid.SliceOf(rapid.Custom(func(t *rapid.T) Roll {
			return Roll{number.Draw(t, "n"), number.Draw(t, "min"), number.Draw(t, "max"), number.Draw(t, "sum")}
		})).Draw(t, "rolls")
		b := PackRolls(nil, rolls)
		got, rest, err := UnpackRolls([]Roll{{N: 5}}, append(b, 1))
		if err != nil || len(rest) != 1 || got[0] != (Roll{N: 5}) || !slices.Equal(got[1:], rolls) {
			t.Fatalf("%v come back as %v: %v", rolls, got, err)
		}
		for n := range b {
			if _, _, err := UnpackRolls(nil, b[:n]); err != ErrDamaged {
				t.Fatalf("%d of %d bytes: %v", n, len(b), err)
			}
		}
	})
}

// TestMergingInAnyOrder: merged rolls are the roll of all, whatever the order.
func TestMergingInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOf(rapid.SliceOf(rapid.Int64Range(-1e6, 1e6))).Draw(t, "parts")
		var all, merged, turned Roll
		for i, part := range parts {
			var r, s Roll
			for j, v := range part {
				r.Add(v)
				all.Add(v)
				s.Add(part[len(part)-1-j])
			}
			merged.Merge(r)
			if r != s {
				t.Fatalf("%v added in turn is %v, backwards %v", part, r, s)
			}
			var back Roll
			for _, v := range parts[len(parts)-1-i] {
				back.Add(v)
			}
			turned.Merge(back)
		}
		if merged != all || turned != all {
			t.Fatalf("%v and %v, expected %v", merged, turned, all)
		}
	})
}

// TestRollsOfAMinute: the rolls of a sender's noise, six readings in each.
func TestRollsOfAMinute(t *testing.T) {
	times, values := chunk(0)
	rolls := make([]Roll, 4096/6)
	Fold(times, values, times[0], 60_000, rolls)
	b := PackRolls(nil, rolls)
	if n := float64(len(b)) / float64(len(rolls)); n > 1.6 {
		t.Errorf("a minute's roll takes %.2f bytes, expected 1.6 at the most", n)
	}
}
