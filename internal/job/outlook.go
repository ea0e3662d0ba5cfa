package job

import (
	"fmt"
	"math"
	"time"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
)

// Running is for how long one load could run without a pause on what is left.
type Running struct {
	Name string
	For  contents.Duration
}

// Outlook is what is in a tank and what comes of it.
type Outlook struct {
	Level  Level
	Kelvin quantity.Kelvin
	Amount gauge.Amount
	// Room says that it is the room left in a waste tank that is used up.
	Room bool
	// Lasting is how long it lasts with the loads; its PerDay is in kg or m³ by
	// its By. Nothing is set where there are no loads, or none that draw.
	Lasting contents.Lasting
	Running []Running // in the order of the loads, those that have a rate
	// RefillBy is the day to refill by, the zero time where none can be named.
	RefillBy time.Time
	Ask      contents.Ask // what to ask for at the pump; Asks says that it is known
	Asks     bool
	Findings []finding.Finding
}

// Outlook tells what is in the tank at a level, how long that lasts with the
// tank's loads, counted from a day, and how much may be filled in. What isn't
// known is told in the findings. An error is for a load or a temperature that
// can't be reckoned with.
func (t Tank) Outlook(l Level, from time.Time) (Outlook, error) {
	return t.outlook(l, from, true)
}

// OutlookTogether is Outlook with all loads together alone: Running, which takes
// most of the time, stays empty.
func (t Tank) OutlookTogether(l Level, from time.Time) (Outlook, error) {
	return t.outlook(l, from, false)
}

func (t Tank) outlook(l Level, from time.Time, each bool) (Outlook, error) {
	o := Outlook{Level: l, Kelvin: t.Kelvin(), Findings: append([]finding.Finding(nil), l.Findings...), Room: t.Contents == Waste}
	o.Lasting.Nothing = true
	capacity := t.capacity()
	if capacity == 0 {
		return o, fmt.Errorf("tank %q: its capacity isn't known; state water_capacity_l", t.Name)
	}
	var unknown error
	o.Amount, unknown = t.Amount(l)
	s, err := t.Substance()
	if unknown != nil {
		o.say("unknown", finding.Doubt, sentence(unknown))
	} else {
		o.Findings = append(o.Findings, s.Findings...)
	}
	// Litres can be held against litres whatever is in the tank.
	byVolume := o.Room || t.Contents == Other || t.Contents == ""
	if len(t.Loads) > 0 && (err == nil && unknown == nil || byVolume) {
		if err := t.lasting(&o, s, capacity, each); err != nil {
			return o, fmt.Errorf("tank %q: %w", t.Name, err)
		}
		if day, ok := o.Lasting.RefillBy(from); ok {
			o.RefillBy = day
		}
		o.Findings = append(o.Findings, sentences(o.Lasting.Findings)...)
	}
	if !o.Room {
		t.ask(&o, s, capacity, unknown)
	}
	return o, nil
}

// lasting tells how long it lasts.
func (t Tank) lasting(o *Outlook, s Substance, capacity quantity.CubicMetre, each bool) error {
	loads, err := t.Draws()
	if err != nil {
		return err
	}
	var supply contents.Supply
	if o.Room {
		full, err := t.Full()
		if err != nil {
			return err
		}
		room := max(0, float64(full)*float64(capacity)-o.Amount.Volume.Mid)
		supply = contents.Supply{Name: "room for waste", By: contents.ByCubicMetres, Left: contents.Known{Value: room, U: o.Amount.Volume.U}}
	} else {
		heel, _ := t.Heel()
		if supply, err = s.supply(o.Amount, capacity, heel, o.Kelvin); err != nil {
			return err
		}
	}
	if o.Lasting, err = contents.Lasts(supply, loads); err != nil || !each {
		return err
	}
	o.Running, err = running(supply, loads)
	return err
}

// running tells how long each load runs by itself.
func running(supply contents.Supply, loads []contents.Load) ([]Running, error) {
	var out []Running
	for _, l := range loads {
		if l.Kind > contents.CubicMetresPerSecond || l.Rate.High == 0 {
			continue
		}
		d, err := contents.BurnTime(supply, l)
		if err != nil {
			return nil, err
		}
		out = append(out, Running{l.Name, d})
	}
	return out, nil
}

// Running tells how long each load that runs by the hour would do so by itself,
// without a pause, on what is in the tank at a level: what Outlook gives in Running,
// without the rest. Errors are those of Outlook, and for what isn't known.
func (t Tank) Running(l Level) ([]Running, error) {
	loads, err := t.Draws()
	if err != nil {
		return nil, err
	}
	amount, err := t.Amount(l)
	if err != nil {
		return nil, err
	}
	s, err := t.Substance()
	if err != nil {
		return nil, err
	}
	heel, _ := t.Heel()
	supply, err := s.supply(amount, t.capacity(), heel, t.Kelvin())
	if err != nil {
		return nil, err
	}
	return running(supply, loads)
}

// ask tells how much may be filled in.
func (t Tank) ask(o *Outlook, s Substance, capacity quantity.CubicMetre, unknown error) {
	full, err := t.Full()
	if err != nil {
		o.say("permitted-fill", finding.Doubt, "How full it may be filled isn't stated, so nothing is said of filling it: state permitted_fill_pct.")
		return
	}
	f := contents.Filling{
		Name: s.Name, Gas: t.Contents == LPG, Capacity: float64(capacity), Permitted: float64(full),
		Present:    contents.Known{Value: o.Amount.Volume.Mid, U: o.Amount.Volume.U},
		TankKelvin: float64(o.Kelvin),
		// Nobody knows how warm the pump is. The colder of the two makes fewest litres.
		PumpKelvin: math.Min(float64(o.Kelvin), float64(quantity.Celsius(UsualCelsius))),
		Densities:  s.densities, Price: t.price(),
	}
	if limit := f.Permitted * f.Capacity; math.Abs(f.Present.Value-limit) < 1e-9*limit {
		f.Present.Value = limit // as full as permitted is not above it
	}
	if unknown != nil {
		return
	}
	if o.Ask, err = contents.Fill(f); err != nil {
		o.say("filling", finding.Doubt, sentence(err))
		return
	}
	o.Asks = true
	for _, found := range sentences(o.Ask.Findings) {
		if found.Kind == "full" && o.Level.Share >= full {
			found.Text = "It is as full as it may be filled: there is nothing to fill in."
		}
		o.Findings = append(o.Findings, found)
	}
}

func (t Tank) price() contents.Price {
	p := contents.Price{Currency: t.Currency}
	switch {
	case t.PricePerKg > 0:
		p.Per, p.Basis = t.PricePerKg, contents.Kilograms
	case t.PricePerL > 0:
		p.Per, p.Basis = t.PricePerL, contents.LitresMetered
	}
	return p
}

func (o *Outlook) say(kind string, weight finding.Weight, text string) {
	o.Findings = append(o.Findings, finding.Finding{Kind: kind, Weight: weight, Text: text})
}
