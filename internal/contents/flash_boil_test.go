package contents

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The mass drawn is met, none of any part comes back, the rest is richer in
// butane, and its pressure doesn't rise.
func TestFlashBoilLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, _, kelvin, s := flashDraw(t)
		kg := s.Kg() * rapid.OneOf(rapid.Float64Range(0, 1), rapid.Float64Range(0.99, 1), rapid.Just(1.0)).Draw(t, "drawn")
		kg = min(kg, s.Kg())
		left, err := s.Boil(kg, kelvin)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(left.Kg()-(s.Kg()-kg)) > 1e-12*s.Kg() || left.Tank != s.Tank {
			t.Fatalf("%v kg less %v is %v", s.Kg(), kg, left.Kg())
		}
		for i, now := range left.parts() {
			if now < 0 || now > s.parts()[i]*(1+1e-9)+1e-12*s.Kg() {
				t.Fatalf("%s: %v kg, before %v", eosFluids[i].name, now, s.parts()[i])
			}
		}
		if left.Kg() < 1e-9*s.Kg() {
			return
		}
		if left.Propane/left.Kg() > s.Propane/s.Kg()+1e-9 {
			t.Fatalf("more propane in %+v than in %+v", left, s)
		}
		before, err1 := s.At(kelvin)
		after, err2 := left.At(kelvin)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if after.Pressure > before.Pressure*(1+1e-9) {
			t.Fatalf("%v Pa, before %v", after.Pressure, before.Pressure)
		}
	})
}

// Drawing in two goes is drawing in one.
func TestFlashBoilInTwo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := lpgDrawMix(t)
		kelvin := rapid.Float64Range(MinTemperature, MaxTemperature).Draw(t, "T")
		s := flashMust(m.StockOf(0.7, 1, kelvin))
		a := rapid.Float64Range(0.05, 0.45).Draw(t, "first") * s.Kg()
		b := rapid.Float64Range(0.05, 0.45).Draw(t, "second") * s.Kg()
		one, err := s.Boil(a+b, kelvin)
		if err != nil {
			t.Fatal(err)
		}
		half, err := s.Boil(a, kelvin)
		if err != nil {
			t.Fatal(err)
		}
		two, err := half.Boil(b, kelvin)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range one.parts() {
			if math.Abs(v-two.parts()[i]) > 1e-7*s.Kg() {
				t.Fatalf("%s: %v and %v", eosFluids[i].name, v, two.parts()[i])
			}
		}
	})
}

// Rayleigh's law without a vapour space: ln(n/n₀) goes with the saturation
// pressures. In the cold the vapour of butanes weighs a thousandth of the liquid,
// and the law holds nearly.
func TestFlashBoilRayleigh(t *testing.T) {
	const kelvin = 233.15
	s := Stock{Tank: 0.1, NButane: 25, Isobutane: 25}
	left, err := s.Boil(35, kelvin)
	if err != nil {
		t.Fatal(err)
	}
	n, i := math.Log(left.NButane/s.NButane), math.Log(left.Isobutane/s.Isobutane)
	want := eosFluids[lpgIsobutane].saturation(kelvin).pressure / eosFluids[lpgNButane].saturation(kelvin).pressure
	lpgNear(t, "logarithms", i/n/want, 1, 0.003)
}

func TestFlashBoilEnds(t *testing.T) {
	s := Stock{Tank: 0.054, Propane: 6, NButane: 4}
	if left, err := s.Boil(0, 288.15); err != nil || left != s {
		t.Errorf("nothing drawn: %+v, %v", left, err)
	}
	if left, err := s.Boil(10, 288.15); err != nil || left != (Stock{Tank: 0.054}) {
		t.Errorf("all drawn: %+v, %v", left, err)
	}
	if _, err := s.Boil(10.001, 288.15); err == nil || !strings.Contains(err.Error(), "10.001 kg can't be drawn from a tank that holds 10 kg") {
		t.Errorf("too much drawn: %v", err)
	}
	// A pure one keeps its pressure to the last of its liquid.
	pure := Stock{Tank: 0.054, Propane: 10}
	before, _ := pure.At(288.15)
	left, err := pure.Boil(9, 288.15)
	if err != nil {
		t.Fatal(err)
	}
	after, _ := left.At(288.15)
	lpgNear(t, "pressure of propane", after.Pressure, before.Pressure, 1e-3)
	if after.LiquidVolume <= 0 {
		t.Errorf("no liquid is left of %+v", left)
	}
}

func BenchmarkFlashAt(b *testing.B) {
	s := Stock{Tank: 0.054, Propane: 9, NButane: 5, Isobutane: 2}
	for i := 0; b.Loop(); i++ {
		if _, err := s.At(240 + float64(i%90)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFlashFullAt(b *testing.B) {
	s := Stock{Tank: 0.054, Propane: 14, NButane: 7, Isobutane: 2}
	for b.Loop() {
		if _, ok, err := s.FullAt(); err != nil || !ok {
			b.Fatal(ok, err)
		}
	}
}

func BenchmarkFlashBoil(b *testing.B) {
	s := Stock{Tank: 0.054, Propane: 9, NButane: 5, Isobutane: 2}
	for b.Loop() {
		if _, err := s.Boil(10, 288.15); err != nil {
			b.Fatal(err)
		}
	}
}
