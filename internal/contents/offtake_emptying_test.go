package contents_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/quantity"
)

// A 54 L tank of 60 % propane and 40 % n-butane, four fifths full at 5 °C, drawn
// from until it is empty: each kilogram less is less to give, and the last of it
// gives less than the same level of the first mixture would.
func TestOfftakeAsATankEmpties(t *testing.T) {
	mix := contents.Mix{Propane: 0.6, NButane: 0.4}
	const tank, air = quantity.CubicMetre(0.054), 278.15
	stock, err := mix.StockOf(0.8*tank, tank, air)
	if err != nil {
		t.Fatal(err)
	}
	o := contents.Offtake{Ambient: air, NetHeat: 46e6}
	before := contents.Between{Low: math.Inf(1), High: math.Inf(1)}
	for drawn := 0.0; drawn < stock.Kg()-1; drawn += 2 {
		g, now, err := o.After(stock, drawn, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !(g.Rate.Low < before.Low && g.Rate.High < before.High) {
			t.Errorf("%v kg drawn: %v, before %v", drawn, g.Rate, before)
		}
		before = g.Rate
		area, err := contents.WettedLying(float64(tank), float64(now.LiquidVolume/tank))
		if err != nil {
			t.Fatal(err)
		}
		fresh, err := contents.Offtake{Ambient: air, Wetted: contents.Exactly(area), Boiling: contents.MixBoiling(mix)}.Steady()
		if err != nil {
			t.Fatal(err)
		}
		if drawn == 0 {
			loadsNear(t, "nothing drawn", g.Rate.Low, fresh.Rate.Low, 1e-6)
		} else if g.Rate.Low >= fresh.Rate.Low || g.Coldest <= fresh.Coldest {
			t.Errorf("%v kg drawn: %v, and as much of what it was filled with would give %v", drawn, g.Rate, fresh.Rate)
		}
		if n := len(g.Findings); n == 0 || g.Findings[n-1].Kind != "mixed" {
			t.Errorf("%v kg drawn: %v", drawn, g.Findings)
		}
	}
	for _, drawn := range []float64{stock.Kg(), stock.Kg() - 0.01} {
		if g, _, err := o.After(stock, drawn, nil); err != nil || g.Rate.High != 0 || finding.Worst(g.Findings) != finding.Bad {
			t.Errorf("%v kg drawn: %+v, %v", drawn, g, err)
		}
	}
	if _, _, err := o.After(stock, 100, nil); err == nil || !strings.Contains(err.Error(), "can't be drawn") {
		t.Errorf("more than there is: %v", err)
	}
	broken := errors.New("no mesh")
	if _, _, err := o.After(stock, 1, func(quantity.Share) (contents.Between, error) { return contents.Between{}, broken }); !errors.Is(err, broken) {
		t.Errorf("a shape that can't be cut: %v", err)
	}
}
