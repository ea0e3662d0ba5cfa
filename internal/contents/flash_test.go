package contents

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/quantity"
)

func flashMust(s Stock, err error) Stock {
	if err != nil {
		panic(err)
	}
	return s
}

// Level and vapour at constant mass, every figure of the reference table to its
// last digit. Where the table has a liquid volume below 0 nothing is liquid.
func TestFlashLevelTable(t *testing.T) {
	rows := lpgRows(t, "lpg_level_vs_temperature.csv")
	if len(rows) != 27 {
		t.Fatalf("%d rows, expected 27", len(rows))
	}
	dry := 0
	for _, row := range rows {
		celsius, _ := lpgNumber(t, row, "T_degC")
		kg, _ := lpgNumber(t, row, "propane_total_kg")
		tank, _ := lpgNumber(t, row, "tank_L")
		litres, halfLitre := lpgNumber(t, row, "liquid_L")
		percent, halfPercent := lpgNumber(t, row, "liquid_percent")
		vapour, halfVapour := lpgNumber(t, row, "vapour_kg")
		s, err := Mix{Propane: 1}.LevelAt(kg, quantity.CubicMetre(tank/1e3), celsius+273.15)
		if err != nil {
			t.Fatal(err)
		}
		if litres < 0 {
			dry++
			litres, percent, vapour = 0, 0, kg
		}
		lpgNear(t, "litres", float64(s.LiquidVolume)*1e3, litres, 1.01*halfLitre)
		lpgNear(t, "percent", float64(s.LiquidVolume)/tank*1e5, percent, 1.01*halfPercent)
		lpgNear(t, "vapour", s.VapourKg, vapour, 1.01*halfVapour)
		lpgNear(t, "all", s.VapourKg+s.LiquidKg, kg, 1e-12)
	}
	if dry != 1 {
		t.Errorf("%d rows without liquid, expected 1", dry)
	}
}

// Reference sheet, 3.3: 80 % of 54 L at 15 °C.
func TestFlashEightyPercent(t *testing.T) {
	const tank = 0.054
	liquid := quantity.CubicMetre(AutomotiveFill) * tank
	below, above, err := Mix{Propane: 1}.Mass(liquid, tank, 288.15)
	if err != nil {
		t.Fatal(err)
	}
	lpgNear(t, "liquid propane", below, 21.924141, 0.6e-6)
	lpgNear(t, "propane vapour", above, 0.170779, 0.6e-6)
	below, _, err = Mix{NButane: 1}.Mass(liquid, tank, 288.15)
	if err != nil {
		t.Fatal(err)
	}
	lpgNear(t, "liquid n-butane", below, 25.239706, 0.6e-6)
}

// Reference sheet, 3.4: at what temperature, °C, a tank filled to so much
// becomes liquid-full.
func TestFlashFullTable(t *testing.T) {
	for _, c := range []struct {
		share, celsius float64
		want           [3]float64
	}{
		{0.80, 15, [3]float64{67.88, 99.34, 89.66}},
		{0.80, 0, [3]float64{61.34, 91.99, 82.55}},
		{0.85, 15, [3]float64{57.37, 82.01, 74.48}},
		{0.85, 0, [3]float64{48.98, 72.89, 65.55}},
		{0.90, 15, [3]float64{45.04, 62.10, 56.91}},
		{0.90, 0, [3]float64{34.61, 51.09, 46.03}},
	} {
		for i, m := range [3]Mix{{Propane: 1}, {NButane: 1}, {Isobutane: 1}} {
			s := flashMust(m.StockOf(quantity.CubicMetre(c.share*0.054), 0.054, c.celsius+273.15))
			kelvin, ok, err := s.FullAt()
			if err != nil || !ok {
				t.Fatalf("%v: %v, %v", c, ok, err)
			}
			lpgNear(t, eosFluids[i].name, kelvin-273.15, c.want[i], 0.0051)
			before, err1 := s.At(kelvin - 1e-4)
			after, err2 := s.At(kelvin + 1e-4)
			if err1 != nil || err2 != nil || before.Full || !after.Full || after.VapourKg != 0 || after.Pressure <= before.Pressure {
				t.Errorf("%s: just below and above %v K: %+v, %+v", eosFluids[i].name, kelvin, before, after)
			}
		}
	}
}

// Reference sheet, 3.4: once liquid-full at 15 °C the pressure rises by about
// 5.8 bar/K (propane) and 7.3 bar/K (n-butane) in a rigid tank.
func TestFlashPressureWhenFull(t *testing.T) {
	for m, want := range map[Mix]float64{{Propane: 1}: 5.8, {NButane: 1}: 7.3} {
		s := flashMust(m.StockOf(0.054, 0.054, 288.15))
		cold, err1 := s.At(288.15)
		warm, err2 := s.At(289.15)
		if err1 != nil || err2 != nil || !cold.Full || !warm.Full {
			t.Fatalf("%+v, %+v: %v, %v", cold, warm, err1, err2)
		}
		lpgNear(t, "bar per kelvin", (warm.Pressure-cold.Pressure)/1e5, want, 0.06)
		sat, _ := m.At(288.15)
		lpgNear(t, "full and not yet pressed", cold.Pressure, sat.Pressure, 2)
	}
}

// A mixture of one part in two names would be that part; n-butane with a trace
// of propane, and the same without, are the same to a trace.
func TestFlashPureLimit(t *testing.T) {
	for _, kg := range []float64{1, 10, 24} {
		for _, kelvin := range []float64{240, 288.15, 330} {
			pure, err1 := Stock{Tank: 0.054, NButane: kg}.At(kelvin)
			near, err2 := Stock{Tank: 0.054, NButane: kg * (1 - 1e-9), Isobutane: kg * 1e-9}.At(kelvin)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			lpgNear(t, "litres", float64(near.LiquidVolume/pure.LiquidVolume), 1, 1e-8)
			lpgNear(t, "pressure", near.Pressure/pure.Pressure, 1, 1e-8)
			lpgNear(t, "vapour", near.VapourKg, pure.VapourKg, 1e-8)
		}
	}
}

// flashDraw draws a stock by its liquid volume at a temperature.
func flashDraw(t *rapid.T) (m Mix, liquid, tank quantity.CubicMetre, kelvin float64, s Stock) {
	m = lpgDrawMix(t)
	tank = quantity.CubicMetre(rapid.Float64Range(1e-3, 10).Draw(t, "tank"))
	share := rapid.OneOf(rapid.Float64Range(0, 1), rapid.Float64Range(0, 1e-6), rapid.Just(0.0), rapid.Just(1.0)).Draw(t, "share")
	liquid = min(tank, tank*quantity.CubicMetre(share))
	kelvin = rapid.Float64Range(MinTemperature, MaxTemperature).Draw(t, "T")
	s, err := m.StockOf(liquid, tank, kelvin)
	if err != nil {
		t.Fatal(err)
	}
	return m, liquid, tank, kelvin, s
}

// A stock made at a temperature and divided again at the same one gives back the
// liquid it was made from; Mass says the same of it.
func TestFlashThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, liquid, tank, kelvin, s := flashDraw(t)
		got, err := s.At(kelvin)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(got.LiquidVolume-liquid)) > 1e-9*float64(tank) {
			t.Fatalf("%v of liquid: %v", float64(liquid), float64(got.LiquidVolume))
		}
		below, above, err := m.Mass(liquid, tank, kelvin)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.LiquidKg-below) > 1e-9*(below+above) || math.Abs(got.VapourKg-above) > 1e-9*(below+above) {
			t.Fatalf("%v + %v kg, expected %v + %v", got.LiquidKg, got.VapourKg, below, above)
		}
		sat, _ := m.At(kelvin)
		if math.Abs(got.Pressure/sat.Pressure-1) > 1e-7 {
			t.Fatalf("%v Pa, expected %v", got.Pressure, sat.Pressure)
		}
		if math.Abs(got.Liquid.Propane-m.Propane) > 1e-7 && float64(liquid) > 1e-9*float64(tank) {
			t.Fatalf("the liquid is %v, expected %v", got.Liquid, m)
		}
	})
}

// At any temperature each part's mass is kept, the two volumes make the tank, the
// vapour is richer in propane than the liquid, and what is there fits the rules:
// the vapour's density is that of a saturated one over this liquid.
func TestFlashConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, tank, _, s := flashDraw(t)
		kelvin := rapid.Float64Range(MinTemperature, MaxTemperature).Draw(t, "T2")
		got, err := s.At(kelvin)
		if err != nil {
			// Filled to the brim in the cold, it can be under more pressure in the
			// warm than the equations go to.
			if strings.Contains(err.Error(), "too much") {
				return
			}
			t.Fatal(err)
		}
		kg := s.Kg()
		for i, all := range s.parts() {
			found := got.LiquidKg*got.Liquid.parts()[i] + got.VapourKg*got.Vapour.parts()[i]
			if math.Abs(found-all) > 1e-9*kg {
				t.Fatalf("%s: %v kg, expected %v (%+v)", eosFluids[i].name, found, all, got)
			}
		}
		if math.Abs(got.LiquidKg+got.VapourKg-kg) > 1e-12*kg {
			t.Fatalf("%v kg, expected %v", got.LiquidKg+got.VapourKg, kg)
		}
		if got.LiquidVolume < 0 || got.LiquidVolume > tank || got.VapourKg < 0 || !(got.Pressure > 0) {
			t.Fatalf("%+v in %v m³", got, float64(tank))
		}
		if got.Full || got.LiquidVolume == 0 {
			return
		}
		sat, err := got.Liquid.At(kelvin)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.VapourKg-sat.Vapour*float64(tank-got.LiquidVolume)) > 1e-9*kg {
			t.Fatalf("%v kg of vapour, by its density %v", got.VapourKg, sat.Vapour*float64(tank-got.LiquidVolume))
		}
		if math.Abs(got.LiquidKg-sat.Liquid*float64(got.LiquidVolume)) > 1e-9*kg || math.Abs(got.Pressure/sat.Pressure-1) > 1e-9 {
			t.Fatalf("%+v; the liquid by itself %+v", got, sat)
		}
		if got.Vapour.Propane < got.Liquid.Propane-1e-12 {
			t.Fatalf("the vapour is poorer in propane: %+v", got)
		}
	})
}

// With more than three tenths of liquid in the tank the level rises with the
// temperature, up to 290 K; pressure rises always. (Low in the tank, and where
// it's warm, the level falls, since what evaporates outweighs what expands: the
// reference table's 2 kg. Of propane they balance at a quarter of liquid at 290 K
// and at a third at 310 K, by the slopes of the saturation table.)
func TestFlashLevelRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, tank, _, s := flashDraw(t)
		kelvin := rapid.Float64Range(MinTemperature, 290).Draw(t, "T2")
		cold, err1 := s.At(kelvin)
		warm, err2 := s.At(kelvin + 0.5)
		if err1 != nil || err2 != nil {
			return
		}
		if warm.Pressure <= cold.Pressure {
			t.Fatalf("%v Pa, warmer %v", cold.Pressure, warm.Pressure)
		}
		if cold.LiquidVolume > tank*3/10 && !cold.Full && warm.LiquidVolume <= cold.LiquidVolume {
			t.Fatalf("%v m³ of liquid at %v K, warmer %v", float64(cold.LiquidVolume), kelvin, float64(warm.LiquidVolume))
		}
	})
}

// A stock gets full where FullAt says, at no other temperature, and the more
// there is the sooner.
func TestFlashFull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := lpgDrawMix(t)
		share := rapid.Float64Range(0.5, 0.98).Draw(t, "share")
		s, err := m.StockOf(quantity.CubicMetre(share), 1, 288.15)
		if err != nil {
			t.Fatal(err)
		}
		kelvin, ok, err := s.FullAt()
		if err != nil {
			t.Fatal(err)
		}
		top := s.Limit()
		if ok {
			top = kelvin - 1e-6
			if hot, err := s.At(kelvin + 1e-6); err != nil || !hot.Full || hot.LiquidVolume != 1 {
				t.Fatalf("past %v K: %+v, %v", kelvin, hot, err)
			}
		}
		if cold, err := s.At(rapid.Float64Range(MinTemperature, top).Draw(t, "T")); err != nil || cold.Full {
			t.Fatalf("full at %v (%v): %+v, %v", kelvin, ok, cold, err)
		}
		more, _ := m.StockOf(quantity.CubicMetre(share+0.01), 1, 288.15)
		sooner, okMore, err := more.FullAt()
		if err != nil || ok && !(okMore && sooner < kelvin) {
			t.Fatalf("with more in it full at %v (%v), with less at %v (%v): %v", sooner, okMore, kelvin, ok, err)
		}
	})
}

func TestFlashTooMuch(t *testing.T) {
	m := Mix{Propane: 1}
	// 30 kg of propane at 500.0569 kg/m³ (reference sheet, 3.1) are 59.993 L.
	if _, err := m.StockOfMass(30, 0.054, 293.15); err == nil || err.Error() != "30 kg can't be in a tank of 54 L: at 20 °C they are 59.99 L as liquid, 5.99 L too much" {
		t.Errorf("30 kg in 54 L: %v", err)
	}
	if _, err := m.LevelAt(30, 0.054, 293.15); err == nil {
		t.Error("30 kg in 54 L have a level")
	}
	if _, _, err := (Stock{Tank: 0.054, Propane: 60}).FullAt(); err == nil || !strings.Contains(err.Error(), "60 kg are 103.73 L as liquid at -40 °C, and the tank has 54 L: 49.73 L too much") {
		t.Errorf("60 kg in 54 L: %v", err)
	}
	if _, err := (Stock{Tank: 0.054, Propane: 40}).At(293.15); err == nil || !strings.Contains(err.Error(), "too much") {
		t.Errorf("40 kg in 54 L: %v", err)
	}
	if _, err := (Stock{Tank: 0.054, Propane: 30}).Boil(1, 293.15); err == nil || !strings.Contains(err.Error(), "liquid-full") {
		t.Errorf("vapour from a full tank: %v", err)
	}
	for _, s := range []Stock{{}, {Tank: -1}, {Tank: 1, Propane: -1}, {Tank: 1, NButane: math.NaN()}, {Tank: 1, Isobutane: math.Inf(1)}, {Tank: quantity.CubicMetre(math.NaN()), Propane: 1}} {
		_, err1 := s.At(288.15)
		_, _, err2 := s.FullAt()
		_, err3 := s.Boil(0, 288.15)
		if err1 == nil || err2 == nil || err3 == nil {
			t.Errorf("%+v was taken: %v, %v, %v", s, err1, err2, err3)
		}
	}
	for s, say := range map[Stock]string{
		{Tank: 1, Propane: 1, NButane: 1}: "LPG is reckoned from -40 °C to 95 °C",
		{Tank: 1, NButane: 1}:             "LPG is reckoned from -40 °C to 125 °C",
	} {
		for _, kelvin := range []float64{400, math.NaN(), 200} {
			if _, err := s.At(kelvin); err == nil || !strings.Contains(err.Error(), say) {
				t.Errorf("%+v at %v K: %v; expected %q", s, kelvin, err, say)
			}
		}
	}
	empty, err := (Stock{Tank: 1}).At(288.15)
	if err != nil || empty != (State{T: 288.15}) {
		t.Errorf("an empty tank: %+v, %v", empty, err)
	}
	if kelvin, ok, err := (Stock{Tank: 1, Propane: 1}).FullAt(); err != nil || ok || kelvin != 0 {
		t.Errorf("a kilogram in a cubic metre gets full at %v, %v, %v", kelvin, ok, err)
	}
}

// A superheated vapour that has just lost its last drop has the pressure of one
// that has just still a drop.
func TestFlashDewPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := lpgDrawMix(t)
		kelvin := rapid.Float64Range(MinTemperature, MaxTemperature).Draw(t, "T")
		s := flashMust(m.StockOf(0, 1, kelvin))
		less, more := s, s
		for _, k := range []*float64{&less.Propane, &less.NButane, &less.Isobutane} {
			*k *= 1 - 1e-7
		}
		for _, k := range []*float64{&more.Propane, &more.NButane, &more.Isobutane} {
			*k *= 1 + 1e-7
		}
		dry, err1 := less.At(kelvin)
		wet, err2 := more.At(kelvin)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if dry.LiquidVolume != 0 || wet.LiquidVolume <= 0 || math.Abs(dry.Pressure/wet.Pressure-1) > 1e-6 {
			t.Fatalf("%+v and %+v", dry, wet)
		}
	})
}
