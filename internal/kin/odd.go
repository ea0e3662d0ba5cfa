package kin

import (
	"math"
	"sort"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// OddUnit is a unit of a type that doesn't belong to it.
type OddUnit struct {
	Index int // in the type's units
	// P is the chance, among as many units as there are, that one of the type
	// would look as odd.
	P float64
	// Mark is where it is furthest off, Off by how much.
	Mark float64
	Off  quantity.Ohm
}

// oddOnes is the rate at which a type without any odd unit is told to have one:
// 5 in 100.
const oddOnes = 0.05

// fewestToLeaveOut is how many units there have to be before one can be told
// from the others.
const fewestToLeaveOut = 4

// oddUnits holds every unit against the type that the others make, at up to
// five knots spread over the range, and points out those that a unit of that
// type would hardly give, with the chances put up for their number (S. Holm,
// Scand. J. Stat. 6 (1979) 65–70; from memory). With fewer than four units none
// can be told to be the odd one.
func oddUnits(t *Type) []OddUnit {
	n := len(t.Units)
	if n < fewestToLeaveOut {
		return nil
	}
	unit, _ := unitOf(t.Marks)
	gives, _ := signalOf(t.Gives)
	var all []OddUnit
	for i, u := range t.Units {
		others := append(append([]Unit(nil), t.Units[:i]...), t.Units[i+1:]...)
		g, err := gather(t, others)
		if err != nil {
			continue
		}
		d, err := u.draw(unit, gives)
		if err != nil {
			continue
		}
		g.Known.Noise, g.Known.NoiseDF = 0, 0
		p, err := g.Known.prior(curve.Doubts{})
		if err != nil {
			continue
		}
		p.noise = 0 // the unit's own doubt stands in its place
		v := p.judge(d.asRead(p), 0)
		if v.Used > 0 {
			all = append(all, OddUnit{Index: i, P: v.P, Mark: v.Mark, Off: v.Off})
		}
	}
	sort.SliceStable(all, func(a, b int) bool { return all[a].P < all[b].P })
	var odd []OddUnit
	least := 0.0
	for rank, o := range all {
		least = max(least, min(1, o.P*float64(n-rank)))
		if least >= oddOnes {
			break
		}
		o.P = least
		odd = append(odd, o)
	}
	return odd
}

// asRead makes up to five readings of a unit's curve, with its own doubt.
func (d drawn) asRead(p *prior) read {
	first, last := max(p.x[0], d.x[0]), min(p.x[len(p.x)-1], d.x[len(d.x)-1])
	const looks = 5
	var list []curve.Reading
	var own []float64
	for k := range looks {
		mark := first + float64(k)/(looks-1)*(last-first)
		value, u, _ := d.at(mark)
		list = append(list, curve.Reading{Mark: mark, Ohm: quantity.Ohm(value)})
		own = append(own, u)
	}
	r := p.read(list)
	for i := range r.list {
		r.doubt.SetSym(i, i, math.Max(square(own[i]), square(1e-6*p.span)))
	}
	return r
}
