package kin

import "math"

// Components are the parts of a variance in units that come in batches: of a
// unit within its batch, and of a batch.
type Components struct {
	Unit, Batch float64
	// UnitDF and BatchDF are the degrees of freedom of the two mean squares;
	// BatchKnown is false with one batch, and UnitKnown where every batch has one
	// unit: then Unit is the total.
	UnitDF, BatchDF       int
	UnitKnown, BatchKnown bool
	// DF are the effective degrees of freedom of Unit + Batch, by Satterthwaite.
	DF float64
}

// layout is how units fall into batches.
type layout struct {
	batch []int // of each unit, from 0
	size  []int // units of each batch
	n0    float64
}

// newLayout sorts units into batches. Units whose batch isn't stated are one
// batch: nothing says that they aren't.
func newLayout(batches []string) layout {
	var l layout
	number := map[string]int{}
	for _, b := range batches {
		k, ok := number[b]
		if !ok {
			k = len(l.size)
			number[b] = k
			l.size = append(l.size, 0)
		}
		l.batch = append(l.batch, k)
		l.size[k]++
	}
	sum := 0.0
	for _, s := range l.size {
		sum += float64(s * s)
	}
	// E[SS between] = (B−1)σ²_unit + (n − Σn_b²/n)σ²_batch.
	l.n0 = float64(len(l.batch)) - sum/float64(len(l.batch))
	return l
}

// squares gives the sums of cross products of two quantities of the units
// between batches and within.
func (l layout) squares(a, b []float64) (between, within float64) {
	meanA, meanB := make([]float64, len(l.size)), make([]float64, len(l.size))
	allA, allB := 0.0, 0.0
	for i, k := range l.batch {
		meanA[k] += a[i] / float64(l.size[k])
		meanB[k] += b[i] / float64(l.size[k])
		allA += a[i] / float64(len(a))
		allB += b[i] / float64(len(b))
	}
	for i, k := range l.batch {
		within += (a[i] - meanA[k]) * (b[i] - meanB[k])
	}
	for k, s := range l.size {
		between += float64(s) * (meanA[k] - allA) * (meanB[k] - allB)
	}
	return between, within
}

// of gives the components of sums of squares (or, for the cross products of two
// quantities, of their covariance; Batch may then be below zero).
func (l layout) of(between, within float64) Components {
	n, b := len(l.batch), len(l.size)
	c := Components{UnitDF: n - b, BatchDF: b - 1, UnitKnown: n > b, BatchKnown: b > 1}
	switch {
	case !c.BatchKnown:
		c.Unit, c.DF = within/float64(n-1), float64(n-1)
	case !c.UnitKnown:
		// Each unit a batch of its own: their total can be told, not its parts.
		c.Unit, c.DF = between/float64(b-1), float64(b-1)
	default:
		c.Unit = within / float64(n-b)
		c.Batch = (between - float64(b-1)*c.Unit) / l.n0
	}
	return c
}

// Nested parts the variance of values of units in batches by the method of
// moments of the one-way random-effects analysis of variance, for batches of any
// sizes. A batch component below zero is told as zero, and all are then taken as
// of one batch. Two values or more, or it panics.
//
// Sources: H. Scheffé, The Analysis of Variance, 1959, 7.2; F. E. Satterthwaite,
// Biometrics Bulletin 2 (1946) 110–114, for the degrees of freedom of the sum
// (both from memory).
func Nested(values []float64, batches []string) Components {
	if len(values) < 2 || len(values) != len(batches) {
		panic("kin: a variance needs two or more values, each with its batch")
	}
	l := newLayout(batches)
	between, within := l.squares(values, values)
	return l.settled(between, within)
}

// settled holds the components to what variances can be, with the degrees of
// freedom of their sum.
func (l layout) settled(between, within float64) Components {
	c := l.of(between, within)
	if !c.BatchKnown || !c.UnitKnown {
		return c
	}
	n := float64(len(l.batch))
	if c.Batch <= 0 {
		c.Batch = 0
		c.Unit = (between + within) / (n - 1)
		c.DF = n - 1
		return c
	}
	// The sum is w·MSB + (1−w)·MSW with w = (B−1)/n₀.
	w := float64(c.BatchDF) / l.n0
	msb, msw := between/float64(c.BatchDF), within/float64(c.UnitDF)
	p, q := w*msb, (1-w)*msw
	if p+q == 0 {
		c.DF = n - 1
		return c
	}
	c.DF = math.Min(n-1, square(p+q)/(p*p/float64(c.BatchDF)+q*q/float64(c.UnitDF)))
	return c
}

// leastBatch gives the batch component that is taken, in parts of the unit one,
// where the one estimated is less, and 0 where it isn't. Few batches may well
// look more alike than they are, so they are taken to differ by no less than
// units do over their degrees of freedom: two batches by as much as units, three
// by half of that variance. Common practice, no source.
func (c Components) leastBatch() float64 {
	if !c.BatchKnown || !c.UnitKnown {
		return 0
	}
	if least := 1 / float64(c.BatchDF); c.Batch < least*c.Unit {
		return least
	}
	return 0
}

// meanShare gives the variance of the mean of all units, in parts of the total
// variance of one.
func (l layout) meanShare(c Components) float64 {
	n := float64(len(l.batch))
	total := c.Unit + c.Batch
	if total == 0 {
		return 1 / n
	}
	sum := 0.0
	for _, s := range l.size {
		sum += square(float64(s) / n)
	}
	return (c.Unit/n + c.Batch*sum) / total
}
