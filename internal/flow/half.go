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
	U     float64 // the least doubt of a block in it, points
	Mean  mean    // of its level, since what broke it last
	Prior mean    // of the half hour before, where nothing lies between
}

// mean is the mean level of blocks.
type mean struct{ N, X, At float64 }

func (m *mean) add(b *block) {
	m.N++
	m.X += (b.X - m.X) / m.N
	m.At += (float64(b.At) - m.At) / m.N
}

// bin is half an hour.
type bin struct {
	Quiet float64 // how fast the level fell while nothing was drawn in spells, points/h
	U     float64 // and how well that is known
	Net   float64 // by how much it fell in the known steps, points
	Fall  float64 // by how much its mean level is lower than that of the half hour before, points
	Known bool
	Tied  bool // nothing lies between it and the half hour before: Fall is known
}

// bins are the last half hours.
type bins struct {
	Cell int64 // of the newest
	Has  int32
	All  [binsSize]bin
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

// swing gives how far the level went up and down of late by itself, peak to peak over
// a day and a half, points; 0.3 where too little is known.
func (b *bins) swing() float64 {
	v, hours := b.sway(0, 0)
	if hours < 12 {
		return 0.3
	}
	return v
}

// sway gives how far the quiet level went up and down in the 48 hours before the
// newest so many bins, less a steady rate, and how many hours of that are known.
func (b *bins) sway(from int32, rate float64) (peak, hours float64) {
	q, low, high := 0.0, 0.0, 0.0
	for i := from; i < min(b.Has, from+96); i++ {
		if v := b.back(i); v.Known {
			q += 0.5 * (v.Quiet - rate)
			low, high = min(low, q), max(high, q)
			hours += 0.5
		}
	}
	return high - low, hours
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
		h.Prior = mean{}
		if cell == h.Cell+1 {
			h.Prior = h.Mean
		}
		h.Cell, h.N, h.U, h.Mean = cell, 0, b.U, mean{}
	}
	if l.any() || h.Step.At == 0 || s.Rise.Event >= 0 {
		h.Step, h.Mean, h.Prior = b.mark(), mean{}, mean{}
		return
	}
	h.Mean.add(b)
	if s.Rise.Sum > 1 {
		h.Step = b.mark()
		return
	}
	h.U = min(h.U, b.U)
	dt := b.At - h.Step.At
	if dt < stepShort {
		return
	}
	fall := h.Step.X - b.X
	if fall < 0 {
		// Nothing comes in, so what rises is noise, and as much of it falls.
		s.Backs = min(s.Backs+1, 60)
		s.Back += (fall*fall - s.Back) / s.Backs
	}
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
	// Of a sender that is read in steps, one step more or less is no spell of use: the
	// doubt of a level is 0.24 of a step.
	tol := max(max(4*s.wavers(h.U), 1.2*s.Grain.points())/max(h.Hours[0], 0.05), 0.25, 0.5*math.Abs(mid))
	sum, hours, net := 0.0, 0.0, 0.0
	for i := range n {
		net += h.Rates[i] * h.Hours[i]
		if h.Rates[i]-mid <= tol || h.swung(i) {
			sum += h.Rates[i] * h.Hours[i]
			hours += h.Hours[i]
		}
	}
	v := bin{Quiet: sum / hours, U: max(0.71*s.wavers(h.U), 0.3*s.Grain.points()), Net: net, Known: true}
	if apart := (h.Mean.At - h.Prior.At) / float64(halfHour); h.Prior.N > 0 && h.Mean.N > 0 && apart > 0.5 && apart < 1.5 {
		v.Fall, v.Tied = h.Prior.X-h.Mean.X, true
	}
	return v
}

// swung says whether a step that fell is one of a surface or a reading that swung: the
// one before it or the one after it rose by about as much.
func (h *half) swung(i int32) bool {
	f := 0.4 * h.Rates[i] * h.Hours[i]
	return i > 0 && h.Rates[i-1]*h.Hours[i-1] < -f || i+1 < h.N && h.Rates[i+1]*h.Hours[i+1] < -f
}

// wavers gives the standard deviation of the change of the level over a step by noise
// alone, points; u is the doubt that the watch has of a level.
func (s *state) wavers(u float64) float64 {
	if s.Backs < 10 {
		return max(1.4*s.Noise, 1.4*u)
	}
	return max(math.Sqrt(s.Back), 0.014)
}
