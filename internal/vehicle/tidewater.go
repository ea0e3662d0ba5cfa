package vehicle

import "gaugewright/internal/quantity"

// Kitchen gives the tanks of Tidewater Kitchen, an invented travelling food
// stall: fresh water, waste water and gas. Sizes, use and senders are invented
// too; the spans of ohms are common ones.
func Kitchen() []Tank {
	return []Tank{Fresh(), Waste(), Gas()}
}

const litre = 1e-3

// Fresh is a box of 99.9 L with a float whose ohms fall as it fills.
func Fresh() Tank {
	return Tank{
		Name: "fresh", Contents: FreshWater, Begin: 0.78,
		Shape: Shape{Length: 0.60, Width: 0.45, Height: 0.37},
		// Openings through a stall's day, half a minute each at 4 L/min.
		Use:    Use{Taps: day(0.2, 2, 6, 3), Flow: 4 * litre / 60, Lasts: 30e9},
		Refill: Refill{Below: 0.15, To: 0.95, Rate: 12 * litre / 60},
		Sender: Sender{Empty: 240, Full: 33, Hysteresis: 0.008, Noise: 0.3, PerKelvin: 2e-4, X: 0.08, Y: 0.05},
	}
}

// Waste is a box of 71.5 L with a chain of resistors, that takes what is used of
// the fresh water.
func Waste() Tank {
	return Tank{
		Name: "waste", Contents: WasteWater, Begin: 0.22, From: "fresh",
		Shape:  Shape{Length: 0.55, Width: 0.50, Height: 0.26},
		Drain:  Drain{Above: 0.90, To: 0.02, Rate: 30 * litre / 60},
		Sender: Sender{Empty: 10, Full: 180, Steps: 24, Hysteresis: 0.01, Noise: 0.3, PerKelvin: 1e-4, X: -0.10},
	}
}

// Gas is a lying cylinder of 40.3 L for LPG, filled to 80 % at most, with a dial
// head that goes by volume and is blind near its stops.
func Gas() Tank {
	return Tank{
		Name: "lpg", Contents: LPG, Begin: 0.66, Permitted: 0.8,
		Shape: Shape{Lying: true, Length: 0.64, Height: 0.283},
		// A fridge all the time, about 20 g/h, and burners at 250 g/h: litres by a
		// density of 0.51 kg/L (common practice, no source).
		Use:    Use{Steady: 0.04 * litre / 3600, Taps: day(0, 0.8, 2, 1), Flow: 0.5 * litre / 3600, Lasts: 900e9},
		Refill: Refill{Below: 0.12, To: 0.8, Rate: 15 * litre / 60},
		Sender: Sender{Empty: 0, Full: 90, ByVolume: true, Bottom: 0.04, Top: 0.96, Hysteresis: 0.02, Noise: 0.15, PerKelvin: 2e-4, X: 0.05},
	}
}

// day spreads openings per hour over the hours of a day.
func day(night, morning, noon, evening float64) (out [24]float64) {
	for h := range out {
		switch {
		case h < 6 || h > 21:
			out[h] = night
		case h < 11:
			out[h] = morning
		case h < 16:
			out[h] = noon
		default:
			out[h] = evening
		}
	}
	return out
}

// Named gives one of the kitchen's tanks by its name.
func Named(name string) (Tank, bool) {
	for _, t := range Kitchen() {
		if t.Name == name {
			return t, true
		}
	}
	return Tank{}, false
}

// Capacity gives the inside volume; 0 where the shape can't be.
func (t Tank) Capacity() quantity.CubicMetre {
	s, err := t.Shape.solid()
	if err != nil {
		return 0
	}
	return s.Capacity()
}
