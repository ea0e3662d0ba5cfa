package flow

import (
	"math"
	"slices"
)

// half is half an hour as it comes in: how fast the level fell in steps of some
// minutes, events taken out.
type half struct {
	Cell  int64
	Step  mark // where the step began
	N     int32
	Rates [8]float64 // points/h, above 0 falling
	Hours [8]float64
}

// bin is half an hour.
type bin struct {
	Quiet float64 // how fast the level fell while nothing was drawn in spells, points/h
	U     float64 // and how well that is known
	Net   float64 // by how much it fell in the known steps, points
	Known bool
}

// bins are the last half hours.
type bins struct {
	Cell  int64 // of the newest
	Has   int32
	All   [binsSize]bin
	Sway  float64 // how far the level goes up and down in a day, peak to peak, points
	Sways float64 // days it rests on
}

const (
	binsSize  = 48 * 8
	halfHour  = 30 * minute
	stepShort = 5 * minute
)

// at gives the bin so many half hours before the newest.
func (b *bins) back(i int32) *bin {
	if i < 0 || i >= b.Has {
		return &bin{}
	}
	return &b.All[((b.Cell-int64(i))%binsSize+binsSize)%binsSize]
}

func (b *bins) put(cell int64, v bin) {
	if b.Has > 0 && cell-b.Cell > binsSize {
		b.Has = 0
	}
	if b.Has == 0 {
		b.Cell = cell - 1
	}
	for b.Cell < cell {
		b.Cell++
		b.All[(b.Cell%binsSize+binsSize)%binsSize] = bin{}
		b.Has = min(b.Has+1, binsSize)
	}
	*b.back(0) = v
}

// swing gives how far the level is thought to go up and down in a day by itself.
func (b *bins) swing() float64 {
	if b.Sways < 1 {
		return 0.3
	}
	return b.Sway
}

// halves takes a block into the half hour.
func (t *Tracker) halves(b *block, l lapse) {
	s := &t.s
	h := &s.Half
	cell := b.At / halfHour
	if cell != h.Cell {
		if h.N > 0 {
			s.Bins.put(h.Cell, h.bin(s))
			t.leaks(b)
		}
		h.Cell, h.N = cell, 0
	}
	if l.any() || h.Step.At == 0 || s.Rise.Event >= 0 || s.Rise.Sum > 1 {
		h.Step = b.mark()
		return
	}
	dt := b.At - h.Step.At
	if dt < stepShort {
		return
	}
	fall := h.Step.X - b.X
	hours := float64(dt) / float64(hour)
	if h.N < int32(len(h.Rates)) && dt < 40*minute {
		h.Rates[h.N], h.Hours[h.N] = fall/hours, hours
		h.N++
	}
	h.Step = b.mark()
}

// bin gives what a half hour came to: of its steps the calmest ones that go
// together.
func (h *half) bin(s *state) bin {
	n := h.N
	var order [8]float64
	copy(order[:n], h.Rates[:n])
	slices.Sort(order[:n])
	mid := order[(n-1)/3]
	tol := max(2.5*s.Noise/max(h.Hours[0], 0.05), 0.25, 0.5*math.Abs(mid))
	sum, hours, net := 0.0, 0.0, 0.0
	for i := range n {
		net += h.Rates[i] * h.Hours[i]
		if math.Abs(h.Rates[i]-mid) <= tol {
			sum += h.Rates[i] * h.Hours[i]
			hours += h.Hours[i]
		}
	}
	return bin{Quiet: sum / hours, U: 1.5 * s.Noise / hours, Net: net, Known: true}
}
