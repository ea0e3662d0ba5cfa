// Package kin is what senders of one type have in common, and how far they
// differ: from the bench readings of several units to the curve of the type,
// its spread from unit to unit and from batch to batch, and what a few readings
// then tell of the next unit.
//
// A unit of batch b is taken to give
//
//	y(x) = m(x) + offset + gain·(m(x) − m̄) + bend(x) + rest(x) + noise
//
// with m the type's curve. Offset, gain and bend are the three modes; the rest
// reaches hardly beyond its mark. All are normal; how far they spread is
// estimated from few units, so tests use the F distribution and bands are
// widened by Student's t.
//
// A [Type] is a file of units, as they were read; a [Known] is worked out of it,
// and is also what is known of a single sender without readings of its own, such
// as one restored from a printed code.
//
// What a person typed, or a file holds, gives an error; nothing here returns NaN
// where a number was promised, and nothing draws random numbers.
package kin
