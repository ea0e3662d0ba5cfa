package tank

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

func (w meshWide) big() *big.Int {
	v := new(big.Int).SetUint64(w.hi)
	v.Lsh(v, 64).Or(v, new(big.Int).SetUint64(w.lo))
	if int64(w.hi) < 0 {
		v.Sub(v, new(big.Int).Lsh(big.NewInt(1), 128))
	}
	return v
}

// 128-bit integers against those of any length.
func TestMeshWide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) meshWide {
			w := meshWide{rapid.Uint64().Draw(t, name+" high"), rapid.Uint64().Draw(t, name+" low")}
			// Shifted so that sizes of every order come up, sums of two fit.
			n := rapid.IntRange(1, 126).Draw(t, name+" shift")
			v := w.big()
			v.Rsh(v, uint(n))
			return meshWideOfBig(v)
		}
		a, b := draw("a"), draw("b")
		sum := new(big.Int).Add(a.big(), b.big())
		if got := a.plus(b).big(); got.Cmp(sum) != 0 {
			t.Fatalf("%v + %v = %v", a.big(), b.big(), got)
		}
		less := a
		less.sub(b)
		if want := new(big.Int).Sub(a.big(), b.big()); less.big().Cmp(want) != 0 {
			t.Fatalf("%v - %v = %v", a.big(), b.big(), less.big())
		}
		h := rapid.Int64Range(0, meshSteps).Draw(t, "steps")
		want := new(big.Int).Mul(a.big(), big.NewInt(h))
		want.Rsh(want, 8)
		if want.BitLen() <= 126 {
			if got := a.times(h).big(); got.Cmp(want) != 0 {
				t.Fatalf("%v · %d = %v, expected %v", a.big(), h, got, want)
			}
		}
		exact, _ := new(big.Float).SetInt(a.big()).Float64()
		if got := a.float(); math.Abs(got-exact) > 2+math.Abs(exact)*0x1p-51 {
			t.Fatalf("%v as float64: %v", a.big(), got)
		}
		f := rapid.Float64Range(-0x1.fffffffffffffp124, 0x1.fffffffffffffp124).Draw(t, "f")
		f = math.Ldexp(f, -rapid.IntRange(0, 130).Draw(t, "scale"))
		whole, _ := big.NewFloat(f).Int(nil)
		if got := meshWideOf(f).big(); got.Cmp(whole) != 0 {
			t.Fatalf("integer part of %v: %v, expected %v", f, got, whole)
		}
	})
}

func meshWideOfBig(v *big.Int) meshWide {
	v = new(big.Int).Set(v)
	if v.Sign() < 0 {
		v.Add(v, new(big.Int).Lsh(big.NewInt(1), 128))
	}
	mask := new(big.Int).SetUint64(math.MaxUint64)
	return meshWide{hi: new(big.Int).Rsh(v, 64).Uint64(), lo: new(big.Int).And(v, mask).Uint64()}
}
